//! A yard: its cylinders, and those of them that had to be left out because their row can't be read.

use std::collections::HashMap;
use std::path::Path;

use super::fields::{Fields, Findings, Value};
use super::refrigerants::Known;
use super::row::{self, Row, RowContext};
use super::shape::{Holds, Shape, must};
use super::source::{Mark, Source};
use super::today::Latest;
use super::tree::Node;
use super::value::unit_words;
use super::{csv, yaml};
use crate::cylinder::{Cylinder, Id};
use crate::disk::{Input, STANDARD_INPUT};
use crate::problem::{Code, Problems, SkippedRow};
use crate::quantity::Unit;

pub(super) static SHAPE: Shape = Shape {
    what: "a yard",
    keys: &[
        must("units", Holds::OneOf(unit_words), "What a bare weight counts in; there is no default."),
        must(
            "cylinders",
            Holds::List(&row::SHAPE, MOST_CYLINDERS),
            "The cylinders on hand, in the order of preference.",
        ),
    ],
    rules: &[],
};
/// Ten times the largest yard that is planned for.
pub(super) const MOST_CYLINDERS: usize = 10_000;
/// Rows that can't be read before the file as a whole isn't.
const MOST_BAD_ROWS: usize = 500;

/// A yard that was read.
#[derive(Debug, Clone)]
pub struct LoadedYard {
    /// The cylinders, in the order of the file.
    pub cylinders: Vec<Cylinder>,
    /// What its weights are typed in.
    pub unit: Unit,
    /// Rows left out, in the order of the file.
    pub skipped: Vec<SkippedRow>,
    /// The file, where the cylinders don't stand in a job.
    pub input: Option<Input>,
}

/// Reads a yard file.
pub(super) fn read(path: &Path, known: &Known, latest: Latest, skip: bool) -> Result<LoadedYard, Problems> {
    let kind = path.extension().map(|kind| kind.to_string_lossy().to_lowercase());
    read_as(kind.as_deref(), &Source::read(path)?, known, latest, skip)
}

/// Reads a yard as typed on the command line: a file, or standard input. There the first line says which kind it is: a
/// key of YAML ends with a colon, and no head of a column has one.
pub(super) fn read_typed(path: &Path, latest: Latest, skip: bool) -> Result<LoadedYard, Problems> {
    let known = Known::default();
    if path != Path::new(STANDARD_INPUT) {
        return read(path, &known, latest, skip);
    }
    let source = Source::typed(path)?;
    let mut lines = source.text.lines().map(str::trim);
    let first = lines.find(|line| !line.is_empty() && !line.starts_with('#'));
    let kind = if first.is_some_and(|first| !first.contains(':')) { "csv" } else { "yaml" };
    read_as(Some(kind), &source, &known, latest, skip)
}

/// Reads the text of a yard that is of this kind, as the end of its name would say.
pub(super) fn read_as(
    kind: Option<&str>,
    source: &Source,
    known: &Known,
    latest: Latest,
    skip: bool,
) -> Result<LoadedYard, Problems> {
    let mut found = Findings::new(source);
    let (unit, rows) = match kind {
        Some("yaml" | "yml") => {
            let node = yaml::read(source)?;
            let fields = Fields::open(&node, None, &SHAPE, &mut found);
            let unit = fields.and_then(|fields| fields.read("units", &mut found, Value::unit));
            // With the unit unknown the file is refused; pounds only keep the rest readable for its other problems.
            let terms = RowContext { unit: unit.unwrap_or(Unit::Lb), known, latest };
            let rows = fields.map(|fields| in_list(fields, terms, &mut found));
            (terms.unit, rows.unwrap_or_default())
        }
        Some("csv") => {
            let table = csv::read(&mut found);
            let terms = RowContext { unit: table.unit, known, latest };
            let rows = table.rows.iter().map(|line| line_of(line, terms, source));
            (terms.unit, while_worth_it(rows, &mut found))
        }
        _ => {
            let message = "a yard is read by the end of its name; expected .yaml, .yml or .csv";
            return Err(source.whole(Code::FileKind, message, "save it as one of these").into());
        }
    };
    let (cylinders, skipped) = sort_out(rows, skip, &mut found);
    match Problems::of(found.problems) {
        Some(problems) => Err(problems),
        None => Ok(LoadedYard { cylinders, unit, skipped, input: Some(source.input()) }),
    }
}

