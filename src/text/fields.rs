//! Going through the keys of a map: known ones, unknown ones, doubled ones, missing ones. Problems are gathered, never
//! thrown, so that one reading finds them all.

use std::collections::HashMap;

use super::shape::{Holds, Shape};
use super::source::{Mark, Source};
use super::tree::{Entry, Leaf, Node};
use crate::problem::{Code, Problem};

/// Problems with the keys of one map that are reported; a map with more isn't what it should be.
const MOST_KEY_PROBLEMS: usize = 10;

/// What a reading of one file has found wrong so far.
pub(super) struct Findings<'s> {
    pub source: &'s Source,
    pub problems: Vec<Problem>,
}

impl<'s> Findings<'s> {
    pub const fn new(source: &'s Source) -> Self {
        Self { source, problems: Vec::new() }
    }

    pub fn add(&mut self, code: Code, mark: Option<Mark>, message: &str, hint: &str) {
        let place = mark.and_then(|mark| self.source.place(mark));
        self.problems.push(Problem::new(code, &self.source.file, place, message, hint));
    }
}

/// A map with the table of its keys.
#[derive(Clone, Copy)]
pub(super) struct Fields<'n> {
    entries: &'n [Entry],
    mark: Option<Mark>,
    shape: &'static Shape,
}

/// A single value with the key that it stands behind.
#[derive(Clone, Copy)]
pub(super) struct Value<'n> {
    pub key: &'n str,
    pub leaf: &'n Leaf,
}

impl<'n> Fields<'n> {
    /// The keys of a map; `at` says where it stands if it doesn't know itself: nowhere else than at the beginning, where
    /// it is all of the file.
    pub fn open(node: &'n Node, at: Option<Mark>, shape: &'static Shape, found: &mut Findings) -> Option<Self> {
        let mark = node.mark().or(at).or(Some(Mark::START));
        let Node::Map(entries) = node else {
            wrong_shape(node, mark, shape.what, "a map of keys", found);
            return None;
        };
        let before = found.problems.len();
        let mut seen: HashMap<&str, Option<Mark>> = HashMap::new();
        for (index, entry) in entries.iter().enumerate() {
            if found.problems.len() - before == MOST_KEY_PROBLEMS {
                let message = format!("{} more keys follow that weren't looked at", entries.len() - index);
                found.add(Code::UnknownKey, entry.mark, &message, "check the indentation");
                break;
            }
            if let Some(first) = seen.insert(&entry.key, entry.mark) {
                let line = first.map_or(String::new(), |mark| format!(", before in line {}", mark.line));
                let message = format!("`{}` stands twice in {}{line}", entry.key, shape.what);
                found.add(Code::DuplicateKey, entry.mark, &message, "keep one of them");
            } else if shape.key(&entry.key).is_none() {
                unknown_key(entry, shape, found);
            }
        }
        Some(Self { entries, mark, shape })
    }

    /// Where the map begins.
    pub const fn start(&self) -> Option<Mark> {
        self.mark
    }

    /// Whether a key is there with something behind it.
    pub fn has(&self, key: &str) -> bool {
        self.node(key).is_some()
    }

