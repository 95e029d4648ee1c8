//! The chain of one cylinder: its entries in the order in which they continue from each other, and what they come to.
//!
//! What is in a cylinder, who has it and whether it is out are three registers. Each is set by the last entry that
//! touches it, by the order of the chain and never of a clock. Where two entries that don't know of each other set the
//! same register differently, both stand as candidates, until an entry that continues from both sets it anew.

use std::collections::{BTreeSet, HashMap};
use std::rc::Rc;

use super::entry::{Entry, EntryId, FactKind, What};
use super::inside::Inside;
use super::state::CylinderState;
use crate::cylinder::Id;

/// Who has a cylinder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Binding {
    /// The plan that binds it.
    pub bind: EntryId,
    /// Something of that plan's jobs has gone into it.
    pub begun: bool,
    /// The van that it goes on, where that was said of it alone.
    pub van: Option<String>,
}

/// What the row of the yard file is known to have said.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Written {
    /// The states that are known: as it was, and as it was to be.
    pub known: Vec<Rc<CylinderState>>,
    /// The last state that was written, where it is known that it was.
    pub settled: Option<Rc<CylinderState>>,
}

/// A register: what was set, by whom. One candidate, unless entries contradict each other.
type Register<T> = Vec<(Setter, Rc<T>)>;

/// The entry that set a register, by its position in the chain; `None` where the row did.
type Setter = Option<usize>;

/// What a chain comes to.
#[derive(Debug, Clone, Default)]
pub struct Standing {
    /// What is in it.
    pub inside: Register<Inside>,
    /// Who has it.
    pub bound: Register<Option<Binding>>,
    /// Why it is out.
    pub out: Register<Option<String>>,
    /// What its row is known to have said.
    pub written: Written,
    /// Entries that something continues from and that aren't there, or can't be believed.
    pub suspects: BTreeSet<EntryId>,
}

/// The chain of one cylinder.
pub struct Chain<'a> {
    /// Its entries, each behind those that it continues from.
    pub entries: Vec<&'a Entry>,
    parents: Vec<Vec<usize>>,
    /// Entries that nothing continues from, by their positions.
    pub heads: Vec<usize>,
    /// What all of it comes to.
    pub standing: Standing,
}

impl<'a> Chain<'a> {
    /// The chain of a cylinder from all entries that speak of it, in any order. `begins` is its state where no entry
    /// says how it began.
    pub fn of(cylinder: &Id, entries: Vec<&'a Entry>, begins: Option<&CylinderState>) -> Self {
        let (entries, parents, missing, lost) = in_order(cylinder, entries);
        let mut chain = Self { entries, parents, heads: Vec::new(), standing: Standing::default() };
        let mut after: Vec<Standing> = Vec::with_capacity(chain.entries.len());
        let mut before: HashMap<usize, Standing> = HashMap::new();
        for (at, missing) in missing.into_iter().enumerate() {
            let entry = chain.entries[at];
            let mut standing = match chain.parents[at].as_slice() {
                [] => Standing::default(),
                [one] => after[*one].clone(),
                several => chain.merged(several.iter().map(|parent| &after[*parent])),
            };
            standing.suspects.extend(missing);
            if standing.inside.is_empty() {
                match entry.row(cylinder).map(|row| &row.state).or(begins) {
                    Some(state) => standing.begin(state, !is_added(entry)),
                    None => standing.suspects.extend([entry.id.clone()]),
                }
            }
            if matches!(entry.what, What::Reading(_)) {
                before.insert(at, standing.clone());
            }
            chain.apply(&mut standing, cylinder, at, &before);
            after.push(standing);
        }
        let continued: BTreeSet<usize> = chain.parents.iter().flatten().copied().collect();
        chain.heads = (0..chain.entries.len()).filter(|at| !continued.contains(at)).collect();
        chain.standing = chain.merged(chain.heads.iter().map(|head| &after[*head]));
        chain.standing.suspects.extend(lost);
        chain
    }

    /// Whether one entry stands before another in the chain.
    pub fn is_before(&self, early: usize, late: usize) -> bool {
        let (mut seen, mut open) = (BTreeSet::new(), vec![late]);
        while let Some(at) = open.pop() {
            for parent in &self.parents[at] {
                if *parent == early {
                    return true;
                }
                if *parent > early && seen.insert(*parent) {
                    open.push(*parent);
                }
            }
        }
        false
    }

