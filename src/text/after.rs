//! The yard after a job: the file that holds the cylinders with a few values changed in its text, and all the rest of
//! it, comments too, as it was.
//!
//! What comes out is read again and held against what was meant. Where the two differ, as with a value that goes over
//! several lines, nothing comes out.

use std::ops::Range;
use std::path::Path;

use super::source::{Mark, Source};
use super::tree::{Entry, Leaf, Node, Typed};
use super::{csv, utf_16, yaml};
use crate::cylinder::Id;
use crate::printable::{cell, out_of_cell};
use crate::problem::{Code, Problem, Problems};
use crate::quantity::{Decimal, parse_weight};

/// A cylinder with the values that are new. Keys are those of a yard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewValues {
    /// The cylinder.
    pub cylinder: Id,
    /// Key and value; an empty value takes away one that is there.
    pub values: Vec<(&'static str, Vec<String>)>,
}

/// The text of a yard file of this name, or of a job file that has its cylinders in place, with these values in it.
/// Cylinders that it doesn't have are passed over; a byte-order mark, what parts cells and what ends lines stay as they are.
///
/// # Errors
/// A file that isn't text, or can't be changed without touching the rest of it.
pub fn yard_after(name: &Path, bytes: &[u8], changes: &[NewValues]) -> Result<String, Problems> {
    let source = Source::from_bytes(name, bytes.to_vec())?;
    let is_csv = name.extension().is_some_and(|kind| kind.eq_ignore_ascii_case("csv"));
    let text = if is_csv { csv_after(&source, changes) } else { yaml_after(&source, changes) };
    // What was UTF-16 becomes UTF-8, marked as such.
    let marked = bytes.starts_with(BYTE_ORDER_MARK.as_bytes()) || utf_16::marked(bytes).is_some();
    let mark = if marked { BYTE_ORDER_MARK } else { "" };
    text.map(|text| format!("{mark}{text}")).ok_or_else(|| {
        let message = "the new weights can't be put into this file without touching the rest of it";
        let hint = "write each value on one line, each cylinder by itself, and close out again";
        Problem::new(Code::WrongShape, name, None, message, hint).into()
    })
}

/// What some programs put in front of a text.
const BYTE_ORDER_MARK: &str = "\u{FEFF}";

fn yaml_after(source: &Source, changes: &[NewValues]) -> Option<String> {
    let mut tree = yaml::read(source).ok()?;
    let mut edits: Vec<(usize, usize, String)> = Vec::new();
    for cylinder in cylinders(&mut tree)? {
        let Node::Map(entries) = cylinder else { return None };
        let id = entries.iter().find(|entry| entry.key == "id").and_then(|entry| text_of(&entry.value));
        let Some(change) = changes.iter().find(|change| id.as_deref().is_some_and(|id| change.cylinder == *id)) else {
            continue;
        };
        for (key, value) in &change.values {
            edits.extend(edit(source, entries, key, value)?);
        }
    }
    let text = with(&source.text, edits)?;
    let again = yaml::read(&Source::from_bytes(&source.file, text.clone().into_bytes()).ok()?).ok()?;
    (meaning(&again) == meaning(&tree)).then_some(text)
}

/// The text with these of its parts put anew. Of two at one place the earlier one stays in front.
fn with(text: &str, mut edits: Vec<(usize, usize, String)>) -> Option<String> {
    edits.sort_by_key(|(from, ..)| *from);
    let (mut all, mut at) = (String::with_capacity(text.len()), 0);
    for (from, to, new) in edits {
        all.push_str(text.get(at..from)?);
        all.push_str(&new);
        at = to;
    }
    all.push_str(text.get(at..)?);
    Some(all)
}

fn cylinders(tree: &mut Node) -> Option<&mut Vec<Node>> {
    let Node::Map(entries) = tree else { return None };
    match &mut entries.iter_mut().find(|entry| entry.key == "cylinders")?.value {
        Node::List(nodes) => Some(nodes),
        Node::Null | Node::Leaf(_) | Node::Map(_) => None,
    }
}

