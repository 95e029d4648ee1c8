//! The truck's day as a report: the struct is its JSON, [`blocks`] its text.

mod blocks;
mod lines;

use serde::Serialize;

use lines::{back, left_out, reminders, spare, stops};

use super::marks;
use super::{Hazards, ShownIn};
use crate::audit::Audited;
use crate::cylinder::Id;
use crate::job::{Carrying, Work};
use crate::plan::{Number, Reading, Reason, Status};
use crate::problem::SkippedRow;
use crate::quantity::{Division, Marks, Unit};
use crate::transport::{Departure, Manifest, Over, RoadRules, Sentence, Truck};

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
    /// What is on the truck beside its cylinders, as far as the file states it: people, tools, other hazardous material.
    besides: Reading,
    /// What of it is over the payload.
    over_payload: Option<&'static str>,
    /// Whether the file states the weight of people and tools; without, it comes on top of every weight.
    tools_stated: bool,
    missing: Vec<String>,
    without: Vec<String>,
    changes: Vec<String>,
    aboard: Vec<Aboard>,
    /// What was to be taken along and stays, because no lot can use it.
    left: Vec<LeftBehind>,
    bring: Vec<String>,
    stops: Vec<Stop>,
    weights: Vec<Leaving>,
    back: Vec<Back>,
    spare: Vec<Spare>,
    help: Option<Help>,
    to_know: Vec<String>,
    /// Of these, the plan's warnings with their codes.
    warnings: Vec<Reason>,
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
    /// The division of the scale.
    division: Division,
    /// Whether other hazardous material is stated.
    other: bool,
    over: Option<Over>,
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
    /// More than one person's lift.
    two_people: bool,
    /// How it is carried, in full.
    lift: &'static str,
    #[serde(skip)]
    brief: &'static str,
    first_used_at: Option<String>,
}

#[derive(Debug, Serialize)]
struct LeftBehind {
    cylinder: String,
    reasons: Vec<Reason>,
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
    /// More than one person's lift.
    two_people: bool,
    /// How it is carried, in full.
    lift: &'static str,
    #[serde(skip)]
    brief: &'static str,
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
    /// More than one person's lift.
    two_people: bool,
    /// How it is carried, in full.
    lift: &'static str,
    #[serde(skip)]
    brief: &'static str,
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
    #[serde(skip)]
    said: Sentence,
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
        let in_yard = Carrying::in_yard(work.jobs());
        let (without, changes) = packed.changes.clone().unwrap_or_default();
        let leaving = |departure: &Departure| Leaving {
            leaving: departure.job.map_or_else(|| "the yard".into(), job),
            recovered: reading(departure.recovered),
            cylinders: reading(departure.cylinders),
            hazardous: reading(departure.hazardous),
            heaviest: departure
                .holding
                .first()
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
            two_people: in_yard.is_over_one(division.weight(one.gross)),
            lift: in_yard.lift(division.weight(one.gross)).words,
            brief: in_yard.lift(division.weight(one.gross)).brief,
            first_used_at: one.first.map(job),
        });
        Self {
            format: "chargesplit-pack/1",
            truck: packed.truck.name.clone(),
            jobs: plan.jobs.clone(),
            unit: division.unit().number_name(),
            division: Number(division.number(1)),
            status: plan.status.name(),
            within_payload: manifest.is_within_payload(),
            payload: manifest.payload.map(reading),
            besides: reading(manifest.besides),
            over_payload: manifest.over().map(Over::name),
            tools_stated: packed.truck.tools.is_some(),
            missing: super::missing(plan, true),
            without: without.iter().map(ToString::to_string).collect(),
            changes,
            aboard: aboard.collect(),
            left: manifest.left.iter().map(left_out).collect(),
            bring: packed.truck.carries.iter().chain(&packed.bring).cloned().collect(),
            stops: stops(work, manifest, plan),
            weights: manifest.departures.iter().map(leaving).collect(),
            back: back(manifest, division, in_yard),
            spare: spare(manifest, reading, job),
            help: manifest.help.as_ref().map(|help| Help {
                cylinder: help.cylinder.to_string(),
                in_yard: help.in_yard,
                lot: help.lot.clone(),
                adds: reading(help.adds),
            }),
            to_know: manifest.warnings.iter().map(|warning| warning.text.clone()).collect(),
            warnings: manifest.warnings.clone(),
            rules: RoadRules::ALL.iter().find(|(rules, _)| *rules == packed.truck.rules).map_or("", |(_, word)| word),
            reminders: reminders(manifest, division),
            confirm: CONFIRM,
            skipped: super::skipped(packed.skipped),
            drawn: Drawn {
                status: plan.status,
                unit: division.unit(),
                scale_unit: None,
                scale: reading(manifest.heaviest()),
                division,
                other: packed.truck.other_hazmat.is_some_and(|weight| weight.is_positive()),
                over: manifest.over(),
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
        self.besides = self.besides.up(to);
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
        for one in &mut self.reminders {
            one.text = one.said.text(self.drawn.division, Some(to));
        }
        if let Some(help) = &mut self.help {
            help.adds = help.adds.down(to);
        }
    }
}
