//! The jobs of a ledger: which plan is in force for each, whether it is begun, released, over.

use jiff::civil::Date;
use rustc_hash::{FxHashMap, FxHashSet};

use super::chain::Held;
use super::entry::{Bind, Closed, Entry, EntryId, JobId, What};
use super::now::Ledger;
use crate::cylinder::Id;

/// A job by the ledger.
#[derive(Debug, Clone)]
pub struct JobNow<'a> {
    /// Which.
    pub id: JobId,
    /// The binds that are in force: one, unless two were made apart.
    pub binds: Vec<&'a Entry>,
    /// A reading of it counts.
    pub begun: bool,
    /// What its close-outs said, the latest last.
    pub closed: Vec<&'a Entry>,
}

impl<'a> JobNow<'a> {
    /// Whether it is over.
    pub fn is_closed(&self) -> bool {
        !self.closed.is_empty()
    }

    /// What the last close-out was told.
    pub fn told(&self) -> Option<&'a Closed> {
        self.closed.iter().rev().find_map(|entry| match &entry.what {
            What::Closed(closed) => Some(closed),
            _ => None,
        })
    }

    /// Whether somebody follows its plan on this day.
    pub fn is_open(&self, today: Date) -> bool {
        let stands = |entry: &&Entry| bind_of(entry).is_some_and(|bind| bind.day >= today);
        !self.is_closed() && (self.begun || self.binds.iter().any(stands)) && !self.binds.is_empty()
    }
}

/// The bind that an entry is.
pub fn bind_of(entry: &Entry) -> Option<&Bind> {
    match &entry.what {
        What::Bind(bind) => Some(bind),
        _ => None,
    }
}

/// All jobs of a ledger.
#[derive(Debug, Clone)]
pub struct Jobs<'a> {
    /// The jobs, by name and first bind.
    pub all: Vec<JobNow<'a>>,
    /// Of each plan in force the jobs that it is for.
    in_force: FxHashMap<&'a EntryId, Vec<usize>>,
    /// Of each cylinder the plans in force that fill it.
    fills: FxHashMap<&'a Id, Vec<&'a Entry>>,
}

/// Jobs as they are found: by the two parts of their name.
#[derive(Default)]
struct Found<'a> {
    all: Vec<JobNow<'a>>,
    place: FxHashMap<(&'a str, &'a EntryId), usize>,
}

impl<'a> Found<'a> {
    fn job(&mut self, name: &'a str, first: &'a EntryId) -> &mut JobNow<'a> {
        let next = self.all.len();
        let at = *self.place.entry((name, first)).or_insert(next);
        if at == next {
            let id = JobId { name: name.to_owned(), first: first.clone() };
            self.all.push(JobNow { id, binds: Vec::new(), begun: false, closed: Vec::new() });
        }
        &mut self.all[at]
    }
}

impl<'a> Jobs<'a> {
    /// The jobs of a ledger.
    pub fn of(ledger: &'a Ledger) -> Self {
        let undone = |entry: &'a Entry| match &entry.what {
            What::Undo { of } => Some(of),
            _ => None,
        };
        let undone: FxHashSet<&EntryId> = ledger.entries.iter().filter_map(undone).collect();
        let mut gone: FxHashSet<&EntryId> = FxHashSet::default();
        let mut found = Found::default();
        for entry in &ledger.entries {
            match &entry.what {
                What::Bind(bind) => {
                    gone.extend(&bind.follows);
                    for job in &bind.jobs {
                        let binds = &mut found.job(&job.name, &job.first).binds;
                        if binds.last().is_none_or(|last| last.id != entry.id) {
                            binds.push(entry);
                        }
                    }
                }
                What::Release { of } => drop(gone.insert(of)),
                What::Reading(_) => {
                    if let Some(id) = &entry.job {
                        found.job(&id.name, &id.first).begun |= !undone.contains(&entry.id);
                    }
                }
                What::Closed(_) => {
                    if let Some(id) = &entry.job {
                        found.job(&id.name, &id.first).closed.push(entry);
                    }
                }
                What::Undo { .. } | What::Cylinder(_) | What::Settling { .. } | What::Settled { .. } => {}
            }
        }
        let mut all = found.all;
        all.sort_by(|one, other| one.id.cmp(&other.id));
        let (mut in_force, mut fills): (FxHashMap<_, Vec<usize>>, FxHashMap<_, Vec<&Entry>>) = Default::default();
        for (at, job) in all.iter_mut().enumerate() {
            job.binds.retain(|bind| !gone.contains(&bind.id));
            job.closed.sort_by(|one, other| one.at.order(&other.at).then_with(|| one.id.cmp(&other.id)));
            for entry in &job.binds {
                let jobs = in_force.entry(&entry.id).or_default();
                if jobs.is_empty() {
                    let steps = bind_of(entry).into_iter().flat_map(|bind| &bind.steps);
                    steps.for_each(|step| fills.entry(&step.cylinder).or_default().push(entry));
                }
                jobs.push(at);
            }
        }
        Self { all, in_force, fills }
    }

    /// The open jobs whose file says this under `job`.
    pub fn open(&self, name: &str, today: Date) -> Vec<&JobNow<'a>> {
        self.all.iter().filter(|job| crate::job::named_alike(&job.id.name, name) && job.is_open(today)).collect()
    }

    /// A job.
    pub fn get(&self, id: &JobId) -> Option<&JobNow<'a>> {
        self.all.binary_search_by(|job| job.id.cmp(id)).ok().map(|at| &self.all[at])
    }

    /// Whether a plan still binds what it hasn't begun: it is in force, one of its jobs is begun or its day isn't over.
    pub(super) fn stands(&self, bind: &EntryId, today: Date) -> bool {
        let stands = |job: &JobNow| {
            let day = job
                .binds
                .iter()
                .filter(|entry| entry.id == *bind)
                .find_map(|entry| bind_of(entry))
                .map(|bind| bind.day);
            !job.is_closed() && (job.begun || day.is_some_and(|day| day >= today))
        };
        self.in_force.get(bind).is_some_and(|jobs| jobs.iter().any(|at| self.all.get(*at).is_some_and(stands)))
    }

    /// The plans in force that fill a cylinder which another job has begun.
    pub(super) fn losers(&self, id: &Id, winner: &Held, today: Date) -> Vec<EntryId> {
        let ours = |entry: &Entry| {
            entry.id == winner.bind
                || bind_of(entry).is_some_and(|bind| bind.jobs.iter().any(|job| winner.jobs.contains(&job.id())))
        };
        let fills = self.fills.get(id).into_iter().flatten();
        let mut all: Vec<EntryId> =
            fills.filter(|entry| !ours(entry) && self.stands(&entry.id, today)).map(|entry| entry.id.clone()).collect();
        all.sort();
        all.dedup();
        all
    }
}
