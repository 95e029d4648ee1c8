//! The loading plan as a report: the struct is its JSON, [`blocks`] its text.

mod blocks;
pub(super) mod remedy;

use serde::Serialize;

use super::Hazards;
use super::in_force::InForceLine;
use crate::audit::Audited;
use crate::cylinder::Bound;
use crate::job::Work;
use crate::plan::{Plan, Reading};
use crate::problem::SkippedRow;
use crate::quantity::Division;
use crate::recovery::InForce;
use crate::text::PLAN_FORMAT;

/// A plan that has passed the audit, ready to be shown.
#[derive(Debug, Serialize)]
pub struct PlanReport {
    format: &'static str,
    #[serde(flatten)]
    plan: Plan<Reading>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    explanation: Vec<String>,
    skipped: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    in_force: Option<InForceLine>,
    #[serde(skip)]
    drawn: Drawn,
}

/// What the drawing needs beside the data.
#[derive(Debug)]
struct Drawn {
    hazards: Hazards,
    /// Each bound of the plan with a line of what it stands for, and who says so.
    meanings: Vec<(&'static str, String)>,
    beside: Option<Division>,
    /// Whether somebody asked why.
    explained: bool,
}

impl PlanReport {
    /// A report of this plan for this work; `skipped` are the rows of the yard that couldn't be read.
    pub fn new(audited: &Audited, skipped: &[SkippedRow], work: &Work) -> Self {
        let plan = audited.plan();
        Self {
            format: PLAN_FORMAT,
            plan: plan.readings(),
            explanation: Vec::new(),
            skipped: super::skipped(skipped),
            in_force: None,
            drawn: Drawn { hazards: Hazards::of(work), meanings: meanings(plan, work), beside: None, explained: false },
        }
    }
}

impl PlanReport {
    /// What its refrigerants ask a reader to beware of.
    pub(super) fn hazards(&self) -> &Hazards {
        &self.drawn.hazards
    }

    /// The report of a plan that binds; `same` says whether it is the one of the report, or the files have changed since.
    #[must_use]
    pub fn in_force(self, in_force: &InForce, same: bool) -> Self {
        Self { in_force: Some(InForceLine::of(in_force, same)), ..self }
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
