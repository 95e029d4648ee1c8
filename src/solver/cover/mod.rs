//! The cheapest cover of one lot at given multipliers: an integer knapsack, exact in whole numbers.
//!
//! `task` is what is asked. `knapsack` answers it by growing states (`state`) from where greed (`greedy`) breaks off.

pub mod greedy;
pub mod knapsack;
pub mod state;
pub mod task;
