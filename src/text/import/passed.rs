//! Rows of a list that aren't a cylinder's: its total, a note below it.

use super::PassedRow;
use super::table::{Line, Table, as_typed};

/// What people call a row that adds up or counts the others.
const SUMS: [&str; 10] =
    ["total", "totals", "grand total", "subtotal", "sub total", "sum", "sums", "average", "averages", "count"];
/// Words from which on a text is a note, and no name of a cylinder.
const NOTE_WORDS: usize = 4;
/// Characters of its name.
const MOST_SHOWN: usize = 60;

/// Takes out the lines that aren't a cylinder's.
pub(super) fn take_out(table: &mut Table) -> Vec<PassedRow> {
    let lines = std::mem::take(&mut table.lines);
    let (passed, lines): (Vec<Line>, Vec<Line>) = lines.into_iter().partition(|line| is_passed(table, line));
    table.lines = lines;
    let row = |line: Line| {
        let cells: Vec<String> = line.cells.iter().map(|cell| cell.trim().to_owned()).collect();
        let name = cells.iter().find(|cell| is_sum(cell)).or_else(|| cells.iter().find(|cell| !cell.is_empty()));
        let name = name.map_or_else(String::new, |name| name.chars().take(MOST_SHOWN).collect());
        PassedRow { line: line.number, name, cells }
    };
    passed.into_iter().map(row).collect()
}

/// A row that calls itself a total, or has no id and neither of the stamped sizes, or is a note and nothing else.
fn is_passed(table: &Table, line: &Line) -> bool {
    if table.swallows(line) {
        return false;
    }
    let id = table.cell(line, "id");
    let no_size = ["tare", "water_capacity"].into_iter().all(|key| table.cell(line, key).is_empty());
    let mut filled = line.cells.iter().filter(|cell| !cell.trim().is_empty());
    let is_note = || filled.clone().count() == 1 && id.split_whitespace().count() >= NOTE_WORDS;
    if id.is_empty() {
        no_size || filled.any(|cell| is_sum(cell))
    } else {
        is_sum(id) || (no_size && (begins_as_sum(id) || is_note()))
    }
}

fn words(cell: &str) -> String {
    let cell = as_typed(cell).to_lowercase();
    let words = cell.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join(" ")
}

/// A total by its name alone, also where all columns are added up.
fn is_sum(cell: &str) -> bool {
    SUMS.contains(&words(cell).as_str())
}

/// "Total of 12 cylinders".
fn begins_as_sum(cell: &str) -> bool {
    let words = words(cell);
    SUMS.iter().any(|sum| words.strip_prefix(sum).is_some_and(|rest| rest.starts_with(' ')))
}
