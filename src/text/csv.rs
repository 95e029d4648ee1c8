//! A yard as CSV: the heads of the columns are the keys of a cylinder, with the unit of a column in brackets behind.
//!
//! An empty cell is a key that isn't there. The same rows come out as from YAML; what they mean is read elsewhere.

use std::ops::Range;

use super::fields::{Findings, nearest};
use super::row::SHAPE;
use super::shape::Holds;
use super::source::{Mark, Source};
use super::tree::{Entry, Leaf, Node, Typed};
use super::yard::MOST_CYLINDERS;
use crate::printable::out_of_cell;
use crate::problem::{Code, Problem};
use crate::quantity::Unit;

/// Units of weight that the head of a column may carry, and what the yard is then typed in.
const UNITS: [(&str, Unit); 5] =
    [("lb", Unit::Lb), ("kg", Unit::Kg), ("lb-oz", Unit::LbOz), ("oz", Unit::LbOz), ("g", Unit::Kg)];

/// More columns than a yard has, and still a few that are misspelt.
const MOST_COLUMNS: usize = 40;

/// What a CSV file holds.
pub(super) struct CsvTable {
    pub rows: Vec<CsvRow>,
    /// The unit of the first column of weights.
    pub unit: Unit,
}

/// One row.
pub(super) struct CsvRow {
    pub node: Node,
    pub mark: Option<Mark>,
    /// Cells too many or too few.
    pub problem: Option<Problem>,
}

/// The head of a column.
struct Head {
    key: String,
    unit: Option<String>,
    mark: Option<Mark>,
}

/// What may part cells: what a spreadsheet writes, by the language that it is set to.
const SEPARATORS: [u8; 3] = [b',', b';', b'\t'];

/// What parts the cells of a yard: whatever makes the most columns of a yard of its first line; a comma where nothing does.
pub(super) fn separator(text: &str) -> u8 {
    let columns = |between: u8| {
        let heads = records(text, between).into_records().next().and_then(Result::ok).unwrap_or_default();
        heads.iter().take(MOST_COLUMNS).filter(|cell| SHAPE.key(key_and_unit(cell).0).is_some()).count()
    };
    let most = SEPARATORS.into_iter().map(columns).max();
    SEPARATORS.into_iter().find(|between| Some(columns(*between)) == most).unwrap_or(b',')
}

/// The records of a text, of any number of cells each.
pub(super) fn records(text: &str, between: u8) -> ::csv::Reader<&[u8]> {
    ::csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(between).from_reader(text.as_bytes())
}

/// The key and the unit that a head says.
pub(super) fn key_and_unit(cell: &str) -> (&str, Option<&str>) {
    match cell.trim().split_once('[') {
        Some((key, unit)) => (key.trim(), Some(unit.trim().trim_end_matches(']').trim())),
        None => (cell.trim(), None),
    }
}

/// Reads the table, with the problems of its head; those of its rows are kept with them.
pub(super) fn read(found: &mut Findings) -> CsvTable {
    let source = found.source;
    let between = separator(&source.text);
    let mut reader = records(&source.text, between);
    let mut columns: Vec<Head> = Vec::new();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                found.problems.push(source.whole(
                    Code::Syntax,
                    &format!("this isn't CSV: {error}"),
                    "save it from the spreadsheet again, with commas between the cells",
                ));
                break;
            }
        };
        let start = record.position().map_or(0, |position| position.byte() as usize);
        let marks = cell_marks(source, start, record.len().min(MOST_COLUMNS), between);
        if rows.len() == MOST_CYLINDERS {
            let message = format!("the yard has more than {MOST_CYLINDERS} rows");
            found.problems.push(source.whole(Code::TooLarge, &message, "check that it is the right file"));
            break;
        }
        if columns.is_empty() {
            columns = heads(&record, &marks, found);
            if columns.is_empty() {
                break;
            }
        } else if record.iter().any(|cell| !cell.trim().is_empty()) {
            rows.push(line(&record, &marks, &columns, source));
        }
    }
    let unit = columns.iter().find(|column| is_weight(&column.key));
    let unit = unit.and_then(|column| unit_of(column.unit.as_deref()?)).unwrap_or(Unit::Lb);
    CsvTable { rows, unit }
}

pub(super) fn is_weight(key: &str) -> bool {
    matches!(SHAPE.key(key).map(|key| key.holds), Some(Holds::Weight))
}

fn unit_of(word: &str) -> Option<Unit> {
    UNITS.iter().find(|(name, _)| *name == word).map(|(_, unit)| *unit)
}