fn text_of(node: &Node) -> Option<String> {
    match node {
        Node::Leaf(leaf) => Some(leaf.text.trim().to_owned()),
        Node::Null | Node::List(_) | Node::Map(_) => None,
    }
}

/// A value, or a list of values, as texts.
fn texts(node: &Node) -> Option<Vec<String>> {
    match node {
        Node::List(nodes) => nodes.iter().map(text_of).collect(),
        Node::Leaf(_) => text_of(node).map(|text| vec![text]),
        Node::Null | Node::Map(_) => None,
    }
}

/// A change of the text, made in the tree besides. `Some(None)` where nothing has to change.
#[allow(clippy::option_option)]
fn edit(
    source: &Source,
    entries: &mut Vec<Entry>,
    key: &'static str,
    value: &[String],
) -> Option<Option<(usize, usize, String)>> {
    let written = written(value);
    let new = match value {
        [one] => Node::Leaf(leaf(one)),
        several => Node::List(several.iter().map(|one| Node::Leaf(leaf(one))).collect()),
    };
    if let Some(entry) = entries.iter_mut().find(|entry| entry.key == key) {
        if entry.value == Node::Null && value.is_empty() || texts(&entry.value).as_deref() == Some(value) {
            return Some(None);
        }
        let mark = if let Node::Leaf(old) = &entry.value { Some(old.mark?) } else { None };
        let (from, to) = place(source, entry, mark)?;
        let (mut new, text) = if value.is_empty() { (Node::Null, "null".into()) } else { (new, written) };
        if let Node::Leaf(leaf) = &mut new {
            // What is put in behind it still finds its place.
            leaf.mark = mark;
        }
        entry.value = new;
        return Some(Some((from, to, text)));
    }
    if value.is_empty() {
        return Some(None);
    }
    // Behind what it holds, which every cylinder says.
    let holds = entries.iter().find(|entry| entry.key == "holds")?;
    let Node::Leaf(old) = &holds.value else { return None };
    let key_mark = holds.mark?;
    let from = source.byte(old.mark?)?;
    let rest = source.text.get(from..)?;
    let inserted = if is_flow(source, key_mark)? {
        let at = from + scalar_length(rest, true);
        (at, at, format!(", {key}: {written}"))
    } else {
        let end = rest.find('\n').unwrap_or(rest.len());
        let ends = if rest[..end].ends_with('\r') { "\r\n" } else { "\n" };
        let at = from + rest[..end].trim_end_matches('\r').len();
        let indent = " ".repeat(key_mark.column.checked_sub(1)?);
        (at, at, format!("{ends}{indent}{key}: {written}"))
    };
    entries.push(Entry { key: key.into(), mark: None, value: new });
    Some(Some(inserted))
}

/// Where a value stands in the text. One that is null, or a list, has no mark of its own: it stands behind its key.
fn place(source: &Source, entry: &Entry, mark: Option<Mark>) -> Option<(usize, usize)> {
    let key = source.byte(entry.mark?)?;
    let flow = is_flow(source, entry.mark?)?;
    let from = match mark {
        Some(mark) => source.byte(mark)?,
        None => {
            let behind = key + source.text.get(key..)?.find(": ")? + 2;
            behind + source.text.get(behind..)?.find(|c| c != ' ')?
        }
    };
    let rest = source.text.get(from..)?;
    let length = match rest.strip_prefix('[') {
        Some(list) if mark.is_none() => list.find(']')? + 2,
        _ => scalar_length(rest, flow),
    };
    Some((from, from + length))
}

fn leaf(text: &str) -> Leaf {
    Leaf { text: text.into(), typed: Typed::Text, mark: None, unit: None }
}

