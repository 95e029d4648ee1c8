//! A list of cylinders as somebody keeps it in a spreadsheet, written as a yard.
//!
//! Doubt never becomes a fact here: a column that could be two keys isn't taken, a date that could be two dates refuses
//! its row, and what isn't said of the contents is unknown. Everything that isn't taken is told of, and stands in the
//! yard as a comment. What comes out has been read as a yard before.

mod cells;
mod columns;
mod commas;
mod encoding;
mod passed;
mod remarks;
mod table;
#[cfg(test)]
mod tests;
mod write;

use std::collections::HashMap;
use std::path::Path;

use jiff::civil::Date;

use super::fields::Findings;
use super::row::SHAPE;
use super::shape::Holds;
use super::source::Source;
use crate::cylinder::Id;
use crate::disk::Input;
use crate::problem::{Code, Problems};
use crate::quantity::Unit;
use cells::{Cell, ColumnContext};
use columns::REMARK;
pub use commas::Commas;
pub use encoding::LATIN_1;
use table::{Line, Table, as_typed};

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
    /// What it was saved as: UTF-8, UTF-16LE, UTF-16BE or [`LATIN_1`].
    pub encoding: &'static str,
    /// What its bare weights count in.
    pub unit: Unit,
    /// What stands between two cells.
    pub between: &'static str,
    /// The line of the heads, from 1.
    pub heads: usize,
    /// Each column of the list, in its order.
    pub columns: Vec<ReadColumn>,
    /// How many cylinders the yard has.
    pub cylinders: usize,
    /// Rows that aren't taken.
    pub refused: Vec<RefusedRow>,
    /// Rows that aren't a cylinder's.
    pub passed: Vec<PassedRow>,
    /// What the list says of its cylinders in words.
    pub remarks: Vec<Remark>,
    /// Values that are written in another form.
    pub changed: Vec<Change>,
    /// How many cylinders hold `unknown` because nothing was taken about it.
    pub unsaid: usize,
}

/// What became of a column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadColumn {
    /// Its head as typed.
    pub head: String,
    /// The key that it is taken as.
    pub key: Option<&'static str>,
    /// The unit of its bare numbers, from its head or as it was given.
    pub unit: Option<&'static str>,
    /// What the commas in its numbers are.
    pub commas: Commas,
    /// How many of its cells say a word that would hold a cylinder out, where it isn't taken.
    pub holding: usize,
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

/// A row that isn't a cylinder's: a total, or a note.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PassedRow {
    /// Its line, from 1.
    pub line: usize,
    /// What it calls itself, or else its first cell.
    pub name: String,
    /// Its cells.
    pub cells: Vec<String>,
}

/// What a list says of a cylinder in words, of all its columns for that.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// Its line, from 1.
    pub line: usize,
    /// The cylinder.
    pub cylinder: String,
    /// The words.
    pub text: String,
    /// Whether it holds the cylinder out. If not, it is a comment in the yard.
    pub held: bool,
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
struct YardRow<'t> {
    line: &'t Line,
    cylinder: String,
    values: Vec<(&'static str, String)>,
    /// Cells of columns that aren't taken, with their heads.
    beside: Vec<(&'t str, &'t str)>,
    changed: Vec<Change>,
    remark: Option<Remark>,
    refused: Vec<String>,
}

/// Reads a list and writes it as a yard.
///
/// # Errors
/// A file that can't be read, isn't such a list, or leaves open what its numbers mean.
pub fn import_yard(import: &Import) -> Result<Imported, Problems> {
    let (source, encoding) = encoding::read(import.file)?;
    let mut found = Findings::new(&source);
    let table = table::read(import.chosen, &mut found);
    if let Some(table) = &table {
        check_columns(table, import, &mut found);
    }
    let mut table = match (Problems::of(found.problems), table) {
        (None, Some(table)) => table,
        (Some(problems), _) => return Err(problems),
        (None, None) => return Err(write::doubt(&source)),
    };
    for column in table.columns.iter_mut().filter(|column| is_weight(column.key)) {
        column.unit = column.unit.or(import.unit.map(Unit::name));
    }
    let passed = passed::take_out(&mut table);
    commas::settle(&mut table);
    remarks::count(&mut table);
    let unit = unit_of(&table);
    let mut rows: Vec<YardRow> = table.lines.iter().map(|line| row(line, &table, unit, import.today)).collect();
    doubles(&mut rows);
    let list = List { source: &source, encoding, table: &table, passed, unit };
    write::yard(list, rows, import.today)
}

