//! The answer to a reading: where the cylinder is, what is next, what is left.

use serde::Serialize;

use super::hose::HoseLine;
use super::{Block, PlanReport, Report};
use crate::plan::Reading;
use crate::quantity::{Division, Marks};
use crate::recovery::Answer;

/// What a reading means.
#[derive(Debug, Serialize)]
pub struct WeighReport {
    format: &'static str,
    unit: &'static str,
    cylinder: String,
    lot: String,
    system: String,
    /// What was gained, by system.
    parts: Vec<GainLine>,
    hose: Option<HoseLine>,
    gross: Reading,
    net: Reading,
    gained: Reading,
    stop: Reading,
    planned: bool,
    to_stop: Reading,
    limit: Option<Reading>,
    to_limit: Option<Reading>,
    over_stop: bool,
    danger: bool,
    mixed: bool,
    next: Vec<Next>,
    recovered: Reading,
    left: Reading,
    nameplate_reached: bool,
    forced: Vec<String>,
    warnings: Vec<String>,
    /// The plan that was bound with this reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    plan: Option<PlanReport>,
}

#[derive(Debug, Serialize)]
struct Next {
    cylinder: String,
    to_go: Reading,
    from: Option<String>,
}

/// That what comes from here on is allowance.
pub(super) fn nameplate_reached(lot: &str, left: Reading) -> String {
    format!("{lot}: nameplate reached; the {left} left are allowance, if they are there.")
}

/// A system's part of what was gained.
#[derive(Debug, Serialize)]
struct GainLine {
    system: String,
    weight: Reading,
    /// Nobody read the scale when the hose moved: the plan's order was taken.
    assumed: bool,
}

impl WeighReport {
    /// A report of this answer; `warnings` are about the files.
    pub fn new(division: Division, answer: &Answer, warnings: &[String]) -> Self {
        let reading = |marks: Marks| Reading::new(division, marks);
        let next = |next: &crate::recovery::Next| Next {
            cylinder: next.cylinder.to_string(),
            to_go: reading(next.to_go),
            from: next.from.clone(),
        };
        let part = |(system, marks, assumed): &(String, Marks, bool)| GainLine {
            system: system.clone(),
            weight: reading(*marks),
            assumed: *assumed,
        };
        Self {
            format: "chargesplit-weigh/1",
            unit: division.unit().number_name(),
            cylinder: answer.cylinder.to_string(),
            lot: answer.lot.clone(),
            system: answer.system.clone(),
            parts: answer.parts.iter().map(part).collect(),
            hose: answer.hose.as_ref().map(|hose| HoseLine::of(hose, answer.gross, reading)),
            gross: reading(answer.gross),
            net: reading(answer.net),
            gained: reading(answer.gained),
            stop: reading(answer.stop),
            planned: answer.planned,
            to_stop: reading(answer.to_stop()),
            limit: answer.limit.map(reading),
            to_limit: answer.limit.map(|limit| reading(limit - answer.gross)),
            over_stop: answer.to_stop() < 0,
            danger: answer.is_danger(),
            mixed: answer.mixed,
            next: answer.next.iter().map(next).collect(),
            recovered: reading(answer.recovered),
            left: reading(answer.left),
            nameplate_reached: answer.nameplate_reached,
            forced: answer.forced.clone(),
            warnings: warnings.to_vec(),
            plan: None,
        }
    }

    /// The answer to the first reading, with the plan that is followed from here on.
    #[must_use]
    pub fn with_plan(self, plan: Option<PlanReport>) -> Self {
        Self { plan, ..self }
    }

    fn counted_for(&self) -> String {
        if let [_, _, ..] = self.parts.as_slice() {
            let parts = self.parts.iter().map(|part| format!("{} {}", part.weight, part.system));
            let parts = parts.collect::<Vec<_>>().join(", ");
            return format!("{parts}, as planned, since nobody read the scale in between (`--system` says otherwise)");
        }
        self.system.clone()
    }

    fn to_the_stop(&self) -> String {
        let stop = if self.planned { "stop weight" } else { "most that it may go up to; the plan doesn't fill it" };
        if self.over_stop {
            return format!(
                "WARNING: {} over the {stop}. Close the valve. Where the number is wrong: `weigh --undo`.",
                self.to_stop.abs()
            );
        }
        if self.to_stop.is_zero() {
            return "At the stop weight: close the valve.".into();
        }
        format!("{} to the {stop}.", self.to_stop)
    }

    fn what_is_next(&self) -> String {
        let mut cylinders = self.next.iter();
        match (cylinders.next(), cylinders.next()) {
            // What came out may all be in fewer cylinders than planned: then no other has a way to go.
            _ if self.left.is_zero() => format!(
                "{} is all out by what was planned. Where there is still pressure: `replan --more SYSTEM`; if not: `closeout`.",
                self.lot
            ),
            (Some(first), Some(then)) => {
                let from = then.from.as_ref().map_or_else(String::new, |system| format!(" from {system}"));
                format!("{} has {} to go; then {}{from}.", first.cylinder, first.to_go, then.cylinder)
            }
            (Some(first), None) => format!("{} has {} to go, the last of {}.", first.cylinder, first.to_go, self.lot),
            (None, _) => {
                format!("No further cylinder is planned for {}, and {} is left: `replan`.", self.lot, self.left)
            }
        }
    }
}

impl Report for WeighReport {
    fn blocks(&self) -> Vec<Block> {
        let limit = self.limit.map_or_else(|| "unknown".into(), |limit| limit.to_string());
        let mut lines = vec![
            format!(
                "{}: {} net now, {} gross; stop at {}, limit {limit}.",
                self.cylinder, self.net, self.gross, self.stop
            ),
            self.to_the_stop(),
        ];
        lines.extend(self.hose.iter().map(|hose| format!("{}: {}.", self.cylinder, hose.text)));
        lines.push(self.what_is_next());
        lines.push(format!(
            "{}: {} recovered, {} left; counted for {}.",
            self.lot,
            self.recovered,
            self.left,
            self.counted_for()
        ));
        if self.nameplate_reached {
            lines.push(nameplate_reached(&self.lot, self.left));
        }
        if !self.forced.is_empty() {
            lines.push(format!("Kept with a mark, though this speaks against it: {}.", self.forced.join(", ")));
        }
        lines.extend(self.warnings.iter().cloned());
        let table = self.plan.iter().flat_map(PlanReport::table);
        table.chain([Block::List(lines)]).collect()
    }
}
