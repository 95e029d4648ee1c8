//! The loading plan: plain data that the planner makes, the audit checks and reports draw.
//!
//! Nothing here computes. Weights are whole divisions of the plan's scale.

use crate::cylinder::{Id, Tag};
use crate::quantity::{Division, Marks};

/// How sure a plan is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Status {
    /// Every charge is placed, and cylinders, heaviest and carried are proved the best possible.
    Proved,
    /// Every charge is placed; the bounds say how far the plan may be from the best possible.
    Bounded,
    /// Proved not to fit; the plan leaves the least weight over.
    Short,
    /// No plan was found in the time, and none disproved.
    Undecided,
}

impl Status {
    /// Every status.
    pub const ALL: [Self; 4] = [Self::Proved, Self::Bounded, Self::Short, Self::Undecided];

    /// Its word in reports and plan files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Proved => "proved",
            Self::Bounded => "bounded",
            Self::Short => "short",
            Self::Undecided => "undecided",
        }
    }
}

/// The three totals that a plan is judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Totals {
    /// Cylinders that are filled.
    pub cylinders: usize,
    /// The heaviest lift.
    pub heaviest: Marks,
    /// The sum of the lifts.
    pub carried: Marks,
}

/// One lot in the plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotLine {
    /// Its name.
    pub lot: String,
    /// Its refrigerant.
    pub refrigerant: String,
    /// Its systems.
    pub systems: Vec<String>,
    /// What has to be placed.
    pub charge: Marks,
    /// Room in the cylinders chosen for it.
    pub room: Marks,
    /// Room beyond the charge.
    pub spare: Marks,
}

/// What a system gives to a load.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Share {
    /// The system.
    pub system: String,
    /// What comes from it.
    pub add: Marks,
}

/// One cylinder to fill.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Load {
    /// Its place in the order, from 1.
    pub order: usize,
    /// The cylinder.
    pub cylinder: Id,
    /// The lot that goes in.
    pub lot: String,
    /// The refrigerant that goes in.
    pub refrigerant: String,
    /// What has to be marked on the cylinder once it is in, in the order of the marks.
    pub tags: Vec<Tag>,
    /// Which systems it comes from, in order.
    pub from: Vec<Share>,
    /// What the scale shows before.
    pub now: Marks,
    /// What is added.
    pub add: Marks,
    /// The scale reading to stop at.
    pub stop: Marks,
    /// The reading never to pass.
    pub limit: Marks,
    /// What bounds the cylinder: a ceiling, `lift` or `scale`.
    pub ceiling: String,
    /// The temperature at which the filled cylinder would be full of liquid, in words.
    pub liquid_full: String,
}

/// Why something is as it is: a stable code and a sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// Code from a closed list.
    pub code: String,
    /// A sentence, with what to do.
    pub text: String,
}

/// A cylinder that may not be used for any lot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// The cylinder.
    pub cylinder: Id,
    /// Every reason.
    pub reasons: Vec<Against>,
}

/// A reason that keeps a cylinder from taking some lots, or all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Against {
    /// Code of a fitness rule.
    pub code: String,
    /// A sentence, with what to do.
    pub text: String,
    /// The lots that it stands against, in the plan's order.
    pub lots: Vec<String>,
}

/// What doesn't fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Short {
    /// The lot.
    pub lot: String,
    /// What is left over.
    pub missing: Marks,
    /// Of [`Remedy::add`], the cylinders that this lot would get.
    pub suggest: Vec<Suggestion>,
}

/// What to do where the charge doesn't fit, for all jobs together: first to evacuate what holds nitrogen, then to add
/// cylinders to that yard.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Remedy {
    /// Cylinders of the yard that hold nitrogen and are fit once they are evacuated, in yard order.
    pub evacuate: Vec<Id>,
    /// What is left over with those evacuated and nothing added, by lot; empty where everything fits then.
    pub missing: Vec<(String, Marks)>,
    /// The fewest cylinders with which everything fits then; empty where none are needed or none were found.
    pub add: Vec<Suggestion>,
}

/// So many cylinders of one kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suggestion {
    /// How many.
    pub count: usize,
    /// The kind, with its sizes.
    pub kind: String,
    /// Of as few, none of the stock is cheaper to hire: proved.
    pub cheapest: bool,
}

/// A loading plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// The jobs that it is for.
    pub jobs: Vec<String>,
    /// The division of the scale that its weights are counted in.
    pub division: Division,
    /// How sure it is.
    pub status: Status,
    /// Lower bounds on the totals: no plan is better.
    pub bounds: Totals,
    /// The totals.
    pub totals: Totals,
    /// The lots, in order.
    pub lots: Vec<LotLine>,
    /// The cylinders to fill, in order.
    pub loads: Vec<Load>,
    /// Cylinders that may not be used, in yard order.
    pub left_out: Vec<LeftOut>,
    /// Cylinders that could be used and aren't needed, in yard order.
    pub not_needed: Vec<Id>,
    /// What doesn't fit, by lot.
    pub short: Vec<Short>,
    /// What to do about that; `None` where nothing is short.
    pub remedy: Option<Remedy>,
    /// What to know.
    pub warnings: Vec<Reason>,
}
