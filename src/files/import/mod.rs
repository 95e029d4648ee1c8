//! A list of cylinders as somebody keeps it in a spreadsheet, written as a yard.
//!
//! Doubt never becomes a fact here: a column that could be two keys isn't taken, a date that could be two dates refuses
//! its row, and what isn't said of the contents is unknown. Everything that isn't taken is told of, and stands in the
//! yard as a comment. What comes out has been read as a yard before.

mod cells;
mod columns;
mod dates;
mod table;
#[cfg(test)]
mod tests;
mod write;

use std::collections::HashMap;
use std::path::Path;

use jiff::civil::Date;

use super::code::Code;
use super::fields::Findings;
use super::problem::Problems;
use super::row::SHAPE;
use super::safe::out_of_cell;
use super::shape::Holds;
use super::source::{Input, Source};
use crate::quantity::Unit;
use cells::Terms;
use table::{Line, Table};

/// What to import.
#[derive(Debug, Clone, Copy)]
pub struct Import<'a> {
    /// The list.
    pub file: &'a Path,
    /// The unit of weights whose column says none.
    pub unit: Option<Unit>,
    /// Which head stands for a key, where somebody has said so: key and head.
    pub chosen: &'a [(String, String)],
    /// No test can be later than this.
    pub today: Date,
}

/// A list as a yard.
#[derive(Debug, Clone)]
pub struct Imported {
    /// The yard, in YAML.
    pub text: String,
    /// The list, as it was read.
    pub input: Input,
    /// What its bare weights count in.
    pub unit: Unit,
    /// What stands between two cells.
    pub between: &'static str,
    /// The line of the heads, from 1.
    pub heads: usize,
    /// Each column of the list, in its order.
    pub columns: Vec<Column>,
    /// How many cylinders the yard has.
    pub cylinders: usize,
    /// Rows that aren't taken.
    pub refused: Vec<RefusedRow>,
    /// Values that are written in another form.
    pub changed: Vec<Change>,
    /// How many cylinders hold `unknown` because nothing was taken about it.
    pub unsaid: usize,
}

/// What became of a column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its head as typed.
    pub head: String,
    /// The key that it is taken as.
    pub key: Option<&'static str>,
    /// The unit of its bare numbers, from its head or as it was given.
    pub unit: Option<&'static str>,
    /// Why it isn't taken.
    pub why: String,
}

/// A row that isn't taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RefusedRow {
    /// Its line, from 1.
    pub line: usize,
    /// The cylinder, where its cell isn't empty.
    pub cylinder: String,
    /// Why.
    pub reasons: Vec<String>,
}

/// A value in another form than it was typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Its line, from 1.
    pub line: usize,
    /// The cylinder.
    pub cylinder: String,
    /// The key.
    pub key: &'static str,
    /// As typed.
    pub typed: String,
    /// As written.
    pub written: String,
    /// Why.
    pub why: &'static str,
}

/// A row on its way into the yard.
struct Row<'t> {
    line: &'t Line,
    cylinder: String,
    values: Vec<(&'static str, String)>,
    /// Cells of columns that aren't taken, with their heads.
    beside: Vec<(&'t str, &'t str)>,
    changed: Vec<Change>,
    refused: Vec<String>,
}

/// Reads a list and writes it as a yard.
///
/// # Errors
/// A file that can't be read, isn't such a list, or leaves open what its numbers mean.
pub fn import_yard(import: &Import) -> Result<Imported, Problems> {
    let source = Source::read(import.file)?;
    let mut found = Findings::new(&source);
    let table = table::read(import.chosen, &mut found);
    if let Some(table) = &table {
        check_columns(table, import, &mut found);
        check_commas(table, &mut found);
    }
    let mut table = match (Problems::of(found.problems), table) {
        (None, Some(table)) => table,
        (Some(problems), _) => return Err(problems),
        (None, None) => return Err(write::doubt(&source)),
    };
    for column in table.columns.iter_mut().filter(|column| is_weight(column.key)) {
        column.unit = column.unit.or(import.unit.map(Unit::name));
    }
    let unit = unit_of(&table);
    let mut rows: Vec<Row> = table.lines.iter().map(|line| row(line, &table, unit, import.today)).collect();
    doubles(&mut rows);
    write::yard(&source, &table, rows, unit, import.today)
}

/// The unit of the yard: that of the first column of weights.
fn unit_of(table: &Table) -> Unit {
    match table.columns.iter().filter(|column| is_weight(column.key)).find_map(|column| column.unit) {
        Some("kg" | "g") => Unit::Kg,
        Some("oz" | "lb-oz") => Unit::LbOz,
        Some(_) | None => Unit::Lb,
    }
}

fn is_weight(key: Option<&str>) -> bool {
    matches!(key.and_then(|key| SHAPE.key(key)).map(|key| key.holds), Some(Holds::Weight))
}

fn is_pressure(key: Option<&str>) -> bool {
    matches!(key.and_then(|key| SHAPE.key(key)).map(|key| key.holds), Some(Holds::Pressure))
}

