//! All files of a ledger as one: the union of their entries, and for each entry that is missing, changed or there in two
//! versions the cylinders that it may have spoken of.
//!
//! What one copy lacks another may have: only what no copy has is damage. Nothing here depends on the order of the files.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet, HashSet};

use super::file::WriterFile;
use super::line::{LOOKS_BACK, Recorded};
use super::tail::spoken_of;
use crate::cylinder::Id;
use crate::ledger::{Damage, EntryId, Ledger};

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

/// Lines that can't be believed, by the number of the entry that belongs in their place, each with what is wrong with it.
type SpoiledLines = BTreeMap<u64, Vec<(Vec<u8>, String)>>;

/// The ledger in these files. `known` are the cylinders of the yard, so that their names are found in a line that can't be
/// read otherwise.
pub fn read_ledger(files: Vec<WriterFile>, known: &[Id]) -> LedgerRead {
    let mut notes = BTreeSet::new();
    let mut all: Vec<Recorded> = Vec::new();
    let mut spoiled: BTreeMap<String, SpoiledLines> = BTreeMap::new();
    for file in files {
        let WriterFile { name, head, entries, spoiled: lines, torn, notes: strange, .. } = file;
        notes.extend(strange.into_iter().map(|note| format!("{name}: {note}")));
        if torn {
            notes.insert(format!("{name}: its last line has no end: it is on its way still, or a crash tore it"));
        }
        let tag = head.map(|head| head.tag).or_else(|| entries.first().map(|first| first.entry.id.tag.to_string()));
        let tag = tag.unwrap_or_else(|| name.clone());
        for line in lines {
            let why = format!("{name}, line {}: {}", line.line, line.why);
            let of_tag = spoiled.entry(line.tag.unwrap_or_else(|| tag.clone())).or_default();
            of_tag.entry(line.number).or_default().push((line.bytes, why));
        }
        if all.is_empty() { all = entries } else { all.extend(entries) }
    }
    let place = |one: &Recorded| (one.entry.id.number, one.sum);
    all.sort_by(|one, two| one.entry.id.tag.cmp(&two.entry.id.tag).then_with(|| place(one).cmp(&place(two))));
    all.dedup_by(|one, two| place(one) == place(two) && one.entry.id.tag == two.entry.id.tag);
    let mut found =
        Found { given: known, all: &all, known: OnceCell::new(), out: Vec::new(), damage: Vec::new(), notes };
    let mut first = 0;
    for of_tag in all.chunk_by(|one, two| one.entry.id.tag == two.entry.id.tag) {
        let Some(tag) = of_tag.first().map(|one| &*one.entry.id.tag) else { continue };
        found.tag(tag, of_tag, first, &spoiled.remove(tag).unwrap_or_default());
        first += of_tag.len();
    }
    for (tag, lines) in spoiled {
        found.tag(&tag, &[], first, &lines);
    }
    let Found { out, damage, notes, .. } = found;
    let mut out = out.into_iter().peekable();
    let kept = all.into_iter().enumerate().filter(|(at, _)| out.next_if_eq(at).is_none());
    let entries = kept.map(|(_, one)| one.entry).collect();
    LedgerRead { ledger: Ledger::new(entries, damage), notes: notes.into_iter().collect() }
}

struct Found<'a> {
    given: &'a [Id],
    all: &'a [Recorded],
    known: OnceCell<Vec<Id>>,
    /// Versions of entries that aren't taken, by their place among all, rising.
    out: Vec<usize>,
    damage: Vec<Damage>,
    notes: BTreeSet<String>,
}

/// The entries of one tag: by number, and those of one number by their sums.
#[derive(Clone, Copy)]
struct OfTag<'a> {
    tag: &'a str,
    entries: &'a [Recorded],
}

impl OfTag<'_> {
    fn id(&self, number: u64) -> EntryId {
        EntryId { tag: self.tag.into(), number }
    }

    /// The cylinders of an entry by what a line that follows says of the lines before it.
    fn by_later(&self, number: u64) -> Option<Vec<Id>> {
        let at = self.entries.partition_point(|one| one.entry.id.number <= number);
        let later = self.entries.get(at)?;
        let back = later.entry.id.number.checked_sub(number)?.checked_sub(1)?;
        (back < LOOKS_BACK as u64).then(|| distinct(later.spoke_of(back as u32)))
    }
}

