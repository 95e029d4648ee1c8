//! The end of a writer's file: what the next line has to say of those before it.

use std::collections::VecDeque;

use super::line::{LOOKS_BACK, Past, Recorded, Sum, WriterHead, write, write_head};
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

    /// The tail of a file that was read: behind the last of its entries, or of its lines that can't be believed, which then
    /// are missing for whoever reads what follows.
    pub(super) fn behind(tag: &str, head: Option<Sum>, entries: &[Recorded], spoiled: Option<u64>) -> Option<Self> {
        let ours = || entries.iter().filter(|one| *one.entry.id.tag == *tag);
        let last = ours().max_by_key(|one| one.entry.id.number);
        let sum = last.map(|last| last.sum).or(head)?;
        let number = last.map_or(0, |last| last.entry.id.number).max(spoiled.unwrap_or(0));
        let mut recent = VecDeque::new();
        for back in 0..(LOOKS_BACK as u64).min(number) {
            let of_number = ours().rev().take(2 * LOOKS_BACK).filter(|one| one.entry.id.number == number - back);
            recent.push_back(names(of_number.flat_map(|one| spoken_of(&one.entry))));
        }
        Some(Self { tag: tag.to_owned(), number, sum, recent })
    }

    /// The name of the next entry of this file.
    pub fn next_id(&self) -> EntryId {
        EntryId { tag: self.tag.as_str().into(), number: self.number.saturating_add(1) }
    }

    /// The next entry, which has the name of [`Tail::next_id`], as a line with its end.
    pub fn write(&mut self, entry: &Entry) -> String {
        debug_assert_eq!(entry.id, self.next_id());
        let (line, sum) = write(entry, self.past(), self.sum);
        (self.number, self.sum) = (entry.id.number, sum);
        self.recent.push_front(names(spoken_of(entry)));
        self.recent.truncate(LOOKS_BACK);
        line + "\n"
    }

    /// The cylinders of the last lines: bit 0 for the very last.
    fn past(&self) -> Past {
        let mut past: Vec<(String, u16)> = Vec::new();
        for (back, ids) in self.recent.iter().enumerate() {
            for id in ids {
                match past.iter_mut().find(|(known, _)| known == id) {
                    Some((_, lines)) => *lines |= 1 << back,
                    None => past.push((id.clone(), 1 << back)),
                }
            }
        }
        Past(past)
    }
}

fn names<'i>(ids: impl Iterator<Item = &'i Id>) -> Vec<String> {
    let mut names: Vec<String> = ids.map(|id| id.as_str().to_owned()).collect();
    names.sort_unstable();
    names.dedup();
    names
}

/// The cylinders that an entry speaks of.
pub(super) fn spoken_of(entry: &Entry) -> impl Iterator<Item = &Id> {
    entry.on.iter().map(|(id, _)| id).chain(entry.rows.iter().map(|row| &row.id))
}
