//! The cheapest cover of one lot at given multipliers: an integer knapsack, exact in whole numbers.
//!
//! `task` is what is asked. `knapsack` answers it by growing states (`state`) from where greed (`greedy`) breaks off,
//! dropping those that others dominate (`dominance`). Where a resource or the number of cylinders is limited, `resource`
//! says which states can still keep to it, and `penalty` charges its use, so that the search looks near the limit.

pub mod dominance;
pub mod greedy;
pub mod knapsack;
pub mod penalty;
pub mod resource;
pub mod state;
pub mod task;
