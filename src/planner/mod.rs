//! Chooses cylinders: fewest, lightest, least carried, each proved or honestly bounded.
//!
//! The core sees whole divisions of the scale and nothing else: no units, refrigerants, files or clock. This room must
//! never use `audit`, `report`, `files` or `cli`, and `audit` never uses it: the two check each other.
//!
//! The way through it, from the question down:
//!
//! - `problem` is what is asked and answered; [`solve`] takes the objectives one after another for each part (`state`),
//!   `heaviest` bisects the lift, `shortage` answers where it doesn't fit, `amounts` and `ties` finish the plan.
//! - Each step is a covering problem at one heaviest lift in classes of alike cylinders (`field`). `quest` searches
//!   it: a bound (`prices`), plans (`dive`, `plunge`, `pairs`, `balance`), what the gap leaves (`listing`), and `branch` with
//!   `divide`.
//! - A large field is searched roughly first (`rough`): what a division of each lot is worth (`worth`, `relaxed`) bounds it,
//!   and cylinders allotted by that (`allot`), then exchanged (`balance`, `trades`), are a plan near the bound. Where lots have
//!   few cylinders each, coarser fields come closer (`coarse`).
//! - The bound is column generation: covers known so far (`generation`) make a linear program that suggests prices. It
//!   is kept solved from cover to cover (`simplex`); `master`, the only file that knows the solver, states it, and
//!   solves it where a share of each cover is asked for or the other fails. Large fields start from the prices of the
//!   plain relaxation (`relaxed`).
//! - The cheapest cover of each lot at whole prices (`cheapest`) makes the bound exact and gives new covers. The table
//!   of what every rest costs (`covers`, after `reduction`) is for listing, and where there are too many states.
//! - `watch` counts work and asks the caller whether to go on.
//! - Around the core: `assemble` turns jobs and yard into whole numbers and the answer into a plan, `additions` says
//!   what to add where it doesn't fit, `tradeoff` makes a plan for each number of cylinders, `explain` says why, `visits`
//!   cuts a plan up by jobs.

mod additions;
mod allot;
mod amounts;
mod assemble;
mod balance;
mod branch;
mod cheapest;
mod coarse;
mod covers;
mod dive;
mod divide;
mod explain;
mod field;
mod generation;
mod heaviest;
mod limits;
mod listing;
mod master;
mod pairs;
mod plunge;
mod prices;
mod problem;
mod quest;
mod ration;
mod reduction;
mod relaxed;
mod rough;
mod shortage;
mod simplex;
mod solve;
mod state;
mod surcharge;
#[cfg(test)]
mod tests;
mod ties;
mod tradeoff;
mod trades;
mod visits;
mod watch;
mod worth;

pub use additions::kinds;
pub use assemble::{NoPlan, in_divisions, plan, room};
pub use explain::explain;
pub use problem::{
    Amounts, Demand, Fill, Objectives, Options, Outcome, Priority, Problem, Progress, Proved, Shortage, Slot, Solution,
    Stage,
};
pub use solve::solve;
pub use tradeoff::{first_of_tradeoff, tradeoff};
pub use visits::{Visit, VisitFill, visits};
