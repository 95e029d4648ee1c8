//! All files of a ledger as one: the union of their entries, and for each entry that is missing, changed or there in two
//! versions the cylinders that it may have spoken of.
//!
//! What one copy lacks another may have: only what no copy has is damage. Nothing here depends on the order of the files.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, HashSet};

use super::file::WriterFile;
use super::line::{LOOKS_BACK, Recorded};
use super::tail::spoken_of;
use crate::cylinder::Id;
use crate::ledger::{Damage, Entry, EntryId, Ledger};

/// Missing entries of one tag that are named one by one.
const MOST_NAMED: u64 = 200;

/// Keys of an entry that lists stand behind: not names of cylinders.
const LISTS: [&str; 14] = [
    "rows",
    "jobs",
    "follows",
    "options",
    "cylinders",
    "systems",
    "steps",
    "from",
    "short",
    "parts",
    "forced",
    "refrigerants",
    "changes",
    "may_contain",
];

/// A ledger as it was read.
#[derive(Debug, Default)]
pub struct LedgerRead {
    /// Its entries and what of it can't be believed.
    pub ledger: Ledger,
    /// What was strange about the files and puts nothing in doubt, in sentences.
    pub notes: Vec<String>,
}

/// What stands in the place of an entry: the versions of it, and lines that can't be believed.
#[derive(Default)]
struct Slot {
    versions: Vec<Recorded>,
    spoiled: Vec<(Vec<u8>, String)>,
}

/// The ledger in these files. `known` are the cylinders of the yard, so that their names are found in a line that can't be
/// read otherwise.
pub fn read_ledger(files: Vec<WriterFile>, known: &[Id]) -> LedgerRead {
    let mut notes = BTreeSet::new();
    let mut tags: BTreeMap<String, BTreeMap<u64, Slot>> = BTreeMap::new();
    for file in files {
        let WriterFile { name, head, entries, spoiled, torn, notes: strange, .. } = file;
        notes.extend(strange.into_iter().map(|note| format!("{name}: {note}")));
        if torn {
            notes.insert(format!("{name}: its last line has no end: it is on its way still, or a crash tore it"));
        }
        let tag = head.map(|head| head.tag).or_else(|| entries.first().map(|first| first.entry.id.tag.clone()));
        let tag = tag.unwrap_or_else(|| name.clone());
        for written in entries {
            let places = match tags.get_mut(&written.entry.id.tag) {
                Some(places) => places,
                None => tags.entry(written.entry.id.tag.clone()).or_default(),
            };
            let place = places.entry(written.entry.id.number).or_default();
            if !place.versions.iter().any(|known| known.sum == written.sum) {
                place.versions.push(written);
            }
        }
        for line in spoiled {
            let places = tags.entry(line.tag.unwrap_or_else(|| tag.clone())).or_default();
            let why = format!("{name}, line {}: {}", line.line, line.why);
            places.entry(line.number).or_default().spoiled.push((line.bytes, why));
        }
    }
    let mut found = Found { known: known.to_vec(), entries: Vec::new(), damage: Vec::new(), notes };
    found.learn(&tags);
    for (tag, places) in tags {
        found.tag(&tag, places);
    }
    LedgerRead { ledger: Ledger::new(found.entries, found.damage), notes: found.notes.into_iter().collect() }
}

struct Found {
    known: Vec<Id>,
    entries: Vec<Entry>,
    damage: Vec<Damage>,
    notes: BTreeSet<String>,
}

impl Found {
    /// Every cylinder that an entry speaks of is known.
    fn learn(&mut self, tags: &BTreeMap<String, BTreeMap<u64, Slot>>) {
        let mut named: BTreeSet<&str> = self.known.iter().map(Id::as_str).collect();
        let written = tags.values().flat_map(BTreeMap::values).flat_map(|place| &place.versions);
        let new = written.flat_map(|written| spoken_of(&written.entry)).filter(|id| named.insert(id.as_str()));
        let new: Vec<Id> = new.cloned().collect();
        self.known.extend(new);
    }

    /// The entries of one tag.
    fn tag(&mut self, tag: &str, mut places: BTreeMap<u64, Slot>) {
        let id = |number: u64| EntryId { tag: tag.to_owned(), number };
        let mut before = 0;
        for number in places.keys().copied().collect::<Vec<u64>>() {
            self.missing(&id, before, number, &places);
            before = number;
            let Some(place) = places.get(&number) else { continue };
            if place.versions.is_empty() {
                let cylinders = self.by_later(number, &places).unwrap_or_else(|| self.by_bytes(&place.spoiled));
                let why: Vec<&str> = place.spoiled.iter().map(|(_, why)| why.as_str()).collect();
                self.damage.push(Damage { entry: Some(id(number)), cylinders, why: why.join("; ") });
                continue;
            }
            let next = number.checked_add(1).and_then(|next| places.get(&next));
            let follows: Vec<&Recorded> = next.iter().flat_map(|next| &next.versions).collect();
            let named = |one: &Recorded| follows.iter().any(|next| next.after == one.sum);
            let why = match place.versions.as_slice() {
                [one] if follows.is_empty() || named(one) => None,
                [_] => Some(format!("{} was written behind another {}", id(number.saturating_add(1)), id(number))),
                _ => Some(format!("two entries are named {}, and they differ", id(number))),
            };
            if let Some(why) = why {
                let said = place.versions.iter().flat_map(|one| spoken_of(&one.entry)).cloned();
                let cylinders = distinct(said.chain(follows.iter().flat_map(|next| of_line(next, 0))).collect());
                self.damage.push(Damage { entry: Some(id(number)), cylinders, why });
            }
            for (_, why) in &place.spoiled {
                self.notes.insert(format!("{why}; the entry that belongs here, {}, is there", id(number)));
            }
            // Of several the one that the next line names, or else that of the least sum: whatever order they came in.
            let best = place.versions.iter().max_by_key(|one| (named(one), Reverse(one.sum))).map(|best| best.sum);
            // Only lines behind are looked at again.
            let versions = places.get_mut(&number).map(|place| std::mem::take(&mut place.versions));
            let best = versions.into_iter().flatten().find(|one| Some(one.sum) == best);
            self.entries.extend(best.map(|best| best.entry));
        }
    }

