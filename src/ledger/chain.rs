//! The chain of one cylinder: its entries in the order in which they continue from each other, and what they come to.
//!
//! What is in a cylinder, who has it, whether anything of theirs has gone in, whether it is out: each is a register. An
//! entry takes back what it knows of, by the order of the chain and never of a clock, and sets its own. Where two entries
//! that don't know of each other set the same register, both stand, until one that continues from both sets it anew.

use std::collections::BTreeSet;
use std::rc::Rc;

use super::entry::{Entry, EntryId, FactKind, JobId, Reading, What};
use super::inside::{Inside, nobody_knows};
use super::order::{Ordered, Places};
use super::register::{Register, Setter};
use super::state::CylinderState;
use crate::cylinder::Id;
use rustc_hash::FxHashMap;

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

/// A plan that has the cylinder, and the jobs that it has it for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// The plan.
    pub bind: EntryId,
    /// The van that the plan says.
    pub van: Option<String>,
    /// Its jobs.
    pub jobs: Vec<JobId>,
}

/// Something of a job has gone in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Begun {
    /// The plan that was followed.
    pub bind: EntryId,
    /// The job.
    pub job: Option<JobId>,
}

/// What a chain comes to.
#[derive(Debug, Clone, Default)]
pub(super) struct Standing {
    /// What is in it.
    pub inside: Register<Inside>,
    /// Who has it.
    pub held: Register<Held>,
    /// Whose something has gone in.
    pub begun: Register<Begun>,
    /// Why it is out.
    pub out: Register<String>,
    /// The van that it was put on by itself.
    pub van: Register<String>,
    /// Entries that something continues from and that aren't there, or can't be believed.
    pub suspects: Register<EntryId>,
    /// What its row of the yard file is known to have said, or to be about to say.
    pub rows: Register<CylinderState>,
    /// The state that was written last, where it is known that it was.
    pub settled: Register<CylinderState>,
}

/// The chain of one cylinder.
pub(super) struct Chain<'a> {
    /// Its entries, each behind those that it continues from.
    pub entries: Vec<&'a Entry>,
    /// Entries that nothing continues from, by their positions.
    pub heads: Vec<usize>,
    /// What all of it comes to.
    pub standing: Standing,
    /// What goes round in a circle.
    pub circle: Vec<EntryId>,
    parents: Vec<Vec<usize>>,
    places: Places<'a>,
    /// The different rows that it begins with, each with the entries that begin so.
    rows: Vec<(CylinderState, Vec<usize>)>,
    /// What it came to before each reading.
    before: FxHashMap<usize, Standing>,
}

impl<'a> Chain<'a> {
    /// The chain of a cylinder from all entries that speak of it, in any order. `begins` is its state where no entry
    /// says how it began.
    pub fn of(cylinder: &Id, entries: Vec<&'a Entry>, begins: Option<&CylinderState>) -> Self {
        let Ordered { entries, parents, missing, circle, places } = Ordered::new(cylinder, entries);
        let mut continued = vec![false; entries.len()];
        parents.iter().flatten().for_each(|parent| continued[*parent] = true);
        let heads = (0..entries.len()).filter(|at| !continued[*at]).collect();
        let standing = Standing::default();
        let (rows, before) = (Vec::new(), FxHashMap::default());
        let mut chain = Self { entries, parents, heads, standing, circle, places, rows, before };
        let mut after: Vec<Standing> = Vec::with_capacity(chain.entries.len());
        for (at, missing) in missing.into_iter().enumerate() {
            let mut standing = chain.meet(&chain.parents[at], &after);
            for suspect in missing {
                standing.suspects.add(Setter::Entry(at), suspect);
            }
            if standing.inside.is_empty() {
                chain.begin(&mut standing, cylinder, at, begins);
            }
            if matches!(chain.entries[at].what, What::Reading(_)) {
                chain.before.insert(at, standing.clone());
            }
            chain.apply(&mut standing, cylinder, at);
            after.push(standing);
        }
        chain.standing = chain.meet(&chain.heads, &after);
        chain
    }

    /// What was in it before the reading at this position.
    pub fn before_reading(&self, at: usize) -> Option<Inside> {
        self.before.get(&at).and_then(Standing::one_inside)
    }

    /// The position of an entry.
    pub fn place(&self, id: &EntryId) -> Option<usize> {
        self.places.get(id)
    }

    /// The name of the entry that set something.
    pub fn name(&self, setter: Setter) -> Option<&'a EntryId> {
        let at = match setter {
            Setter::Row(row) => *self.rows.get(row)?.1.first()?,
            Setter::Entry(at) => at,
        };
        self.entries.get(at).map(|entry| &entry.id)
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

