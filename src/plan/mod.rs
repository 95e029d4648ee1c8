//! The loading plan: plain data that the planner makes, the audit checks and reports draw.
//!
//! This is the one definition of its fields. Planner and audit count weights in whole divisions of the plan's scale, so
//! that a [`Plan`] is by itself a `Plan<Marks>`. [`Plan::readings`] makes of it a `Plan<Reading>`, whose JSON is what
//! `plan --json` writes; a plan in bare divisions has none, as nobody could read it. Nothing here computes.

mod data;
mod reading;

use serde::Serialize;

pub use data::Shown;
pub use reading::{Number, Reading};

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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(bound(serialize = "W: Shown"))]
pub struct Totals<W = Marks> {
    /// Cylinders that are filled.
    pub cylinders: usize,
    /// The heaviest lift.
    pub heaviest: W,
    /// The sum of the lifts.
    pub carried: W,
    /// Pours. A plan's bound says what no way of filling its own cylinders, with lifts no heavier, comes below.
    pub pours: usize,
    /// What stays in the systems, where the charge doesn't fit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub missing: Option<W>,
}

/// One lot in the plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(bound(serialize = "W: Shown"))]
pub struct LotLine<W = Marks> {
    /// Its name.
    pub lot: String,
    /// Its refrigerant.
    pub refrigerant: String,
    /// Its systems.
    pub systems: Vec<String>,
    /// What has to be placed.
    pub charge: W,
    /// Room in the cylinders chosen for it.
    pub room: W,
    /// Room beyond the charge.
    pub spare: W,
}

/// What a system gives to a load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(bound(serialize = "W: Shown"))]
pub struct Share<W = Marks> {
    /// The system.
    pub system: String,
    /// What comes from it.
    pub add: W,
}

/// One hose connection: one system into one cylinder, from one scale reading to another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(bound(serialize = "W: Shown"))]
pub struct Pour<W = Marks> {
    /// The system.
    pub system: String,
    /// What the scale shows before.
    pub from: W,
    /// The scale reading at which the hose is changed, or, of a cylinder's last, to stop at.
    pub to: W,
    /// What comes from the system.
    pub add: W,
    /// It is the system's last: what is drawn from it in the end is vapour.
    pub vapour_last: bool,
}

/// One cylinder to fill.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(bound(serialize = "W: Shown + Copy"))]
pub struct Load<W = Marks> {
    /// Its place in the order, from 1.
    pub order: usize,
    /// The cylinder.
    #[serde(serialize_with = "data::id")]
    pub cylinder: Id,
    /// The lot that goes in.
    pub lot: String,
    /// The refrigerant that goes in.
    pub refrigerant: String,
    /// What has to be marked on the cylinder once it is in, in the order of the marks.
    #[serde(rename = "marks", serialize_with = "data::words")]
    pub tags: Vec<Tag>,
    /// Its pours, in working order; in data besides as `from`, what comes from each system.
    #[serde(flatten, serialize_with = "data::pours")]
    pub pours: Vec<Pour<W>>,
    /// What the scale shows before.
    pub now: W,
    /// What is added.
    pub add: W,
    /// The scale reading from which on to fill slowly; as `now` where that is from the start.
    pub ease_off: W,
    /// The scale reading to stop at.
    pub stop: W,
    /// The reading never to pass.
    pub limit: W,
    /// What bounds the cylinder: a ceiling, `lift` or `scale`.
    pub ceiling: String,
    /// The temperature at which the filled cylinder would be full of liquid, in words.
    pub liquid_full: String,
}

/// Why something is as it is: a stable code and a sentence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reason {
    /// Code from a closed list.
    pub code: String,
    /// A sentence, with what to do.
    pub text: String,
}

/// A cylinder that may not be used for any lot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// The cylinder.
    #[serde(serialize_with = "data::id")]
    pub cylinder: Id,
    /// Every reason.
    pub reasons: Vec<Against>,
}

