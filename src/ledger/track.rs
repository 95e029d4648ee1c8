//! One cylinder as jobs that are planned together see it: how it stood before their first reading, and what was read since.

use super::Moment;
use super::chain::Chain;
use super::entry::{Entry, EntryId, FactKind, JobId, Reading, What};
use super::inside::Inside;
use super::now::Ledger;
use super::state::CylinderState;
use crate::cylinder::Id;
use crate::quantity::Weight;
use rustc_hash::FxHashSet;

/// Something that was weighed.
#[derive(Debug, Clone)]
pub enum Weighing<'a> {
    /// A reading of these jobs.
    Ours(&'a Entry, &'a Reading),
    /// Somebody else's reading, or a fact: what it gained or lost by it came from none of our systems.
    Others {
        /// What it weighed.
        gross: Weight,
        /// When.
        at: Moment,
    },
}

/// A cylinder that these jobs have read.
#[derive(Debug, Clone)]
pub struct Track<'a> {
    /// The cylinder.
    pub cylinder: &'a Id,
    /// How it stood before the first reading.
    pub start: Inside,
    /// What was weighed from the first reading on, in the order of the chain, without what was taken back.
    pub weighings: Vec<Weighing<'a>>,
    /// The reading of these jobs that can be taken back: the last thing that happened in it.
    pub last: Option<&'a Entry>,
}

impl Ledger {
    /// Every cylinder that these jobs have read, in the order of the first of its entries. `state` says how a cylinder's row
    /// stands where no entry says how its chain began.
    pub fn tracks(&self, jobs: &[JobId], state: &dyn Fn(&Id) -> Option<CylinderState>) -> Vec<Track<'_>> {
        let ours = |entry: &Entry| {
            matches!(entry.what, What::Reading(_)) && entry.job.as_ref().is_some_and(|job| jobs.contains(job))
        };
        let mut seen: FxHashSet<&Id> = FxHashSet::default();
        let mut ids: Vec<&Id> = Vec::new();
        for entry in self.entries.iter().filter(|entry| ours(entry)) {
            ids.extend(entry.on.iter().map(|(id, _)| id).filter(|id| seen.insert(id)));
        }
        let mut chains = self.by_cylinder();
        let track = |id: &'_ Id| {
            let (id, entries) = chains.remove_entry(id)?;
            track(id, Chain::of(id, entries, state(id).as_ref()), &ours)
        };
        ids.into_iter().filter_map(track).collect()
    }
}

fn track<'a>(cylinder: &'a Id, chain: Chain<'a>, ours: &dyn Fn(&Entry) -> bool) -> Option<Track<'a>> {
    let undone: FxHashSet<&EntryId> = chain
        .entries
        .iter()
        .filter_map(|entry| match &entry.what {
            What::Undo { of } => Some(of),
            _ => None,
        })
        .collect();
    let counts = |entry: &Entry| ours(entry) && !undone.contains(&entry.id);
    let first = (0..chain.entries.len()).find(|at| counts(chain.entries[*at]))?;
    let start = chain.before_reading(first)?;
    let mut weighings = Vec::new();
    for entry in &chain.entries[first..] {
        match &entry.what {
            What::Reading(_) if undone.contains(&entry.id) => {}
            What::Reading(reading) if ours(entry) => weighings.push(Weighing::Ours(entry, reading)),
            What::Reading(reading) => weighings.push(Weighing::Others { gross: reading.gross, at: entry.at }),
            What::Cylinder(fact) => match &fact.what {
                FactKind::Weighed { gross, .. } | FactKind::Emptied { gross, .. } => {
                    weighings.push(Weighing::Others { gross: *gross, at: entry.at });
                }
                FactKind::AsFile { .. } => {
                    let gross = entry.row(cylinder).map(|row| row.state.gross);
                    weighings.extend(gross.map(|gross| Weighing::Others { gross, at: entry.at }));
                }
                FactKind::Out { .. }
                | FactKind::Back { .. }
                | FactKind::Added { .. }
                | FactKind::ToVan { .. }
                | FactKind::GivenUp { .. } => {}
            },
            What::Bind(_)
            | What::Release { .. }
            | What::Undo { .. }
            | What::Settling { .. }
            | What::Settled { .. }
            | What::Closed(_) => {}
        }
    }
    let by = chain.standing.one_inside().and_then(|inside| inside.by);
    let last = by.and_then(|by| chain.entries.iter().copied().find(|entry| entry.id == by)).filter(|entry| ours(entry));
    Some(Track { cylinder, start, weighings, last })
}
