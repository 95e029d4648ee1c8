//! From jobs and yard to a loading plan: the work in whole numbers, `solver`'s answer, and what to say about it.
//!
//! `assemble` turns jobs and yard into a [`Problem`] and the answer into a plan, `additions` says what to add where it
//! doesn't fit, `tradeoff` makes a plan for each number of cylinders, `explain` says why, `visits` cuts a plan up by
//! jobs. This room must never use `audit`, `report`, `files` or `cli`, and `audit` never uses it: the two check each
//! other.

mod additions;
mod assemble;
mod explain;
mod tradeoff;
mod visits;

pub use additions::kinds;
pub use assemble::{NoPlan, in_divisions, plan, room};
pub use explain::explain;
pub use tradeoff::{first_of_tradeoff, tradeoff};
pub use visits::{Visit, VisitFill, visits};

pub use crate::solver::{Amounts, Options, Priority, Problem, Progress, Stage};