/// A value as YAML: in quotes unless it is plain beyond doubt.
pub(super) fn written(value: &[String]) -> String {
    let one = |text: &String| {
        let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '.' | '(' | ')' | ' ');
        let word = text.starts_with(|c: char| c.is_ascii_alphanumeric()) && text.trim() == text;
        let special = matches!(text.to_lowercase().as_str(), "true" | "false" | "null" | "yes" | "no" | "on" | "off");
        if word && !special && text.chars().all(plain) {
            text.clone()
        } else {
            format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
        }
    };
    match value {
        [text] => one(text),
        several => format!("[{}]", several.iter().map(one).collect::<Vec<_>>().join(", ")),
    }
}

/// Whether a key stands in braces: what is open before it on its own line says so.
fn is_flow(source: &Source, key: Mark) -> Option<bool> {
    let at = source.byte(key)?;
    let before = source.text.get(..at)?.trim_end();
    Some(before.ends_with(['{', ',']))
}

/// The length of the scalar that a text begins with.
fn scalar_length(text: &str, flow: bool) -> usize {
    if let Some(quoted) = text.strip_prefix('\'') {
        return quoted.find('\'').map_or(text.len(), |at| at + 2);
    }
    if let Some(quoted) = text.strip_prefix('"') {
        let mut escaped = false;
        let end = quoted.find(|c| {
            let ends = c == '"' && !escaped;
            escaped = c == '\\' && !escaped;
            ends
        });
        return end.map_or(text.len(), |at| at + 2);
    }
    let line = text.lines().next().unwrap_or_default();
    let mut end = line.find(" #").unwrap_or(line.len());
    if flow {
        end = end.min(line.find([',', '}', ']']).unwrap_or(line.len()));
    }
    line[..end].trim_end().len()
}

/// A tree without its places, and with the keys of its maps in order: what it means.
#[derive(Debug, PartialEq)]
enum Meaning {
    Nothing,
    Text(String),
    List(Vec<Meaning>),
    Map(Vec<(String, Meaning)>),
}

fn meaning(node: &Node) -> Meaning {
    match node {
        Node::Null => Meaning::Nothing,
        Node::Leaf(leaf) => Meaning::Text(leaf.text.trim().to_owned()),
        Node::List(nodes) => Meaning::List(nodes.iter().map(meaning).collect()),
        Node::Map(entries) => {
            let mut pairs: Vec<_> = entries.iter().map(|entry| (entry.key.clone(), meaning(&entry.value))).collect();
            pairs.sort_by(|one, other| one.0.cmp(&other.0));
            Meaning::Map(pairs)
        }
    }
}

/// A table has no comments: its cells are changed where they stand, and columns that it lacks are added at the end of each
/// row. Whatever else stands in it, quotes and ends of lines too, stays.
fn csv_after(source: &Source, changes: &[NewValues]) -> Option<String> {
    let between = csv::separator(&source.text);
    let rows = rows(&source.text, between)?;
    let heads = &rows.first()?.cells;
    let key = |cell: &String| csv::key_and_unit(cell).0.to_owned();
    let id = heads.iter().position(|cell| key(cell) == "id")?;
    // What each row is to say: cells, and behind them what stands in new columns.
    let mut meant: Vec<Vec<String>> = rows.iter().map(|row| row.cells.clone()).collect();
    for row in meant.iter_mut().skip(1) {
        let Some(change) =
            changes.iter().find(|change| row.get(id).is_some_and(|id| change.cylinder == *out_of_cell(id)))
        else {
            continue;
        };
        // With cells too many or too few none of them is sure to stand under its head.
        if row.len() != heads.len() {
            return None;
        }
        for (key_of, value) in &change.values {
            let place = heads.iter().position(|cell| key(cell) == *key_of);
            if let Some(cell_of) = place.and_then(|place| row.get_mut(place)) {
                let text = in_column(value, heads.get(place?)?);
                if out_of_cell(cell_of) != text {
                    *cell_of = cell(&text);
                }
            }
        }
    }
    let lacking = lacking(heads, &meant, changes, id);
    meant.first_mut()?.extend(lacking.iter().map(|(key, _)| (*key).to_owned()));
    let whole = |(_, row): &(usize, &mut Vec<String>)| row.len() == heads.len();
    for (index, row) in meant.iter_mut().enumerate().skip(1).filter(whole) {
        row.extend(lacking.iter().map(|(_, values)| cell(values.get(index).map_or("", String::as_str))));
    }
    let mut edits = Vec::new();
    for (row, meant) in rows.iter().zip(&meant) {
        for ((old, new), place) in row.cells.iter().zip(meant).zip(&row.places) {
            if old != new {
                edits.push((place.start, place.end, quoted(new, between)));
            }
        }
        let behind = meant.get(row.cells.len()..)?;
        let added: String =
            behind.iter().map(|text| format!("{}{}", char::from(between), quoted(text, between))).collect();
        let end = row.places.last()?.end;
        edits.extend((!added.is_empty()).then_some((end, end, added)));
    }
    let text = with(&source.text, edits)?;
    let again: Vec<Vec<String>> = self::rows(&text, between)?.into_iter().map(|row| row.cells).collect();
    (csv::separator(&text) == between && again == meant).then_some(text)
}

