//! The entries of a ledger: what happened to the cylinders of a yard, one thing at a time, never changed afterwards.

use std::fmt;
use std::sync::Arc;

use jiff::civil::Date;

use super::Moment;
use super::state::{CylinderState, Pour, Row};
use crate::cylinder::Id;
use crate::quantity::Weight;

/// The name of an entry: the tag of the file that it was written in, and its number there, from 1.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct EntryId {
    /// The tag of the writer's file.
    pub tag: Arc<str>,
    /// Its place in that file, from 1.
    pub number: u64,
}

impl EntryId {
    /// Reads `k3v9q2/17`.
    pub fn parse(text: &str) -> Option<Self> {
        let (tag, number) = text.rsplit_once('/')?;
        let number = number.parse().ok().filter(|number| *number > 0)?;
        (!tag.is_empty()).then(|| Self { tag: tag.into(), number })
    }
}

impl fmt::Display for EntryId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.tag, self.number)
    }
}

/// A job: the text of its `job:`, and the bind that it began with. The names of files mean nothing.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct JobId {
    /// As its file says under `job`.
    pub name: String,
    /// Its first bind.
    pub first: EntryId,
}

/// An entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its name.
    pub id: EntryId,
    /// When it happened, as the writer's clock showed it. Orders reports, and nothing else.
    pub at: Moment,
    /// Who wrote it.
    pub by: String,
    /// The job whose doing it is, but for a bind, which has its own.
    pub job: Option<JobId>,
    /// For each cylinder that it speaks of, the entries that it continues from; with none its chain begins here.
    pub on: Vec<(Id, Vec<EntryId>)>,
    /// The rows of cylinders as they stood: of each whose chain begins here, and of each that a bind binds.
    pub rows: Vec<Row>,
    /// What happened.
    pub what: What,
}

impl Entry {
    /// The entries that it continues from for a cylinder; `None` where it doesn't speak of it.
    pub fn continues(&self, cylinder: &Id) -> Option<&[EntryId]> {
        self.on.iter().find(|(id, _)| id == cylinder).map(|(_, from)| from.as_slice())
    }

    /// The row of a cylinder as it stood.
    pub fn row(&self, cylinder: &Id) -> Option<&Row> {
        self.rows.iter().find(|row| row.id == *cylinder)
    }
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// From here on everybody follows this plan, and its cylinders are nobody else's.
    Bind(Bind),
    /// A plan that nobody follows any more; its cylinders that aren't begun are free.
    Release {
        /// Its bind.
        of: EntryId,
    },
    /// The scale was read.
    Reading(Reading),
    /// A cylinder's last reading doesn't count.
    Undo {
        /// The reading.
        of: EntryId,
    },
    /// A fact about cylinders that isn't a reading.
    Cylinder(Fact),
    /// Rows of the yard file are about to be written.
    Settling {
        /// Each changed row before and after.
        changes: Vec<Change>,
    },
    /// They have been written.
    Settled {
        /// The settling.
        of: EntryId,
    },
    /// A job is over; its cylinders are free with what is in them.
    Closed(Closed),
}

/// A plan that binds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bind {
    /// The jobs that it is for.
    pub jobs: Vec<BoundJob>,
    /// The binds in whose place it stands.
    pub follows: Vec<EntryId>,
    /// The day that it is for. Where nothing of it is begun, it lapses the day after.
    pub day: Date,
    /// The van that its cylinders go on, where it is known.
    pub van: Option<String>,
    /// The options that it was made with, as typed, for the next plan of these jobs.
    pub options: Vec<String>,
    /// The cylinders that are bound: those to fill, and those that these jobs have begun.
    pub cylinders: Vec<Id>,
    /// What each system is believed to have held before the first reading, by its name in the plan.
    pub systems: Vec<(String, Weight)>,
    /// The cylinders to fill, in order.
    pub steps: Vec<Step>,
    /// What has no place, by lot.
    pub short: Vec<(String, Weight)>,
    /// Systems that were found empty, by their names in the plan.
    pub dry: Vec<String>,
    /// Systems that had pressure at their last stop: how much is left of them isn't known.
    pub more: Vec<String>,
}

