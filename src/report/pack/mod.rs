//! The truck's day as a report: the struct is its JSON, [`blocks`] its text.

mod blocks;

use serde::Serialize;

use super::marks;
use super::number::{Number, Reading};
use super::{Hazards, ShownIn};
use crate::audit::Audited;
use crate::cylinder::{Fate, Id};
use crate::files::SkippedRow;
use crate::job::Work;
use crate::plan::{Plan, Status};
use crate::quantity::{Division, Marks, Unit, Weight};
use crate::transport::{Departure, Manifest, RoadRules, Truck};

/// What a report of a truck's day is made from.
#[derive(Debug)]
pub struct Packed<'a> {
    /// The jobs, in the order of the day.
    pub work: &'a Work,
    /// The plan that the day follows.
    pub audited: &'a Audited,
    /// The truck.
    pub truck: &'a Truck,
    /// Its day.
    pub manifest: &'a Manifest,
    /// What else to bring, beside what rides on the truck always.
    pub bring: Vec<String>,
    /// What is different from the plan with every cylinder, and the cylinders that are missing.
    pub changes: Option<(Vec<Id>, Vec<String>)>,
    /// Rows of the yard that couldn't be read.
    pub skipped: &'a [SkippedRow],
}

/// The truck's day.
#[derive(Debug, Serialize)]
pub struct PackReport {
    format: &'static str,
    truck: String,
    jobs: Vec<String>,
    unit: &'static str,
    division: Number,
    status: &'static str,
    within_payload: bool,
    payload: Option<Reading>,
    /// Whether the file states the weight of people and tools; without, it comes on top of every weight.
    tools_stated: bool,
    missing: Vec<String>,
    without: Vec<String>,
    changes: Vec<String>,
    aboard: Vec<Aboard>,
    bring: Vec<String>,
    stops: Vec<Stop>,
    weights: Vec<Leaving>,
    back: Vec<Back>,
    spare: Vec<Spare>,
    help: Option<Help>,
    to_know: Vec<String>,
    rules: &'static str,
    reminders: Vec<Reminder>,
    confirm: &'static str,
    skipped: Vec<String>,
    #[serde(skip)]
    drawn: Drawn,
}

#[derive(Debug)]
struct Drawn {
    status: Status,
    unit: Unit,
    /// What the scale reads, where that is another unit than the weights of the truck are shown in.
    scale_unit: Option<Unit>,
    scale: Reading,
    hazards: Hazards,
}

#[derive(Debug, Serialize)]
struct Aboard {
    order: usize,
    cylinder: String,
    gross: Reading,
    holds: String,
    marks: Vec<&'static str>,
    hazardous: bool,
    flammable: bool,
    two_people: bool,
    first_used_at: Option<String>,
}

#[derive(Debug, Serialize)]
struct Stop {
    job: String,
    recovered: Reading,
    fills: Vec<Fill>,
}

#[derive(Debug, Serialize)]
struct Fill {
    cylinder: String,
    lot: String,
    refrigerant: String,
    marks: Vec<&'static str>,
    now: Reading,
    add: Reading,
    stop: Reading,
    limit: Reading,
    /// Begun at an earlier stop.
    begun: bool,
    /// Goes on at a later stop.
    goes_on: bool,
    two_people: bool,
}

#[derive(Debug, Serialize)]
struct Leaving {
    leaving: String,
    recovered: Reading,
    cylinders: Reading,
    hazardous: Reading,
    heaviest: Option<Heaviest>,
    load: Reading,
}

#[derive(Debug, Serialize)]
struct Heaviest {
    cylinder: String,
    gross: Reading,
}

#[derive(Debug, Serialize)]
struct Back {
    cylinder: String,
    lot: Option<String>,
    holds: String,
    marks: Vec<&'static str>,
    gross: Reading,
    two_people: bool,
    fate: &'static str,
    #[serde(skip)]
    goes: String,
}

#[derive(Debug, Serialize)]
struct Spare {
    job: String,
    lot: String,
    charge: Reading,
    spare: Reading,
}

#[derive(Debug, Serialize)]
struct Help {
    cylinder: String,
    in_yard: bool,
    lot: String,
    adds: Reading,
}

#[derive(Debug, Serialize)]
struct Reminder {
    code: &'static str,
    source: &'static str,
    text: String,
}

