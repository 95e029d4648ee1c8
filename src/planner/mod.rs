//! From jobs and yard to a loading plan: the work in whole numbers, `solver`'s answer, and what to say about it.
//!
//! `assemble` turns jobs and yard into a [`Problem`] and the answer into a plan. Where it doesn't fit, `wishes` follows
//! what was asked for all the same, and `remedy` says what to do, with `additions` for what to add. `spare` says where a
//! lot's room is barely enough, `tradeoff` makes a plan for each number of cylinders, `laid_out` one that is decided
//! already, with the hoses as they are (`hoses`), `explain` says why, `visits` cuts a plan up by jobs. This room must never
//! use `audit`, `report`, `text` or `cli`, and `audit` never uses it: the two check each other.

mod additions;
mod assemble;
mod explain;
mod hoses;
mod laid_out;
mod low_end;
mod pours;
mod remedy;
mod spare;
mod tradeoff;
mod visits;
mod whole;
mod wishes;

pub use additions::kinds;
pub use assemble::{NoPlan, in_divisions, liquid_full, plan, plan_as_it_stands, plan_whole, room};
pub use explain::explain;
pub use hoses::Decided;
pub use laid_out::laid_out;
pub use low_end::LOW_END;
pub use pours::{ease_off, mark_the_last};
pub use spare::{OneMore, THIN_SPARE, is_thin, one_more, thin, warning};
pub use tradeoff::{first_of_tradeoff, tradeoff, tradeoff_whole};
pub use visits::{Visit, VisitFill, visits};
pub use whole::{WHOLE, whole_instead};
pub use wishes::NOT_FOLLOWED;

pub use crate::solver::{Amounts, Effort, Options, Priority, Problem, Progress, Stage};
