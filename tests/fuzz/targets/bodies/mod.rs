//! What is done with bytes that a fuzzer makes up, and what must hold of it: no panic, an error with its place or a
//! valid result, nothing that a terminal would obey, no plan that the audit finds fault with.
//!
//! The fuzzers and the replay of their corpora (`tests/corpus.rs`) share it. It must not read the clock, and writes only
//! into the folder that it is given.
#![allow(dead_code, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod commands;
mod ledger;
mod planner;
mod readers;

use std::path::Path;

use chargesplit::planner::Progress;
use chargesplit::problem::{Code, Problems};

pub use commands::commands;
pub use ledger::{entries, ledger};
pub use planner::planner;
pub use readers::{import, job, plan, quantity, records, truck, yard_csv, yard_yaml};

/// Does what one target does with these bytes, in this folder.
pub type Body = fn(&Path, &[u8]);

/// Every target with its name, which its corpus has too.
pub const TARGETS: [(&str, Body); 12] = [
    ("job", job),
    ("yard_yaml", yard_yaml),
    ("yard_csv", yard_csv),
    ("import", import),
    ("ledger", ledger),
    ("entries", entries),
    ("quantity", quantity),
    ("plan", plan),
    ("truck", truck),
    ("records", records),
    ("planner", planner),
    ("commands", commands),
];

/// Runs a body in a folder of this process's own.
pub fn in_a_folder(body: Body, bytes: &[u8]) {
    thread_local! {
        static FOLDER: tempfile::TempDir = tempfile::tempdir().unwrap();
    }
    FOLDER.with(|folder| body(folder.path(), bytes));
}

/// What may be said of a file as a whole, without a place in it.
const WHOLE_FILE: [Code; 10] = [
    Code::MissingFile,
    Code::Folder,
    Code::Unreadable,
    Code::TooLarge,
    Code::TooMany,
    Code::NotText,
    Code::Empty,
    Code::FileKind,
    Code::SeveralDocuments,
    Code::TooDeep,
];

/// Problems as they must be: each with its place, and in characters that show.
fn well_said(problems: &Problems) {
    for problem in problems.iter() {
        match &problem.place {
            Some(place) => {
                assert!(place.line > 0 && place.column > 0, "{problem:?}");
                assert!(place.text.get(place.meant.clone()).is_some(), "{problem:?}");
            }
            None => assert!(WHOLE_FILE.contains(&problem.code), "no place: {problem:?}"),
        }
    }
    said(problems);
}

/// Problems in characters that show, of which some may be of the file as a whole whatever their code.
fn said(problems: &Problems) {
    assert!(problems.count() > 0 && problems.iter().all(|problem| !problem.message.is_empty()), "{problems:?}");
    shows(&problems.draw(false));
    shows(&problems.to_string());
}

/// Nothing that a terminal would obey, or that turns around what stands beside it.
fn shows(text: &str) {
    let turns =
        |c: char| matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let hidden = text.chars().find(|c| (c.is_control() && *c != '\n') || turns(*c));
    assert!(hidden.is_none(), "{hidden:?} in {text:?}");
}

/// A limit of work that is the same on every machine: so many questions of the planner whether to go on.
fn so_often(most: usize) -> impl FnMut(&Progress) -> bool {
    let mut asked = 0;
    move |_| {
        asked += 1;
        asked < most
    }
}
