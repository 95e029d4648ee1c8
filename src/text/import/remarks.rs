//! What a list says of a cylinder in words: written as its remark where that holds it out, else as a comment.

use super::table::Table;
use super::{Remark, YardRow};
use crate::cylinder::remark_holds;
use crate::printable::is_hidden;
use crate::text::after::written;
use crate::text::row::SHAPE;
use crate::text::shape::Holds;
use crate::text::value::MOST_SENTENCE;

/// Whether a cell of another column is a remark: none of the words that its key may have, and one that holds out.
pub(super) fn takes(key: &str, cell: &str) -> bool {
    match SHAPE.key(key).map(|key| key.holds) {
        Some(Holds::OneOf(words)) => !words().iter().any(|word| word.eq_ignore_ascii_case(cell)) && remark_holds(cell),
        _ => false,
    }
}

/// Counts what might be remarks in columns that aren't taken.
pub(super) fn count(table: &mut Table) {
    for index in 0..table.columns.len() {
        if table.columns[index].key.is_none() {
            let cells = table.lines.iter().filter_map(|line| line.cells.get(index));
            table.columns[index].holding = cells.filter(|cell| remark_holds(&on_one_line(cell))).count();
        }
    }
}

/// A cell on one line, without characters that don't show: none of them parts `le` from `ak`.
fn on_one_line(cell: &str) -> String {
    let shown = cell.chars().filter(|c| c.is_whitespace() || !is_hidden(*c));
    shown.collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Puts the remarks of a row, with the heads that they stand under, together: as one remark or as comments.
pub(super) fn settle<'t>(row: &mut YardRow<'t>, remarks: Vec<(&'t str, &'t str)>) {
    if remarks.is_empty() {
        return;
    }
    let text = remarks.iter().map(|(_, cell)| on_one_line(cell)).collect::<Vec<_>>().join("; ");
    let held = remark_holds(&text);
    if held && text.chars().count() > MOST_SENTENCE {
        row.refused.push(format!("its remarks have more than {MOST_SENTENCE} characters"));
    } else if held {
        row.values.push(("remark", written(std::slice::from_ref(&text))));
    } else {
        row.beside.extend(remarks);
    }
    row.remark = Some(Remark { line: row.line.number, cylinder: row.cylinder.clone(), text, held });
}