    /// Several standings as one: of each register what nothing later has set anew.
    fn merged<'s>(&self, all: impl Iterator<Item = &'s Standing>) -> Standing {
        let mut merged = Standing::default();
        for one in all {
            merged.inside.extend(one.inside.iter().cloned());
            merged.bound.extend(one.bound.iter().cloned());
            merged.out.extend(one.out.iter().cloned());
            merged.written.join(&one.written);
            merged.suspects.extend(one.suspects.iter().cloned());
        }
        self.thin(&mut merged.inside);
        self.thin(&mut merged.bound);
        self.thin(&mut merged.out);
        merged
    }

    fn thin<T: PartialEq>(&self, register: &mut Register<T>) {
        let all = std::mem::take(register);
        for (index, (setter, value)) in all.iter().enumerate() {
            let overtaken = |other: &Setter| match (setter, other) {
                (None, Some(_)) => true,
                (Some(early), Some(late)) => self.is_before(*early, *late),
                (_, None) => false,
            };
            let again = all[..index].iter().any(|(known, same)| known == setter || same == value);
            if !again && !all.iter().any(|(other, _)| overtaken(other)) {
                register.push((*setter, Rc::clone(value)));
            }
        }
    }

    fn apply(&self, standing: &mut Standing, cylinder: &Id, at: usize, before: &HashMap<usize, Standing>) {
        let entry = self.entries[at];
        match &entry.what {
            What::Bind(bind) => {
                let ours = |bound: &Binding| bind.follows.contains(&bound.bind);
                let begun = standing.bounds().any(|bound| ours(bound) && bound.begun);
                let binds = bind.cylinders.contains(cylinder);
                let bound = binds.then(|| Binding { bind: entry.id.clone(), begun, van: bind.van.clone() });
                standing.bound = vec![(Some(at), Rc::new(bound))];
            }
            What::Release { .. } | What::Closed(_) => standing.bound = vec![(Some(at), Rc::new(None))],
            What::Reading(reading) => {
                let Some(inside) = standing.one_inside() else { return };
                let gained = reading.parts.iter().any(|part| part.weight.is_positive());
                let was = standing.bounds().find(|bound| bound.bind == reading.bind).cloned();
                if gained || was.is_some() {
                    let begun = gained || was.as_ref().is_some_and(|bound| bound.begun);
                    let van = was.and_then(|bound| bound.van);
                    let bound = Binding { bind: reading.bind.clone(), begun, van };
                    standing.bound = vec![(Some(at), Rc::new(Some(bound)))];
                }
                standing.inside = vec![(Some(at), Rc::new(inside.read(reading, entry.at, &entry.id)))];
            }
            What::Undo { of } => {
                let last = standing.inside.iter().any(|(_, inside)| inside.by.as_ref() == Some(of));
                let undone = self.entries.iter().position(|earlier| earlier.id == *of);
                match undone.filter(|_| last).and_then(|undone| before.get(&undone)) {
                    Some(before) => {
                        let again = |inside: Inside| (Some(at), Rc::new(inside));
                        standing.inside = before.one_inside().map(again).into_iter().collect();
                        let bound = before.bound.first().map(|(_, bound)| Rc::clone(bound)).unwrap_or_default();
                        standing.bound = vec![(Some(at), bound)];
                    }
                    None => standing.suspects.extend([entry.id.clone()]),
                }
            }
            What::Cylinder(fact) => self.tell(standing, cylinder, at, &fact.what, fact.why.as_deref()),
            What::Settling { changes } => {
                let change = changes.iter().find(|change| change.cylinder == *cylinder);
                if let Some(change) = change {
                    let known = vec![Rc::new(change.before.clone()), Rc::new(change.after.clone())];
                    standing.written = Written { known, settled: None };
                }
            }
            What::Settled { .. } => standing.written.settled = standing.written.known.last().cloned(),
        }
    }

    fn tell(&self, standing: &mut Standing, cylinder: &Id, at: usize, fact: &FactKind, why: Option<&str>) {
        let entry = self.entries[at];
        match fact {
            FactKind::Out { .. } => {
                standing.out = vec![(Some(at), Rc::new(Some(why.unwrap_or_default().to_owned())))];
            }
            FactKind::Back { .. } => standing.out = vec![(Some(at), Rc::new(None))],
            FactKind::ToVan { van, .. } => {
                let bound = standing.bounds().next().cloned().map(|bound| Binding { van: Some(van.clone()), ..bound });
                standing.bound = vec![(Some(at), Rc::new(bound))];
            }
            FactKind::GivenUp { entry } => drop(standing.suspects.remove(entry)),
            FactKind::Added { .. } => {}
            FactKind::Weighed { .. } | FactKind::Emptied { .. } | FactKind::AsFile { .. } => {
                let Some(inside) = standing.one_inside() else { return };
                let row = entry.row(cylinder).map(|row| &row.state);
                let Some(told) = inside.told(fact, row, entry.at, &entry.id) else { return };
                if !matches!(fact, FactKind::Weighed { holds: None, .. }) {
                    standing.suspects.clear();
                }
                if let (FactKind::AsFile { .. }, Some(row)) = (fact, row) {
                    standing.written = Written { known: vec![Rc::new(row.clone())], settled: None };
                }
                standing.inside = vec![(Some(at), Rc::new(told))];
            }
        }
    }
}

