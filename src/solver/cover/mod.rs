//! The cheapest cover of one lot at given prices: an integer knapsack, exact in whole numbers.
//!
//! `task` is what is asked. `cheapest` answers it by growing states from where greed breaks off (`state`; `limits` and
//! `surcharge` where the number of cylinders or what they claim is limited). `table` is the textbook's table over what
//! is uncovered, after `reduction` has decided most classes: for listing, and where there are too many states.

pub mod cheapest;
pub mod limits;
pub mod reduction;
pub mod state;
pub mod surcharge;
pub mod table;
pub mod task;
