//! The yard after a job: the file that holds the cylinders with a few values changed in its text, and all the rest of
//! it, comments too, as it was.
//!
//! What comes out is read again and held against what was meant. Where the two differ, as with a value that goes over
//! several lines, nothing comes out.

use std::path::Path;

use super::source::{Mark, Source};
use super::tree::{Entry, Leaf, Node, Typed};
use super::yaml;
use crate::cylinder::Id;
use crate::printable::{cell, out_of_cell};
use crate::problem::{Code, Problem, Problems};

/// A cylinder with the values that are new. Keys are those of a yard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewValues {
    /// The cylinder.
    pub cylinder: Id,
    /// Key and value; an empty value takes away one that is there.
    pub values: Vec<(&'static str, Vec<String>)>,
}

/// The text of a yard file, or of a job file that has its cylinders in place, with these values in it. Cylinders that
/// it doesn't have are passed over.
///
/// # Errors
/// A file that can't be read, or can't be changed without touching the rest of it.
pub fn yard_after(path: &Path, changes: &[NewValues]) -> Result<String, Problems> {
    let source = Source::read(path)?;
    let is_csv = path.extension().is_some_and(|kind| kind.eq_ignore_ascii_case("csv"));
    let text = if is_csv { csv_after(&source, changes) } else { yaml_after(&source, changes) };
    text.ok_or_else(|| {
        let message = "the new weights can't be put into this file without touching the rest of it";
        let hint = "write each value on one line, each cylinder by itself, and close out again";
        Problem::new(Code::WrongShape, path, None, message, hint).into()
    })
}

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
        let Node::Leaf(old) = &entry.value else { return None };
        let from = source.byte(old.mark?)?;
        let to = from + scalar_length(source.text.get(from..)?, is_flow(source, entry.mark?)?);
        let mark = old.mark;
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
        let at = from + rest.find('\n').unwrap_or(rest.len());
        let indent = " ".repeat(key_mark.column.checked_sub(1)?);
        (at, at, format!("\n{indent}{key}: {written}"))
    };
    entries.push(Entry { key: key.into(), mark: None, value: new });
    Some(Some(inserted))
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

/// A table has no comments: its cells are changed, and columns that it lacks are added at the end.
fn csv_after(source: &Source, changes: &[NewValues]) -> Option<String> {
    let reader = ::csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(source.text.as_bytes());
    let mut rows: Vec<Vec<String>> = Vec::new();
    for record in reader.into_records() {
        rows.push(record.ok()?.iter().map(out_of_cell).collect());
    }
    let mut head: Vec<String> = rows.first()?.clone();
    let key_of = |cell: &str| cell.split('[').next().unwrap_or_default().trim().to_owned();
    let id = head.iter().position(|cell| key_of(cell) == "id")?;
    for row in rows.iter_mut().skip(1) {
        let Some(change) = changes.iter().find(|change| row.get(id).is_some_and(|id| change.cylinder == *id.as_str()))
        else {
            continue;
        };
        for (key, value) in &change.values {
            let place = head.iter().position(|cell| key_of(cell) == *key);
            if place.is_none() && value.is_empty() {
                continue;
            }
            let place = place.unwrap_or_else(|| {
                head.push((*key).to_owned());
                head.len() - 1
            });
            if row.len() <= place {
                row.resize(place + 1, String::new());
            }
            row[place] = value.join("; ");
        }
    }
    *rows.first_mut()? = head.clone();
    let mut writer = ::csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for mut row in rows {
        row.resize(row.len().max(head.len()), String::new());
        writer.write_record(row.iter().map(|text| cell(text))).ok()?;
    }
    String::from_utf8(writer.into_inner().ok()?).ok()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn after(name: &str, text: &str, changes: &[NewValues]) -> Option<String> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        yard_after(&path, changes).ok()
    }

    fn change(cylinder: &str, values: &[(&'static str, &[&str])]) -> NewValues {
        let values = values.iter().map(|(key, texts)| (*key, texts.iter().map(ToString::to_string).collect()));
        NewValues { cylinder: cylinder.into(), values: values.collect() }
    }

    #[test]
    fn comments_and_everything_else_stay() {
        let yard = "# van 3\nunits: lb # pounds\ncylinders:\n  - { id: A, tare: 27.9, gross: 27.9, holds: evacuated } # new\n  \
                    - id: 'B' # old\n    holds: evacuated # yes\n    gross: \"28.0 lb\"   # weighed\n    note: 5\n";
        let changes = [
            change("A", &[("gross", &["63.6"]), ("holds", &["R-22"]), ("condition", &["burnout"]), ("owner", &[])]),
            change(
                "B",
                &[
                    ("gross", &["40.1 lb"]),
                    ("holds", &["mixed"]),
                    ("may_contain", &["R-12", "R-22"]),
                    ("kept_for", &["Job, 2"]),
                ],
            ),
            change("C", &[("gross", &["1"])]),
        ];
        let expected = "# van 3\nunits: lb # pounds\ncylinders:\n  - { id: A, tare: 27.9, gross: 63.6, holds: R-22, condition: burnout } # new\n  \
                    - id: 'B' # old\n    holds: mixed # yes\n    may_contain: [R-12, R-22]\n    kept_for: \"Job, 2\"\n    gross: 40.1 lb   # weighed\n    note: 5\n";
        assert_eq!(after("yard.yaml", yard, &changes).as_deref(), Some(expected));
    }

    #[test]
    fn a_value_over_several_lines_is_not_touched() {
        let yard = "units: lb\ncylinders:\n  - id: A\n    gross:\n      27.9\n    holds: a\n      b c\n";
        assert_eq!(after("yard.yaml", yard, &[change("A", &[("holds", &["R-22"])])]), None);
    }

    #[test]
    fn a_table_keeps_its_cells_and_gets_the_columns_that_it_lacks() {
        let yard = "id,gross [lb],holds\nA,27.9,evacuated\nB,28.1,\"R-22\"\n";
        let changes =
            [change("A", &[("gross", &["63.6 lb"]), ("holds", &["mixed"]), ("may_contain", &["R-12", "R-22"])])];
        let expected = "id,gross [lb],holds,may_contain\nA,63.6 lb,mixed,R-12; R-22\nB,28.1,R-22,\n";
        assert_eq!(after("yard.csv", yard, &changes).as_deref(), Some(expected));
    }
}