fn heads(record: &::csv::StringRecord, marks: &[Mark], found: &mut Findings) -> Vec<Head> {
    let mut columns: Vec<Head> = Vec::new();
    if record.len() > MOST_COLUMNS {
        let message =
            format!("the first line has {} cells; a yard has at most {} columns", record.len(), SHAPE.keys.len());
        found.add(Code::WrongColumns, marks.first().copied(), &message, "check that it is the right file");
        return columns;
    }
    for (index, cell) in record.iter().enumerate() {
        let cell = cell.trim();
        let (key, unit) = key_and_unit(cell);
        let unit = unit.map(str::to_owned);
        let column = Head { key: key.to_owned(), unit, mark: marks.get(index).map(|mark| mark.of(cell)) };
        check_head(&column, &columns, found);
        columns.push(column);
    }
    for key in SHAPE.keys.iter().filter(|key| key.required).map(|key| key.name) {
        let misspelt =
            |column: &Head| SHAPE.key(&column.key).is_none() && nearest(&column.key, SHAPE.names()) == Some(key);
        if !columns.iter().any(|column| column.key == key || misspelt(column)) {
            let message = format!("the yard has no column `{key}`");
            let mark = columns.first().and_then(|column| column.mark);
            found.add(Code::MissingKey, mark, &message, "add it to the first line and to every row");
        }
    }
    columns
}

fn check_head(column: &Head, before: &[Head], found: &mut Findings) {
    let key = column.key.as_str();
    let expected = "lb, kg, lb-oz, oz or g";
    if SHAPE.key(key).is_none() {
        let message = format!("`{key}` isn't a column of a yard");
        let hint = match nearest(key, SHAPE.names()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("the columns are {}", SHAPE.names().collect::<Vec<_>>().join(", ")),
        };
        found.add(Code::UnknownKey, column.mark, &message, &hint);
    } else if before.iter().any(|earlier| earlier.key == key) {
        let message = format!("the column `{key}` stands here twice");
        found.add(Code::DuplicateKey, column.mark, &message, "keep one of them");
    } else if is_weight(key) {
        match column.unit.as_deref() {
            None => {
                let message =
                    format!("the column `{key}` has no unit; expected {expected} in brackets behind its name");
                found.add(Code::MissingUnit, column.mark, &message, &format!("write `{key} [lb]`"));
            }
            Some(unit) if unit_of(unit).is_none() => {
                let message = format!("`{unit}` isn't a unit of weight here; expected {expected}");
                found.add(Code::BadWord, column.mark, &message, &format!("write `{key} [lb]`"));
            }
            Some(_) => {}
        }
    } else if column.unit.is_some() && !matches!(SHAPE.key(key).map(|key| key.holds), Some(Holds::Pressure)) {
        let message = format!("the column `{key}` has no unit; found one in brackets");
        found.add(Code::BadWord, column.mark, &message, &format!("write `{key}` alone"));
    }
}

fn line(record: &::csv::StringRecord, marks: &[Mark], columns: &[Head], source: &Source) -> CsvRow {
    let mark = marks.first().copied();
    let cells = columns.iter().zip(record.iter()).zip(marks);
    let entries = cells.map(|((column, cell), mark)| Entry {
        key: column.key.clone(),
        mark: Some(mark.of(cell)),
        value: value(cell, mark.of(cell), column),
    });
    // Columns with a problem of their own are told of once, in the head.
    let entries: Vec<Entry> = entries.filter(|entry| SHAPE.key(&entry.key).is_some()).collect();
    let problem = (record.len() != columns.len()).then(|| {
        let (found, expected) = (record.len(), columns.len());
        let message = format!("the row has {found} cells; the first line has {expected}");
        let mut problem =
            source.whole(Code::WrongColumns, &message, "put a cell that holds a comma in quotes, and keep empty cells");
        problem.place = mark.and_then(|mark| source.place(mark));
        problem
    });
    CsvRow { node: Node::Map(entries), mark, problem }
}

fn value(cell: &str, mark: Mark, column: &Head) -> Node {
    if cell.trim().is_empty() {
        return Node::Null;
    }
    // Where the head lacks its unit the file is refused; pounds only keep its cells readable.
    let unit = column.unit.clone().or_else(|| is_weight(&column.key).then(|| Unit::Lb.name().to_owned()));
    Node::Leaf(Leaf { text: out_of_cell(cell), typed: Typed::Text, mark: Some(mark), unit })
}

/// Where a byte of a record stands, by the rules of the library that reads it.
#[derive(Clone, Copy)]
enum Within {
    /// At the beginning of a cell: only here a quote opens one.
    Start,
    Bare,
    Quoted,
    /// Behind a quote in a quoted cell, which ends it or is half of a doubled one.
    Quote,
}

/// Where the cells of a record begin.
pub(super) fn cell_marks(source: &Source, start: usize, cells: usize, delimiter: u8) -> Vec<Mark> {
    let ranges = cell_ranges(&source.text, start, cells, delimiter);
    ranges.into_iter().map(|cell| source.mark(cell.start)).collect()
}