const CONFIRM: &str = "Confirm with your carrier rules: these are reminders from the paragraphs named, to be checked \
                       against their current text; they are no ruling.";

impl PackReport {
    /// A report of this day.
    pub fn new(packed: &Packed) -> Self {
        let (work, manifest, plan) = (packed.work, packed.manifest, packed.audited.plan());
        let division = work.division();
        let reading = |marks: Marks| Reading::new(division, marks);
        let job = |index: usize| work.jobs().get(index).map_or_else(String::new, |job| job.name.clone());
        let heavy = |one_person: Option<Weight>, gross: Marks| {
            one_person.is_some_and(|one_person| division.weight(gross) > one_person)
        };
        // In the yard as at the strictest of the jobs.
        let strictest = work.jobs().iter().filter_map(|job| job.one_person).min();
        let (without, changes) = packed.changes.clone().unwrap_or_default();
        let leaving = |departure: &Departure| Leaving {
            leaving: departure.job.map_or_else(|| "the yard".into(), job),
            recovered: reading(departure.recovered),
            cylinders: reading(departure.cylinders),
            hazardous: reading(departure.hazardous),
            heaviest: departure
                .heaviest
                .as_ref()
                .map(|(cylinder, gross)| Heaviest { cylinder: cylinder.to_string(), gross: reading(*gross) }),
            load: reading(departure.load),
        };
        let aboard = manifest.aboard.iter().enumerate().map(|(index, one)| Aboard {
            order: index + 1,
            cylinder: one.cylinder.to_string(),
            gross: reading(one.gross),
            holds: one.holds.clone(),
            marks: marks::words(&one.tags),
            hazardous: one.hazardous,
            flammable: one.flammable,
            two_people: heavy(strictest, one.gross),
            first_used_at: one.first.map(job),
        });
        let heaviest = manifest.aboard.iter().map(|one| one.gross).chain(plan.loads.iter().map(|load| load.stop)).max();
        Self {
            format: "chargesplit-pack/1",
            truck: packed.truck.name.clone(),
            jobs: plan.jobs.clone(),
            unit: division.unit().number_name(),
            division: Number(division.number(1)),
            status: plan.status.name(),
            within_payload: manifest.is_within_payload(),
            payload: manifest.payload.map(reading),
            tools_stated: packed.truck.tools.is_some(),
            missing: super::missing(plan, true),
            without: without.iter().map(ToString::to_string).collect(),
            changes,
            aboard: aboard.collect(),
            bring: packed.truck.carries.iter().chain(&packed.bring).cloned().collect(),
            stops: stops(manifest, plan, reading, job, |at, gross| {
                heavy(work.jobs().get(at).and_then(|job| job.one_person), gross)
            }),
            weights: manifest.departures.iter().map(leaving).collect(),
            back: back(manifest, reading, |gross| heavy(strictest, gross)),
            spare: spare(manifest, reading, job),
            help: manifest.help.as_ref().map(|help| Help {
                cylinder: help.cylinder.to_string(),
                in_yard: help.in_yard,
                lot: help.lot.clone(),
                adds: reading(help.adds),
            }),
            to_know: to_know(plan, strictest.is_some()),
            rules: RoadRules::ALL.iter().find(|(rules, _)| *rules == packed.truck.rules).map_or("", |(_, word)| word),
            reminders: reminders(manifest),
            confirm: CONFIRM,
            skipped: super::skipped(packed.skipped),
            drawn: Drawn {
                status: plan.status,
                unit: division.unit(),
                scale_unit: None,
                scale: reading(heaviest.unwrap_or(0)),
                hazards: hazards(packed),
            },
        }
    }
}

/// Of all that is recovered, and of what is aboard already.
fn hazards(packed: &Packed) -> Hazards {
    let aboard = packed.manifest.aboard.iter();
    let held = aboard.filter_map(|one| packed.work.yard().iter().find(|cylinder| cylinder.id == one.cylinder));
    let held = held.filter_map(|cylinder| cylinder.contents.fluid());
    held.fold(Hazards::of(packed.work), |hazards, fluid| hazards.and(&fluid))
}

impl PackReport {
    /// What the refrigerants of the day ask a reader to beware of.
    pub(super) fn hazards(&self) -> &Hazards {
        &self.drawn.hazards
    }
}

