//! What is asked of a knapsack: the items of one lot at prices, and the cover that is looked for.

use crate::solver::field::{ANY, Numbers};

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
    /// What one uses of the lot's resource.
    pub uses: i64,
}

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Task {
    /// Divisions to cover.
    pub charge: i64,
    /// Price of one left over; `None` where none may be.
    pub leftover: Option<i64>,
    /// A cover so much dearer than the cheapest will do.
    pub tolerance: i64,
    /// The fewest and most cylinders, ...
    pub numbers: Numbers,
    /// ... and the most that is used of the resource.
    pub resource: Option<i64>,
}

impl Task {
    /// The cheapest cover of a charge.
    pub fn cheapest(charge: i64, leftover: Option<i64>) -> Self {
        Self { charge, leftover, tolerance: 0, numbers: ANY, resource: None }
    }

    /// Whether a cover of so many cylinders that use so much is within the limits.
    pub fn allows(&self, number: i64, used: i64) -> bool {
        (self.numbers.0..=self.numbers.1).contains(&number) && self.resource.is_none_or(|most| used <= most)
    }
}
