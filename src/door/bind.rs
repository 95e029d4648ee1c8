//! Entries as a command writes them: a plan that binds, what gives it back, a reading, a fact, an end.

use jiff::civil::Date;

use super::round::{Opened, Round};
use super::store::Draft;
use crate::cylinder::{Cylinder, Id};
use crate::ledger::{
    Bind, BoundJob, Closed, CylinderNow, Entry, EntryId, Fact, FactKind, JobId, Jobs, Moment, Reading, What,
};
use crate::recovery::Planned;
use crate::text::row_of;

/// A plan to bind.
#[derive(Debug)]
pub struct ToBind<'a> {
    /// The plan.
    pub planned: &'a Planned,
    /// The day that it is for.
    pub day: Date,
    /// The van that its cylinders go on.
    pub van: Option<String>,
    /// The options that it was made with.
    pub options: Vec<String>,
    /// The round in whose place it stands, where there is one.
    pub round: Option<&'a Round>,
    /// Cylinders of these jobs that are begun: they stay bound.
    pub begun: Vec<Id>,
}

impl Opened {
    /// The entry that binds a plan of these jobs.
    pub fn bind(&self, to: &ToBind, id: &EntryId, at: Moment) -> Draft {
        let mut bind = Bind {
            jobs: self.bound_jobs(to.round, id),
            follows: self.followed(to.round),
            day: to.day,
            van: to.van.clone(),
            options: to.options.clone(),
            cylinders: to.begun.clone(),
            systems: Vec::new(),
            steps: Vec::new(),
            short: Vec::new(),
            dry: Vec::new(),
            more: Vec::new(),
        };
        to.planned.fill(&mut bind, self.loaded.work.division());
        for step in &bind.steps {
            if !bind.cylinders.contains(&step.cylinder) {
                bind.cylinders.push(step.cylinder.clone());
            }
        }
        let mut on: Vec<(Id, Vec<EntryId>)> = bind.cylinders.iter().map(|id| (id.clone(), self.heads(id))).collect();
        // What the plan before had and this one hasn't is given back, and nothing is said of other people's plans.
        for before in &bind.follows {
            let old = self.ledger().entry(before).and_then(crate::ledger::bind_of);
            for id in old.into_iter().flat_map(|old| &old.cylinders) {
                if on.iter().all(|(known, _)| known != id) {
                    let heads = self.ledger().heads_of(id, before);
                    if !heads.is_empty() {
                        on.push((id.clone(), heads));
                    }
                }
            }
        }
        let rows = bind.cylinders.iter().filter_map(|id| self.row(id)).collect();
        Draft { at, job: None, on, rows, what: What::Bind(bind) }
    }

    fn bound_jobs(&self, round: Option<&Round>, id: &EntryId) -> Vec<BoundJob> {
        let named = |job: &str| {
            let at = self.loaded.work.jobs().iter().position(|one| crate::job::named_alike(&one.name, job))?;
            Some((at, self.loaded.copies.get(at)?.clone()))
        };
        match round {
            // The others of the plan stay as they were.
            Some(round) => {
                let renew = |job: &BoundJob| BoundJob {
                    text: named(&job.name).map_or_else(|| job.text.clone(), |(_, copy)| copy),
                    ..job.clone()
                };
                round.bind.jobs.iter().map(renew).collect()
            }
            None => {
                let jobs = self.loaded.work.jobs().iter().zip(&self.loaded.copies).zip(&self.open);
                let bound = |((job, copy), open): ((&crate::job::Job, &String), &Option<JobId>)| BoundJob {
                    name: job.name.clone(),
                    first: open.as_ref().map_or_else(|| id.clone(), |open| open.first.clone()),
                    text: copy.clone(),
                };
                jobs.map(bound).collect()
            }
        }
    }

    /// The plans in force of these jobs.
    fn followed(&self, round: Option<&Round>) -> Vec<EntryId> {
        let jobs = Jobs::of(self.ledger());
        let mut all: Vec<EntryId> = Vec::new();
        let ours: Vec<&JobId> = match round {
            Some(round) => round.jobs.iter().collect(),
            None => self.open.iter().flatten().collect(),
        };
        for entry in ours.into_iter().filter_map(|id| jobs.get(id)).flat_map(|job| job.binds.iter()) {
            if !all.contains(&entry.id) {
                all.push(entry.id.clone());
            }
        }
        all
    }

    /// What an entry about a cylinder continues from.
    pub fn heads(&self, id: &Id) -> Vec<EntryId> {
        self.yard.now.get(id).map(|now| now.heads.clone()).unwrap_or_default()
    }

    /// The row of a cylinder as it stands now, for an entry that begins its chain or keeps its stamp.
    fn row(&self, id: &Id) -> Option<crate::ledger::Row> {
        let cylinder = self.loaded.work.yard().iter().find(|cylinder| cylinder.id == *id)?;
        let row = self.rows.iter().find(|row| row.id == *id);
        // Its stamp as the file has it; its state as the ledger.
        let stamp = row.unwrap_or(cylinder);
        Some(crate::ledger::Row { state: crate::text::state_of(cylinder), ..row_of(stamp, self.loaded.unit) })
    }

    /// The entry of a reading of a job.
    pub fn reading(&self, job: &JobId, reading: Reading, at: Moment) -> Draft {
        let id = reading.cylinder.clone();
        self.about(&id, Some(job), What::Reading(reading), at)
    }

