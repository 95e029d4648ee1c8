//! What the command line asks of the world around it.
#![allow(clippy::panic)]

use std::cell::Cell;
use std::ffi::OsString;

use super::{Exit, Today, run_on};

thread_local! {
    static ASKED: Cell<usize> = const { Cell::new(0) };
}

/// How a command ends, and how often it has asked which day it is.
fn run(line: &str) -> (Exit, usize) {
    let root = env!("CARGO_MANIFEST_DIR");
    let word = |word: &str| if word.ends_with(".yaml") { format!("{root}/scenarios/{word}") } else { word.to_owned() };
    let arguments = ["chargesplit".into()].into_iter().chain(line.split(' ').map(|part| OsString::from(word(part))));
    let today = Today::new(|| {
        ASKED.set(ASKED.get() + 1);
        jiff::civil::date(2026, 12, 1)
    });
    ASKED.set(0);
    let (mut data, mut rest) = (Vec::new(), Vec::new());
    let exit = run_on(today, super::Surroundings::default(), arguments, &mut data, &mut rest);
    assert!(!data.is_empty(), "{line}: {}", String::from_utf8_lossy(&rest));
    (exit, ASKED.get())
}

/// Which day it is takes reading every time zone of the system, longer than a small plan: a job that states its date never
/// waits for that.
#[test]
fn nobody_asks_for_the_day_where_the_job_states_it() {
    for line in [
        "check cold-store.yaml",
        "plan cold-store.yaml",
        "plan --json three-stops-1.yaml three-stops-2.yaml three-stops-3.yaml",
        "tradeoff cold-store.yaml",
        "quote tender.yaml",
        "pack cold-store.yaml --truck truck-7.yaml",
        "yard van-3.yaml --date 2026-12-01",
        "refrigerant R-22 --water-capacity 47.6lb",
        "schema job",
        "--version",
    ] {
        assert_eq!(run(line), (Exit::Done, 0), "{line}");
    }
}

#[test]
fn the_day_is_asked_for_where_it_has_to_be_known() {
    assert_eq!(run("yard van-3.yaml"), (Exit::Done, 1));
    // A plan of which nothing is begun lapses the day after.
    assert_eq!(run("status part-way.yaml"), (Exit::Done, 1));
}