impl Standing {
    fn begin(&mut self, state: &CylinderState, in_file: bool) {
        self.inside = vec![(None, Rc::new(Inside::of_row(state)))];
        self.bound = vec![(None, Rc::new(None))];
        self.out = vec![(None, Rc::new(None))];
        if in_file {
            self.written = Written { known: vec![Rc::new(state.clone())], settled: None };
        }
    }

    /// Everybody who has it.
    pub fn bounds(&self) -> impl Iterator<Item = &Binding> {
        self.bound.iter().filter_map(|(_, bound)| bound.as_ref().as_ref())
    }

    /// What is in it: where entries contradict each other the heavier weight, and whatever is in either.
    pub fn one_inside(&self) -> Option<Inside> {
        let mut all = self.inside.iter().map(|(_, inside)| inside.as_ref());
        let first = all.next()?.clone();
        Some(all.fold(first, |both, other| both.either(other)))
    }
}

impl Written {
    fn join(&mut self, other: &Self) {
        for state in &other.known {
            if !self.known.contains(state) {
                self.known.push(Rc::clone(state));
            }
        }
        // Written twice apart, nobody knows which came last.
        self.settled = match (self.settled.take(), &other.settled) {
            (None, settled) => settled.clone(),
            (Some(one), Some(two)) if one != *two => None,
            (one, _) => one,
        };
    }
}

fn is_added(entry: &Entry) -> bool {
    matches!(&entry.what, What::Cylinder(fact) if matches!(fact.what, FactKind::Added { .. }))
}

/// Entries in order, for each the positions of those that it continues from and the names of those that aren't there.
type Ordered<'a> = (Vec<&'a Entry>, Vec<Vec<usize>>, Vec<Vec<EntryId>>, Vec<EntryId>);

/// Each entry behind those that it continues from; of several that could come next, the one of the least name. What
/// goes round in a circle can't be put in order, and is returned by name.
fn in_order<'a>(cylinder: &Id, mut entries: Vec<&'a Entry>) -> Ordered<'a> {
    entries.sort_by(|one, other| one.id.cmp(&other.id));
    let position: HashMap<&EntryId, usize> = entries.iter().enumerate().map(|(at, entry)| (&entry.id, at)).collect();
    let mut waits = vec![0_usize; entries.len()];
    let mut next: Vec<Vec<usize>> = vec![Vec::new(); entries.len()];
    for (at, entry) in entries.iter().enumerate() {
        for parent in entry.continues(cylinder).unwrap_or_default() {
            if let Some(parent) = position.get(parent) {
                waits[at] += 1;
                next[*parent].push(at);
            }
        }
    }
    let mut ready: BTreeSet<usize> = (0..entries.len()).filter(|at| waits[*at] == 0).collect();
    let mut order = Vec::with_capacity(entries.len());
    while let Some(at) = ready.pop_first() {
        order.push(at);
        for later in &next[at] {
            waits[*later] -= 1;
            if waits[*later] == 0 {
                ready.insert(*later);
            }
        }
    }
    let place: HashMap<usize, usize> = order.iter().enumerate().map(|(new, old)| (*old, new)).collect();
    let lost = (0..entries.len()).filter(|at| !place.contains_key(at)).map(|at| entries[at].id.clone()).collect();
    let (mut parents, mut missing) = (Vec::new(), Vec::new());
    for at in &order {
        let (mut there, mut gone) = (Vec::new(), Vec::new());
        for parent in entries[*at].continues(cylinder).unwrap_or_default() {
            match position.get(parent).and_then(|old| place.get(old)) {
                Some(parent) => there.push(*parent),
                None => gone.push(parent.clone()),
            }
        }
        parents.push(there);
        missing.push(gone);
    }
    (order.into_iter().map(|at| entries[at]).collect(), parents, missing, lost)
}
