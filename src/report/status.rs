//! How far the job is: each lot with what is left and how long it takes, each cylinder with a bar to its stop weight.

use serde::Serialize;

use super::hose::{HoseLine, PourLine};
use super::in_force::InForceLine;
use super::weigh::nameplate_reached;
use super::{Block, Report, Table, as_drawn, counted, marked, marks, name, number, words};
use crate::plan::Reading;
use crate::quantity::{Division, Marks};
use crate::recovery::{self, Moment, Rate};

/// Columns of a bar.
const BAR: i64 = 14;

/// The status of a job.
#[derive(Debug, Serialize)]
pub struct StatusReport {
    format: &'static str,
    job: String,
    unit: &'static str,
    readings: usize,
    last_reading: Option<String>,
    lots: Vec<LotProgress>,
    cylinders: Vec<CylinderProgress>,
    #[serde(skip_serializing_if = "Option::is_none")]
    in_force: Option<InForceLine>,
    warnings: Vec<String>,
}

#[derive(Debug, Serialize)]
struct LotProgress {
    lot: String,
    charge: Reading,
    recovered: Reading,
    left: Reading,
    #[serde(serialize_with = "tenths")]
    percent_of_nameplate: Option<i64>,
    nameplate_reached: bool,
    per_hour: Option<Reading>,
    minutes_to_go: Option<i64>,
    systems: Vec<SystemProgress>,
}

#[derive(Debug, Serialize)]
struct SystemProgress {
    system: String,
    charge: Reading,
    recovered: Reading,
    left: Reading,
    dry: bool,
    more: bool,
}

#[derive(Debug, Serialize)]
struct CylinderProgress {
    cylinder: String,
    lot: String,
    start: Reading,
    now: Reading,
    gained: Reading,
    ease_off: Option<Reading>,
    stop: Option<Reading>,
    limit: Option<Reading>,
    danger: bool,
    over_fill: bool,
    mixed: bool,
    taken_out: bool,
    holds: String,
    marks: Vec<&'static str>,
    pours: Vec<PourLine>,
    hose: Option<HoseLine>,
    /// Something has gone in, and it isn't at its stop.
    #[serde(skip)]
    on_its_way: bool,
    #[serde(skip)]
    bar: String,
    #[serde(skip)]
    word: String,
}

#[allow(clippy::ref_option)] // serde passes it so
fn tenths<S: serde::Serializer>(tenths: &Option<i64>, serializer: S) -> Result<S::Ok, S::Error> {
    tenths.map(|tenths| tenths as f64 / 10.0).serialize(serializer)
}

impl StatusReport {
    /// A report of this status; `warnings` are about the files.
    pub fn new(
        job: &str,
        division: Division,
        status: &recovery::Status,
        last: Option<Moment>,
        warnings: &[String],
    ) -> Self {
        let reading = |marks: Marks| Reading::new(division, marks);
        let system = |system: &recovery::SystemStatus| SystemProgress {
            system: system.system.clone(),
            charge: reading(system.charge),
            recovered: reading(system.recovered),
            left: reading(system.left),
            dry: system.dry,
            more: system.more,
        };
        let lot = |lot: &recovery::LotStatus| LotProgress {
            lot: lot.lot.clone(),
            charge: reading(lot.charge),
            recovered: reading(lot.recovered),
            left: reading(lot.left),
            percent_of_nameplate: lot.per_mille,
            nameplate_reached: lot.nameplate_reached,
            per_hour: lot.rate.map(|rate: Rate| reading(rate.per_hour())),
            minutes_to_go: lot.rate.map(|rate| rate.minutes_for(lot.left)),
            systems: lot.systems.iter().map(system).collect(),
        };
        Self {
            format: "chargesplit-status/1",
            job: job.into(),
            unit: division.unit().number_name(),
            readings: status.readings,
            last_reading: last.map(|last| last.to_string()),
            lots: status.lots.iter().map(lot).collect(),
            cylinders: status.cylinders.iter().map(|one| cylinder(one, reading)).collect(),
            in_force: None,
            warnings: warnings.to_vec(),
        }
    }

    /// The report with the plan that is in force.
    #[must_use]
    pub fn in_force(self, in_force: &recovery::InForce) -> Self {
        Self { in_force: Some(InForceLine::of(in_force, true)), ..self }
    }
}

fn cylinder(one: &recovery::CylinderStatus, reading: impl Fn(Marks) -> Reading) -> CylinderProgress {
    CylinderProgress {
        cylinder: one.cylinder.to_string(),
        lot: one.lot.clone(),
        start: reading(one.start),
        now: reading(one.now),
        gained: reading(one.gained),
        ease_off: one.ease_off.map(&reading),
        stop: one.stop.map(&reading),
        limit: one.limit.map(&reading),
        danger: one.is_danger(),
        over_fill: one.is_over_fill(),
        mixed: one.mixed,
        taken_out: one.without,
        holds: one.holds.clone(),
        marks: marks::words(&one.tags),
        pours: one.pours.iter().map(|pour| PourLine::of(pour, &reading)).collect(),
        hose: one.hose.as_ref().map(|hose| HoseLine::of(hose, one.now, &reading)),
        on_its_way: one.gained > 0 && one.stop.is_some_and(|stop| stop > one.now),
        bar: bar(one),
        word: word(one, reading),
    }
}