/// Takes the rows up to the one with which they are too many that can't be read.
fn while_worth_it(rows: impl Iterator<Item = Row>, found: &mut Findings) -> Vec<Row> {
    let (mut all, mut bad) = (Vec::new(), 0);
    for row in rows {
        bad += usize::from(!row.problems.is_empty());
        if bad > MOST_BAD_ROWS {
            let message = format!("more than {MOST_BAD_ROWS} cylinders can't be read; the rest wasn't looked at");
            found.add(Code::TooMany, row.mark, &message, "check that it is the right file");
            break;
        }
        all.push(row);
    }
    all
}

fn line_of(line: &csv::CsvRow, terms: RowContext, source: &Source) -> Row {
    let mut row = row::read(&line.node, line.mark, terms, source);
    if let Some(problem) = &line.problem {
        // With cells too many or too few none of them is sure to stand under its head.
        row.problems = vec![problem.clone()];
        row.cylinder = None;
    }
    row
}

/// Reads the cylinders of a map that has them under `cylinders`.
pub(super) fn in_list(fields: Fields, terms: RowContext, found: &mut Findings) -> Vec<Row> {
    let at = fields.mark("cylinders");
    let nodes: &[Node] = fields.list("cylinders", found);
    let source = found.source;
    while_worth_it(nodes.iter().map(|node| row::read(node, at, terms, source)), found)
}

/// Parts the rows that can be used from those that can't: the latter are left out where that is asked for, and are
/// problems of the file where it isn't. Of one id twice neither row is used: nobody knows which one is right.
pub(super) fn sort_out(mut rows: Vec<Row>, skip: bool, found: &mut Findings) -> (Vec<Cylinder>, Vec<SkippedRow>) {
    doubles(&mut rows, skip, found.source);
    let (mut cylinders, mut skipped) = (Vec::new(), Vec::new());
    let refused = !skip && (!found.problems.is_empty() || rows.iter().any(|row| !row.problems.is_empty()));
    for row in rows {
        if refused {
            found.problems.extend(row.doubts);
        }
        match row.cylinder.filter(|_| row.problems.is_empty()) {
            Some(cylinder) => cylinders.push(cylinder),
            None if skip => skipped.push(SkippedRow {
                file: found.source.file.clone(),
                place: row.mark.and_then(|mark| found.source.place(mark)),
                id: row.id,
                problems: row.problems,
            }),
            None => found.problems.extend(row.problems),
        }
    }
    (cylinders, skipped)
}

fn doubles(rows: &mut [Row], skip: bool, source: &Source) {
    let mut seen: HashMap<Id, usize> = HashMap::new();
    for index in 0..rows.len() {
        let Some(id) = rows[index].id.clone() else { continue };
        let Some(&first) = seen.get(&id) else {
            seen.insert(id, index);
            continue;
        };
        let problem = |mark: Option<Mark>, word: &str, other: Option<Mark>| {
            let line = other.map_or_else(String::new, |mark| format!(", in line {}", mark.line));
            let message = format!("two cylinders are named \"{id}\"; the other stands {word}{line}");
            let mut problem = source.whole(
                Code::DuplicateId,
                &message,
                "give each cylinder an id of its own; one of the rows may be left over from before",
            );
            problem.place = mark.and_then(|mark| source.place(mark));
            problem
        };
        let (first_mark, mark) = (rows[first].mark, rows[index].mark);
        rows[index].problems.push(problem(mark, "above", first_mark));
        if skip {
            rows[first].problems.push(problem(first_mark, "below", mark));
        }
    }
}
