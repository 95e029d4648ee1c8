//! What a replan was told, and what it changes against the plan in force.

use super::{Day, Planned, Step};
use crate::cylinder::Id;
use crate::planner::Options;
use crate::quantity::Marks;

/// What the technician knows by now that the files don't.
#[derive(Debug, Clone, Default)]
pub struct Changes {
    /// What is left in systems, by their positions.
    pub left: Vec<(usize, Marks)>,
    /// Systems that are empty.
    pub dry: Vec<usize>,
    /// Systems that still have pressure at their last stop.
    pub more: Vec<usize>,
    /// Cylinders that are missing or bad, by their ids.
    pub without: Vec<Id>,
    /// Cylinders that have come; they are in the day's work already.
    pub added: Vec<Id>,
    /// What matters, as when the plan in force was made.
    pub options: Options,
}

/// What is other with a cylinder than by the plan in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StopChange {
    /// It wasn't in the plan.
    New {
        /// Where to stop.
        stop: Marks,
    },
    /// It was finished and is connected again.
    Again {
        /// Where to stop.
        stop: Marks,
        /// What it weighs.
        before: Marks,
    },
    /// Another stop.
    Stop {
        /// Where to stop.
        stop: Marks,
        /// Where it was to stop.
        before: Marks,
    },
    /// The same stop, and other systems on the way, or the hose at another reading.
    Hose,
    /// Nothing more goes in.
    Closed {
        /// What it weighs.
        now: Marks,
    },
    /// Somebody else has begun it.
    Lost,
    /// It isn't needed any more.
    Dropped,
}

impl StopChange {
    /// Its name in data.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::New { .. } => "new",
            Self::Again { .. } => "again",
            Self::Stop { .. } => "stop",
            Self::Hose => "hose",
            Self::Closed { .. } => "closed",
            Self::Lost => "lost",
            Self::Dropped => "dropped",
        }
    }
}

/// What was told, a sentence each.
pub(super) fn told(day: &Day, changes: &Changes) -> Vec<String> {
    let division = day.division();
    let mut said = Vec::new();
    for (system, left) in &changes.left {
        let line = &day.systems[*system];
        let (left, held, planned) = (division.text(*left), division.text(line.believed), division.text(line.planned));
        said.push(format!("{}: {left} left, so that it held {held}; the job file makes it {planned}", line.name));
    }
    for system in &changes.dry {
        let line = &day.systems[*system];
        let (held, planned) = (division.text(line.believed), division.text(line.planned));
        said.push(format!("{}: empty, so that it held {held}; the job file makes it {planned}", line.name));
    }
    let names = |ids: &[Id]| ids.iter().map(Id::as_str).collect::<Vec<_>>().join(", ");
    if !changes.without.is_empty() {
        said.push(format!("taken out: {}", names(&changes.without)));
    }
    if !changes.added.is_empty() {
        said.push(format!("added: {}", names(&changes.added)));
    }
    said
}

/// What changes for which cylinder: first those of the new plan in its order, then those that aren't in it.
pub(super) fn changed(day: &Day, planned: &Planned, without: &[Id]) -> Vec<(Id, StopChange)> {
    let Some(before) = day.planned() else { return Vec::new() };
    let filling = |id: &Id| day.position(id).map(|at| &day.fillings[at]);
    let mut found = Vec::new();
    for step in &planned.steps {
        let earlier = before.steps.iter().find(|earlier| earlier.cylinder == step.cylinder);
        let now = filling(&step.cylinder).map(|filling| filling.now).unwrap_or_default();
        let begun = filling(&step.cylinder).is_some_and(super::Filling::begun);
        let change = match earlier {
            None if begun => Some(StopChange::Again { stop: step.stop, before: now }),
            None => Some(StopChange::New { stop: step.stop }),
            Some(earlier) if begun && earlier.stop <= now => Some(StopChange::Again { stop: step.stop, before: now }),
            Some(earlier) if earlier.stop != step.stop => {
                Some(StopChange::Stop { stop: step.stop, before: earlier.stop })
            }
            Some(earlier) => (hoses(earlier, now) != hoses(step, now)).then_some(StopChange::Hose),
        };
        found.extend(change.map(|change| (step.cylinder.clone(), change)));
    }
    for step in &before.steps {
        let gone = !planned.steps.iter().any(|later| later.cylinder == step.cylinder);
        let change = match filling(&step.cylinder) {
            Some(filling) if gone && filling.begun() && filling.now >= step.stop => None,
            Some(filling) if gone && filling.begun() => Some(StopChange::Closed { now: filling.now }),
            Some(filling) if gone && filling.lost => Some(StopChange::Lost),
            _ if gone && !without.contains(&step.cylinder) => Some(StopChange::Dropped),
            _ => None,
        };
        found.extend(change.map(|change| (step.cylinder.clone(), change)));
    }
    found
}

/// The systems still to be connected to a cylinder, each with the reading up to which it is.
fn hoses(step: &Step, now: Marks) -> Vec<(&str, Marks)> {
    let mut at = step.now;
    let mut all = Vec::new();
    for share in &step.from {
        at += share.add;
        if at > now {
            all.push((share.system.as_str(), at));
        }
    }
    all
}
