//! The keys that a file may have, one table for each map in it. The reader takes from it which keys there are and which
//! must be there, and the schema for editors is drawn from the same tables: a key is added in one place.
//!
//! Nothing here reads a value.

/// A map of keys.
pub(super) struct Shape {
    /// What it describes, for messages: `a system`.
    pub what: &'static str,
    /// The keys that it may have, in the order in which messages name them.
    pub keys: &'static [Key],
    /// What holds between its keys. The reader says each in its own words where it reads them.
    pub rules: &'static [KeyRule],
}

/// A key with what may stand behind it.
pub(super) struct Key {
    pub name: &'static str,
    pub holds: Holds,
    pub required: bool,
    /// One line for somebody who types it: meaning, unit, and what counts where it isn't there.
    pub about: &'static str,
}

/// What stands behind a key.
#[derive(Clone, Copy)]
pub(super) enum Holds {
    /// Words on one line.
    Text,
    /// One of these words.
    OneOf(fn() -> Vec<&'static str>),
    /// One of these words, or a name.
    NameOr(&'static [&'static str]),
    /// `true` or `false`.
    Flag,
    /// A day, or a month and a day.
    Day,
    /// A month, or a day in it.
    Month,
    /// A whole number from the first to the second.
    Count(u32, u32),
    /// A weight; a bare number is in the file's unit.
    Weight,
    /// A pressure with its unit.
    Pressure,
    /// A number with its unit, as these words say.
    Quantity(&'static str),
    /// The same, where a bare number is understood too.
    Number(&'static str),
    /// Money for one of these.
    Per(fn() -> Vec<&'static str>),
    /// A list of texts, at most so many.
    Texts(usize),
    /// A list of names, at most so many; or, as CSV has it, one text with semicolons between.
    Names(usize),
    /// A map.
    Map(&'static Shape),
    /// A list of maps, at most so many.
    List(&'static Shape, usize),
}

/// What holds between the keys of one map.
#[derive(Clone, Copy)]
pub(super) enum KeyRule {
    /// One of the two must be there, and not both.
    Either(&'static str, &'static str),
    /// Not both.
    Apart(&'static str, &'static str),
    /// The first is worth nothing without the second.
    Needs(&'static str, &'static str),
    /// A list that must have something in it.
    Filled(&'static str),
    /// The key must be there unless the second one has this word.
    Unless(&'static str, &'static str, &'static str),
    /// The key may be there only where the second one has this word.
    Only(&'static str, &'static str, &'static str),
}

/// A key that must be there.
pub(super) const fn must(name: &'static str, holds: Holds, about: &'static str) -> Key {
    Key { name, holds, required: true, about }
}

/// A key that may be left away.
pub(super) const fn may(name: &'static str, holds: Holds, about: &'static str) -> Key {
    Key { name, holds, required: false, about }
}

impl Shape {
    /// The key of a name.
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }

    /// The names of the keys.
    pub fn names(&self) -> impl Iterator<Item = &'static str> + Clone {
        self.keys.iter().map(|key| key.name)
    }
}

/// The words of a list that pairs them with what they mean.
pub(super) fn words<T>(list: &[(T, &'static str)]) -> Vec<&'static str> {
    list.iter().map(|(_, word)| *word).collect()
}
