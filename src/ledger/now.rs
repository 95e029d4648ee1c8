//! The yard now: what the yard file's rows and all entries come to. Every command sees a yard through this.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rustc_hash::{FxHashMap, FxHashSet};

use super::chain::{Binding, Chain, Held};
use super::entry::{Entry, EntryId, Fact, FactKind, What};
use super::inside::{Inside, nobody_knows};
use super::jobs::Jobs;
use super::side_by_side::side_by_side;
use super::state::{CylinderState, Row};
use crate::cylinder::Id;

/// A line of a ledger that can't be believed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// The entry, as far as it is known which one it was.
    pub entry: Option<EntryId>,
    /// The cylinders that it may have spoken of.
    pub cylinders: Vec<Id>,
    /// Where it stands and what is wrong, in a sentence.
    pub why: String,
}

/// All entries of a ledger, each once, and what of it can't be read.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    /// The entries, by name.
    pub entries: Vec<Entry>,
    /// What can't be read.
    pub damage: Vec<Damage>,
}

/// From so many entries on threads pay: some milliseconds of work.
const LONG: usize = 2_000;

/// Why nobody knows what is in a cylinder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Doubt {
    /// Entries continue from the same one and contradict each other.
    Apart(Vec<EntryId>),
    /// Several plans have it, and nothing has gone in.
    Contested(Vec<EntryId>),
    /// Entries that aren't there or can't be believed.
    Lost(Vec<EntryId>),
}

/// A cylinder of the yard now.
#[derive(Debug, Clone)]
pub struct CylinderNow {
    /// The cylinder.
    pub id: Id,
    /// What is in it; where nobody knows, the worst that it can be.
    pub inside: Inside,
    /// Who has it.
    pub bound: Option<Binding>,
    /// Plans that have it in their steps and lost it to somebody who has begun it.
    pub lost_by: Vec<EntryId>,
    /// Why it is out.
    pub out: Option<String>,
    /// Why nobody knows.
    pub doubt: Option<Doubt>,
    /// The row of the yard file was changed by hand: what it says.
    pub changed: Option<CylinderState>,
    /// The row stands as it was before the last settling was written.
    pub put_back: bool,
    /// The row that the ledger has, where the yard file has none.
    pub row: Option<Row>,
    /// It was in the yard file once.
    pub missing: bool,
    /// The entries that a next one continues from.
    pub heads: Vec<EntryId>,
    /// Entries that aren't there; a next one that says what is in it continues from them, too.
    pub suspects: Vec<EntryId>,
}

/// The yard now.
#[derive(Debug, Clone, Default)]
pub struct YardNow {
    /// The cylinders that the ledger speaks of, by their ids: those of the file in its order, then the others.
    pub cylinders: Vec<CylinderNow>,
    place: FxHashMap<Id, usize>,
    /// What of the ledger can't be read, and still counts against somebody.
    pub damage: Vec<Damage>,
}

impl YardNow {
    /// A cylinder, where the ledger speaks of it.
    pub fn get(&self, id: &Id) -> Option<&CylinderNow> {
        self.place.get(id).map(|at| &self.cylinders[*at])
    }
}

impl Ledger {
    /// A ledger of these entries, each once. Two that differ and have one name can't be told apart: neither is believed.
    pub fn new(mut entries: Vec<Entry>, mut damage: Vec<Damage>) -> Self {
        if entries.is_sorted_by(|one, other| one.id < other.id) {
            return Self { entries, damage };
        }
        entries.sort_by(|one, other| one.id.cmp(&other.id));
        let mut once: Vec<Entry> = Vec::with_capacity(entries.len());
        let mut doubles: BTreeMap<EntryId, BTreeMap<String, Id>> = BTreeMap::new();
        for entry in entries {
            match once.last() {
                Some(last) if last.id == entry.id => {
                    if *last != entry {
                        let spoken =
                            last.on.iter().chain(&entry.on).map(|(id, _)| (id.as_str().to_owned(), id.clone()));
                        doubles.entry(entry.id.clone()).or_default().extend(spoken);
                    }
                }
                _ => once.push(entry),
            }
        }
        once.retain(|entry| !doubles.contains_key(&entry.id));
        damage.extend(doubles.into_iter().map(|(id, cylinders)| Damage {
            why: format!("two entries are named {id}, and they differ"),
            entry: Some(id),
            cylinders: cylinders.into_values().collect(),
        }));
        Self { entries: once, damage }
    }