/// Where the cells of a record stand in its text, quotes included: no more than so many, and at least one.
pub(super) fn cell_ranges(text: &str, start: usize, cells: usize, delimiter: u8) -> Vec<Range<usize>> {
    let rest = text.get(start..).unwrap_or_default();
    // The position of a record is that of the line break before it.
    let blank = rest.len() - rest.trim_start_matches(['\r', '\n']).len();
    let (mut ranges, mut within, mut begun) = (Vec::new(), Within::Start, start + blank);
    let mut end = text.len();
    for (at, byte) in (start + blank..).zip(rest[blank..].bytes()) {
        within = match (within, byte) {
            (Within::Quoted, b'"') => Within::Quote,
            (Within::Quoted, _) | (Within::Start | Within::Quote, b'"') => Within::Quoted,
            (Within::Start | Within::Bare | Within::Quote, _) if byte == delimiter => {
                ranges.push(begun..at);
                begun = at + 1;
                Within::Start
            }
            (Within::Start | Within::Bare | Within::Quote, b'\r' | b'\n') => {
                end = at;
                break;
            }
            (Within::Start | Within::Bare | Within::Quote, _) => Within::Bare,
        };
        if ranges.len() > cells {
            break;
        }
    }
    ranges.push(begun..end.max(begun));
    ranges.truncate(cells.max(1));
    ranges
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::*;

    #[test]
    fn cells_have_places_whatever_is_quoted_and_however_lines_end() {
        let text = "\r\nid,tare [kg],water_capacity [kg],gross [kg],holds,damage\r\n\
                    \"a, \"\"b\"\"\",1,2,3,unknown,\"two\nlines\"\r\n\nc,1,2,3,unknown,\n";
        let source = Source::from_bytes(std::path::Path::new("t"), text.as_bytes().to_vec()).unwrap();
        let mut found = Findings::new(&source);
        let table = read(&mut found);
        assert!(found.problems.is_empty(), "{:?}", found.problems);
        assert_eq!((table.unit, table.rows.len()), (Unit::Kg, 2));
        let places = |line: &CsvRow| match &line.node {
            Node::Map(entries) => {
                entries.iter().map(|entry| entry.mark.map(|mark| (mark.line, mark.column)).unwrap()).collect::<Vec<_>>()
            }
            _ => Vec::new(),
        };
        assert_eq!(places(&table.rows[0]), [(3, 1), (3, 12), (3, 14), (3, 16), (3, 18), (3, 26)]);
        assert_eq!(places(&table.rows[1])[..2], [(6, 1), (6, 3)]);
    }

    #[test]
    fn a_quote_within_a_cell_and_a_lone_return_part_cells_as_the_library_does() {
        let text = "id,tare [lb],water_capacity [lb],gross [lb],holds\n5\" dia,1,2,3,\"a\"b\",\rc,1,2,3,x\n";
        let source = Source::from_bytes(std::path::Path::new("t"), text.as_bytes().to_vec()).unwrap();
        let table = read(&mut Findings::new(&source));
        let columns = |line: &CsvRow| match &line.node {
            Node::Map(entries) => {
                entries.iter().map(|entry| entry.mark.map(|mark| mark.column).unwrap()).collect::<Vec<_>>()
            }
            _ => Vec::new(),
        };
        assert_eq!(columns(&table.rows[0]), [1, 8, 10, 12, 14]);
        assert_eq!(columns(&table.rows[1]), [1, 3, 5, 7, 9]);
    }

    #[test]
    fn commas_semicolons_and_tabs_part_cells_and_a_head_of_none_is_read_with_commas() {
        let yard = |between: &str| {
            ["id", "tare [lb]", "holds", "may_contain\n"].join(between)
                + &["a", "1", "mixed", "\"x;,y\"\n"].join(between)
        };
        for between in [",", ";", "\t"] {
            assert_eq!(separator(&yard(between)), between.as_bytes()[0]);
            let source = Source::from_bytes(std::path::Path::new("t"), yard(between).into_bytes()).unwrap();
            let table = read(&mut Findings::new(&source));
            let Node::Map(entries) = &table.rows[0].node else { panic!("no row") };
            let keys: Vec<&str> = entries.iter().map(|entry| entry.key.as_str()).collect();
            assert_eq!(keys, ["id", "tare", "holds", "may_contain"]);
        }
        for text in ["", "one;two", "a\tb", "id;tara,holds"] {
            assert_eq!(separator(text), b',', "{text}");
        }
    }

    #[test]
    fn a_misspelt_column_is_not_missing_besides() {
        let text = "id,tara [lb],water_capacity [lb],gross [lb],holds\n";
        let source = Source::from_bytes(std::path::Path::new("t"), text.as_bytes().to_vec()).unwrap();
        let mut found = Findings::new(&source);
        read(&mut found);
        let codes: Vec<Code> = found.problems.iter().map(|problem| problem.code).collect();
        assert_eq!(codes, [Code::UnknownKey]);
    }
}
