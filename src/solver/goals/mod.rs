//! The objectives one after another: the number of cylinders, the heaviest lift, the weight carried.
//!
//! `solve` holds each while it improves the next, for each part of the problem (`state`). `heaviest` bisects the lift,
//! `shortage` answers where the charge doesn't fit, `rounds` says how much work each is worth, `amounts` and `ties` finish the plan.

pub mod amounts;
pub mod heaviest;
pub mod rounds;
pub mod shortage;
pub mod solve;
pub mod state;
pub mod ties;
