//! The entries of one cylinder, each with everything that it continues from, and what was said in them.

use std::rc::Rc;

use crate::cylinder::Id;
use crate::ledger::{Entry, EntryId};
use rustc_hash::FxHashSet;

/// The entries of one cylinder.
pub(super) struct History<'a> {
    /// Each behind everything that it continues from.
    pub entries: Vec<&'a Entry>,
    /// For each those that it continues from and that aren't there.
    pub missing: Vec<Vec<&'a EntryId>>,
    /// For each those of them that are.
    pub parents: Vec<Vec<usize>>,
    /// What never comes behind all that it continues from: it goes round in a circle.
    pub circle: Vec<&'a EntryId>,
    /// For each, everything that it continues from, near and far: a bit for each entry.
    known: Vec<Vec<u64>>,
}

impl<'a> History<'a> {
    /// Of all entries that speak of the cylinder, each once.
    pub fn new(cylinder: &Id, all: &[&'a Entry]) -> Self {
        let mut history = Self {
            entries: Vec::new(),
            missing: Vec::new(),
            parents: Vec::new(),
            circle: Vec::new(),
            known: Vec::new(),
        };
        let from = |entry: &'a Entry| -> &'a [EntryId] {
            entry.on.iter().find(|(id, _)| id == cylinder).map_or(&[], |(_, from)| from.as_slice())
        };
        let mut named: Vec<&Entry> = all.to_vec();
        named.sort_by_key(|entry| &entry.id);
        let find = |id: &EntryId| named.binary_search_by_key(&id, |entry| &entry.id).ok();
        // For each how many of those that it continues from have no place yet, and who waits for it.
        let mut waits: Vec<usize> = vec![0; named.len()];
        let mut waiting: Vec<Vec<usize>> = vec![Vec::new(); named.len()];
        for (at, entry) in named.iter().enumerate() {
            for parent in from(entry).iter().filter_map(find) {
                waits[at] += 1;
                waiting[parent].push(at);
            }
        }
        let mut place: Vec<Option<usize>> = vec![None; named.len()];
        let mut next: Vec<usize> = (0..named.len()).filter(|at| waits[*at] == 0).collect();
        while let Some(at) = next.pop() {
            place[at] = Some(history.entries.len());
            history.put(named[at], from(named[at]), |id| place[find(id)?]);
            for later in &waiting[at] {
                waits[*later] -= 1;
                if waits[*later] == 0 {
                    next.push(*later);
                }
            }
        }
        history.circle =
            named.iter().zip(place).filter(|(_, place)| place.is_none()).map(|(entry, _)| &entry.id).collect();
        history
    }

    fn put(&mut self, entry: &'a Entry, from: &'a [EntryId], place: impl Fn(&EntryId) -> Option<usize>) {
        let mut known = vec![0; self.entries.len() / 64 + 1];
        let (mut missing, mut parents) = (Vec::new(), Vec::new());
        for parent in from {
            match place(parent) {
                Some(parent) => {
                    parents.push(parent);
                    known[parent / 64] |= 1 << (parent % 64);
                    self.known[parent].iter().enumerate().for_each(|(at, bits)| known[at] |= bits);
                }
                None => missing.push(parent),
            }
        }
        self.entries.push(entry);
        self.missing.push(missing);
        self.parents.push(parents);
        self.known.push(known);
    }

    /// Whether an entry continues from another one, near or far.
    pub fn continues(&self, late: usize, early: usize) -> bool {
        self.known.get(late).and_then(|known| known.get(early / 64)).is_some_and(|bits| bits >> (early % 64) & 1 == 1)
    }

    /// The entries that no other one continues from.
    pub fn ends(&self) -> Vec<usize> {
        let continued: FxHashSet<usize> = self.parents.iter().flatten().copied().collect();
        (0..self.entries.len()).filter(|at| !continued.contains(at)).collect()
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
    /// Those that hold behind each entry that has been heard.
    behind: Vec<Rc<[usize]>>,
    /// Those that the entry says which is being heard.
    new: Vec<usize>,
    /// The entry that is being heard has said or ended something.
    changed: bool,
}

impl<T> Words<T> {
    pub fn new() -> Self {
        Self { all: Vec::new(), behind: Vec::new(), new: Vec::new(), changed: false }
    }

    pub fn say(&mut self, entry: usize, first: FirstSaid, what: T) {
        self.changed = true;
        self.new.push(self.all.len());
        self.all.push(Word { said_in: vec![entry], first, what, ended: Vec::new() });
    }

    /// An entry says again what another one said beside it.
    pub fn say_too(&mut self, entry: usize, word: usize) {
        self.changed = true;
        self.new.push(word);
        self.all[word].said_in.push(entry);
    }

    /// The words that hold for somebody: he has heard of them, and of nothing that ended them. What holds behind no entry
    /// that he continues from has been ended by one of those.
    pub fn hold(&self, history: &History, hearer: Hearer) -> Vec<usize> {
        let ends;
        let (from, new) = match hearer {
            Hearer::Of(entry) => (history.parents[entry].as_slice(), self.new.as_slice()),
            Hearer::Everybody => {
                ends = history.ends();
                (ends.as_slice(), &[][..])
            }
        };
        let heard = |early: &usize| match hearer {
            Hearer::Of(entry) => *early == entry || history.continues(entry, *early),
            Hearer::Everybody => true,
        };
        let holding = from.iter().filter_map(|entry| self.behind.get(*entry)).flat_map(|behind| behind.iter());
        let mut words: Vec<usize> = holding.chain(new).copied().collect();
        words.sort_unstable();
        words.dedup();
        words.retain(|word| !self.all[*word].ended.iter().any(heard));
        words
    }

    /// An entry has been heard.
    pub fn heard(&mut self, history: &History, entry: usize) {
        let behind = match history.parents[entry].as_slice() {
            [parent] if !self.changed => Rc::clone(&self.behind[*parent]),
            _ => self.hold(history, Hearer::Of(entry)).into(),
        };
        self.behind.push(behind);
        self.new.clear();
        self.changed = false;
    }

    /// An entry ends these words.
    pub fn end(&mut self, entry: usize, words: &[usize]) {
        self.changed |= !words.is_empty();
        words.iter().for_each(|word| self.all[*word].ended.push(entry));
    }

    /// An entry says something anew: whatever it has heard of ends.
    pub fn say_anew(&mut self, history: &History, entry: usize, what: impl IntoIterator<Item = T>) {
        let words = self.hold(history, Hearer::Of(entry));
        self.end(entry, &words);
        what.into_iter().for_each(|what| self.say(entry, FirstSaid::Entry(entry), what));
    }
}
