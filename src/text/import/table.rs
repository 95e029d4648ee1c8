//! A list as lines of cells under heads: what stands between the cells, which line is that of the heads, and which key
//! each column is.

use super::ReadColumn;
use super::columns::{ONLY_OURS, REMARK, of_head};
use super::commas::Commas;
use super::is_pressure;
use crate::printable::without;
use crate::problem::Code;
use crate::text::csv::cell_marks;
use crate::text::fields::{Findings, nearest};
use crate::text::row::SHAPE;
use crate::text::source::{Mark, Source};
use crate::text::yard::MOST_CYLINDERS;

/// What may stand between two cells: a spreadsheet goes by its country.
const BETWEEN: [(u8, &str); 3] = [(b',', "comma"), (b';', "semicolon"), (b'\t', "tab")];
/// Lines that may stand above the heads: a title, a date, nothing.
const ABOVE: usize = 10;
/// Keys whose columns aren't lost where it isn't sure which one it is: what they say may hold a cylinder out.
const OR_REMARKS: [&str; 2] = ["condition", "damage"];
/// More columns than anybody's list.
const MOST_COLUMNS: usize = 200;

/// A list.
pub(super) struct Table {
    /// What stands between two cells.
    pub between: &'static str,
    pub heads: Line,
    /// One for each head.
    pub columns: Vec<ReadColumn>,
    /// Lines in which something stands, under the heads.
    pub lines: Vec<Line>,
}

/// A line of cells.
pub(super) struct Line {
    /// From 1.
    pub number: usize,
    /// Without what can't be seen.
    pub cells: Vec<String>,
    pub marks: Vec<Mark>,
    /// The cells, by their places, that held what can't be seen, as they were typed.
    pub unseen: Vec<(usize, String)>,
}

impl Table {
    /// The cell of a line under the column of a key, trimmed; empty where there is none.
    pub fn cell<'l>(&self, line: &'l Line, key: &str) -> &'l str {
        let column = self.columns.iter().position(|column| column.key == Some(key));
        column.and_then(|column| line.cells.get(column)).map_or("", |cell| as_typed(cell))
    }

    /// Whether a cell goes on over lines that look like rows up to its own column: its quotation mark was never closed, and
    /// other cylinders are in it.
    pub fn swallows(&self, line: &Line) -> bool {
        let between = BETWEEN.iter().find(|(_, name)| *name == self.between).map_or(',', |(byte, _)| char::from(*byte));
        line.cells.iter().enumerate().any(|(column, cell)| {
            cell.split(['\r', '\n']).skip(1).any(|more| more.matches(between).count() >= column.max(1))
        })
    }

    /// Whether each cell of a line stands under a head.
    pub fn fits(&self, line: &Line) -> bool {
        let heads = self.columns.len();
        line.cells.len() >= heads && line.cells.iter().skip(heads).all(|cell| cell.trim().is_empty())
    }
}

/// What somebody typed into a cell: without the apostrophe in front by which a spreadsheet knows a text.
pub(super) fn as_typed(cell: &str) -> &str {
    let cell = cell.trim();
    cell.strip_prefix('\'').unwrap_or(cell).trim()
}

