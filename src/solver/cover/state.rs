//! A state of the search for a cheapest cover: a cover begun.

use super::task::Item;

/// What is still uncovered (below 0: too much) and what is spent, with the step that led here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct State {
    pub rest: i64,
    pub price: i64,
    pub step: u32,
}

/// An item and its price for room.
pub type Ranked = (f64, Item);