    /// Whether anything ever happened.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty() && self.damage.is_empty()
    }

    /// An entry by its name.
    pub fn entry(&self, id: &EntryId) -> Option<&Entry> {
        self.entries.binary_search_by(|entry| entry.id.cmp(id)).ok().map(|at| &self.entries[at])
    }

    /// The entries of each cylinder.
    pub fn by_cylinder(&self) -> FxHashMap<&Id, Vec<&Entry>> {
        let mut all: FxHashMap<&Id, Vec<&Entry>> = FxHashMap::default();
        for entry in &self.entries {
            for (id, _) in &entry.on {
                let entries = all.entry(id).or_default();
                if entries.last().is_none_or(|last| last.id != entry.id) {
                    entries.push(entry);
                }
            }
        }
        all
    }

    /// The yard now, from the rows of its file and everything that happened.
    pub fn now(&self, rows: &[(Id, CylinderState)], today: Date) -> YardNow {
        self.now_with(&Jobs::of(self), rows, today)
    }

    /// The same, where the jobs of this ledger are known.
    pub fn now_with(&self, jobs: &Jobs, rows: &[(Id, CylinderState)], today: Date) -> YardNow {
        let look = Look::new(self, jobs, today);
        let mut chains = self.by_cylinder();
        for id in self.damage.iter().flat_map(|damage| &damage.cylinders) {
            chains.entry(id).or_default();
        }
        let mut yard = YardNow { damage: look.damage.iter().copied().cloned().collect(), ..YardNow::default() };
        let mut all: Vec<(&Id, Vec<&Entry>, Option<&CylinderState>)> =
            rows.iter().filter_map(|(id, state)| Some((id, chains.remove(id)?, Some(state)))).collect();
        let mut rest: Vec<(&Id, Vec<&Entry>)> = chains.into_iter().filter(|(_, entries)| !entries.is_empty()).collect();
        rest.sort_by_key(|(id, _)| id.as_str());
        all.extend(rest.into_iter().map(|(id, entries)| (id, entries, None)));
        side_by_side(self.entries.len() > LONG, &all, |(id, entries, file)| look.at(id, entries.clone(), *file))
            .into_iter()
            .for_each(|now| yard.push(now));
        yard
    }

    /// Whether an entry of a cylinder's chain knows of an earlier one.
    pub fn knows(&self, id: &Id, entry: &EntryId, of: &EntryId) -> bool {
        let entries = self.entries.iter().filter(|entry| entry.continues(id).is_some()).collect();
        let chain = Chain::of(id, entries, None);
        chain.place(of).zip(chain.place(entry)).is_some_and(|(early, late)| chain.is_before(early, late))
    }

    /// The entries of a cylinder that only this bind's branch ends with: what gives it back continues from these alone, so
    /// that it says nothing about somebody else's plan.
    pub fn heads_of(&self, id: &Id, bind: &EntryId) -> Vec<EntryId> {
        let entries = self.entries.iter().filter(|entry| entry.continues(id).is_some()).collect();
        let chain = Chain::of(id, entries, None);
        let at = chain.place(bind);
        let ours = |head: &usize| at.is_some_and(|at| at == *head || chain.is_before(at, *head));
        chain.heads.iter().copied().filter(ours).map(|head| chain.entries[head].id.clone()).collect()
    }
}

/// What the chains are looked at with.
struct Look<'a> {
    jobs: &'a Jobs<'a>,
    /// Entries that nobody waits for any more.
    given_up: FxHashSet<&'a EntryId>,
    /// What can't be read and isn't given up.
    damage: Vec<&'a Damage>,
    today: Date,
}

