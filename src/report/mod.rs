//! Reports: one value for each question, drawn as text or as data.
//!
//! A report is a plain struct. What it serialises to is its JSON; [`Report::blocks`] lists the same figures as blocks
//! for every other drawing, so that the drawings can't disagree. Nothing here computes a figure of a plan, and nothing
//! prints.

mod alarms;
mod audit;
mod beside;
mod cautions;
mod changes;
mod check;
mod closeout;
mod cylinder;
mod hose;
mod html;
mod import;
mod in_force;
mod left_out;
mod marks;
mod month;
mod pack;
mod plan;
mod pours;
mod quote;
mod refrigerant;
mod release;
mod replan;
mod status;
mod text;
mod tradeoff;
mod undo;
mod weigh;
mod yard;

use serde::Serialize;

use crate::plan::Plan;
use crate::problem::SkippedRow;
use crate::quantity::{Division, Unit};

pub use alarms::{Alarms, WithAlarms};
pub use audit::AuditReport;
pub use cautions::{Hazards, cautions, full_cautions};
pub use check::CheckReport;
pub use closeout::CloseoutReport;
pub use cylinder::CylinderReport;
pub use html::{InForceSheet, Inputs, ReplanSheet, Sheet, customer_page, is_page, pack_page, quote_page};
pub use import::ImportReport;
pub use month::MonthReport;
pub use pack::{PackReport, Packed};
pub use plan::PlanReport;
use quote::{BLANK, SIGNED};
pub use quote::{CustomerReport, QuoteReport, to_csv};
pub use refrigerant::{RefrigerantList, RefrigerantReport};
pub use release::ReleaseReport;
pub use replan::ReplanReport;
pub use status::StatusReport;
pub use text::draw;
pub(crate) use text::shown;
pub use tradeoff::TradeoffReport;
pub use undo::UndoReport;
pub use weigh::WeighReport;
pub use yard::YardReport;

/// A piece of a report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// The name of what follows.
    Heading(String),
    /// Something that hurts people: before everything else.
    Danger(String),
    /// A paragraph.
    Note(String),
    /// Short lines that belong together.
    List(Vec<String>),
    /// Figures.
    Table(Table),
}

/// A table: every row has one cell for each column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, drawn as they stand.
    pub rows: Vec<Vec<String>>,
}

/// A column of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its heading.
    pub title: &'static str,
    /// What stands in it.
    pub kind: ColumnKind,
}

/// What stands in a column, which decides how it is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnKind {
    /// Numbers, set to the right and never broken.
    Number,
    /// A name, set to the left and broken only where it doesn't fit otherwise.
    Name,
    /// A name with marks behind it, which stand out.
    Marked,
    /// Words, set to the left and broken between them.
    Words,
}

/// A column of numbers.
pub(crate) const fn number(title: &'static str) -> Column {
    Column { title, kind: ColumnKind::Number }
}

/// A column of names.
pub(crate) const fn name(title: &'static str) -> Column {
    Column { title, kind: ColumnKind::Name }
}

/// A column of names with marks behind them.
pub(crate) const fn marked(title: &'static str) -> Column {
    Column { title, kind: ColumnKind::Marked }
}

/// A column of words.
pub(crate) const fn words(title: &'static str) -> Column {
    Column { title, kind: ColumnKind::Words }
}

/// Something that can be shown.
pub trait Report: Serialize {
    /// The whole report in the order in which it is read.
    fn blocks(&self) -> Vec<Block>;
}

/// A report whose weights can be shown in another unit than the scale's, because nobody fills by it.
pub trait ShownIn: Report {
    /// Shows every weight on a scale of this division: what may be reached rounded down, all else up.
    fn show_in(&mut self, to: Division);
}

/// The unit of readings as they are drawn: what data counts in `oz` is read as pounds and ounces.
pub(crate) fn as_drawn(unit: &'static str) -> &'static str {
    if unit == Unit::LbOz.number_name() { Unit::LbOz.name() } else { unit }
}

/// A count with its noun: `1 cylinder`, `8 cylinders`.
pub(crate) fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

/// What doesn't fit, a lot to a line; then what to do about all of it: what to evacuate, and the fewest cylinders to add
/// unless the stock is planned with already.
pub(crate) fn missing(plan: &Plan, suggest: bool) -> Vec<String> {
    let short = plan.short.iter();
    let mut lines: Vec<String> = short
        .map(|short| format!("{} of {} would be left in the system", plan.division.text(short.missing), short.lot))
        .collect();
    let Some(remedy) = &plan.remedy else { return lines };
    if !remedy.evacuate.is_empty() {
        let left = remedy.missing.iter().map(|left| format!("{} of {}", plan.division.text(left.missing), left.lot));
        let left: Vec<String> = left.collect();
        let then = if left.is_empty() { "it fits".into() } else { format!("{} would be left", and(&left)) };
        let ids: Vec<String> = remedy.evacuate.iter().map(ToString::to_string).collect();
        lines.push(format!("first, at no cost: evacuate {} (nitrogen): then {then}", and(&ids)));
    }
    if suggest && !remedy.add.is_empty() {
        let kinds: Vec<String> = remedy.add.iter().map(|one| format!("{} x {}", one.count, one.kind)).collect();
        lines.push(format!("to add, with which all of it fits: {}", kinds.join(", ")));
    }
    lines
}

/// Names as they are read: `A`, `A and B`, `A, B and C`.
pub(crate) fn and(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [firsts @ .., last] => format!("{} and {last}", firsts.join(", ")),
    }
}

/// Rows of the yard that couldn't be read, each as a line: they come first in every report.
pub(crate) fn skipped(rows: &[SkippedRow]) -> Vec<String> {
    let line = |row: &SkippedRow| {
        let place = row.place.as_ref().map_or_else(String::new, |place| format!(":{}", place.line));
        let id = row.id.as_ref().map_or_else(String::new, |id| format!(" {id}"));
        let wrong: Vec<&str> = row.problems.iter().map(|problem| problem.message.as_str()).collect();
        format!("{}{place}:{id}: {}", row.file.display(), wrong.join("; "))
    };
    rows.iter().map(line).collect()
}

/// The same lines as blocks.
pub(crate) fn skipped_blocks(lines: &[String]) -> impl Iterator<Item = Block> {
    lines.iter().map(|line| Block::Danger(format!("Left out, its row can't be read: {line}")))
}
