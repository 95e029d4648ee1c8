//! What is asked of a knapsack: the items of one lot at prices, and the cover that is looked for.

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
}

impl Task {
    /// The cheapest cover of a charge.
    pub fn cheapest(charge: i64, leftover: Option<i64>) -> Self {
        Self { charge, leftover, tolerance: 0 }
    }
}
