//! The audit against plans made by hand and spoiled one number at a time, and against the rooms that it checks.

mod agreement;
mod bench;
mod ceilings;
mod fitness;
mod ledger;
mod plans;
mod remarks;
mod remedy;
mod sharing;
mod spoiled;
mod unseen;
mod wording;

use super::{Fault, check};
use crate::job::Work;
use crate::plan::Plan;

/// The codes of every fault, in the order found.
fn codes(work: &Work, plan: Plan) -> Vec<&'static str> {
    faults(work, plan).iter().map(|fault| fault.code).collect()
}

/// Every fault.
fn faults(work: &Work, plan: Plan) -> Vec<Fault> {
    check(work, plan).err().unwrap_or_default()
}
