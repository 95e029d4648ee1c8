//! A yard as CSV: the heads of the columns are the keys of a cylinder, with the unit of a column in brackets behind.
//!
//! An empty cell is a key that isn't there. The same rows come out as from YAML; what they mean is read elsewhere.

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

/// Reads the table, with the problems of its head; those of its rows are kept with them.
pub(super) fn read(found: &mut Findings) -> CsvTable {
    let source = found.source;
    let mut reader = ::csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(source.text.as_bytes());
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
        let marks = cell_marks(source, start, record.len().min(MOST_COLUMNS), b',');
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

fn is_weight(key: &str) -> bool {
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
        let (key, unit) = match cell.split_once('[') {
            Some((key, unit)) => (key.trim(), Some(unit.trim().trim_end_matches(']').trim().to_owned())),
            None => (cell, None),
        };
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
        let hint = if key.contains(';') {
            "put commas between the cells, not semicolons".into()
        } else {
            match nearest(key, SHAPE.names()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the columns are {}", SHAPE.names().collect::<Vec<_>>().join(", ")),
            }
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
    let rest = source.text.get(start..).unwrap_or_default();
    // The position of a record is that of the line break before it.
    let blank = rest.len() - rest.trim_start_matches(['\r', '\n']).len();
    let (mut marks, mut within, mut at) = (vec![source.mark(start + blank)], Within::Start, blank);
    for byte in rest[blank..].bytes() {
        at += 1;
        within = match (within, byte) {
            (Within::Quoted, b'"') => Within::Quote,
            (Within::Quoted, _) | (Within::Start | Within::Quote, b'"') => Within::Quoted,
            (Within::Start | Within::Bare | Within::Quote, _) if byte == delimiter => {
                marks.push(source.mark(start + at));
                Within::Start
            }
            (Within::Start | Within::Bare | Within::Quote, b'\r' | b'\n') => break,
            (Within::Start | Within::Bare | Within::Quote, _) => Within::Bare,
        };
        if marks.len() > cells {
            break;
        }
    }
    marks.truncate(cells);
    marks
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
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
    fn a_misspelt_column_is_not_missing_besides() {
        let text = "id,tara [lb],water_capacity [lb],gross [lb],holds\n";
        let source = Source::from_bytes(std::path::Path::new("t"), text.as_bytes().to_vec()).unwrap();
        let mut found = Findings::new(&source);
        read(&mut found);
        let codes: Vec<Code> = found.problems.iter().map(|problem| problem.code).collect();
        assert_eq!(codes, [Code::UnknownKey]);
    }
}
