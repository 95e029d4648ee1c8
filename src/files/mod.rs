//! Reading files: jobs, yards and plans, from the bytes to the domain, or to every problem that they have.
//!
//! `source` gets the text, `yaml` and `csv` make one kind of tree of it, `fields` and `value` go through its
//! keys and values, and a module for each kind of file turns them into what the other rooms know.
//!
//! This room is the only one that opens files and that knows how they are written. It must not plan, print or read the
//! clock. No file, whatever is in it, may make it panic, hang, or pass over something that is written there.

mod after;
#[cfg(test)]
mod any_bytes;
mod code;
mod csv;
mod draw;
mod fields;
mod job;
mod log;
mod log_line;
mod plan;
mod problem;
mod record;
mod refrigerants;
mod row;
mod source;
mod stock;
mod system;
#[cfg(test)]
mod tests;
mod tree;
mod value;
mod work;
mod yaml;
mod yard;

use std::path::{Path, PathBuf};

use jiff::civil::Date;

pub use after::{NewValues, yard_after};
pub use code::{CODES, Code};
pub use log::{Log, LogError, Torn, log_path};
pub use plan::{FORMAT as PLAN_FORMAT, read_plan};
pub use problem::{Place, Problem, Problems};
pub use record::{Record, RecordHead, Row, keep_old, read_records, write_whole};
pub use source::{Input, MOST_BYTES};
pub use work::{Loaded, Request, read_work};
pub use yard::{LoadedYard, SkippedRow};

/// Something in a file that was read and has no use yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// The file.
    pub file: PathBuf,
    /// Where in it.
    pub place: Option<Place>,
    /// A sentence.
    pub text: String,
}

impl Note {
    fn unused(source: &source::Source, mark: Option<source::Mark>, key: &str) -> Self {
        Self {
            file: source.file.clone(),
            place: mark.and_then(|mark| source.place(mark)),
            text: format!("`{key}` is for the quote; a plan doesn't use it"),
        }
    }
}

/// Reads a yard file alone. Its `holds` can name refrigerants of the table only.
///
/// # Errors
/// Every problem of the file; with `skip_bad_rows` only those that aren't of one row.
pub fn read_yard(path: &Path, today: Date, skip_bad_rows: bool) -> Result<LoadedYard, Problems> {
    yard::read(path, &refrigerants::Known::default(), today, skip_bad_rows)
}
