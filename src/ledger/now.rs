//! The yard now: what the yard file's rows and all entries come to. Every command sees a yard through this.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use jiff::civil::Date;

use super::chain::{Binding, Chain};
use super::entry::{Entry, EntryId, FactKind, What};
use super::inside::Inside;
use super::jobs::Jobs;
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
    place: HashMap<Id, usize>,
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
    /// A ledger of these entries, each once.
    pub fn new(mut entries: Vec<Entry>, damage: Vec<Damage>) -> Self {
        entries.sort_by(|one, other| one.id.cmp(&other.id));
        entries.dedup_by(|one, other| one.id == other.id);
        Self { entries, damage }
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
    pub fn by_cylinder(&self) -> HashMap<&Id, Vec<&Entry>> {
        let mut all: HashMap<&Id, Vec<&Entry>> = HashMap::new();
        for entry in &self.entries {
            for (id, _) in &entry.on {
                all.entry(id).or_default().push(entry);
            }
        }
        all
    }

    /// The yard now, from the rows of its file and everything that happened.
    pub fn now(&self, rows: &[(Id, CylinderState)], today: Date) -> YardNow {
        let jobs = Jobs::of(self);
        let given_up = self.given_up();
        let damage: Vec<Damage> = self
            .damage
            .iter()
            .filter(|damage| damage.entry.as_ref().is_none_or(|entry| !given_up.contains(entry)))
            .cloned()
            .collect();
        let mut chains = self.by_cylinder();
        for id in self.damage.iter().flat_map(|damage| &damage.cylinders) {
            chains.entry(id).or_default();
        }
        let mut yard = YardNow { damage, ..YardNow::default() };
        for (id, state) in rows {
            if let Some(entries) = chains.remove(id) {
                let now = self.of(id, entries, Some(state), &yard.damage, &jobs, today);
                yard.push(now);
            }
        }
        let rest: BTreeMap<&str, (&Id, Vec<&Entry>)> =
            chains.into_iter().map(|(id, entries)| (id.as_str(), (id, entries))).collect();
        for (id, entries) in rest.into_values() {
            if !entries.is_empty() {
                let now = self.of(id, entries, None, &yard.damage, &jobs, today);
                yard.push(now);
            }
        }
        yard
    }

    fn given_up(&self) -> HashSet<&EntryId> {
        let given_up = |entry: &'_ Entry| match &entry.what {
            What::Cylinder(fact) => match &fact.what {
                FactKind::GivenUp { entry } => Some(entry.clone()),
                _ => None,
            },
            _ => None,
        };
        let all: HashSet<EntryId> = self.entries.iter().filter_map(given_up).collect();
        // A name of the damage itself, so that nothing is borrowed from the set.
        self.damage.iter().filter_map(|damage| damage.entry.as_ref()).filter(|entry| all.contains(*entry)).collect()
    }

    fn of(
        &self,
        id: &Id,
        entries: Vec<&Entry>,
        file: Option<&CylinderState>,
        damage: &[Damage],
        jobs: &Jobs,
        today: Date,
    ) -> CylinderNow {
        let row = entries.iter().rev().find_map(|entry| entry.row(id));
        let chain = Chain::of(id, entries.clone(), file);
        let standing = &chain.standing;
        let named = |damage: &&Damage| damage.cylinders.contains(id);
        let mut suspects: BTreeSet<EntryId> = standing.suspects.clone();
        let mut blind = false;
        for one in damage.iter().filter(named) {
            match &one.entry {
                Some(entry) if settles(&entries, id, entry) => {}
                Some(entry) => drop(suspects.insert(entry.clone())),
                None => blind = true,
            }
        }
        let stands: Vec<&Binding> =
            standing.bounds().filter(|bound| bound.begun || jobs.stands(&bound.bind, today)).collect();
        let begun: Vec<&&Binding> = stands.iter().filter(|bound| bound.begun).collect();
        let contested = stands.len() > 1 && begun.len() != 1;
        let bound = begun.first().copied().or(stands.first()).copied().cloned();
        let apart = standing.inside.len() > 1;
        let setters = |register: &[(Option<usize>, _)]| -> Vec<EntryId> {
            register.iter().filter_map(|(setter, _)| *setter).map(|at| chain.entries[at].id.clone()).collect()
        };
        let doubt = if !suspects.is_empty() || blind {
            Some(Doubt::Lost(suspects.iter().cloned().collect()))
        } else if apart {
            Some(Doubt::Apart(setters(&standing.inside)))
        } else if contested {
            Some(Doubt::Contested(stands.iter().map(|bound| bound.bind.clone()).collect()))
        } else {
            None
        };
        let inside = standing.one_inside().unwrap_or_else(|| Inside::of_row(file.unwrap_or(&NOTHING)));
        let known = |state: &CylinderState| standing.written.known.iter().any(|known| **known == *state);
        CylinderNow {
            id: id.clone(),
            lost_by: jobs.losers(id, bound.as_ref().filter(|bound| bound.begun), today),
            out: standing.out.iter().find_map(|(_, out)| out.as_ref().clone()),
            changed: file.filter(|state| !standing.written.known.is_empty() && !known(state)).cloned(),
            put_back: file.is_some_and(|state| standing.written.settled.as_ref().is_some_and(|last| **last != *state)),
            missing: file.is_none() && !standing.written.known.is_empty(),
            row: if file.is_none() { row.cloned() } else { None },
            heads: chain.heads.iter().map(|head| chain.entries[*head].id.clone()).collect(),
            suspects: suspects.into_iter().collect(),
            inside,
            bound,
            doubt,
        }
    }

    /// The entries of a cylinder that only this bind's branch ends with: what gives it back continues from these alone, so
    /// that it says nothing about somebody else's plan.
    pub fn heads_of(&self, id: &Id, bind: &EntryId) -> Vec<EntryId> {
        let entries = self.entries.iter().filter(|entry| entry.continues(id).is_some()).collect();
        let chain = Chain::of(id, entries, None);
        let at = chain.entries.iter().position(|entry| entry.id == *bind);
        let ours = |head: &usize| at.is_some_and(|at| at == *head || chain.is_before(at, *head));
        chain.heads.iter().copied().filter(ours).map(|head| chain.entries[head].id.clone()).collect()
    }
}

/// Whether an entry says anew what is in the cylinder, and knows of the damaged one.
fn settles(entries: &[&Entry], id: &Id, damaged: &EntryId) -> bool {
    entries.iter().any(|entry| {
        let fact = match &entry.what {
            What::Cylinder(fact) => &fact.what,
            _ => return false,
        };
        let says = match fact {
            FactKind::Weighed { holds, .. } => holds.is_some(),
            FactKind::Emptied { .. } | FactKind::AsFile { .. } | FactKind::GivenUp { .. } => true,
            _ => false,
        };
        says && entry.continues(id).is_some_and(|from| from.contains(damaged))
    })
}

impl YardNow {
    fn push(&mut self, now: CylinderNow) {
        self.place.insert(now.id.clone(), self.cylinders.len());
        self.cylinders.push(now);
    }
}

/// A cylinder of which nothing is known.
static NOTHING: CylinderState = CylinderState {
    gross: crate::quantity::Weight::ZERO,
    holds: String::new(),
    may_contain: Vec::new(),
    condition: crate::cylinder::Condition::Clean,
    owner: None,
    kept_for: None,
    cleaned: false,
};
