//! What is asked of a knapsack: the items of one lot at prices, and the cover that is looked for.

use crate::solver::field::{ANY, Numbers};

/// Largest table, in cells of eight bytes.
pub const CELLS: usize = 4 << 20;

/// No cover. Sums of prices stay below half of it.
pub const NONE: i64 = 1 << 61;

/// One class as this lot sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Item {
    /// Index of the class.
    pub class: usize,
    /// Room of one; above 0.
    pub room: i64,
    /// Price of one, in whole 2^−bits; below 0 only for cylinders that must be used.
    pub price: i64,
    /// How many there are.
    pub most: i64,
    /// They must be used.
    pub kept: bool,
    /// What one claims of the lot's ration.
    pub claim: i64,
}

/// How rooms are counted where the table is too large.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rounding {
    /// Every true cover stays one: for bounds.
    Outward,
    /// Every cover found is a true one: for plans.
    Inward,
}

/// What is asked of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Task {
    /// Divisions to cover.
    pub charge: i64,
    /// Price of one left over; `None` where none may be.
    pub leftover: Option<i64>,
    /// How rooms are counted where the table is too large.
    pub rounding: Rounding,
    /// All covers up to this price are asked for; else the cheapest alone.
    pub up_to: Option<i64>,
    /// A cover so much dearer than the cheapest will do.
    pub tolerance: i64,
    /// The fewest and most cylinders, ...
    pub numbers: Numbers,
    /// ... and the most that is claimed; the search by states alone heeds them.
    pub ration: Option<i64>,
    /// Largest table, in cells of eight bytes ([`CELLS`], but for tests).
    pub cells: usize,
}

impl Task {
    /// The cheapest cover of a charge.
    pub fn cheapest(charge: i64, leftover: Option<i64>, rounding: Rounding) -> Self {
        Self { charge, leftover, rounding, up_to: None, tolerance: 0, numbers: ANY, ration: None, cells: CELLS }
    }

    /// Whether a cover of so many cylinders that claim so much is within the limits.
    pub fn allows(&self, number: i64, claim: i64) -> bool {
        (self.numbers.0..=self.numbers.1).contains(&number) && self.ration.is_none_or(|most| claim <= most)
    }
}

/// a / b rounded up, for a ≥ 0 and b > 0.
pub fn div_up(a: i64, b: i64) -> i64 {
    a / b + i64::from(a % b != 0)
}
