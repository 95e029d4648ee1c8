//! At the scale: jobs by the ledger, a reading judged, what is left, the plan for it, the close-out.
//!
//! Everything is figured from the ledger: [`Day::of`] follows its cylinders, and nothing is kept beside it. All weights are
//! whole divisions of the scale. This room reads no files and no clock, and it prints nothing.
//!
//! - [`Day`] is the work with what the ledger says of it.
//! - [`weigh`] judges a reading before it is kept, [`Answer`] says what it means.
//! - [`replan`] places what is left, [`status`] says how far it is, [`closeout`] what became of it.

mod answer;
mod changes;
mod closeout;
mod credit;
mod day;
mod entry;
mod inside;
mod keep;
mod more;
mod parts;
mod rate;
mod replan;
mod rest;
mod spare;
mod standing;
mod status;
mod weigh;

pub use answer::{Answer, Next};
pub use changes::{Changes, StopChange};
pub use closeout::{Accounts, After, LotAccount, RecordRow, SystemAccount, closeout};
pub use credit::{Credit, HoseChange};
pub use day::{Day, Filling, Gain, Known, SystemRef};
pub use entry::{InForce, Judged, Planned, Step, SystemCharge, contents_of, pour};
pub use more::{Failed, FreeRoom, More};
pub use rate::Rate;
pub use replan::{NoReplan, Replanned, first_plan, replan};
pub use status::{CylinderStatus, LotStatus, Status, SystemStatus, status};
pub use weigh::{Asked, Refusal, Shown, Why, set_back, weigh};

pub use crate::ledger::Moment;
