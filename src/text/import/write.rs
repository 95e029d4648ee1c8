//! The yard that a list becomes, as YAML; rows that the reader of yards doesn't take are refused with its words.

use std::path::Path;

use jiff::civil::Date;

use super::{Imported, List, RefusedRow, YardRow};
use crate::disk::MOST_BYTES;
use crate::printable::printable;
use crate::problem::{Code, Problems};
use crate::text::refrigerants::Known;
use crate::text::row::SHAPE;
use crate::text::source::Source;
use crate::text::yard::{self, LoadedYard};

/// Writes the rows that can be taken, and reads them once more as a yard.
pub(super) fn yard(list: List, mut rows: Vec<YardRow>, today: Date) -> Result<Imported, Problems> {
    let source = list.source;
    let (text, begins) = written(&list, &rows);
    let read = read_back(text, today, true).map_err(|_| {
        let message = "so few of its rows are cylinders that it can't be the right list";
        source.whole(Code::TooMany, message, "check that it is the right file, and that each column is what it says")
    })?;
    for skipped in &read.skipped {
        let line = skipped.place.as_ref().map(|place| place.line);
        let Some(index) = line.and_then(|line| begins.iter().find(|(at, _)| *at == line)).map(|(_, index)| *index)
        else {
            return Err(doubt(source));
        };
        rows[index].refused.extend(skipped.problems.iter().map(|problem| problem.message.clone()));
    }
    let (text, begins) = written(&list, &rows);
    if text.len() as u64 > MOST_BYTES {
        let message = format!("written as a yard the list has more than {} MB", MOST_BYTES / 1_048_576);
        return Err(source.whole(Code::TooLarge, &message, "split the list").into());
    }
    let taken = read_back(text.clone(), today, false)?.cylinders.len();
    if taken != begins.len() {
        return Err(doubt(source));
    }
    let good = |row: &&YardRow| row.refused.is_empty();
    let refused = rows.iter().filter(|row| !good(row)).map(|row| RefusedRow {
        line: row.line.number,
        cylinder: row.cylinder.clone(),
        reasons: row.refused.clone(),
    });
    Ok(Imported {
        text,
        input: source.input(),
        encoding: list.encoding,
        unit: list.unit,
        between: list.table.between,
        heads: list.table.heads.number,
        columns: list.table.columns.clone(),
        cylinders: taken,
        refused: refused.collect(),
        passed: list.passed,
        remarks: rows.iter().filter(good).filter_map(|row| row.remark.clone()).collect(),
        changed: rows.iter().filter(good).flat_map(|row| row.changed.clone()).collect(),
        unsaid: rows.iter().filter(good).filter(|row| !row.values.iter().any(|(key, _)| *key == "holds")).count(),
    })
}

/// What we write must be a yard; this is said only where it isn't.
pub(super) fn doubt(source: &Source) -> Problems {
    source
        .whole(Code::WrongShape, "the list can't be written as a yard without a doubt", "type the yard by hand")
        .into()
}

fn read_back(text: String, today: Date, skip: bool) -> Result<LoadedYard, Problems> {
    let source = Source::from_bytes(Path::new("the yard written from it"), text.into_bytes())?;
    yard::read_as(Some("yaml"), &source, &Known::default(), today.into(), skip)
}

/// The text of the yard, and the line at which each row that is taken begins, with the row's number.
fn written(list: &List, rows: &[YardRow]) -> (String, Vec<(usize, usize)>) {
    let file = printable(&list.source.file.file_name().unwrap_or_default().to_string_lossy());
    let mut lines = vec![
        "# yaml-language-server: $schema=yard.schema.json".to_owned(),
        format!("# Written from {file}. Compare it with the stamps before you fill by it."),
        format!("units: {}", list.unit.name()),
    ];
    let good = rows.iter().any(|row| row.refused.is_empty());
    lines.push(if good { "cylinders:" } else { "cylinders: []" }.to_owned());
    let mut begins = Vec::new();
    for (index, row) in rows.iter().enumerate().filter(|(_, row)| row.refused.is_empty()) {
        begins.push((lines.len() + 1, index));
        let value = |key: &str| {
            let value = row.values.iter().find(|(known, _)| *known == key).map(|(_, yaml)| yaml.as_str());
            value.or((key == "holds").then_some("unknown"))
        };
        // The id first, also where it is missing: its place says which row the reader speaks of.
        lines.push(format!("  - id: {}", value("id").unwrap_or_default()).trim_end().to_owned());
        for key in SHAPE.names().skip(1) {
            lines.extend(value(key).map(|value| format!("    {key}: {value}")));
        }
        let typed = row.changed.iter().filter(|change| change.key == "holds");
        lines.extend(typed.flat_map(|change| comment("    ", &format!("the list says: {}", change.typed))));
        lines.extend(row.beside.iter().flat_map(|(head, cell)| comment("    ", &format!("{head}: {cell}"))));
    }
    for row in rows.iter().filter(|row| !row.refused.is_empty()) {
        let (line, cells, why) = (row.line.number, row.line.cells.join(" | "), row.refused.join("; "));
        lines.extend(comment("", &format!("Not taken, line {line}: {cells}: {why}")));
    }
    for row in &list.passed {
        lines.extend(comment("", &format!("Not a cylinder, line {}: {}", row.line, row.cells.join(" | "))));
    }
    (lines.join("\n") + "\n", begins)
}

/// A text as lines of a comment, broken between words.
fn comment(indent: &str, text: &str) -> Vec<String> {
    const COLUMNS: usize = 80;
    let mut lines = vec![format!("{indent}#")];
    for word in printable(text).split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= COLUMNS => {
                *line = format!("{line} {word}")
            }
            _ => lines.push(format!("{indent}#   {word}")),
        }
    }
    lines
}
