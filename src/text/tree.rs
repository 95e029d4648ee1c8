//! What a file holds, as typed and with places: the one shape that YAML, CSV and JSON are read into.

use super::source::Mark;

/// How a value was typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Typed {
    /// In quotes, or as words.
    Text,
    /// As a bare number.
    Number,
    /// As `true` or `false`.
    Bool,
}

/// A single value: its text as typed, never as a number that a library made of it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Leaf {
    pub text: String,
    pub typed: Typed,
    pub mark: Option<Mark>,
    /// The unit that the head of its column gives it.
    pub unit: Option<String>,
}

/// A key with its value.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Entry {
    pub key: String,
    pub mark: Option<Mark>,
    pub value: Node,
}

/// A value, a list or a map.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Node {
    /// Nothing behind a key: as if the key weren't there.
    Null,
    Leaf(Leaf),
    List(Vec<Node>),
    Map(Vec<Entry>),
}

impl Node {
    /// Where it begins, as far as known: an empty list has no place of its own.
    pub fn mark(&self) -> Option<Mark> {
        match self {
            Self::Null => None,
            Self::Leaf(leaf) => leaf.mark,
            Self::List(nodes) => nodes.iter().find_map(Self::mark),
            Self::Map(entries) => entries.first().and_then(|entry| entry.mark),
        }
    }

    /// In words, for messages.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Null => "nothing",
            Self::Leaf(_) => "a single value",
            Self::List(_) => "a list",
            Self::Map(_) => "a map of keys",
        }
    }
}
