//! What the planner is asked and what it answers, in whole divisions of the scale.
//!
//! The room knows nothing of refrigerants, units or files: a caller turns them into divisions (rooms rounded down,
//! charges rounded up) and turns the answer back. No type of another room may appear here.

pub mod effort;
pub mod reserve;
pub mod watch;

use effort::Effort;

/// Marks beyond this are cut to it, so that no sum of ours can overflow (a million cylinders of it stay below 2⁶²).
pub(crate) const LARGEST_MARK: i64 = 1 << 40;

/// A problem in whole divisions of the scale.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Problem {
    /// The lots, in the order in which they are to be reported.
    pub lots: Vec<Demand>,
    /// The cylinders, in yard order.
    pub cylinders: Vec<Slot>,
}

impl Problem {
    /// Cylinders times lots.
    pub(crate) fn size(&self) -> u64 {
        self.cylinders.len() as u64 * self.lots.len() as u64
    }
}

/// What one lot needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Demand {
    /// The charge, rounded up; above 0. A lot whose charge is 0 or less needs nothing and gets no cylinder.
    pub charge: i64,
}

/// One cylinder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slot {
    /// Gross weight now, rounded up; 0 or more.
    pub base: i64,
    /// For each lot the gross weight never to pass (the cap, rounded down); `None` where the cylinder may not take
    /// that lot. A missing entry counts as `None`.
    pub tops: Vec<Option<i64>>,
    /// It is evacuated now: the fourth priority prefers others.
    pub keeps_evacuated: bool,
    /// For each lot, whether it is kept from it as long as the number of cylinders isn't larger for that (one of the few
    /// for flammables, say). A missing entry counts as false.
    pub reserved: Vec<bool>,
}

impl Slot {
    /// The cap for a lot, cut to the range in which sums can't overflow.
    pub(crate) fn top(&self, lot: usize) -> Option<i64> {
        self.tops.get(lot).copied().flatten().map(|top| top.clamp(0, LARGEST_MARK))
    }

    /// The gross weight now, cut likewise.
    pub(crate) fn now(&self) -> i64 {
        self.base.clamp(0, LARGEST_MARK)
    }

    /// The room for a lot at a heaviest lift: max(0, min(top, lift) − base).
    pub(crate) fn room(&self, lot: usize, lift: i64) -> i64 {
        self.top(lot).map_or(0, |top| (top.min(lift) - self.now()).max(0))
    }
}

/// Which of the first two objectives comes first.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Priority {
    /// Fewest cylinders, then the lowest heaviest lift, then the least weight carried.
    #[default]
    Fewest,
    /// The lowest heaviest lift, then the fewest cylinders, then the least weight carried.
    Lightest,
}

/// How a lot's charge is spread over its cylinders.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Amounts {
    /// The lifts of a lot come out as light and as even as they can.
    #[default]
    Levelled,
    /// Each cylinder is filled as far as the plan's heaviest lift allows before the next, in yard order, so that the
    /// last one stays light.
    InTurn,
}

/// What the caller may choose.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Options {
    /// Which objective comes first.
    pub priority: Priority,
    /// How charges are spread.
    pub amounts: Amounts,
    /// At most so many cylinders: then the lowest heaviest lift within that number comes first, whatever `priority`
    /// says, then the fewest cylinders, then the least weight carried.
    pub at_most: Option<usize>,
    /// Cylinders (by index) that must be used, each with at least one division.
    pub must_use: Vec<usize>,
    /// How much work the plan is worth.
    pub effort: Effort,
}

impl Options {
    /// Whether cylinders are insisted on: a number of them, or some by name.
    pub(crate) fn insist(&self) -> bool {
        self.at_most.is_some() || !self.must_use.is_empty()
    }
}

/// The three objectives, as totals of a plan or as bounds that no plan beats.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Objectives {
    /// Number of cylinders used.
    pub cylinders: usize,
    /// The heaviest stop weight.
    pub heaviest: i64,
    /// The sum of all stop weights.
    pub carried: i64,
}

/// Which objectives are proved: the total equals its bound.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Proved {
    /// No plan uses fewer cylinders (see [`Solution::bounds`] for what is held fixed).
    pub cylinders: bool,
    /// No plan has a lower heaviest lift.
    pub heaviest: bool,
    /// No plan carries less.
    pub carried: bool,
}

impl Proved {
    /// All three.
    pub fn all(self) -> bool {
        self.cylinders && self.heaviest && self.carried
    }
}

/// One cylinder's part in the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fill {
    /// Index of the cylinder.
    pub cylinder: usize,
    /// Index of the lot.
    pub lot: usize,
    /// Divisions to add; at least 1.
    pub add: i64,
}

/// A plan in which every charge is placed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Solution {
    /// By lot, then in yard order.
    pub fills: Vec<Fill>,
    /// What the plan comes to.
    pub totals: Objectives,
    /// What no plan beats, each given the ones before it in the order of importance: with the fewest cylinders
    /// first, no plan at all has fewer than `bounds.cylinders`; none with at most `totals.cylinders` has a lower
    /// heaviest lift than `bounds.heaviest`; none that is no worse than `totals` in both carries less than
    /// `bounds.carried`. With the lightest first (or `at_most`) the first two change places.
    pub bounds: Objectives,
    /// Where the total equals the bound.
    pub proved: Proved,
}

/// The proved answer that the charge doesn't fit.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Shortage {
    /// Divisions of each lot left over by `fills`.
    pub missing: Vec<i64>,
    /// The best partial plan: the least weight left over, the later lot waiting, then the fewest cylinders.
    pub fills: Vec<Fill>,
    /// No plan leaves less over than this in all.
    pub least_missing: i64,
    /// The weight left over equals `least_missing`.
    pub proved: bool,
    /// Cylinders that must be used and aren't in `fills`: where nothing is missing, they are why no plan exists.
    pub unused: Vec<usize>,
}

/// What came out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// Everything is placed.
    Planned(Solution),
    /// It is proved that not everything can be placed (with these cylinders, within `at_most`, with all of
    /// `must_use`).
    Short(Shortage),
    /// Stopped before a plan was found or disproved.
    Undecided,
}

/// What the planner is at.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Stage {
    /// Looking for the fewest cylinders.
    #[default]
    Cylinders,
    /// Looking for the lowest heaviest lift.
    Heaviest,
    /// Looking for the least weight carried.
    Carried,
    /// Looking for the plan that leaves the least over.
    Shortage,
}

/// Told to the caller every few milliseconds of work.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Progress {
    /// What the planner is at.
    pub stage: Stage,
    /// The best plan known, in the totals that are settled so far.
    pub best: Option<Objectives>,
    /// What is proved so far (0 where nothing is).
    pub bounds: Objectives,
}