impl ShownIn for PackReport {
    /// The weights of the truck; what is filled at a stop stays as the scale reads it.
    fn show_in(&mut self, to: Division) {
        (self.unit, self.division) = (to.unit().number_name(), Number(to.number(1)));
        self.drawn.scale_unit = Some(std::mem::replace(&mut self.drawn.unit, to.unit()));
        self.payload = self.payload.map(|payload| payload.down(to));
        for one in &mut self.aboard {
            one.gross = one.gross.up(to);
        }
        for leaving in &mut self.weights {
            for weight in [&mut leaving.recovered, &mut leaving.cylinders, &mut leaving.hazardous, &mut leaving.load] {
                *weight = weight.up(to);
            }
            if let Some(heaviest) = &mut leaving.heaviest {
                heaviest.gross = heaviest.gross.up(to);
            }
        }
        for one in &mut self.back {
            one.gross = one.gross.up(to);
        }
        for one in &mut self.spare {
            (one.charge, one.spare) = (one.charge.up(to), one.spare.down(to));
        }
        if let Some(help) = &mut self.help {
            help.adds = help.adds.down(to);
        }
    }
}

fn stops(
    manifest: &Manifest,
    plan: &Plan,
    reading: impl Fn(Marks) -> Reading,
    job: impl Fn(usize) -> String,
    heavy: impl Fn(usize, Marks) -> bool,
) -> Vec<Stop> {
    let stop = |visit: &crate::planner::Visit| {
        let fills = visit.fills.iter().filter_map(|fill| {
            let load = plan.loads.get(fill.load)?;
            Some(Fill {
                cylinder: load.cylinder.to_string(),
                lot: load.lot.clone(),
                refrigerant: load.refrigerant.clone(),
                marks: marks::words(&load.tags),
                now: reading(fill.before),
                add: reading(fill.add),
                stop: reading(fill.after()),
                limit: reading(load.limit),
                begun: fill.before > load.now,
                goes_on: fill.after() < load.stop,
                two_people: heavy(visit.job, fill.after()),
            })
        });
        Stop { job: job(visit.job), recovered: reading(visit.recovered()), fills: fills.collect() }
    };
    manifest.visits.iter().map(stop).collect()
}

fn back(manifest: &Manifest, reading: impl Fn(Marks) -> Reading, heavy: impl Fn(Marks) -> bool) -> Vec<Back> {
    let words = |one: &crate::transport::Returned| match one.fate {
        Some(Fate::Reclaim) => ("reclaim", "reclaim: to the reclaimer".to_owned()),
        Some(Fate::Reuse) => {
            let whose = one.whose.as_deref().unwrap_or("its owner");
            ("reuse", format!("reuse: kept apart for {whose}"))
        }
        Some(Fate::Destroy) => ("destroy", "destroy: to be destroyed".to_owned()),
        None => ("unused", "unused: back to its place".to_owned()),
    };
    let line = |one: &crate::transport::Returned| {
        let (fate, goes) = words(one);
        Back {
            cylinder: one.cylinder.to_string(),
            lot: one.lot.clone(),
            holds: one.holds.clone(),
            marks: marks::words(&one.tags),
            gross: reading(one.gross),
            two_people: heavy(one.gross),
            fate,
            goes,
        }
    };
    manifest.back.iter().map(line).collect()
}

fn spare(manifest: &Manifest, reading: impl Fn(Marks) -> Reading, job: impl Fn(usize) -> String) -> Vec<Spare> {
    let line = |one: &crate::transport::Spare| Spare {
        job: job(one.job),
        lot: one.lot.clone(),
        charge: reading(one.charge),
        spare: reading(one.spare),
    };
    manifest.spare.iter().map(line).collect()
}

fn to_know(plan: &Plan, lifts_known: bool) -> Vec<String> {
    let unknown = "no lift is marked for two people: no job states `one_person` under `site`";
    let unknown = (!lifts_known).then(|| unknown.to_owned());
    plan.warnings.iter().map(|warning| warning.text.clone()).chain(unknown).collect()
}

fn reminders(manifest: &Manifest) -> Vec<Reminder> {
    let line =
        |one: &crate::transport::Reminder| Reminder { code: one.code, source: one.source, text: one.text.clone() };
    manifest.reminders.iter().map(line).collect()
}