impl<'a> Look<'a> {
    fn new(ledger: &'a Ledger, jobs: &'a Jobs<'a>, today: Date) -> Self {
        let given_up = |entry: &'a Entry| match &entry.what {
            What::Cylinder(Fact { what: FactKind::GivenUp { entry }, .. }) => Some(entry),
            _ => None,
        };
        let given_up: FxHashSet<&EntryId> = ledger.entries.iter().filter_map(given_up).collect();
        let counts = |damage: &&Damage| damage.entry.as_ref().is_none_or(|entry| !given_up.contains(entry));
        let damage = ledger.damage.iter().filter(counts).collect();
        Self { jobs, given_up, damage, today }
    }

    /// A cylinder now.
    fn at(&self, id: &Id, entries: Vec<&'a Entry>, file: Option<&CylinderState>) -> CylinderNow {
        let chain = Chain::of(id, entries, file);
        let standing = &chain.standing;
        let (suspects, blind) = self.suspects(id, &chain);
        let stands: Vec<(&Held, bool)> = standing
            .held
            .distinct()
            .into_iter()
            .map(|(_, held)| (held, standing.is_begun(held)))
            .filter(|(held, begun)| *begun || self.jobs.stands(&held.bind, self.today))
            .collect();
        // Begun comes before not begun, and of two that have begun it the one whose plan is in force; then the names decide.
        let first =
            |(held, begun): &&(&Held, bool)| (!*begun, !self.jobs.stands(&held.bind, self.today), held.bind.clone());
        let holder = stands.iter().min_by_key(first);
        let binds: BTreeSet<&EntryId> = stands.iter().map(|(held, _)| &held.bind).collect();
        let contested = binds.len() > 1 && holder.is_some_and(|(_, begun)| !begun);
        let inside = standing.inside.distinct();
        let doubt = if !suspects.is_empty() || blind {
            Some(Doubt::Lost(suspects.iter().cloned().collect()))
        } else if inside.len() > 1 {
            let mut apart: Vec<EntryId> = inside.iter().filter_map(|(by, _)| chain.name(*by)).cloned().collect();
            apart.sort();
            Some(Doubt::Apart(apart))
        } else if contested {
            Some(Doubt::Contested(binds.into_iter().cloned().collect()))
        } else {
            None
        };
        let van = standing.van.values().next();
        let bound = holder.map(|(held, begun)| Binding {
            bind: held.bind.clone(),
            begun: *begun,
            van: van.or(held.van.as_ref()).cloned(),
        });
        let is_known = |state: &CylinderState| standing.rows.values().any(|known| known == state);
        let in_file = !standing.rows.is_empty();
        let changed = file.filter(|state| in_file && !is_known(state)).cloned();
        // Written twice apart, nobody knows which came last.
        let settled = match standing.settled.distinct().as_slice() {
            [(_, one)] => Some(*one),
            _ => None,
        };
        CylinderNow {
            id: id.clone(),
            lost_by: holder
                .filter(|(_, begun)| *begun)
                .map(|(held, _)| self.jobs.losers(id, held, self.today))
                .unwrap_or_default(),
            out: standing.out.values().next().cloned(),
            put_back: changed.is_none() && file.is_some_and(|state| settled.is_some_and(|last| last != state)),
            changed,
            missing: file.is_none() && in_file,
            row: if file.is_none() {
                chain.entries.iter().rev().find_map(|entry| entry.row(id)).cloned()
            } else {
                None
            },
            heads: chain.heads.iter().map(|head| chain.entries[*head].id.clone()).collect(),
            suspects: suspects.into_iter().collect(),
            inside: standing
                .one_inside()
                .unwrap_or_else(|| Inside::of_row(&file.cloned().unwrap_or_else(nobody_knows))),
            bound,
            doubt,
        }
    }

    /// Entries of a cylinder that aren't there or can't be believed, and whether there is one without a name.
    fn suspects(&self, id: &Id, chain: &Chain) -> (BTreeSet<EntryId>, bool) {
        let standing = chain.standing.suspects.values().chain(&chain.circle);
        let mut suspects: BTreeSet<EntryId> =
            standing.filter(|entry| !self.given_up.contains(entry)).cloned().collect();
        let mut blind = false;
        for damage in self.damage.iter().filter(|damage| damage.cylinders.contains(id)) {
            match &damage.entry {
                Some(entry) if settles(&chain.entries, id, entry) => {}
                Some(entry) => drop(suspects.insert(entry.clone())),
                None => blind = true,
            }
        }
        (suspects, blind)
    }
}

/// Whether an entry says anew what is in the cylinder, and knows of the damaged one.
fn settles(entries: &[&Entry], id: &Id, damaged: &EntryId) -> bool {
    let says = |entry: &Entry| match &entry.what {
        What::Cylinder(fact) => matches!(
            fact.what,
            FactKind::Weighed { holds: Some(_), .. } | FactKind::Emptied { .. } | FactKind::AsFile { .. }
        ),
        _ => false,
    };
    entries.iter().any(|entry| says(entry) && entry.continues(id).is_some_and(|from| from.contains(damaged)))
}

impl YardNow {
    fn push(&mut self, now: CylinderNow) {
        self.place.insert(now.id.clone(), self.cylinders.len());
        self.cylinders.push(now);
    }
}