    /// Whether an entry is, or continues from, the one that set something.
    fn knows(&self, entry: usize, setter: Setter) -> bool {
        let from = |early: usize| early == entry || self.is_before(early, entry);
        match setter {
            Setter::Entry(early) => from(early),
            Setter::Row(row) => self.rows.get(row).is_some_and(|(_, began)| began.iter().any(|early| from(*early))),
        }
    }

    /// What stands where these entries meet.
    fn meet(&self, branches: &[usize], after: &[Standing]) -> Standing {
        let [first, rest @ ..] = branches else { return Standing::default() };
        if rest.is_empty() {
            return after[*first].clone();
        }
        let knows = |branch: usize, setter: Setter| self.knows(branches[branch], setter);
        let all: Vec<&Standing> = branches.iter().map(|branch| &after[*branch]).collect();
        Standing {
            inside: Register::merged(&each(&all, |one| &one.inside), &knows),
            held: Register::merged(&each(&all, |one| &one.held), &knows),
            begun: Register::merged(&each(&all, |one| &one.begun), &knows),
            out: Register::merged(&each(&all, |one| &one.out), &knows),
            van: Register::merged(&each(&all, |one| &one.van), &knows),
            suspects: Register::merged(&each(&all, |one| &one.suspects), &knows),
            rows: Register::merged(&each(&all, |one| &one.rows), &knows),
            settled: Register::merged(&each(&all, |one| &one.settled), &knows),
        }
    }

    /// The first entry, or one that continues only from what isn't there.
    fn begin(&mut self, standing: &mut Standing, cylinder: &Id, at: usize, begins: Option<&CylinderState>) {
        let entry = self.entries[at];
        let state = entry.row(cylinder).map(|row| &row.state).or(begins);
        if state.is_none() {
            standing.suspects.add(Setter::Entry(at), entry.id.clone());
        }
        let in_file = state.filter(|_| !is_added(entry)).cloned();
        let unknown = nobody_knows();
        let state = state.unwrap_or(&unknown);
        let row = self.rows.iter().position(|(known, _)| known == state).unwrap_or(self.rows.len());
        match self.rows.get_mut(row) {
            Some((_, began)) => began.push(at),
            None => self.rows.push((state.clone(), vec![at])),
        }
        standing.inside.set(Setter::Row(row), Inside::of_row(state));
        if let Some(state) = in_file {
            standing.rows.set(Setter::Entry(at), state);
        }
    }

    fn apply(&self, standing: &mut Standing, cylinder: &Id, at: usize) {
        let entry = self.entries[at];
        match &entry.what {
            What::Bind(bind) if bind.cylinders.contains(cylinder) => {
                let jobs = bind.jobs.iter().map(super::BoundJob::id).collect();
                let held = Held { bind: entry.id.clone(), van: bind.van.clone(), jobs };
                standing.held.set(Setter::Entry(at), held);
                standing.van.clear();
            }
            What::Bind(bind) => standing.give_back(|held| bind.follows.contains(&held.bind)),
            What::Release { of } => standing.give_back(|held| held.bind == *of),
            What::Closed(_) => standing.close(entry.job.as_ref()),
            What::Reading(reading) => standing.read(entry, reading, at),
            What::Undo { of } => self.undo(standing, at, of),
            What::Cylinder(fact) => standing.tell(entry, cylinder, at, &fact.what, fact.why.as_deref()),
            What::Settling { changes } => {
                if let Some(change) = changes.iter().find(|change| change.cylinder == *cylinder) {
                    standing.rows.set(Setter::Entry(at), change.before.clone());
                    standing.rows.add(Setter::Entry(at), change.after.clone());
                    standing.settled.clear();
                }
            }
            What::Settled { of } => {
                let settling = self.place(of).map(|at| &self.entries[at].what);
                let Some(What::Settling { changes }) = settling else { return };
                if let Some(change) = changes.iter().find(|change| change.cylinder == *cylinder) {
                    standing.settled.set(Setter::Entry(at), change.after.clone());
                }
            }
        }
    }

