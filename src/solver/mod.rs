//! Chooses cylinders: fewest, lightest, least carried, each proved or honestly bounded.
//!
//! It sees whole divisions of the scale and nothing else. It must never know a unit, a refrigerant, a file or a clock, nor
//! any other room of the house: whether to go on is asked of the caller's closure. Its own rooms, each using only those
//! below it:
//!
//! ```text
//! goals     the objectives one after another, each held while the next is improved
//! search    plans of one field, and the proof that there is none cheaper
//! bound     column generation: what no plan undercuts, exact in whole numbers
//! cover     the cheapest cover of one lot: a knapsack
//! field     the covering problem at one heaviest lift, in classes of alike cylinders
//! problem   what is asked and answered; the count of work
//! ```

mod bound;
mod cover;
mod field;
mod goals;
mod problem;
mod search;
#[cfg(test)]
mod tests;

pub use goals::solve::solve;
pub use problem::{
    Amounts, Demand, Fill, Objectives, Options, Outcome, Priority, Problem, Progress, Proved, Shortage, Slot, Solution,
    Stage,
};
