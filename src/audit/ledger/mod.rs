//! The yard now, figured again from raw entries: what is in each cylinder since it was last empty, who has it, whether it
//! is out, whether anybody knows.
//!
//! Each cylinder is gone through by itself: for every entry everything that it continues from is written down, and each
//! word that was said holds for whoever knows of it and of nothing that ended it. It reads the kinds of entries, and must
//! not call what `ledger` figures of them.

mod contents;
mod facts;
mod fold;
mod history;
mod plans;

pub use facts::{Raw, ledger_faults};
#[cfg(test)]
pub(super) use fold::{Story, Why};