    /// Only the last thing that was said of what is in it can be taken back, and only a reading.
    fn undo(&self, standing: &mut Standing, at: usize, of: &EntryId) {
        let reading = self.place(of).filter(|reading| standing.inside.is_of(Setter::Entry(*reading)));
        let Some((reading, before)) = reading.and_then(|reading| Some((reading, self.before.get(&reading)?))) else {
            standing.suspects.add(Setter::Entry(at), self.entries[at].id.clone());
            return;
        };
        let (undone, by) = (Setter::Entry(reading), Setter::Entry(at));
        let knows = |late: Setter, early: Setter| match late {
            Setter::Row(_) => false,
            Setter::Entry(late) => self.knows(late, early),
        };
        standing.inside.undo(undone, &before.inside, by, &|(late, _), (early, _)| knows(late, early));
        standing.held.undo(undone, &before.held, by, &|(late, _), (early, _)| knows(late, early));
        standing.begun.undo(undone, &before.begun, by, &|(_, late), (_, early)| late.job == early.job);
    }
}

impl Standing {
    /// What is in it: where entries contradict each other the heavier weight, and whatever is in either.
    pub fn one_inside(&self) -> Option<Inside> {
        let all = self.inside.distinct();
        let ((_, first), rest) = all.split_first()?;
        Some(rest.iter().fold(Inside::clone(first), |both, (_, other)| both.either(other)))
    }

    /// Whether something of a plan's jobs has gone into it.
    pub fn is_begun(&self, held: &Held) -> bool {
        let theirs =
            |begun: &Begun| begun.bind == held.bind || begun.job.as_ref().is_some_and(|job| held.jobs.contains(job));
        self.begun.values().any(theirs)
    }

    /// What isn't begun is given back; what is stays with whoever has it until their job is over.
    fn give_back(&mut self, of: impl Fn(&Held) -> bool) {
        let mut held = self.held.clone();
        held.retain(|held| !of(held) || self.is_begun(held));
        self.held = held;
    }

    /// A job is over: it has begun nothing any more, and what nobody else of its plan has begun is free.
    fn close(&mut self, job: Option<&JobId>) {
        self.begun.retain(|begun| job.is_some() && begun.job.as_ref() != job);
        self.give_back(|held| job.is_none_or(|job| held.jobs.contains(job)));
    }

    fn read(&mut self, entry: &Entry, reading: &Reading, at: usize) {
        let Some(inside) = self.one_inside() else { return };
        if reading.parts.iter().any(|part| part.weight.is_positive()) {
            let held = self.held.find(|held| held.bind == reading.bind).unwrap_or_else(|| {
                let jobs = entry.job.iter().cloned().collect();
                Rc::new(Held { bind: reading.bind.clone(), van: None, jobs })
            });
            self.held.set(Setter::Entry(at), held);
            let begun = self.begun.find(|begun| begun.bind == reading.bind && begun.job == entry.job);
            self.begun.retain(|other| other.job != entry.job);
            let begun = begun.unwrap_or_else(|| Rc::new(Begun { bind: reading.bind.clone(), job: entry.job.clone() }));
            self.begun.add(Setter::Entry(at), begun);
        }
        self.inside.set(Setter::Entry(at), inside.read(reading, entry.at, &entry.id));
    }

    fn tell(&mut self, entry: &Entry, cylinder: &Id, at: usize, fact: &FactKind, why: Option<&str>) {
        let setter = Setter::Entry(at);
        match fact {
            FactKind::Out { .. } => self.out.set(setter, why.unwrap_or_default().to_owned()),
            FactKind::Back { .. } => self.out.clear(),
            FactKind::ToVan { van, .. } => self.van.set(setter, van.clone()),
            FactKind::GivenUp { entry } => self.suspects.retain(|suspect| suspect != entry),
            FactKind::Added { .. } => {}
            FactKind::Weighed { .. } | FactKind::Emptied { .. } | FactKind::AsFile { .. } => {
                let row = entry.row(cylinder).map(|row| &row.state);
                let inside = self.one_inside();
                let Some(told) = inside.and_then(|inside| inside.told(fact, row, entry.at, &entry.id)) else {
                    self.suspects.add(setter, entry.id.clone());
                    return;
                };
                if !matches!(fact, FactKind::Weighed { holds: None, .. }) {
                    self.suspects.clear();
                }
                if let (FactKind::AsFile { .. }, Some(row)) = (fact, row) {
                    self.rows.set(setter, row.clone());
                    self.settled.clear();
                }
                self.inside.set(setter, told);
            }
        }
    }
}

fn each<'s, T>(all: &[&'s Standing], of: impl Fn(&'s Standing) -> &'s Register<T>) -> Vec<&'s Register<T>> {
    all.iter().map(|one| of(one)).collect()
}

fn is_added(entry: &Entry) -> bool {
    matches!(&entry.what, What::Cylinder(fact) if matches!(fact.what, FactKind::Added { .. }))
}
