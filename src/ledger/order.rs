//! The order of a chain: each entry behind those that it continues from, whatever clocks say.

use std::collections::BTreeSet;

use super::entry::{Entry, EntryId};
use crate::cylinder::Id;

/// The entries of one cylinder in order.
pub(super) struct Ordered<'a> {
    /// Each behind those that it continues from; of several that could come next, the one of the least name.
    pub entries: Vec<&'a Entry>,
    /// For each the positions of those that it continues from.
    pub parents: Vec<Vec<usize>>,
    /// For each those that it continues from and that aren't there.
    pub missing: Vec<Vec<EntryId>>,
    /// What goes round in a circle, or continues from that: it has no order.
    pub circle: Vec<EntryId>,
    /// Where each entry stands.
    pub places: Places<'a>,
}

/// Where each entry of a chain stands, by its name. Names are few tags with many numbers, and nothing is hashed.
pub(super) struct Places<'a> {
    /// Each tag with the numbers of its entries, in order, and where they stand.
    tags: Vec<(&'a str, Numbers)>,
}

/// The numbers of one tag, in order, and where each of them stands.
type Numbers = Vec<(u64, Option<usize>)>;

impl<'a> Places<'a> {
    /// Of entries in the order of their names; none of them stands anywhere yet.
    fn new(entries: &[&'a Entry]) -> Self {
        let mut tags: Vec<(&str, Numbers)> = Vec::new();
        for entry in entries {
            match tags.last_mut() {
                Some((tag, numbers)) if **tag == *entry.id.tag => numbers.push((entry.id.number, None)),
                _ => tags.push((&entry.id.tag, vec![(entry.id.number, None)])),
            }
        }
        Self { tags }
    }

    fn slot(&self, id: &EntryId) -> Option<(usize, usize)> {
        let tag = self.tags.binary_search_by(|(tag, _)| (*tag).cmp(&*id.tag)).ok()?;
        let number = self.tags[tag].1.binary_search_by_key(&id.number, |(number, _)| *number).ok()?;
        Some((tag, number))
    }

    /// Where an entry stands.
    pub fn get(&self, id: &EntryId) -> Option<usize> {
        let (tag, number) = self.slot(id)?;
        self.tags[tag].1[number].1
    }

    fn put(&mut self, id: &EntryId, place: Option<usize>) {
        if let Some((tag, number)) = self.slot(id) {
            self.tags[tag].1[number].1 = place;
        }
    }
}

impl<'a> Ordered<'a> {
    /// All entries that speak of a cylinder, each once, in any order.
    pub fn new(cylinder: &Id, mut entries: Vec<&'a Entry>) -> Self {
        entries.sort_by(|one, other| one.id.cmp(&other.id));
        let mut places = Places::new(&entries);
        entries.iter().enumerate().for_each(|(at, entry)| places.put(&entry.id, Some(at)));
        let mut waits = vec![0_usize; entries.len()];
        let mut next: Vec<Vec<usize>> = vec![Vec::new(); entries.len()];
        let continues: Vec<&[EntryId]> =
            entries.iter().map(|entry| entry.continues(cylinder).unwrap_or_default()).collect();
        for (at, from) in continues.iter().enumerate() {
            for parent in from.iter().filter_map(|parent| places.get(parent)) {
                waits[at] += 1;
                next[parent].push(at);
            }
        }
        let mut ready: BTreeSet<usize> = (0..entries.len()).filter(|at| waits[*at] == 0).collect();
        let mut order = Vec::with_capacity(entries.len());
        let mut position: Vec<Option<usize>> = vec![None; entries.len()];
        while let Some(at) = ready.pop_first() {
            position[at] = Some(order.len());
            order.push(at);
            for later in &next[at] {
                waits[*later] -= 1;
                if waits[*later] == 0 {
                    ready.insert(*later);
                }
            }
        }
        let (mut parents, mut missing) = (Vec::with_capacity(order.len()), Vec::with_capacity(order.len()));
        for at in &order {
            let (mut there, mut gone) = (Vec::new(), Vec::new());
            for parent in continues[*at] {
                match places.get(parent).and_then(|given| position[given]) {
                    Some(parent) => there.push(parent),
                    None => gone.push(parent.clone()),
                }
            }
            parents.push(there);
            missing.push(gone);
        }
        let circle = (0..entries.len()).filter(|at| position[*at].is_none()).map(|at| entries[at].id.clone()).collect();
        entries.iter().zip(position).for_each(|(entry, place)| places.put(&entry.id, place));
        let entries: Vec<&Entry> = order.into_iter().map(|at| entries[at]).collect();
        Self { entries, parents, missing, circle, places }
    }
}