    /// What stands behind a key, if anything.
    pub fn node(&self, key: &str) -> Option<&'n Node> {
        let entry = self.entries.iter().find(|entry| entry.key == key)?;
        (entry.value != Node::Null).then_some(&entry.value)
    }

    /// Where the single value of a key stands, or else the key, or else the map.
    pub fn mark(&self, key: &str) -> Option<Mark> {
        let entry = self.entries.iter().find(|entry| entry.key == key);
        let place = entry.and_then(|entry| match &entry.value {
            Node::Leaf(leaf) => leaf.mark.or(entry.mark),
            Node::Null | Node::List(_) | Node::Map(_) => entry.mark,
        });
        place.or(self.mark)
    }

    /// Says that the value of a key lies outside its range.
    pub fn outside(&self, key: &str, range: &str, hint: &str, found: &mut Findings) {
        let text = match self.node(key) {
            Some(Node::Leaf(leaf)) => leaf.text.trim(),
            _ => "nothing",
        };
        let message = format!("{key}: found `{text}`, expected {range}");
        found.add(Code::OutOfRange, self.mark(key), &message, hint);
    }

    /// Reads a single value. Where the key isn't there and must be, that is a problem.
    pub fn read<T>(
        &self,
        key: &'static str,
        found: &mut Findings,
        read: impl FnOnce(Value<'n>, &mut Findings) -> Option<T>,
    ) -> Option<T> {
        match self.expect(key, found)? {
            Node::Leaf(leaf) => read(Value { key, leaf }, found),
            node => {
                wrong_shape(node, self.mark(key), key, "a single value", found);
                None
            }
        }
    }

    /// What stands behind a key; where nothing does and something must, that is a problem.
    fn expect(&self, key: &'static str, found: &mut Findings) -> Option<&'n Node> {
        let known = self.shape.key(key);
        debug_assert!(known.is_some(), "`{key}` isn't in the table of {}", self.shape.what);
        if known.is_some_and(|known| known.required) && !self.has(key) {
            self.missing(key, "", found);
        }
        self.node(key)
    }

    /// Says that a key is missing; `why` may say when it is needed. A key that is misspelt has been told of already.
    pub fn missing(&self, key: &str, why: &str, found: &mut Findings) {
        let mut unknown = self.entries.iter().filter(|entry| self.shape.key(&entry.key).is_none());
        if unknown.any(|entry| nearest(&entry.key, self.shape.names()) == Some(key)) {
            return;
        }
        let message = format!("{} has no `{key}`{why}", self.shape.what);
        found.add(Code::MissingKey, self.mark, &message, &format!("add `{key}:`"));
    }

    /// The items of a list, not more than its table says; empty where the key isn't there.
    pub fn list(&self, key: &'static str, found: &mut Findings) -> &'n [Node] {
        let most = match self.shape.key(key).map(|key| key.holds) {
            Some(Holds::List(_, most) | Holds::Texts(most) | Holds::Names(most)) => most,
            _ => 0,
        };
        match self.expect(key, found) {
            None => &[],
            Some(Node::List(nodes)) if nodes.len() > most => {
                let message = format!("{key}: the list has {} items; expected at most {most}", nodes.len());
                found.add(Code::TooLarge, self.mark(key), &message, "check that it is the right file");
                &[]
            }
            Some(Node::List(nodes)) => nodes,
            Some(node) => {
                wrong_shape(node, self.mark(key), key, "a list, each item behind a `-`", found);
                &[]
            }
        }
    }

    /// What is made of the maps of a list, without those that have a problem.
    pub fn each<T>(
        &self,
        key: &'static str,
        found: &mut Findings,
        mut read: impl FnMut(Fields<'n>, &mut Findings) -> Option<T>,
    ) -> Vec<T> {
        let Some(Holds::List(shape, _)) = self.shape.key(key).map(|key| key.holds) else { return Vec::new() };
        let at = self.mark(key);
        let mut items = Vec::new();
        for node in self.list(key, found) {
            let before = found.problems.len();
            let item = Fields::open(node, at, shape, found).and_then(|fields| read(fields, found));
            items.extend(item.filter(|_| found.problems.len() == before));
        }
        items
    }

    /// The single values of a list.
    pub fn values(&self, key: &'static str, found: &mut Findings) -> Vec<Value<'n>> {
        let mut values = Vec::new();
        for node in self.list(key, found) {
            match node {
                Node::Leaf(leaf) => values.push(Value { key, leaf }),
                Node::Null | Node::List(_) | Node::Map(_) => {
                    let message = format!("{key}: found {}, expected a list of single values", node.kind());
                    let mark = node.mark().or(self.mark(key));
                    found.add(Code::WrongShape, mark, &message, "write one of them behind each `-`");
                }
            }
        }
        values
    }

    /// The map behind a key, where the key is there.
    pub fn map(&self, key: &'static str, found: &mut Findings) -> Option<Fields<'n>> {
        let node = self.expect(key, found)?;
        let Some(Holds::Map(shape)) = self.shape.key(key).map(|key| key.holds) else { return None };
        Fields::open(node, self.mark(key), shape, found)
    }
}

fn wrong_shape(node: &Node, mark: Option<Mark>, what: &str, expected: &str, found: &mut Findings) {
    let message = format!("{what}: found {}, expected {expected}", node.kind());
    found.add(Code::WrongShape, mark, &message, "check the indentation and the dashes");
}

fn unknown_key(entry: &Entry, shape: &Shape, found: &mut Findings) {
    let message = format!("`{}` isn't a key of {}", entry.key, shape.what);
    let hint = match nearest(&entry.key, shape.names()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("the keys here are {}", shape.names().collect::<Vec<_>>().join(", ")),
    };
    found.add(Code::UnknownKey, entry.mark, &message, &hint);
}

/// Words of the trade that no spelling leads from to the key or word that is meant.
const MEANT: [(&str, &[&str]); 3] = [
    ("damage", &["dented", "dent", "dents", "bent", "leak", "leaks", "leaking", "rust", "rusty", "corrosion"]),
    ("evacuated", &["vacuum", "vac", "evac", "evac'd", "vacuumed", "pulled down", "under vacuum"]),
    ("nitrogen", &["n2", "dry nitrogen", "holding charge"]),
];

/// The known word that is meant by this one, where people of the trade say it so.
pub(super) fn meant<'k>(word: &str, mut known: impl Iterator<Item = &'k str>) -> Option<&'k str> {
    let word = word.trim().to_lowercase();
    let (meant, _) = MEANT.iter().find(|(_, said)| said.contains(&word.as_str()))?;
    known.find(|known| known == meant)
}

/// The known word that is meant by this one, or that is most like it, where one is like it at all.
pub(super) fn nearest<'k>(word: &str, known: impl Iterator<Item = &'k str> + Clone) -> Option<&'k str> {
    /// Below this two words have nothing to do with each other.
    const LIKE: f64 = 0.6;
    if let Some(meant) = meant(word, known.clone()) {
        return Some(meant);
    }
    let word: String = word.chars().take(60).collect::<String>().to_lowercase();
    let rated = known.map(|known| (strsim::normalized_damerau_levenshtein(&word, &known.to_lowercase()), known));
    let best = rated.fold(None, |best: Option<(f64, &str)>, next| match best {
        Some(best) if best.0 >= next.0 => Some(best),
        _ => Some(next),
    });
    best.filter(|(like, _)| *like >= LIKE).map(|(_, known)| known)
}