/// A row of a table: its cells without their quotes, and where they stand with them.
struct TableRow {
    cells: Vec<String>,
    places: Vec<Range<usize>>,
}

fn rows(text: &str, between: u8) -> Option<Vec<TableRow>> {
    let mut rows = Vec::new();
    for record in csv::records(text, between).records() {
        let record = record.ok()?;
        let start = record.position().map_or(0, |position| position.byte() as usize);
        let places = csv::cell_ranges(text, start, record.len(), between);
        let cells: Vec<String> = record.iter().map(str::to_owned).collect();
        rows.push(TableRow { cells, places });
    }
    rows.iter().all(|row| row.cells.len() == row.places.len()).then_some(rows)
}

/// The columns that the table lacks, with what stands in each row under them.
fn lacking(
    heads: &[String],
    rows: &[Vec<String>],
    changes: &[NewValues],
    id: usize,
) -> Vec<(&'static str, Vec<String>)> {
    let mut columns: Vec<(&'static str, Vec<String>)> = Vec::new();
    for (index, row) in rows.iter().enumerate().skip(1) {
        let of_row = |change: &&NewValues| row.get(id).is_some_and(|id| change.cylinder == *out_of_cell(id));
        let Some(change) = changes.iter().find(of_row) else { continue };
        for (key, value) in change.values.iter().filter(|(_, value)| !value.is_empty()) {
            if heads.iter().any(|cell| csv::key_and_unit(cell).0 == *key) {
                continue;
            }
            let at = columns.iter().position(|(known, _)| known == key).unwrap_or_else(|| {
                columns.push((key, vec![String::new(); rows.len()]));
                columns.len() - 1
            });
            columns[at].1[index] = value.join(SEVERAL);
        }
    }
    columns
}

/// What parts several values in one cell.
const SEVERAL: &str = "; ";

/// A value as it stands in a column: a weight as a number of the unit that its head says, where it is one.
fn in_column(value: &[String], head: &str) -> String {
    let text = value.join(SEVERAL);
    let (key, unit) = csv::key_and_unit(head);
    let number = unit.filter(|_| csv::is_weight(key)).and_then(|unit| {
        let bare = text.strip_suffix(unit).map(str::trim).filter(|bare| bare.parse::<Decimal>().is_ok());
        let one = parse_weight(&format!("1 {unit}"), None).ok()?;
        let of_unit = || Some(parse_weight(&text, None).ok()?.ratio_to(one)?.normalize().to_string());
        let number = bare.map(str::to_owned).or_else(of_unit)?;
        // As it will be read.
        let same = parse_weight(&format!("{number} {unit}"), None) == parse_weight(&text, None);
        same.then_some(number)
    });
    number.unwrap_or(text)
}

fn quoted(text: &str, between: u8) -> String {
    let plain = !text.contains([char::from(between), '"', '\r', '\n']);
    if plain { text.to_owned() } else { format!("\"{}\"", text.replace('"', "\"\"")) }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
