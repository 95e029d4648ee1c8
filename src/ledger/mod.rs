//! The ledger: all that has happened to the cylinders of a yard, in entries that are only ever added, and what it comes to.
//!
//! - [`Entry`] is one thing that happened: a plan that binds, a reading, a fact about a cylinder, a settling, a close-out.
//! - For each cylinder the entries form a chain by what each of them continues from, never by clocks; [`Ledger::now`]
//!   goes along the chains and says what is in every cylinder, who has it, whether it is out, and where nobody knows.
//! - [`Jobs`] says which plan is in force for each job.
//!
//! Where entries contradict each other a cylinder is in doubt: whatever is in either, the heavier weight, in no plan.
//! This room reads no files and no clock; it knows no plan and no lot but what a bind says of them.

mod chain;
mod entry;
mod inside;
mod jobs;
mod moment;
mod now;
mod order;
mod register;
mod side_by_side;
mod state;
mod track;

pub use chain::Binding;
pub use entry::{Bind, BoundJob, Change, Closed, Entry, EntryId, Fact, FactKind, Gained, JobId, Reading, Step, What};
pub use inside::Inside;
pub use jobs::{JobNow, Jobs, bind_of};
pub use moment::Moment;
pub use now::{CylinderNow, Damage, Doubt, Ledger, YardNow};
pub(crate) use side_by_side::side_by_side;
pub use state::{CylinderState, Pour, Row};
pub use track::{Track, Weighing};

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests;
