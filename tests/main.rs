//! All tests from outside, in one program: each file is a module, named as it is. `cargo test --test all rooms::` runs
//! those of `tests/rooms.rs`; `tests/house.rs` holds that no file is missing here.
//!
//! They run beside each other in one process: nothing here may change the environment or the working directory, or write
//! into a folder that isn't its own.
// A test fails by them, and prints what it skips.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout, clippy::print_stderr)]

mod agreement;
mod alike_jobs;
mod at_the_scale;
mod browser;
mod by_ledger;
mod catalogues;
mod close_out;
mod completions;
mod contract;
mod corpus;
mod danger;
mod estimated;
mod every_choice;
mod every_command;
mod faults;
mod figured;
mod folder;
mod for_flammables;
mod hoses;
mod house;
mod ledger_files;
mod lifts;
mod look_alikes;
mod marks;
mod mirrored;
mod old_list;
mod one_truth;
mod pack;
mod pages;
mod pours;
mod program;
mod quote;
mod quote_and_pack;
mod random_jobs;
mod random_plays;
mod readings_kept;
mod recovery_contract;
mod refrigerant_data;
mod refrigerant_rules;
mod refrigerant_table;
mod replans;
mod rooms;
mod same_plan;
mod scenarios;
mod schema;
mod second_opinion;
mod settling;
mod sheet;
mod shift;
mod short_jobs;
mod specimens;
mod stamps;
mod standard_input;
mod stranger;
mod talk;
mod together;
mod typed;
mod units;
mod untrusted;
mod wrong_files;
mod yard;
