//! The jobs of a ledger: which plan is in force for each, whether it is begun, released, over.

use std::collections::{BTreeMap, HashSet};

use jiff::civil::Date;

use super::chain::Binding;
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
}

impl<'a> Jobs<'a> {
    /// The jobs of a ledger.
    pub fn of(ledger: &'a Ledger) -> Self {
        let undone: HashSet<&EntryId> = ledger
            .entries
            .iter()
            .filter_map(|entry| match &entry.what {
                What::Undo { of } => Some(of),
                _ => None,
            })
            .collect();
        let mut gone: HashSet<&EntryId> = HashSet::new();
        let mut jobs: BTreeMap<JobId, JobNow> = BTreeMap::new();
        let empty = |id: JobId| JobNow { id, binds: Vec::new(), begun: false, closed: Vec::new() };
        for entry in &ledger.entries {
            match &entry.what {
                What::Bind(bind) => {
                    gone.extend(&bind.follows);
                    for job in bind.jobs.iter().map(super::BoundJob::id) {
                        jobs.entry(job.clone()).or_insert_with(|| empty(job)).binds.push(entry);
                    }
                }
                What::Release { of } => drop(gone.insert(of)),
                What::Reading(_) | What::Closed(_) => {
                    let Some(id) = entry.job.clone() else { continue };
                    let job = jobs.entry(id.clone()).or_insert_with(|| empty(id));
                    if matches!(entry.what, What::Closed(_)) {
                        job.closed.push(entry);
                    } else {
                        job.begun |= !undone.contains(&entry.id);
                    }
                }
                What::Undo { .. } | What::Cylinder(_) | What::Settling { .. } | What::Settled { .. } => {}
            }
        }
        for job in jobs.values_mut() {
            job.binds.retain(|bind| !gone.contains(&bind.id));
            job.closed.sort_by(|one, other| one.at.order(&other.at).then_with(|| one.id.cmp(&other.id)));
        }
        Self { all: jobs.into_values().collect() }
    }

    /// The open jobs whose file says this under `job`.
    pub fn open(&self, name: &str, today: Date) -> Vec<&JobNow<'a>> {
        self.all.iter().filter(|job| crate::job::named_alike(&job.id.name, name) && job.is_open(today)).collect()
    }

    /// A job.
    pub fn get(&self, id: &JobId) -> Option<&JobNow<'a>> {
        self.all.iter().find(|job| job.id == *id)
    }

    /// Whether a plan still binds what it hasn't begun: it is in force, one of its jobs is begun or its day isn't over.
    pub(super) fn stands(&self, bind: &EntryId, today: Date) -> bool {
        self.all.iter().any(|job| {
            let ours = job.binds.iter().any(|entry| entry.id == *bind);
            ours && job.is_open(today)
        })
    }

    /// The plans in force that fill a cylinder which somebody else has begun.
    pub(super) fn losers(&self, id: &Id, winner: Option<&Binding>, today: Date) -> Vec<EntryId> {
        let Some(winner) = winner else { return Vec::new() };
        let mut all: Vec<EntryId> = Vec::new();
        for job in self.all.iter().filter(|job| job.is_open(today)) {
            for entry in &job.binds {
                let fills = bind_of(entry).is_some_and(|bind| bind.steps.iter().any(|step| step.cylinder == *id));
                if fills && entry.id != winner.bind && !all.contains(&entry.id) {
                    all.push(entry.id.clone());
                }
            }
        }
        all
    }
}
