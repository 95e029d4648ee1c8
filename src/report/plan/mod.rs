//! The loading plan as a report: the struct is its JSON, [`blocks`] its text.

mod blocks;
mod remedy;

use serde::Serialize;

pub(super) use remedy::Remedy;
use remedy::Suggestion;

use super::Hazards;
use super::left_out::{self, LeftOut};
use super::marks;
use super::number::{Number, Reading};
use crate::audit::Audited;
use crate::cylinder::Bound;
use crate::files::PLAN_FORMAT;
use crate::job::Work;
use crate::plan::{self, Plan, Status};
use crate::problem::SkippedRow;
use crate::quantity::{Division, Marks, Unit};

/// A plan that has passed the audit, ready to be shown.
#[derive(Debug, Serialize)]
pub struct PlanReport {
    format: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    job: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    jobs: Vec<String>,
    unit: &'static str,
    division: Number,
    status: &'static str,
    bounds: Totals,
    totals: Totals,
    lots: Vec<Lot>,
    loads: Vec<Load>,
    left_out: Vec<LeftOut>,
    not_needed: Vec<String>,
    short: Vec<Short>,
    #[serde(skip_serializing_if = "Option::is_none")]
    remedy: Option<Remedy>,
    warnings: Vec<Reason>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    explanation: Vec<String>,
    skipped: Vec<String>,
    #[serde(skip)]
    drawn: Drawn,
}

/// What the drawing needs beside the data.
#[derive(Debug)]
struct Drawn {
    status: Status,
    unit: Unit,
    hazards: Hazards,
    /// Each bound of the plan with a line of what it stands for, and who says so.
    meanings: Vec<(&'static str, String)>,
    beside: Option<Division>,
    /// Whether somebody asked why.
    explained: bool,
}

#[derive(Debug, Serialize)]
struct Totals {
    cylinders: usize,
    heaviest: Reading,
    carried: Reading,
}

#[derive(Debug, Serialize)]
struct Lot {
    lot: String,
    refrigerant: String,
    systems: Vec<String>,
    charge: Reading,
    room: Reading,
    spare: Reading,
}

#[derive(Debug, Serialize)]
struct Load {
    order: usize,
    cylinder: String,
    lot: String,
    refrigerant: String,
    marks: Vec<&'static str>,
    from: Vec<Share>,
    now: Reading,
    add: Reading,
    stop: Reading,
    limit: Reading,
    ceiling: String,
    liquid_full: String,
}

#[derive(Debug, Serialize)]
struct Share {
    system: String,
    add: Reading,
}

/// A stable code with its sentence.
#[derive(Debug, Serialize)]
pub(super) struct Reason {
    pub(super) code: String,
    pub(super) text: String,
}

#[derive(Debug, Serialize)]
struct Short {
    lot: String,
    missing: Reading,
    suggest: Vec<Suggestion>,
}

impl PlanReport {
    /// A report of this plan for this work; `skipped` are the rows of the yard that couldn't be read.
    pub fn new(audited: &Audited, skipped: &[SkippedRow], work: &Work) -> Self {
        let plan = audited.plan();
        let reading = |marks: Marks| Reading::new(plan.division, marks);
        let (job, jobs) = match plan.jobs.as_slice() {
            [one] => (Some(one.clone()), Vec::new()),
            several => (None, several.to_vec()),
        };
        Self {
            format: PLAN_FORMAT,
            job,
            jobs,
            unit: plan.division.unit().number_name(),
            division: Number(plan.division.number(1)),
            status: plan.status.name(),
            bounds: totals(plan.bounds, reading),
            totals: totals(plan.totals, reading),
            lots: plan.lots.iter().map(|line| lot(line, reading)).collect(),
            loads: plan.loads.iter().map(|line| load(line, reading)).collect(),
            left_out: left_out::of(plan),
            not_needed: plan.not_needed.iter().map(ToString::to_string).collect(),
            short: plan.short.iter().map(|line| short(line, reading)).collect(),
            remedy: plan.remedy.as_ref().map(|found| Remedy::new(found, reading)),
            warnings: plan.warnings.iter().map(Reason::new).collect(),
            explanation: Vec::new(),
            skipped: super::skipped(skipped),
            drawn: Drawn {
                status: plan.status,
                unit: plan.division.unit(),
                hazards: Hazards::of(work),
                meanings: meanings(plan, work),
                beside: None,
                explained: false,
            },
        }
    }
}

impl PlanReport {
    /// What its refrigerants ask a reader to beware of.
    pub(super) fn hazards(&self) -> &Hazards {
        &self.drawn.hazards
    }

