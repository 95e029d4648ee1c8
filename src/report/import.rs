//! What became of somebody's list of cylinders: each column, each row that isn't taken, each value in another form.

use std::path::Path;

use serde::Serialize;

use super::{Block, Report, Table, counted, name, number, words};
use crate::text::{Commas, Imported, LATIN_1};

/// A report of a list that became a yard.
#[derive(Debug, Serialize)]
pub struct ImportReport {
    format: &'static str,
    list: String,
    yard: Option<String>,
    encoding: &'static str,
    unit: &'static str,
    between: &'static str,
    heads: usize,
    cylinders: usize,
    columns: Vec<ImportedColumn>,
    refused: Vec<Refused>,
    passed: Vec<Passed>,
    remarks: Vec<Remark>,
    changed: Vec<Changed>,
    notes: Vec<String>,
}

#[derive(Debug, Serialize)]
struct ImportedColumn {
    column: String,
    key: Option<&'static str>,
    unit: Option<&'static str>,
    decimal_comma: bool,
    why: String,
}

#[derive(Debug, Serialize)]
struct Refused {
    line: usize,
    cylinder: String,
    reasons: Vec<String>,
}

/// A row that isn't a cylinder's.
#[derive(Debug, Serialize)]
struct Passed {
    line: usize,
    row: String,
}

#[derive(Debug, Serialize)]
struct Remark {
    line: usize,
    cylinder: String,
    remark: String,
    held_out: bool,
}

#[derive(Debug, Serialize)]
struct Changed {
    line: usize,
    cylinder: String,
    key: &'static str,
    typed: String,
    written: String,
    why: &'static str,
}

impl ImportReport {
    /// A report of this list; `yard` is the file that it was written to, where it was.
    pub fn new(import: &Imported, list: &Path, yard: Option<&Path>) -> Self {
        let has = |key: &str| import.columns.iter().any(|column| column.key == Some(key));
        let mut notes = Vec::new();
        if import.unsaid > 0 {
            let count = counted(import.unsaid, "cylinder");
            notes.push(format!("{count} with nothing taken of what is in it: written as unknown, and not filled"));
        }
        if !["tested", "due", "made"].into_iter().any(has) {
            notes.push("no date of a test was taken: none of the cylinders is filled without".into());
        }
        if !has("mark") && !has("service_pressure") {
            notes.push("no mark and no service pressure was taken: none of the cylinders is filled without".into());
        }
        if !has("condition") {
            notes.push(
                "the list doesn't say what carried water or burnout: condition counts as clean; put it right".into(),
            );
        }
        let commas = import.columns.iter().filter(|column| column.commas == Commas::Decimal);
        let commas: Vec<&str> = commas.map(|column| column.head.as_str()).collect();
        if !commas.is_empty() {
            notes.push(format!("decimal commas, written as points: {}", commas.join(", ")));
        }
        if import.encoding == LATIN_1 {
            notes.push(format!("the list isn't UTF-8: read as {LATIN_1}; look at its letters with accents"));
        }
        for column in import.columns.iter().filter(|column| column.holding > 0) {
            let (head, count) = (&column.head, counted(column.holding, "cell"));
            notes.push(format!(
                "{head} isn't taken, and {count} of it would hold a cylinder out; if it is a remark, import again with \
                 --column \"remark={head}\""
            ));
        }
        if import.columns.iter().any(|column| column.key.is_none()) {
            notes.push("what stood in columns that aren't taken stands in the yard as comments; read them".into());
        }
        Self {
            format: "chargesplit-import/1",
            list: list.display().to_string(),
            yard: yard.map(|yard| yard.display().to_string()).filter(|_| import.cylinders > 0),
            encoding: import.encoding,
            unit: import.unit.name(),
            between: import.between,
            heads: import.heads,
            cylinders: import.cylinders,
            columns: import.columns.iter().map(column).collect(),
            refused: import.refused.iter().map(refused).collect(),
            passed: import.passed.iter().map(|row| Passed { line: row.line, row: row.name.clone() }).collect(),
            remarks: import.remarks.iter().map(remark).collect(),
            changed: import.changed.iter().map(changed).collect(),
            notes,
        }
    }
}

fn column(column: &crate::text::ReadColumn) -> ImportedColumn {
    let decimal_comma = column.commas == Commas::Decimal;
    ImportedColumn {
        column: column.head.clone(),
        key: column.key,
        unit: column.unit,
        decimal_comma,
        why: column.why.clone(),
    }
}

