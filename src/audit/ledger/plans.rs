//! Which plans somebody still follows.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::ledger::{Bind, Entry, EntryId, JobId, What};

/// The plans of a ledger.
pub(super) struct Plans<'a> {
    binds: BTreeMap<&'a EntryId, &'a Bind>,
    /// Another plan stands in for them, or they were given back.
    gone: BTreeSet<&'a EntryId>,
    /// Jobs with a reading that nobody has undone.
    begun: BTreeSet<&'a JobId>,
    closed: BTreeSet<&'a JobId>,
}

impl<'a> Plans<'a> {
    pub fn of(entries: &'a [Entry]) -> Self {
        let mut plans =
            Self { binds: BTreeMap::new(), gone: BTreeSet::new(), begun: BTreeSet::new(), closed: BTreeSet::new() };
        let undone: BTreeSet<&EntryId> = entries.iter().filter_map(undoes).collect();
        for entry in entries {
            match &entry.what {
                What::Bind(bind) => {
                    plans.binds.insert(&entry.id, bind);
                    plans.gone.extend(&bind.follows);
                }
                What::Release { of } => drop(plans.gone.insert(of)),
                What::Reading(_) if !undone.contains(&entry.id) => plans.begun.extend(&entry.job),
                What::Closed(_) => plans.closed.extend(&entry.job),
                What::Reading(_)
                | What::Undo { .. }
                | What::Cylinder(_)
                | What::Settling { .. }
                | What::Settled { .. } => {}
            }
        }
        plans
    }

    /// The jobs that a plan is for.
    pub fn jobs(&self, bind: &EntryId) -> Vec<JobId> {
        let jobs = self.binds.get(bind).into_iter().flat_map(|bind| &bind.jobs);
        jobs.map(|job| JobId { name: job.name.clone(), first: job.first.clone() }).collect()
    }

    /// Whether somebody follows it on this day: it is the last of its job, which isn't over, and something is begun or
    /// its day isn't past.
    pub fn is_followed(&self, bind: &EntryId, today: Date) -> bool {
        let Some(plan) = self.binds.get(bind).filter(|_| !self.gone.contains(bind)) else { return false };
        let follows = |job: &JobId| !self.closed.contains(job) && (self.begun.contains(job) || plan.day >= today);
        self.jobs(bind).iter().any(follows)
    }
}

fn undoes(entry: &Entry) -> Option<&EntryId> {
    match &entry.what {
        What::Undo { of } => Some(of),
        _ => None,
    }
}