    /// The entry that takes a reading back.
    pub fn undo(&self, reading: &Entry, cylinder: &Id, at: Moment) -> Draft {
        self.about(cylinder, reading.job.as_ref(), What::Undo { of: reading.id.clone() }, at)
    }

    fn about(&self, id: &Id, job: Option<&JobId>, what: What, at: Moment) -> Draft {
        let heads = self.heads(id);
        let rows = if heads.is_empty() { self.row(id).into_iter().collect() } else { Vec::new() };
        Draft { at, job: job.cloned(), on: vec![(id.clone(), heads)], rows, what }
    }

    /// The entry that gives back what a plan hasn't begun.
    pub fn release(&self, bind: &EntryId, job: &JobId, at: Moment) -> Draft {
        let old = self.ledger().entry(bind).and_then(crate::ledger::bind_of);
        let begun = |id: &Id| self.yard.now.get(id).and_then(|now| now.bound.as_ref()).is_some_and(|bound| bound.begun);
        let free = old.into_iter().flat_map(|old| &old.cylinders).filter(|id| !begun(id));
        let on = free.map(|id| (id.clone(), self.ledger().heads_of(id, bind))).filter(|(_, heads)| !heads.is_empty());
        Draft {
            at,
            job: Some(job.clone()),
            on: on.collect(),
            rows: Vec::new(),
            what: What::Release { of: bind.clone() },
        }
    }

    /// The entry that ends a job: its cylinders are free but for those that another job of its plan, which isn't over, fills.
    pub fn close(&self, round: &Round, job: &JobId, told: Closed, at: Moment) -> Draft {
        let on = self.done_with(round, job).map(|now| (now.id.clone(), now.heads.clone())).collect();
        Draft { at, job: Some(job.clone()), on, rows: Vec::new(), what: What::Closed(told) }
    }

    /// The entries that say once more of jobs which are over already that they are, for cylinders that they shared with the one
    /// that has ended now. Each is to be made when the one before it has been added.
    pub fn close_shared(&self, round: &Round, job: &JobId, at: Moment) -> Option<Draft> {
        let jobs = Jobs::of(self.ledger());
        let on: Vec<(Id, Vec<EntryId>)> =
            self.done_with(round, job).map(|now| (now.id.clone(), now.heads.clone())).collect();
        let said = |id: &&JobId| {
            let entries = jobs.get(id).map(|one| one.closed.as_slice()).unwrap_or_default();
            on.iter().all(|(cylinder, _)| entries.iter().any(|entry| entry.continues(cylinder).is_some()))
        };
        let id = round.jobs.iter().filter(|id| jobs.get(id).is_some_and(|one| one.is_closed())).find(|id| !said(id))?;
        let told = jobs.get(id).and_then(|one| one.told()).cloned().unwrap_or_default();
        Some(Draft { at, job: Some(id.clone()), on, rows: Vec::new(), what: What::Closed(told) })
    }

    /// The cylinders that a job's plan has and that, with this job over, no job that is still open fills.
    fn done_with<'a>(&'a self, round: &'a Round, job: &'a JobId) -> impl Iterator<Item = &'a CylinderNow> {
        let jobs = Jobs::of(self.ledger());
        let open: Vec<bool> =
            round.jobs.iter().map(|id| id != job && jobs.get(id).is_some_and(|one| !one.is_closed())).collect();
        let ours = |now: &CylinderNow| {
            now.bound.as_ref().is_some_and(|bound| {
                let bind = self.ledger().entry(&bound.bind).and_then(crate::ledger::bind_of);
                bind.is_some_and(|bind| bind.jobs.iter().any(|one| one.id() == *job))
            })
        };
        self.yard.now.cylinders.iter().filter(move |now| ours(now) && !is_filled_by(round, &now.id, &open))
    }

    /// The entry of a fact about a cylinder; `said` with what is in it settles what nobody knew.
    pub fn fact(&self, id: &Id, fact: Fact, row: Option<&Cylinder>, at: Moment) -> Draft {
        let settles = match &fact.what {
            FactKind::Weighed { holds, .. } => holds.is_some(),
            FactKind::Emptied { .. } | FactKind::AsFile { .. } => true,
            _ => false,
        };
        let mut draft = self.about(id, None, What::Cylinder(fact), at);
        if let (Some(now), true) = (self.yard.now.get(id), settles) {
            for suspect in &now.suspects {
                for (_, heads) in &mut draft.on {
                    if !heads.contains(suspect) {
                        heads.push(suspect.clone());
                    }
                }
            }
        }
        if let Some(row) = row {
            draft.rows = vec![row_of(row, self.loaded.unit)];
        }
        draft
    }
}

/// Whether a job that is open fills a cylinder of a plan, or may: where no step says from whom it takes, any of them.
fn is_filled_by(round: &Round, id: &Id, open: &[bool]) -> bool {
    let Some(step) = round.bind.steps.iter().find(|step| step.cylinder == *id) else {
        return open.iter().any(|open| *open);
    };
    let parts = || round.work.lots().iter().flat_map(|lot| &lot.parts);
    let is_open = |job: usize| open.get(job).copied().unwrap_or(false);
    step.from.iter().any(|(system, _)| parts().any(|part| part.system == *system && is_open(part.job)))
}
