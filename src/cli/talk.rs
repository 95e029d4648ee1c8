//! What is said on standard error beside the data, and how much of it: `--quiet` and `--verbose`.
//!
//! Dangers, refusals, warnings and errors don't come by here: they are said whatever was asked for.

use super::Output;
use crate::disk::Input;
use crate::door::Opened;
use crate::report::{counted, shown};

/// How much is said beside the data; dangers, refusals, warnings and errors always are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Talk {
    /// Nothing.
    Quiet,
    /// What was written, and how far a long search is.
    Usual,
    /// Also what was read, assumed and how long it took.
    Verbose,
}

impl Talk {
    /// As typed.
    pub(super) const fn of(quiet: bool, verbose: bool) -> Self {
        match (quiet, verbose) {
            (true, _) => Self::Quiet,
            (false, true) => Self::Verbose,
            (false, false) => Self::Usual,
        }
    }
}

impl Output<'_> {
    /// Says what was done, unless nothing is to be said. A note that can't be written isn't missed.
    pub(super) fn note(&mut self, text: &str) {
        if self.talk != Talk::Quiet {
            let _ = writeln!(self.rest, "{}", shown(text));
        }
    }

    /// Says how it was done, where that is asked for.
    pub(super) fn detail(&mut self, text: &str) {
        if self.talk == Talk::Verbose {
            let _ = writeln!(self.rest, "{}", shown(text));
        }
    }

    /// Says which file was read.
    pub(super) fn detail_of(&mut self, input: &Input) {
        self.detail(&format!("read {}, {}", input.file.display(), input.brief()));
    }
}

/// Takes in how the cylinders stand, and says what was read, how much of it, and what stands in for what the files don't
/// say.
pub(super) fn tell(opened: &Opened, output: &mut Output) {
    let loaded = &opened.loaded;
    output.of_ledger.clone_from(&opened.yard.said);
    output.stand_without(&loaded.work, &[]);
    for input in &loaded.inputs {
        output.detail_of(input);
    }
    for (job, assumed) in loaded.work.jobs().iter().zip(&loaded.assumed) {
        output.detail(&format!("{}: {}", job.name, counted(job.systems.len(), "system")));
        for taken in assumed {
            output.detail(&format!("{}: assumed, as its file doesn't say: {taken}", job.name));
        }
    }
    output.detail(&rows(opened.rows.len(), loaded.skipped.len()));
    if let Some(store) = opened.store.as_ref().filter(|store| !store.ledger.is_empty()) {
        let entries = store.ledger.entries.len();
        output.detail(&format!(
            "read {}, {entries} {}",
            store.folder.display(),
            if entries == 1 { "entry" } else { "entries" }
        ));
    }
}

/// How many rows of a yard were read.
pub(super) fn rows(cylinders: usize, skipped: usize) -> String {
    format!("{} read, {} left out", counted(cylinders, "cylinder"), counted(skipped, "row"))
}