/// A job as it was when it was bound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoundJob {
    /// As its file says under `job`.
    pub name: String,
    /// Its first bind: this one, where it begins here.
    pub first: EntryId,
    /// Its file as it was read, without a yard in place.
    pub text: String,
}

impl BoundJob {
    /// Which job it is.
    pub fn id(&self) -> JobId {
        JobId { name: self.name.clone(), first: self.first.clone() }
    }
}

/// A cylinder to fill by a plan that binds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The cylinder.
    pub cylinder: Id,
    /// The lot that goes in.
    pub lot: String,
    /// Where it comes from: system and weight.
    pub from: Vec<(String, Weight)>,
    /// The gross weight when the plan was made.
    pub now: Weight,
    /// What is to be added.
    pub add: Weight,
    /// The scale reading to stop at.
    pub stop: Weight,
    /// The reading never to pass.
    pub limit: Weight,
}

/// A reading of the scale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// The cylinder on the scale.
    pub cylinder: Id,
    /// The bind that was followed.
    pub bind: EntryId,
    /// What it weighed with its contents.
    pub gross: Weight,
    /// What the scale showed, where it had been zeroed with the cylinder on it.
    pub net: Option<Weight>,
    /// What it gained since the last reading, by system; less than nothing where it corrects an earlier one.
    pub parts: Vec<Gained>,
    /// What went in, where it gained.
    pub pour: Pour,
    /// It was emptied, or partly, since the last reading, into nothing that this job weighs.
    pub emptied: bool,
    /// What it lost went into another cylinder of this job, or back into the system.
    pub moved: bool,
    /// The first reading after a night or a long break: a small difference is the scale's, and this is the new start.
    pub morning: bool,
    /// Codes of what spoke against it, where it was kept all the same.
    pub forced: Vec<String>,
    /// A remark.
    pub note: Option<String>,
    /// The name that it had where it came from, such as the number of a card's reading: it is taken once.
    pub via: Option<String>,
}

/// A system's part of what a cylinder gained.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gained {
    /// The system, by its name in the plan.
    pub system: String,
    /// How much.
    pub weight: Weight,
    /// Nobody read the scale when the hose moved: the plan's order was taken.
    pub assumed: bool,
}

/// A fact about cylinders.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// What.
    pub what: FactKind,
    /// Why, where it was said.
    pub why: Option<String>,
}

/// Kinds of facts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FactKind {
    /// Somebody weighed it, and said what is in it or that it is what we think.
    Weighed {
        /// The cylinder.
        cylinder: Id,
        /// What it weighs.
        gross: Weight,
        /// What is in it, where that was said: everything of its state but the weight.
        holds: Option<CylinderState>,
    },
    /// It has been emptied and evacuated, and weighs its tare or what was said.
    Emptied {
        /// The cylinder.
        cylinder: Id,
        /// What it weighs.
        gross: Weight,
    },
    /// It is gone or bad: in no plan.
    Out {
        /// The cylinder.
        cylinder: Id,
    },
    /// It is there and good again.
    Back {
        /// The cylinder.
        cylinder: Id,
    },
    /// The row of the yard file is right, and the ledger isn't.
    AsFile {
        /// The cylinder; its row stands with the entry.
        cylinder: Id,
    },
    /// A row of another list: from here on the cylinder is one of the yard.
    Added {
        /// The cylinder; its row stands with the entry.
        cylinder: Id,
    },
    /// It goes on another van.
    ToVan {
        /// The cylinder.
        cylinder: Id,
        /// The van.
        van: String,
    },
    /// An entry that can't be read, or isn't there, doesn't count any more.
    GivenUp {
        /// The entry.
        entry: EntryId,
    },
}

/// A row of the yard file before and after a settling.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The cylinder.
    pub cylinder: Id,
    /// What the row said.
    pub before: CylinderState,
    /// What it says from then on.
    pub after: CylinderState,
}

/// The end of a job, with what the close-out was told.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Closed {
    /// Where it was.
    pub place: Option<String>,
    /// The technician's certificate number.
    pub certificate: Option<String>,
    /// The company that recovered.
    pub company: Option<String>,
    /// Who gets what was recovered.
    pub recipient: Option<String>,
    /// The day on which they get it, as `2026-12-01`.
    pub transferred: Option<String>,
}