/// A reason that keeps a cylinder from taking some lots, or all.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Against {
    /// Code of a fitness rule.
    pub code: String,
    /// A sentence, with what to do.
    pub text: String,
    /// The lots that it stands against, in the plan's order.
    pub lots: Vec<String>,
}

/// What doesn't fit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(bound(serialize = "W: Shown"))]
pub struct Short<W = Marks> {
    /// The lot.
    pub lot: String,
    /// What is left over.
    pub missing: W,
    /// Of [`Remedy::add`], the cylinders that this lot would get.
    pub suggest: Vec<Suggestion>,
}

/// What to do where the charge doesn't fit, for all jobs together: first to evacuate what holds nitrogen, then to add
/// cylinders to that yard.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
#[serde(bound(serialize = "W: Shown"))]
pub struct Remedy<W = Marks> {
    /// Cylinders of the yard that hold nitrogen and are fit once they are evacuated, in yard order.
    #[serde(serialize_with = "data::ids")]
    pub evacuate: Vec<Id>,
    /// What is left over with those evacuated and nothing added, by lot; empty where everything fits then.
    pub missing: Vec<Leftover<W>>,
    /// The fewest cylinders with which everything fits then; empty where none are needed or none were found.
    pub add: Vec<Suggestion>,
}

/// What of a lot is left over once cylinders are evacuated and nothing is added.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(bound(serialize = "W: Shown"))]
pub struct Leftover<W = Marks> {
    /// The lot.
    pub lot: String,
    /// What is left over of it.
    pub missing: W,
}

/// So many cylinders of one kind.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Suggestion {
    /// How many.
    pub count: usize,
    /// The kind, with its sizes.
    pub kind: String,
    /// Of as few, none of the stock is cheaper to hire: proved.
    pub cheapest: bool,
}

/// A loading plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(bound(serialize = "W: Shown + Copy"))]
pub struct Plan<W = Marks> {
    /// The jobs that it is for; in data `job` where it is one.
    #[serde(flatten, serialize_with = "data::jobs")]
    pub jobs: Vec<String>,
    /// The division of the scale that its weights are counted in; in data with its unit.
    #[serde(flatten, serialize_with = "data::division")]
    pub division: Division,
    /// How sure it is.
    pub status: Status,
    /// Lower bounds on the totals: no plan is better.
    pub bounds: Totals<W>,
    /// The totals.
    pub totals: Totals<W>,
    /// The lots, in order.
    pub lots: Vec<LotLine<W>>,
    /// The cylinders to fill, in order.
    pub loads: Vec<Load<W>>,
    /// Cylinders that may not be used, in yard order.
    pub left_out: Vec<LeftOut>,
    /// Cylinders that could be used and aren't needed, in yard order.
    #[serde(serialize_with = "data::ids")]
    pub not_needed: Vec<Id>,
    /// What doesn't fit, by lot.
    pub short: Vec<Short<W>>,
    /// What to do about that; `None` where nothing is short.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remedy: Option<Remedy<W>>,
    /// What to know.
    pub warnings: Vec<Reason>,
}

impl Plan {
    /// The plan as it is shown: each weight as its scale reads it.
    pub fn readings(&self) -> Plan<Reading> {
        self.map(&|marks| Reading::new(self.division, marks))
    }
}

/// Every weight of a plan made into something else, all besides as it is: a field of the plan stands here once more.
impl<W: Copy> Plan<W> {
    /// The plan with `of` in the place of each weight.
    pub fn map<V>(&self, of: &impl Fn(W) -> V) -> Plan<V> {
        Plan {
            jobs: self.jobs.clone(),
            division: self.division,
            status: self.status,
            bounds: self.bounds.map(of),
            totals: self.totals.map(of),
            lots: self.lots.iter().map(|line| line.map(of)).collect(),
            loads: self.loads.iter().map(|load| load.map(of)).collect(),
            left_out: self.left_out.clone(),
            not_needed: self.not_needed.clone(),
            short: self.short.iter().map(|short| short.map(of)).collect(),
            remedy: self.remedy.as_ref().map(|remedy| remedy.map(of)),
            warnings: self.warnings.clone(),
        }
    }
}