    /// Entries between two numbers that aren't there at all.
    fn missing(&mut self, id: &impl Fn(u64) -> EntryId, before: u64, number: u64, places: &BTreeMap<u64, Slot>) {
        let first = before.saturating_add(1);
        let last = number.saturating_sub(2 * LOOKS_BACK as u64).max(first);
        let named = (first..last.min(first.saturating_add(MOST_NAMED))).chain(last..number);
        for missing in named {
            let gap = missing + 1 == first.saturating_add(MOST_NAMED) && missing + 1 < last;
            let (cylinders, why) = match self.by_later(missing, places) {
                Some(cylinders) => (cylinders, format!("{} isn't there; {} came behind it", id(missing), id(number))),
                None if gap => (self.known.clone(), format!("{} to {} aren't there", id(missing), id(last - 1))),
                None => (self.known.clone(), format!("{} isn't there, and nothing says what it spoke of", id(missing))),
            };
            self.damage.push(Damage { entry: Some(id(missing)), cylinders, why });
        }
    }

    /// The cylinders of an entry by what a line that follows says of the lines before it.
    fn by_later(&self, number: u64, places: &BTreeMap<u64, Slot>) -> Option<Vec<Id>> {
        let from = number.checked_add(1)?;
        let to = number.saturating_add(LOOKS_BACK as u64);
        let later = places.range(from..=to).find_map(|(later, place)| Some((later, place.versions.first()?)));
        later.map(|(later, written)| distinct(of_line(written, (later - from) as usize)))
    }

    /// The cylinders that these lines name, as far as they can be read at all; every one where that isn't sure. Whatever
    /// has changed a line may have made one name of another: one that differs in a single byte counts as well.
    fn by_bytes(&self, lines: &[(Vec<u8>, String)]) -> Vec<Id> {
        let bare = |id: &Id| serde_json::to_string(id.as_str()).unwrap_or_default().trim_matches('"').to_owned();
        let names: Vec<(String, &Id)> = self.known.iter().map(|id| (bare(id), id)).collect();
        let mut found: Vec<Id> = Vec::new();
        for (line, _) in lines {
            let quoted = |name: &str| contains(line, format!("\"{name}\"").as_bytes());
            found.extend(names.iter().filter(|(name, _)| quoted(name)).map(|(_, id)| (*id).clone()));
            for key in keys_of_lists(line) {
                let near = names.iter().filter(|(name, _)| differ_in_one(name.as_bytes(), key)).map(|(_, id)| *id);
                let before = found.len();
                found.extend(near.cloned());
                if found.len() == before {
                    return self.known.clone();
                }
            }
        }
        if found.is_empty() { self.known.clone() } else { distinct(found) }
    }
}

fn contains(line: &[u8], part: &[u8]) -> bool {
    line.windows(part.len().max(1)).any(|window| window == part)
}

/// Whether two texts are the same but for one byte at most.
fn differ_in_one(one: &[u8], other: &[u8]) -> bool {
    one.len() == other.len() && one.iter().zip(other).filter(|(one, other)| one != other).count() <= 1
}

/// What stands in front of each list, in a line that may be spoiled: keys under `on` are cylinders.
fn keys_of_lists(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    let starts = line.windows(2).enumerate().filter(|(_, pair)| *pair == b":[").map(|(at, _)| at);
    starts.filter_map(|at| {
        let key = line.get(..at)?.rsplit(|byte| matches!(byte, b'{' | b',')).next()?;
        let key = key.strip_prefix(b"\"").unwrap_or(key);
        let key = key.strip_suffix(b"\"").unwrap_or(key);
        let of_ours = LISTS.iter().any(|name| differ_in_one(name.as_bytes(), key));
        (!of_ours).then_some(key)
    })
}

/// The cylinders of the line that stands so many lines before the one right before this.
fn of_line(written: &Recorded, back: usize) -> Vec<Id> {
    let bit = 1_u16.checked_shl(u32::try_from(back).unwrap_or(u32::MAX)).unwrap_or(0);
    written.past.iter().filter(|(_, lines)| lines & bit != 0).map(|(id, _)| Id::from(id.as_str())).collect()
}

fn distinct(mut ids: Vec<Id>) -> Vec<Id> {
    let mut seen = HashSet::new();
    ids.retain(|id| seen.insert(id.clone()));
    ids
}
