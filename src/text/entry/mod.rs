//! The lines of a ledger: entries as JSON and back, and every line that can't be believed named with what it may have
//! spoken of.
//!
//! A file is of one writer: a head, then entries, each on a line of its own with the check sum of that line (`sum`), that
//! of the line before (`after`), and the cylinders that the lines before spoke of (`past`). So a changed, a missing and an
//! exchanged line are found wherever the next ones are, and what they were about is known without them.

mod file;
mod forms;
mod line;
mod name;
mod row;
mod shapes;
mod tail;
#[cfg(test)]
mod tests;
mod together;

pub use file::WriterFile;
pub use forms::weight_text;
pub use line::{WriterHead, is_whole_line};
pub use name::{identity_of, ledger_named};
pub use row::{cylinder_of, row_of, state_of, with_state};
pub use tail::Tail;
pub use together::{LedgerRead, read_ledger};