/// From its weight before to its stop weight, where it has none to its limit; full only where that is reached.
fn bar(one: &recovery::CylinderStatus) -> String {
    let end = one.stop.or(one.limit).unwrap_or(one.now);
    let (way, gone) = ((end - one.start).max(1), (one.now - one.start).max(0));
    let filled = (i128::from(gone) * i128::from(BAR) / i128::from(way)).clamp(0, i128::from(BAR));
    let filled = usize::try_from(filled).unwrap_or(0);
    format!("[{}{}]", "#".repeat(filled), ".".repeat(BAR as usize - filled))
}

fn word(one: &recovery::CylinderStatus, reading: impl Fn(Marks) -> Reading) -> String {
    if one.is_danger() {
        return "DANGER".into();
    }
    if one.is_over_fill() {
        return "over our fill".into();
    }
    if one.without {
        return "taken out".into();
    }
    if one.lost {
        return "taken: replan".into();
    }
    match one.stop {
        None => match one.limit {
            Some(limit) => format!("{} to its limit", reading((limit - one.now).max(0))),
            None => "no limit is known".into(),
        },
        Some(stop) if stop > one.now => format!("{} to go", reading(stop - one.now)),
        Some(stop) if stop == one.now => "at its stop".into(),
        Some(stop) => format!("{} over its stop", reading(one.now - stop)),
    }
}

impl Report for StatusReport {
    fn blocks(&self) -> Vec<Block> {
        let last = self.last_reading.as_ref().map_or_else(String::new, |last| format!(", the last at {last}"));
        let mut blocks = vec![Block::Heading(self.job.clone())];
        blocks.push(Block::Note(format!(
            "{}{last}. Weights in {}.",
            counted(self.readings, "reading"),
            as_drawn(self.unit)
        )));
        blocks.extend(self.in_force.iter().map(|line| Block::Note(line.text())));
        blocks.extend(self.warnings.iter().cloned().map(Block::Note));
        blocks.push(Block::Table(self.lots_table()));
        if self.lots.iter().any(|lot| lot.systems.len() > 1) {
            blocks.push(Block::Table(self.systems_table()));
        }
        let systems = || self.lots.iter().flat_map(|lot| &lot.systems);
        let dry = systems().filter(|system| system.dry).map(|system| format!("{} was found empty.", system.system));
        let more = systems().filter(|system| system.more).map(|system| {
            format!(
                "{} had pressure at its last stop: what is left of it is only what there is room for.",
                system.system
            )
        });
        let reached = self.lots.iter().filter(|lot| lot.nameplate_reached);
        let reached = reached.map(|lot| nameplate_reached(&lot.lot, lot.left));
        let found: Vec<String> = dry.chain(more).chain(reached).collect();
        blocks.extend((!found.is_empty()).then_some(Block::List(found)));
        if !self.cylinders.is_empty() {
            blocks.push(Block::Table(self.cylinders_table()));
        }
        let hoses = self.hoses();
        blocks.extend((!hoses.is_empty()).then_some(Block::List(hoses)));
        blocks
    }
}

impl StatusReport {
    /// The next hose change of each cylinder that is on its way; where none is, of the first that has one.
    fn hoses(&self) -> Vec<String> {
        let line = |one: &CylinderProgress| Some(format!("{}: {}.", one.cylinder, one.hose.as_ref()?.text));
        let on_its_way = self.cylinders.iter().filter(|one| one.on_its_way);
        if on_its_way.clone().next().is_some() {
            return on_its_way.filter_map(line).collect();
        }
        self.cylinders.iter().find_map(line).into_iter().collect()
    }

    fn lots_table(&self) -> Table {
        let weights = ["recovered", "left", "% of nameplate", "per hour", "to go"].map(number);
        let row = |lot: &LotProgress| {
            let nothing = || "-".to_owned();
            vec![
                lot.lot.clone(),
                lot.recovered.bare(),
                lot.left.bare(),
                lot.percent_of_nameplate.map_or_else(nothing, |tenths| format!("{}.{}", tenths / 10, tenths % 10)),
                lot.per_hour.map_or_else(nothing, Reading::bare),
                lot.minutes_to_go.map_or_else(nothing, |minutes| format!("{} h {:02}", minutes / 60, minutes % 60)),
            ]
        };
        Table {
            columns: [name("refrigerant")].into_iter().chain(weights).collect(),
            rows: self.lots.iter().map(row).collect(),
        }
    }

    fn systems_table(&self) -> Table {
        let weights = ["charge", "recovered", "left"].map(number);
        let row = |system: &SystemProgress| {
            vec![system.system.clone(), system.charge.bare(), system.recovered.bare(), system.left.bare()]
        };
        Table {
            columns: [words("system")].into_iter().chain(weights).collect(),
            rows: self.lots.iter().flat_map(|lot| &lot.systems).map(row).collect(),
        }
    }

    fn cylinders_table(&self) -> Table {
        let row = |one: &CylinderProgress| {
            let stop = one.stop.map_or_else(|| "-".into(), Reading::bare);
            let held = marks::marked(&one.holds, &one.marks);
            vec![one.cylinder.clone(), held, one.now.bare(), stop, one.bar.clone(), one.word.clone()]
        };
        let columns =
            vec![name("cylinder"), marked("refrigerant"), number("now"), number("STOP AT"), name(""), words("")];
        Table { columns, rows: self.cylinders.iter().map(row).collect() }
    }
}