/// What a yard can't be without, and units that nobody said.
fn check_columns(table: &Table, import: &Import, found: &mut Findings) {
    let has = |key: &str| table.columns.iter().any(|column| column.key == Some(key));
    let not_taken = table.columns.iter().filter(|column| column.key.is_none() && !column.head.is_empty());
    let not_taken: Vec<String> = not_taken.map(|column| format!("\"{}\"", column.head)).collect();
    let left = if not_taken.is_empty() { String::new() } else { format!("; not taken are {}", not_taken.join(", ")) };
    // A list that says nothing of contents leaves them unknown.
    for key in SHAPE.keys.iter().filter(|key| key.required && key.name != "holds" && !has(key.name)) {
        let key = key.name;
        let could: Vec<String> = table
            .columns
            .iter()
            .filter(|column| column.key.is_none() && columns::of_head(&column.head).0.contains(&key))
            .map(|column| format!("\"{}\"", column.head))
            .collect();
        let could = if could.is_empty() { String::new() } else { format!("; it could be {}", could.join(" or ")) };
        let message = format!("no column is taken as `{key}`, which a yard needs{could}");
        let hint = format!("say which column it is: --column \"{key}=ITS HEAD\"{left}");
        found.add(Code::MissingKey, table.heads.marks.first().copied(), &message, &hint);
    }
    for (column, mark) in table.columns.iter().zip(&table.heads.marks) {
        if is_weight(column.key) && column.unit.is_none() && import.unit.is_none() {
            let message = format!("the column \"{}\" doesn't say its unit", column.head);
            let hint = "write it in its head, such as \"Tare (lb)\", or give --units lb, kg or lb-oz";
            found.add(Code::MissingUnit, Some(*mark), &message, hint);
        }
    }
}

/// A comma is decimal in one country and parts thousands in the next; a file that has one has it everywhere.
fn check_commas(table: &Table, found: &mut Findings) {
    /// Enough to show what is meant.
    const SHOWN: usize = 3;
    let is_number = |key| is_weight(key) || is_pressure(key);
    let commas = table.lines.iter().flat_map(|line| {
        let cells = table.columns.iter().zip(line.cells.iter().zip(&line.marks));
        cells.filter(|(column, (cell, _))| is_number(column.key) && cell.contains(','))
    });
    for (column, (cell, mark)) in commas.take(SHOWN) {
        let message = format!("{}: `{cell}` has a comma; numbers with decimal commas aren't read", column.head);
        let hint = "have the spreadsheet write decimals with a point and thousands without a mark, and save it again";
        found.add(Code::Comma, Some(mark.of(cell)), &message, hint);
    }
}

/// Of one id twice neither row is taken: nobody knows which one is right.
fn doubles(rows: &mut [Row]) {
    /// Enough to look at.
    const SHOWN: usize = 3;
    let mut lines: HashMap<String, Vec<usize>> = HashMap::new();
    for row in rows.iter().filter(|row| !row.cylinder.is_empty()) {
        // On tape `c-1` is read as `C-1`.
        lines.entry(row.cylinder.to_lowercase()).or_default().push(row.line.number);
    }
    for row in rows {
        let others = lines.get(&row.cylinder.to_lowercase()).into_iter().flatten();
        let others = others.filter(|line| **line != row.line.number).take(SHOWN);
        let others: Vec<String> = others.map(ToString::to_string).collect();
        if !others.is_empty() {
            row.refused.push(format!("it stands in line {} too; nobody knows which is right", others.join(" and ")));
        }
    }
}

fn row<'t>(line: &'t Line, table: &'t Table, unit: Unit, today: Date) -> Row<'t> {
    let cells = || table.columns.iter().zip(line.cells.iter().map(|cell| out_of_cell(cell.trim()).trim()));
    let id = cells().find(|(column, _)| column.key == Some("id"));
    let cylinder = id.map_or_else(String::new, |(_, cell)| cell.to_owned());
    let mut row =
        Row { line, cylinder, values: Vec::new(), beside: Vec::new(), changed: Vec::new(), refused: Vec::new() };
    let cells_found = line.cells.len();
    let beyond = line.cells.iter().skip(table.columns.len()).any(|cell| !cell.trim().is_empty());
    if cells_found < table.columns.len() || beyond {
        let expected = table.columns.len();
        row.refused.push(format!("the row has {cells_found} cells, the heads are {expected}"));
        return row;
    }
    for (column, cell) in cells().filter(|(_, cell)| !cell.is_empty()) {
        let Some(key) = column.key else {
            row.beside.push((&column.head, cell));
            continue;
        };
        let terms = Terms { unit: column.unit, bare: unit, today };
        match cells::read(key, cell, &terms) {
            Ok(value) => {
                row.changed.extend(value.changed.map(|why| Change {
                    line: line.number,
                    cylinder: row.cylinder.clone(),
                    key,
                    typed: cell.to_owned(),
                    written: value.yaml.clone(),
                    why,
                }));
                row.values.push((key, value.yaml));
            }
            Err(why) => row.refused.push(format!("{}: {why}", column.head)),
        }
    }
    row
}