fn remark(one: &crate::text::Remark) -> Remark {
    Remark { line: one.line, cylinder: one.cylinder.clone(), remark: one.text.clone(), held_out: one.held }
}

fn refused(row: &crate::text::RefusedRow) -> Refused {
    Refused { line: row.line, cylinder: row.cylinder.clone(), reasons: row.reasons.clone() }
}

fn changed(change: &crate::text::Change) -> Changed {
    Changed {
        line: change.line,
        cylinder: change.cylinder.clone(),
        key: change.key,
        typed: change.typed.clone(),
        written: change.written.clone(),
        why: change.why,
    }
}

impl ImportReport {
    /// Whether anything stands in it that somebody has to look at: more than which column is which key.
    pub fn warns(&self) -> bool {
        let quiet = self.refused.is_empty() && self.passed.is_empty() && self.remarks.is_empty();
        !(quiet && self.changed.is_empty() && self.notes.is_empty())
    }

    /// The changes as rows, each of them once with the cylinders that it is made to.
    fn alike(&self) -> Vec<Vec<String>> {
        let mut rows: Vec<(Vec<String>, Vec<&str>)> = Vec::new();
        for one in &self.changed {
            let change = [one.key, &one.typed, &one.written, one.why].map(str::to_owned).to_vec();
            match rows.iter_mut().find(|(known, _)| *known == change) {
                Some((_, cylinders)) => cylinders.push(&one.cylinder),
                None => rows.push((change, vec![&one.cylinder])),
            }
        }
        let row = |(change, cylinders): (Vec<String>, Vec<&str>)| [change, vec![cylinders.join(", ")]].concat();
        rows.into_iter().map(row).collect()
    }
}

impl Report for ImportReport {
    fn blocks(&self) -> Vec<Block> {
        let (taken, rows) = (self.cylinders, self.cylinders + self.refused.len());
        let to = self.yard.as_ref().map_or_else(String::new, |yard| format!(", written to {yard}"));
        let mut blocks = vec![
            Block::Heading(format!("{}: {taken} of {} taken{to}", self.list, counted(rows, "cylinder"))),
            Block::Note(format!(
                "Heads in line {}, a {} between cells, {}; bare weights are in {}.",
                self.heads, self.between, self.encoding, self.unit
            )),
        ];
        let columns = vec![name("column"), name("taken as"), name("unit"), words("why not")];
        let row = |column: &ImportedColumn| {
            let key = column.key.map_or_else(|| "not taken".to_owned(), ToOwned::to_owned);
            vec![column.column.clone(), key, column.unit.unwrap_or("").to_owned(), column.why.clone()]
        };
        blocks.push(Block::Table(Table { columns, rows: self.columns.iter().map(row).collect() }));
        if !self.refused.is_empty() {
            blocks.push(Block::Heading("Not taken".into()));
            let columns = vec![number("line"), name("cylinder"), words("why")];
            let row = |row: &Refused| vec![row.line.to_string(), row.cylinder.clone(), row.reasons.join("; ")];
            blocks.push(Block::Table(Table { columns, rows: self.refused.iter().map(row).collect() }));
        }
        if !self.passed.is_empty() {
            blocks.push(Block::Heading("Passed over: not a cylinder".into()));
            let columns = vec![number("line"), words("row")];
            let row = |row: &Passed| vec![row.line.to_string(), row.row.clone()];
            blocks.push(Block::Table(Table { columns, rows: self.passed.iter().map(row).collect() }));
        }
        if !self.remarks.is_empty() {
            blocks.push(Block::Heading("Remarks".into()));
            let columns = vec![name("cylinder"), name("held out"), words("remark")];
            let held = |held| if held { "yes" } else { "no" }.to_owned();
            let row = |one: &Remark| vec![one.cylinder.clone(), held(one.held_out), one.remark.clone()];
            blocks.push(Block::Table(Table { columns, rows: self.remarks.iter().map(row).collect() }));
            blocks.push(Block::Note(
                "What holds a cylinder out is its remark in the yard; the rest stands there as a comment.".into(),
            ));
        }
        if !self.changed.is_empty() {
            blocks.push(Block::Heading("Written in another form".into()));
            let columns = vec![name("key"), words("typed"), words("written"), words("why"), words("cylinders")];
            blocks.push(Block::Table(Table { columns, rows: self.alike() }));
        }
        if !self.notes.is_empty() {
            blocks.push(Block::Heading("To know".into()));
            blocks.push(Block::List(self.notes.clone()));
        }
        blocks
    }
}
