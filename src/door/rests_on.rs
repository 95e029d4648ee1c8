//! Which cylinders an answer rests on: the audit figures those again.

use crate::cylinder::{Cylinder, Id};
use crate::job::{Work, named_alike};
use crate::ledger::{Entry, Jobs, Ledger, bind_of};
use rustc_hash::FxHashSet;

/// The cylinders that an answer rests on.
#[derive(Debug, Clone, Copy)]
pub(super) enum RestsOn {
    /// Every cylinder of the yard: a plan may take any.
    Yard,
    /// Those alone that jobs of these names ever had.
    Jobs,
}

impl RestsOn {
    /// The cylinders, in the order of the yard. `jobs` are those of the ledger.
    pub fn cylinders(self, work: &Work, ledger: &Ledger, jobs: &Jobs) -> Vec<Cylinder> {
        match self {
            Self::Yard => work.yard().to_vec(),
            Self::Jobs => {
                let named = |name: &&str| work.jobs().iter().any(|job| named_alike(&job.name, name));
                let ours: FxHashSet<&str> = jobs.all.iter().map(|job| job.id.name.as_str()).filter(named).collect();
                let is_theirs = |entry: &&Entry| {
                    let jobs = bind_of(entry).into_iter().flat_map(|bind| &bind.jobs).map(|job| job.name.as_str());
                    entry.job.iter().map(|job| job.name.as_str()).chain(jobs).any(|name| ours.contains(name))
                };
                let theirs = ledger.entries.iter().filter(is_theirs).flat_map(|entry| &entry.on);
                let theirs: FxHashSet<&Id> = theirs.map(|(id, _)| id).collect();
                work.yard().iter().filter(|cylinder| theirs.contains(&cylinder.id)).cloned().collect()
            }
        }
    }
}