/// A list that has been read, but for its rows.
struct List<'t> {
    source: &'t Source,
    encoding: &'static str,
    table: &'t Table,
    passed: Vec<PassedRow>,
    /// Of bare weights.
    unit: Unit,
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

/// Of one id twice neither row is taken: nobody knows which one is right.
fn doubles(rows: &mut [YardRow]) {
    /// Enough to look at.
    const SHOWN: usize = 3;
    let mut lines: HashMap<Id, Vec<usize>> = HashMap::new();
    for row in rows.iter().filter(|row| !row.cylinder.is_empty()) {
        lines.entry(Id::from(row.cylinder.as_str())).or_default().push(row.line.number);
    }
    for row in rows {
        let others = lines.get(&Id::from(row.cylinder.as_str())).into_iter().flatten();
        let others = others.filter(|line| **line != row.line.number).take(SHOWN);
        let others: Vec<String> = others.map(ToString::to_string).collect();
        if !others.is_empty() {
            row.refused.push(format!("it stands in line {} too; nobody knows which is right", others.join(" and ")));
        }
    }
}

fn row<'t>(line: &'t Line, table: &'t Table, unit: Unit, today: Date) -> YardRow<'t> {
    let mut row = YardRow {
        line,
        cylinder: table.cell(line, "id").to_owned(),
        values: Vec::new(),
        beside: Vec::new(),
        changed: Vec::new(),
        remark: None,
        refused: Vec::new(),
    };
    if table.swallows(line) {
        row.refused.push("a cell goes on over further rows: close its quotation mark, or write it on one line".into());
        return row;
    }
    if !table.fits(line) {
        let (found, expected) = (line.cells.len(), table.columns.len());
        row.refused.push(format!("the row has {found} cells, the heads are {expected}"));
        return row;
    }
    let mut remarks: Vec<(&str, &str)> = Vec::new();
    for (column, typed) in table.columns.iter().zip(line.cells.iter().map(|cell| cell.trim())) {
        let cell = as_typed(typed);
        match column.key {
            _ if cell.is_empty() => {}
            None => row.beside.push((&column.head, cell)),
            Some(REMARK) => remarks.push((&column.head, cell)),
            Some(key) if remarks::takes(key, cell) => remarks.push((&column.head, cell)),
            Some(key) => {
                let terms = ColumnContext { unit: column.unit, commas: column.commas, bare: unit, today };
                row.take(&column.head, key, typed, cells::read(key, cell, &terms));
            }
        }
    }
    remarks::settle(&mut row, remarks);
    for (index, typed) in &line.unseen {
        let key = table.columns.get(*index).and_then(|column| column.key);
        let seen = line.cells.get(*index).map_or("", String::as_str);
        row.change(key.unwrap_or("not taken"), typed, seen, "a character that can't be seen is taken out");
    }
    row
}

impl YardRow<'_> {
    fn change(&mut self, key: &'static str, typed: &str, written: &str, why: &'static str) {
        let (line, cylinder) = (self.line.number, self.cylinder.clone());
        self.changed.push(Change { line, cylinder, key, typed: typed.to_owned(), written: written.to_owned(), why });
    }

    /// Takes the value of a cell, or refuses the row.
    fn take(&mut self, head: &str, key: &'static str, typed: &str, value: Result<Cell, String>) {
        match value {
            Ok(value) => {
                let text = "without the apostrophe by which a spreadsheet knows a text";
                if let Some(why) = value.changed.or((as_typed(typed) != typed).then_some(text)) {
                    self.change(key, typed, &value.yaml, why);
                }
                self.values.push((key, value.yaml));
            }
            Err(why) => self.refused.push(format!("{head}: {why}")),
        }
    }
}
