//! The end of a writer's file: what the next line has to say of those before it.

use std::collections::VecDeque;

use super::line::{LOOKS_BACK, Recorded, Sum, WriterHead, write, write_head};
use crate::cylinder::Id;
use crate::ledger::{Entry, EntryId};

/// The end of a writer's file, from which the next line goes on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tail {
    tag: String,
    /// The number of the last entry.
    number: u64,
    sum: Sum,
    /// The cylinders that the last lines spoke of, the last line first.
    recent: VecDeque<Vec<String>>,
}

impl Tail {
    /// A new file: its first line, with the end of it, and its tail.
    pub fn begin(head: &WriterHead) -> (String, Self) {
        let (line, sum) = write_head(head);
        (line + "\n", Self { tag: head.tag.clone(), number: 0, sum, recent: VecDeque::new() })
    }

    pub(super) const fn after_head(tag: String, sum: Sum) -> Self {
        Self { tag, number: 0, sum, recent: VecDeque::new() }
    }

    /// The name of the next entry of this file.
    pub fn next_id(&self) -> EntryId {
        EntryId { tag: self.tag.clone(), number: self.number.saturating_add(1) }
    }

    /// The next entry, which has the name of [`Tail::next_id`], as a line with its end.
    pub fn write(&mut self, entry: &Entry) -> String {
        debug_assert_eq!(entry.id, self.next_id());
        let (line, sum) = write(entry, self.past(), self.sum);
        self.go_on(entry, sum);
        line + "\n"
    }

    /// The cylinders of the last lines: bit 0 for the very last.
    fn past(&self) -> Vec<(String, u16)> {
        let mut past: Vec<(String, u16)> = Vec::new();
        for (back, ids) in self.recent.iter().enumerate() {
            for id in ids {
                match past.iter_mut().find(|(known, _)| known == id) {
                    Some((_, lines)) => *lines |= 1 << back,
                    None => past.push((id.clone(), 1 << back)),
                }
            }
        }
        past
    }

    fn go_on(&mut self, entry: &Entry, sum: Sum) {
        (self.number, self.sum) = (entry.id.number, sum);
        self.push(spoken_of(entry).map(|id| id.as_str().to_owned()).collect());
    }

    fn push(&mut self, mut ids: Vec<String>) {
        ids.sort_unstable();
        ids.dedup();
        self.recent.push_front(ids);
        self.recent.truncate(LOOKS_BACK);
    }

    /// Whether the first entry may have been written behind this head; of later ones nothing is said here.
    pub(super) fn goes_before(&self, written: &Recorded) -> bool {
        let first = self.number == 0 && written.entry.id.number == 1 && written.entry.id.tag == self.tag;
        !first || written.after == self.sum
    }

    /// Behind a line that was read.
    pub(super) fn read(&mut self, written: &Recorded) {
        if written.entry.id.tag == self.tag && written.entry.id.number > self.number {
            for _ in 1..(written.entry.id.number - self.number).min(LOOKS_BACK as u64) {
                self.push(Vec::new());
            }
            self.go_on(&written.entry, written.sum);
        }
    }

    /// Behind a line that can't be read: what follows must show that something is lost.
    pub(super) fn pass(&mut self) {
        self.number = self.number.saturating_add(1);
        self.push(Vec::new());
    }
}

/// The cylinders that an entry speaks of.
pub(super) fn spoken_of(entry: &Entry) -> impl Iterator<Item = &Id> {
    entry.on.iter().map(|(id, _)| id).chain(entry.rows.iter().map(|row| &row.id))
}