impl Found<'_> {
    /// Every cylinder of the yard, and that an entry speaks of.
    fn known(&self) -> &[Id] {
        self.known.get_or_init(|| {
            let mut named: HashSet<&str> = self.given.iter().map(Id::as_str).collect();
            let spoken = self.all.iter().flat_map(|one| spoken_of(&one.entry));
            let new: Vec<Id> = spoken.filter(|id| named.insert(id.as_str())).cloned().collect();
            self.given.iter().cloned().chain(new).collect()
        })
    }

    /// Goes through the numbers of one tag, whose entries begin at this place among all.
    fn tag(&mut self, tag: &str, entries: &[Recorded], first: usize, spoiled: &SpoiledLines) {
        let of_tag = OfTag { tag, entries };
        let mut numbers: Vec<u64> =
            entries.iter().map(|one| one.entry.id.number).chain(spoiled.keys().copied()).collect();
        numbers.sort_unstable();
        numbers.dedup();
        let (mut before, mut at) = (0, 0);
        let is = |at: usize, number: u64| entries.get(at).is_some_and(|one| one.entry.id.number == number);
        for number in numbers {
            self.missing(of_tag, before, number);
            before = number;
            let from = at;
            while is(at, number) {
                at += 1;
            }
            let mut end = at;
            while number.checked_add(1).is_some_and(|next| is(end, next)) {
                end += 1;
            }
            let lines = spoiled.get(&number).map_or(&[][..], Vec::as_slice);
            let (versions, follows) = (&entries[from..at], &entries[at..end]);
            if let Some(best) = self.number(of_tag.id(number), versions, follows, lines, of_tag) {
                self.out.extend((from..at).filter(|one| *one != from + best).map(|one| first + one));
            }
        }
    }

    /// What is to be said of one number; which of its versions is taken. Of several it is the one that the next line names,
    /// or else that of the least sum: whatever order they came in.
    fn number(
        &mut self,
        id: EntryId,
        versions: &[Recorded],
        follows: &[Recorded],
        lines: &[(Vec<u8>, String)],
        of_tag: OfTag,
    ) -> Option<usize> {
        let named = |one: &Recorded| follows.iter().any(|next| next.after == one.sum);
        let why = match versions {
            [] => {
                let cylinders = of_tag.by_later(id.number).unwrap_or_else(|| self.by_bytes(lines));
                let why: Vec<&str> = lines.iter().map(|(_, why)| why.as_str()).collect();
                self.damage.push(Damage { entry: Some(id), cylinders, why: why.join("; ") });
                return None;
            }
            [one] if follows.is_empty() || named(one) => None,
            [_] => Some(format!("{} was written behind another {id}", of_tag.id(id.number.saturating_add(1)))),
            _ => Some(format!("two entries are named {id}, and they differ")),
        };
        for (_, why) in lines {
            self.notes.insert(format!("{why}; the entry that belongs here, {id}, is there"));
        }
        if let Some(why) = why {
            let said = versions.iter().flat_map(|one| spoken_of(&one.entry)).cloned();
            let cylinders = distinct(said.chain(follows.iter().flat_map(|next| next.spoke_of(0))).collect());
            self.damage.push(Damage { entry: Some(id), cylinders, why });
        }
        Some(versions.iter().position(named).unwrap_or(0))
    }

    /// Entries between two numbers that aren't there at all.
    fn missing(&mut self, of_tag: OfTag, before: u64, number: u64) {
        let first = before.saturating_add(1);
        let last = number.saturating_sub(2 * LOOKS_BACK as u64).max(first);
        let named = (first..last.min(first.saturating_add(MOST_NAMED))).chain(last..number);
        for missing in named {
            let gap = missing + 1 == first.saturating_add(MOST_NAMED) && missing + 1 < last;
            let id = of_tag.id(missing);
            let (cylinders, why) = match of_tag.by_later(missing) {
                Some(cylinders) => (cylinders, format!("{id} isn't there; {} came behind it", of_tag.id(number))),
                None if gap => (self.known().to_vec(), format!("{id} to {} aren't there", of_tag.id(last - 1))),
                None => (self.known().to_vec(), format!("{id} isn't there, and nothing says what it spoke of")),
            };
            self.damage.push(Damage { entry: Some(id), cylinders, why });
        }
    }

    /// The cylinders that these lines name, as far as they can be read at all; every one where that isn't sure. Whatever
    /// has changed a line may have made one name of another: one that differs in a single byte counts as well.
    fn by_bytes(&self, lines: &[(Vec<u8>, String)]) -> Vec<Id> {
        let bare = |id: &Id| serde_json::to_string(id.as_str()).unwrap_or_default().trim_matches('"').to_owned();
        let names: Vec<(String, &Id)> = self.known().iter().map(|id| (bare(id), id)).collect();
        let mut found: Vec<Id> = Vec::new();
        for (line, _) in lines {
            let quoted = |name: &str| contains(line, format!("\"{name}\"").as_bytes());
            found.extend(names.iter().filter(|(name, _)| quoted(name)).map(|(_, id)| (*id).clone()));
            for key in keys_of_lists(line) {
                let near = names.iter().filter(|(name, _)| differ_in_one(name.as_bytes(), key)).map(|(_, id)| *id);
                let before = found.len();
                found.extend(near.cloned());
                if found.len() == before {
                    return self.known().to_vec();
                }
            }
        }
        if found.is_empty() { self.known().to_vec() } else { distinct(found) }
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

fn distinct(mut ids: Vec<Id>) -> Vec<Id> {
    let mut seen = HashSet::new();
    ids.retain(|id| seen.insert(id.clone()));
    ids
}
