//! Reading files: jobs, yards and plans, from the bytes to the domain, or to every problem that they have.
//!
//! `source` gets the text, `yaml` and `csv` make one kind of tree of it, `fields` and `value` go through its
//! keys and values, and a module for each kind of file turns them into what the other rooms know.
//!
//! This room is the only one that knows how files are written; `disk` opens them for it. It must not plan, print or
//! read the clock. No file, whatever is in it, may make it panic, hang, or pass over something that is written there.

mod after;
#[cfg(test)]
mod any_bytes;
mod assumed;
mod copy;
mod csv;
mod dates;
mod entry;
mod fields;
mod import;
mod job;
mod labour;
mod offer;
mod plan;
mod prices;
mod rates;
mod readings;
mod record;
#[cfg(test)]
mod reference;
mod refrigerants;
mod row;
mod schema;
mod shape;
mod source;
mod stock;
mod system;
#[cfg(test)]
mod tests;
mod today;
mod tree;
mod truck;
mod utf_16;
mod value;
mod work;
mod yaml;
mod yard;

use std::path::Path;

use jiff::civil::Date;

pub use after::{NewValues, yard_after};
pub use copy::read_copies;
pub use entry::{
    LedgerRead, Tail, WriterFile, WriterHead, cylinder_of, identity_of, is_whole_line, ledger_named, read_ledger,
    row_of, state_of, weight_text, with_state,
};
pub use import::{Change, Commas, Import, Imported, LATIN_1, PassedRow, ReadColumn, RefusedRow, Remark, import_yard};
pub use plan::{FORMAT as PLAN_FORMAT, read_plan};
pub use rates::{Rates, read_rates};
pub use readings::{TypedReading, read_readings};
pub use record::{Record, RecordHead, RecordLine, is_record, read_records};
pub use refrigerants::Known;
pub use schema::{FileKind, schema};

pub use today::{Latest, Today};
pub use truck::read_truck;
pub use work::{Loaded, Request, read_tender, read_work};
pub use yard::LoadedYard;

use crate::estimate::Terms;
use crate::problem::Problems;

/// What a job file says beside what a plan needs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Extras {
    /// Hours and prices, for a quote.
    pub terms: Terms,
    /// What to bring to the job, in words.
    pub bring: Vec<String>,
    /// Whether it says where its cylinders are; a job that is only quoted needn't.
    pub names_yard: bool,
}

/// Reads a yard file alone. Its `holds` can name refrigerants of the table only.
///
/// # Errors
/// Every problem of the file; with `skip_bad_rows` only those that aren't of one row.
pub fn read_yard(path: &Path, today: Date, skip_bad_rows: bool) -> Result<LoadedYard, Problems> {
    yard::read(path, &Known::default(), today.into(), skip_bad_rows)
}

/// Reads a further yard file of jobs that were read; it may hold the refrigerants that they bring.
///
/// # Errors
/// Every problem of the file.
pub fn read_further_yard(path: &Path, known: &Known, latest: Latest) -> Result<LoadedYard, Problems> {
    yard::read(path, known, latest, false)
}

/// The same for a path as typed on the command line, where `-` is standard input.
///
/// # Errors
/// As [`read_yard`].
pub fn read_typed_yard(path: &Path, today: Date, skip_bad_rows: bool) -> Result<LoadedYard, Problems> {
    yard::read_typed(path, today.into(), skip_bad_rows)
}
