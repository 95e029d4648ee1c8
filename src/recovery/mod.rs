//! At the scale: the log of a job's readings, what they come to, what is left, the plan for it, the close-out.
//!
//! Everything is figured from the log: [`Day::replay`] goes through its entries, and nothing is kept beside them. All
//! weights are whole divisions of the scale. This room reads no files and no clock, and it prints nothing; `text`
//! reads and writes the log for it.
//!
//! - [`LogEntry`] is a line of the log: a plan in force, a reading, a correction.
//! - [`Day`] is the work with its entries gone through.
//! - [`weigh`] judges a reading before it is kept, [`Answer`] says what it means.
//! - [`replan`] places what is left, [`status`] says how far it is, [`closeout`] what became of it.

mod answer;
mod closeout;
mod day;
mod entry;
mod inside;
mod rate;
mod replan;
mod rest;
mod spare;
mod standing;
mod status;
mod weigh;

pub use crate::ledger::Moment;
pub use answer::{Answer, Next};
pub use closeout::{Accounts, After, LotAccount, RecordRow, SystemAccount, closeout};
pub use day::{Day, Filling, Gain, LogFault, SystemRef};
pub use entry::{Action, FileMark, LogEntry, LogReading, Planned, Start, Step, SystemCharge};
pub use rate::Rate;
pub use replan::{Changes, NoReplan, Replanned, first_plan, replan};
pub use status::{CylinderStatus, LotStatus, Status, SystemStatus, status};
pub use weigh::{Asked, Refusal, Shown, Why, set_back, weigh};