/// Reads the list by whatever parts its heads into the most columns that are known.
pub(super) fn read(chosen: &[(String, String)], found: &mut Findings) -> Option<Table> {
    let source = found.source;
    let mut best: Vec<(usize, usize, &'static str, Vec<Line>)> = Vec::new();
    for (byte, name) in BETWEEN {
        let Some(lines) = lines(source, byte) else { continue };
        let known = |line: &Line| line.cells.iter().take(MOST_COLUMNS).filter(|head| is_known(head, chosen)).count();
        let heads = lines.iter().take(ABOVE).position(|line| known(line) >= 2);
        if let Some(heads) = heads {
            best.push((known(&lines[heads]), heads, name, lines));
        }
    }
    let most = best.iter().map(|(known, ..)| *known).max();
    best.retain(|(known, ..)| Some(*known) == most);
    match best.pop() {
        None => {
            let message = format!("none of the first {ABOVE} lines names two columns that are known");
            let hint = "the heads stand in one line, such as Serial, Tare (lb), WC (lb), Gross (lb), Contents; or say which is \
                        which: --column \"tare=ITS HEAD\"";
            found.add(Code::WrongColumns, Some(Mark::START), &message, hint);
            None
        }
        Some((_, _, name, _)) if !best.is_empty() => {
            let message = format!("what stands between two cells may be a {name} or a {}", best[0].2);
            let hint = "save it with commas between the cells";
            found.add(Code::WrongColumns, Some(Mark::START), &message, hint);
            None
        }
        Some((_, at, between, mut lines)) => {
            let mut under = lines.split_off(at);
            let mut heads = under.remove(0);
            // A head is shown as typed: it is nobody's id.
            for (cell, typed) in std::mem::take(&mut heads.unseen) {
                heads.cells[cell] = typed;
            }
            if heads.cells.len() > MOST_COLUMNS || under.len() > MOST_CYLINDERS {
                let message = format!("more than {MOST_COLUMNS} columns or {MOST_CYLINDERS} rows");
                found.problems.push(source.whole(Code::TooLarge, &message, "check that it is the right file"));
                return None;
            }
            let columns = columns(&heads, chosen, found);
            if !found.problems.is_empty() {
                return None;
            }
            Some(Table { between, heads, columns, lines: under })
        }
    }
}

fn is_known(head: &str, chosen: &[(String, String)]) -> bool {
    // A word of a title may look like a head for remarks.
    of_head(head).0.iter().any(|key| *key != REMARK) || chosen.iter().any(|(_, chosen)| chosen.trim() == head.trim())
}

/// The lines in which something stands; `None` where the text can't be parted so.
fn lines(source: &Source, between: u8) -> Option<Vec<Line>> {
    let text = source.text.as_bytes();
    let mut reader = ::csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(between).from_reader(text);
    let mut lines = Vec::new();
    for record in reader.records() {
        let record = record.ok()?;
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let start = record.position().map_or(0, |position| position.byte() as usize);
        let marks = cell_marks(source, start, record.len().min(MOST_COLUMNS), between);
        let number = marks.first().map_or(0, |mark| mark.line);
        let cells: Vec<String> = record.iter().map(without).collect();
        let typed = record.iter().enumerate().zip(&cells);
        let unseen = typed.filter(|((_, typed), cell)| typed != cell).map(|((at, typed), _)| (at, typed.to_owned()));
        let unseen = unseen.collect();
        lines.push(Line { number, cells, marks, unseen });
        if lines.len() > MOST_CYLINDERS + ABOVE {
            break;
        }
    }
    Some(lines)
}

/// What each head stands for, or why it isn't taken.
fn columns(heads: &Line, chosen: &[(String, String)], found: &mut Findings) -> Vec<ReadColumn> {
    for (key, head) in chosen {
        let mark = heads.marks.first().copied();
        if SHAPE.key(key).is_none() {
            let hint = match nearest(key, SHAPE.names()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the keys are {}", SHAPE.names().collect::<Vec<_>>().join(", ")),
            };
            found.add(Code::UnknownKey, mark, &format!("--column: `{key}` isn't a key of a yard"), &hint);
        }
        if ONLY_OURS.contains(&key.as_str()) && head.trim() != key {
            let message = format!("--column: `{key}` is taken from a column of that very name alone");
            found.add(Code::WrongColumns, mark, &message, "say it of each cylinder in the yard");
        }
        if heads.cells.iter().filter(|cell| cell.trim() == head.trim()).count() != 1 {
            let message = format!("--column: not one column has the head \"{head}\", but none or several");
            found.add(Code::WrongColumns, mark, &message, "write it as it stands in the file");
        }
    }
    let choice = |head: &str| chosen.iter().find(|(_, chosen)| chosen.trim() == head.trim());
    let mut columns: Vec<ReadColumn> = Vec::new();
    for head in heads.cells.iter().map(|head| head.trim()) {
        let (known, unit) = of_head(head);
        let could = match choice(head).and_then(|(key, _)| SHAPE.key(key)) {
            Some(key) => vec![key.name],
            None => {
                let is_free = |key: &&str| *key == REMARK || !chosen.iter().any(|(chosen, _)| chosen == key);
                known.iter().copied().filter(is_free).collect()
            }
        };
        let (key, why) = match could.as_slice() {
            [] if known.is_empty() => (None, "not a name that is known".to_owned()),
            [] => (None, "another column was named for it".to_owned()),
            [one] if is_pressure(Some(one)) && unit == Some("psi") => {
                (None, "psi doesn't say whether gauge or absolute; write psig".to_owned())
            }
            [one] => (Some(*one), String::new()),
            several => (None, format!("could be {}", several.join(" or "))),
        };
        let unit = unit.filter(|_| key.is_some());
        columns.push(ReadColumn { head: head.to_owned(), key, unit, commas: Commas::None, holding: 0, why });
    }
    one_for_each_key(&mut columns);
    columns
}

/// Of two columns for one key neither is taken; remarks there may be many of, and what may be the condition or damage is
/// one then.
fn one_for_each_key(columns: &mut [ReadColumn]) {
    for key in SHAPE.names().filter(|key| *key != REMARK) {
        let of_it: Vec<usize> = (0..columns.len()).filter(|index| columns[*index].key == Some(key)).collect();
        if of_it.len() < 2 {
            continue;
        }
        for index in &of_it {
            let others: Vec<String> = of_it
                .iter()
                .filter(|other| *other != index)
                .map(|other| format!("\"{}\"", columns[*other].head))
                .collect();
            columns[*index].why = format!("could be {key}, and so could {}", others.join(" and "));
        }
        for index in of_it {
            columns[index].key = OR_REMARKS.contains(&key).then_some(REMARK);
            columns[index].unit = None;
        }
    }
}