    /// The report with its loading plan on a scale of another division besides.
    #[must_use]
    pub fn beside(mut self, other: Option<Division>) -> Self {
        self.drawn.beside = other;
        self
    }

    /// The report with sentences that say why the plan is as it is.
    #[must_use]
    pub fn with_why(self, explanation: Vec<String>) -> Self {
        let drawn = Drawn { explained: true, ..self.drawn };
        Self { explanation, drawn, ..self }
    }
}

/// What each bound stands for; where lots' terms differ, a line for each with the lots' names.
fn meanings(plan: &Plan, work: &Work) -> Vec<(&'static str, String)> {
    let mut found: Vec<(&'static str, String, Vec<&str>)> = Vec::new();
    for load in &plan.loads {
        let lot = work.lots().iter().find(|lot| lot.name == load.lot);
        let Some((bound, lot)) = Bound::named(&load.ceiling).zip(lot) else { continue };
        let text = bound.says(&lot.intake.terms);
        match found.iter_mut().find(|(name, said, _)| *name == bound.name() && *said == text) {
            Some((_, _, lots)) if lots.contains(&lot.name.as_str()) => {}
            Some((_, _, lots)) => lots.push(&lot.name),
            None => found.push((bound.name(), text, vec![&lot.name])),
        }
    }
    let line = |(name, text, lots): &(&'static str, String, Vec<&str>)| {
        let differ = found.iter().filter(|(other, ..)| other == name).count() > 1;
        let of = if differ { format!(" of {}", lots.join(", ")) } else { String::new() };
        (*name, format!("{name}{of}: {text}"))
    };
    found.iter().map(line).collect()
}

fn totals(totals: plan::Totals, reading: impl Fn(Marks) -> Reading) -> Totals {
    Totals { cylinders: totals.cylinders, heaviest: reading(totals.heaviest), carried: reading(totals.carried) }
}

fn lot(line: &plan::LotLine, reading: impl Fn(Marks) -> Reading) -> Lot {
    Lot {
        lot: line.lot.clone(),
        refrigerant: line.refrigerant.clone(),
        systems: line.systems.clone(),
        charge: reading(line.charge),
        room: reading(line.room),
        spare: reading(line.spare),
    }
}

fn load(line: &plan::Load, reading: impl Fn(Marks) -> Reading) -> Load {
    let share = |share: &plan::Share| Share { system: share.system.clone(), add: reading(share.add) };
    Load {
        order: line.order,
        cylinder: line.cylinder.to_string(),
        lot: line.lot.clone(),
        refrigerant: line.refrigerant.clone(),
        marks: marks::words(&line.tags),
        from: line.from.iter().map(share).collect(),
        now: reading(line.now),
        add: reading(line.add),
        stop: reading(line.stop),
        limit: reading(line.limit),
        ceiling: line.ceiling.clone(),
        liquid_full: line.liquid_full.clone(),
    }
}

impl Reason {
    pub(super) fn new(reason: &plan::Reason) -> Self {
        Self { code: reason.code.clone(), text: reason.text.clone() }
    }
}

fn short(line: &plan::Short, reading: impl Fn(Marks) -> Reading) -> Short {
    Short {
        lot: line.lot.clone(),
        missing: reading(line.missing),
        suggest: line.suggest.iter().map(Suggestion::new).collect(),
    }
}