impl<W: Copy> Totals<W> {
    fn map<V>(&self, of: &impl Fn(W) -> V) -> Totals<V> {
        Totals {
            cylinders: self.cylinders,
            heaviest: of(self.heaviest),
            carried: of(self.carried),
            pours: self.pours,
            missing: self.missing.map(of),
        }
    }
}

impl<W: Copy> LotLine<W> {
    fn map<V>(&self, of: &impl Fn(W) -> V) -> LotLine<V> {
        LotLine {
            lot: self.lot.clone(),
            refrigerant: self.refrigerant.clone(),
            systems: self.systems.clone(),
            charge: of(self.charge),
            room: of(self.room),
            spare: of(self.spare),
        }
    }
}

impl<W: Copy> Share<W> {
    /// The share with `of` in the place of its weight.
    pub fn map<V>(&self, of: &impl Fn(W) -> V) -> Share<V> {
        Share { system: self.system.clone(), add: of(self.add) }
    }
}

impl<W: Copy> Pour<W> {
    fn map<V>(&self, of: &impl Fn(W) -> V) -> Pour<V> {
        Pour {
            system: self.system.clone(),
            from: of(self.from),
            to: of(self.to),
            add: of(self.add),
            vapour_last: self.vapour_last,
        }
    }

    /// What comes from the system.
    pub fn share(&self) -> Share<W> {
        Share { system: self.system.clone(), add: self.add }
    }
}

impl<W: Copy> Load<W> {
    fn map<V>(&self, of: &impl Fn(W) -> V) -> Load<V> {
        Load {
            order: self.order,
            cylinder: self.cylinder.clone(),
            lot: self.lot.clone(),
            refrigerant: self.refrigerant.clone(),
            tags: self.tags.clone(),
            pours: self.pours.iter().map(|pour| pour.map(of)).collect(),
            now: of(self.now),
            add: of(self.add),
            ease_off: of(self.ease_off),
            stop: of(self.stop),
            limit: of(self.limit),
            ceiling: self.ceiling.clone(),
            liquid_full: self.liquid_full.clone(),
        }
    }
}

impl<W: Copy> Short<W> {
    fn map<V>(&self, of: &impl Fn(W) -> V) -> Short<V> {
        Short { lot: self.lot.clone(), missing: of(self.missing), suggest: self.suggest.clone() }
    }
}

impl<W: Copy> Remedy<W> {
    /// The remedy with `of` in the place of each weight.
    pub fn map<V>(&self, of: &impl Fn(W) -> V) -> Remedy<V> {
        let left = |left: &Leftover<W>| Leftover { lot: left.lot.clone(), missing: of(left.missing) };
        Remedy {
            evacuate: self.evacuate.clone(),
            missing: self.missing.iter().map(left).collect(),
            add: self.add.clone(),
        }
    }
}

#[cfg(test)]
impl Plan {
    /// A proved plan with nothing in it, for tests to say what is theirs.
    pub(crate) fn blank(division: Division) -> Self {
        Self {
            jobs: Vec::new(),
            division,
            status: Status::Proved,
            bounds: Totals::default(),
            totals: Totals::default(),
            lots: Vec::new(),
            loads: Vec::new(),
            left_out: Vec::new(),
            not_needed: Vec::new(),
            short: Vec::new(),
            remedy: None,
            warnings: Vec::new(),
        }
    }
}

#[cfg(test)]
impl Load {
    /// A load with nothing in it, for tests to say what is theirs: a new field is none of their business.
    pub(crate) fn blank() -> Self {
        Self {
            order: 1,
            cylinder: "".into(),
            lot: String::new(),
            refrigerant: String::new(),
            tags: Vec::new(),
            pours: Vec::new(),
            now: 0,
            add: 0,
            ease_off: 0,
            stop: 0,
            limit: 0,
            ceiling: String::new(),
            liquid_full: String::new(),
        }
    }
}
