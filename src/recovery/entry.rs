//! The lines of the log. A log is never rewritten: what was wrong is taken back by a further entry.

use super::Moment;
use crate::cylinder::Id;
use crate::plan::Share;
use crate::quantity::Marks;

/// A line of the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogEntry {
    /// Its place in the log, from 1.
    pub number: usize,
    /// When it was made, or when the reading was taken.
    pub at: Moment,
    /// What it says.
    pub action: Action,
}

/// What a line of the log says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Action {
    /// From here on this plan is in force.
    Plan(Planned),
    /// The scale was read.
    Reading(LogReading),
    /// An earlier line doesn't count any more.
    Undo {
        /// Its number.
        takes_back: usize,
    },
}

/// A plan in force: what was known when it was made, and what it says to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Planned {
    /// The files that it was made from.
    pub files: Vec<FileMark>,
    /// Yard files that were added to the job's own.
    pub with: Vec<String>,
    /// Cylinders that are taken out from here on.
    pub without: Vec<Id>,
    /// The cylinders as they stood before the first reading; for a later plan, those that came with it.
    pub starts: Vec<Start>,
    /// What each system is believed to have held before the first reading.
    pub systems: Vec<SystemCharge>,
    /// The cylinders to fill, in order.
    pub steps: Vec<Step>,
    /// What has no place, by lot.
    pub short: Vec<(String, Marks)>,
}

/// A file with a mark of what stood in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileMark {
    /// Its path as the command line or the job names it.
    pub file: String,
    /// A digest that changes with the content.
    pub mark: String,
}

/// A cylinder before the first reading. What is stamped on it doesn't change and is read from the yard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Start {
    /// The cylinder.
    pub cylinder: Id,
    /// Its gross weight, exactly as the yard gave it, in grams.
    pub gross: crate::quantity::Weight,
    /// What it held, as a yard writes it.
    pub holds: String,
    /// What may be in a mixture that it held.
    pub may_contain: Vec<String>,
    /// The condition of that, as a yard writes it.
    pub condition: String,
    /// Whose it was.
    pub owner: Option<String>,
    /// The job that it was kept for.
    pub kept_for: Option<String>,
}

/// What a system holds, or held.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SystemCharge {
    /// The system.
    pub system: String,
    /// Its charge.
    pub charge: Marks,
}

/// A cylinder to fill by a plan in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The cylinder.
    pub cylinder: Id,
    /// The lot that goes in.
    pub lot: String,
    /// Where it comes from.
    pub from: Vec<Share>,
    /// The gross weight when the plan was made.
    pub now: Marks,
    /// What is to be added.
    pub add: Marks,
    /// The scale reading to stop at.
    pub stop: Marks,
    /// The reading never to pass.
    pub limit: Marks,
}

/// A reading of the scale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogReading {
    /// The cylinder on the scale.
    pub cylinder: Id,
    /// What it weighed with its contents.
    pub gross: Marks,
    /// What the scale showed, where it had been zeroed with the cylinder on it.
    pub net: Option<Marks>,
    /// The system that the gain since the last reading came from.
    pub system: String,
    /// The cylinder was emptied, or partly, since the last reading, into nothing that this job weighs: what it lost
    /// has been recovered all the same.
    pub emptied: bool,
    /// What it lost went into another cylinder of this job, or back into the system: it isn't counted here any more.
    pub moved: bool,
    /// Codes of what spoke against it, where it was kept all the same.
    pub forced: Vec<String>,
    /// A remark.
    pub note: Option<String>,
}
