//! The entries of one cylinder, each with everything that it continues from, and what was said in them.

use std::collections::HashMap;

use crate::cylinder::Id;
use crate::ledger::{Entry, EntryId};

/// The entries of one cylinder.
pub(super) struct History<'a> {
    /// Each behind everything that it continues from.
    pub entries: Vec<&'a Entry>,
    /// For each those that it continues from and that aren't there.
    pub missing: Vec<Vec<&'a EntryId>>,
    /// What never comes behind all that it continues from: it goes round in a circle.
    pub circle: Vec<&'a EntryId>,
    /// For each, everything that it continues from, near and far: a bit for each entry.
    known: Vec<Vec<u64>>,
}

impl<'a> History<'a> {
    /// Of all entries that speak of the cylinder, each once.
    pub fn new(cylinder: &Id, all: &[&'a Entry]) -> Self {
        let mut history = Self { entries: Vec::new(), missing: Vec::new(), circle: Vec::new(), known: Vec::new() };
        let from = |entry: &'a Entry| -> &'a [EntryId] {
            entry.on.iter().find(|(id, _)| id == cylinder).map_or(&[], |(_, from)| from.as_slice())
        };
        let mut place: HashMap<&EntryId, Option<usize>> = all.iter().map(|entry| (&entry.id, None)).collect();
        let mut left: Vec<&Entry> = all.to_vec();
        left.sort_by_key(|entry| &entry.id);
        // As long as one of them comes behind all that it continues from.
        loop {
            let waiting = left.len();
            left.retain(|entry| {
                let waits = from(entry).iter().any(|parent| place.get(parent) == Some(&None));
                if !waits {
                    place.insert(&entry.id, Some(history.entries.len()));
                    history.put(entry, from(entry), &place);
                }
                waits
            });
            if left.len() == waiting {
                break;
            }
        }
        history.circle = left.into_iter().map(|entry| &entry.id).collect();
        history
    }

    fn put(&mut self, entry: &'a Entry, from: &'a [EntryId], place: &HashMap<&EntryId, Option<usize>>) {
        let mut known = vec![0; self.entries.len() / 64 + 1];
        let mut missing = Vec::new();
        for parent in from {
            match place.get(parent).copied().flatten() {
                Some(parent) => {
                    known[parent / 64] |= 1 << (parent % 64);
                    self.known[parent].iter().enumerate().for_each(|(at, bits)| known[at] |= bits);
                }
                None => missing.push(parent),
            }
        }
        self.entries.push(entry);
        self.missing.push(missing);
        self.known.push(known);
    }

    /// Whether an entry continues from another one, near or far.
    pub fn continues(&self, late: usize, early: usize) -> bool {
        self.known.get(late).and_then(|known| known.get(early / 64)).is_some_and(|bits| bits >> (early % 64) & 1 == 1)
    }

    /// Where an entry stands.
    pub fn place(&self, id: &EntryId) -> Option<usize> {
        self.entries.iter().position(|entry| entry.id == *id)
    }
}

/// Whom something is asked of: somebody who has heard of an entry and of all that it continues from, or of everything.
#[derive(Clone, Copy)]
pub(super) enum Hearer {
    Of(usize),
    Everybody,
}

/// Who said something first, where an undo may have brought it back.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum FirstSaid {
    /// A row that the chain begins with, by its number among the different ones.
    Row(usize),
    Entry(usize),
}

/// Something that was said.
pub(super) struct Word<T> {
    /// The entries that say it: one, or all that begin with the same row.
    pub said_in: Vec<usize>,
    /// Who said it first.
    pub first: FirstSaid,
    /// What.
    pub what: T,
    /// The entries by which it doesn't hold any more.
    ended: Vec<usize>,
}

/// Everything that was ever said of one kind.
pub(super) struct Words<T> {
    pub all: Vec<Word<T>>,
}

impl<T> Words<T> {
    pub fn new() -> Self {
        Self { all: Vec::new() }
    }

    pub fn say(&mut self, entry: usize, first: FirstSaid, what: T) {
        self.all.push(Word { said_in: vec![entry], first, what, ended: Vec::new() });
    }

    /// The words that hold for somebody: he has heard of them, and of nothing that ended them.
    pub fn hold(&self, history: &History, hearer: Hearer) -> Vec<usize> {
        let heard = |early: &usize| match hearer {
            Hearer::Of(entry) => *early == entry || history.continues(entry, *early),
            Hearer::Everybody => true,
        };
        let holds = |at: &usize| self.all[*at].said_in.iter().any(heard) && !self.all[*at].ended.iter().any(heard);
        (0..self.all.len()).filter(holds).collect()
    }

    /// An entry ends these words.
    pub fn end(&mut self, entry: usize, words: &[usize]) {
        words.iter().for_each(|word| self.all[*word].ended.push(entry));
    }

    /// An entry says something anew: whatever it has heard of ends.
    pub fn say_anew(&mut self, history: &History, entry: usize, what: impl IntoIterator<Item = T>) {
        let words = self.hold(history, Hearer::Of(entry));
        self.end(entry, &words);
        what.into_iter().for_each(|what| self.say(entry, FirstSaid::Entry(entry), what));
    }
}
