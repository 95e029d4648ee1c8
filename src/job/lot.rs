//! Lots: the systems whose refrigerant may share cylinders.

use super::{Job, System};
use crate::cylinder::{Condition, Fate, Intake, Terms};
use crate::quantity::{Marks, Weight};
use crate::refrigerant::Fluid;

/// Systems whose refrigerant may share cylinders, with the strictest of their terms.
#[derive(Debug, Clone)]
pub struct Lot {
    /// Its name in reports; unique in the work.
    pub name: String,
    /// What its cylinders take, and under which terms.
    pub intake: Intake,
    /// What has to be placed: the sum over its systems, rounded up to a mark once.
    pub charge: Marks,
    /// Its systems, in order.
    pub parts: Vec<Part>,
}

/// A system's part of a lot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The job, by its position in the work.
    pub job: usize,
    /// The system, named with its job where several jobs are planned together.
    pub system: String,
    /// Its share of the lot's charge.
    pub charge: Marks,
}

/// What keeps refrigerant apart: two systems with the same key share a lot.
#[derive(Debug, Clone, PartialEq)]
struct Key<'a> {
    fluid: &'a Fluid,
    condition: Condition,
    fate: Fate,
    /// For reuse: the job, its owner, and unless the file joins them, the system.
    reuse: Option<(usize, Option<&'a str>, Option<&'a str>)>,
    /// A mixed charge is a lot of its own.
    alone: Option<(usize, &'a str)>,
}

impl<'a> Key<'a> {
    fn of(job_index: usize, job: &'a Job, system: &'a System) -> Self {
        let own_system = (!job.reuse_together).then_some(system.name.as_str());
        Self {
            fluid: &system.fluid,
            condition: system.condition,
            fate: system.fate,
            reuse: (system.fate == Fate::Reuse).then_some((job_index, job.owner.as_deref(), own_system)),
            alone: (system.condition == Condition::Mixed).then_some((job_index, &system.name)),
        }
    }

    /// Whether a heel kept for a job may be of the one as well as of the other.
    fn heel_alike(&self, other: &Self) -> bool {
        let job = |key: &Self| key.reuse.map(|(job, ..)| job);
        self.fluid == other.fluid && self.condition == other.condition && job(self) == job(other)
    }

    fn name(&self, several_jobs: bool, job: &Job) -> String {
        let mut name = self.fluid.name();
        if !matches!(self.condition, Condition::Clean | Condition::Mixed) {
            name = format!("{name} {}", self.condition.name());
        }
        if self.fate != Fate::Reclaim {
            name = format!("{name}, {}", self.fate.name());
        }
        let owned = self.alone.map(|(_, system)| system).or(self.reuse.and_then(|(_, _, system)| system));
        if let Some(system) = owned {
            name = format!("{name}, {system}");
        }
        if several_jobs && (self.alone.is_some() || self.reuse.is_some()) {
            name = format!("{name} ({})", job.name);
        }
        name
    }
}

/// The lots of these jobs, in the order in which their first systems stand; with `several` the systems are named with
/// their jobs.
pub(super) fn form(jobs: &[Job], several: bool) -> Vec<Lot> {
    let mut keys: Vec<Key> = Vec::new();
    let mut members: Vec<Vec<(usize, &System)>> = Vec::new();
    for (index, job) in jobs.iter().enumerate() {
        for system in &job.systems {
            let key = Key::of(index, job, system);
            match keys.iter().position(|known| *known == key) {
                Some(lot) => members[lot].push((index, system)),
                None => {
                    keys.push(key);
                    members.push(vec![(index, system)]);
                }
            }
        }
    }
    let mut lots: Vec<Lot> = Vec::new();
    for (key, members) in keys.iter().zip(&members) {
        let Some((first, _)) = members.first() else { continue };
        let job = &jobs[*first];
        let mut name = key.name(several, job);
        // Two refrigerants of a job file may print alike; a lot's name never does.
        while lots.iter().any(|lot| lot.name == name) {
            name.push('\'');
        }
        let alone = keys.iter().filter(|other| other.heel_alike(key)).count() == 1;
        lots.push(lot(name, key, alone, (jobs, several), members));
    }
    lots
}

/// What a system is called in lots: its name, behind its job's where several jobs are planned together.
pub(super) fn part_name(several_jobs: bool, job: &Job, system: &System) -> String {
    if several_jobs { format!("{} / {}", job.name, system.name) } else { system.name.clone() }
}

/// A lot. `alone`: it is the only one of its kind for reuse in its job, so that a heel kept for the job is known to be
/// its own.
fn lot(name: String, key: &Key, alone: bool, (jobs, several): (&[Job], bool), members: &[(usize, &System)]) -> Lot {
    let first = &jobs[members[0].0];
    let terms = members.iter().fold(first.terms, |terms, (job, system)| strictest(terms, &jobs[*job].terms, system));
    let division = terms.scale.division;
    let mut parts = Vec::with_capacity(members.len());
    let mut exact = Weight::ZERO;
    let mut placed = 0;
    for (job, system) in members {
        exact = exact + system.planned_charge();
        let until_here = division.ceil(exact);
        let label = part_name(several, &jobs[*job], system);
        parts.push(Part { job: *job, system: label, charge: until_here - placed });
        placed = until_here;
    }
    Lot {
        name,
        intake: Intake {
            fluid: key.fluid.clone(),
            condition: key.condition,
            fate: key.fate,
            owner: common_owner(jobs, members),
            kept_for: key.reuse.map(|(job, ..)| job).filter(|_| alone).map(|job| jobs[job].name.clone()),
            terms,
        },
        charge: placed,
        parts,
    }
}

/// The owner of every system of the lot, where it is the same.
fn common_owner(jobs: &[Job], members: &[(usize, &System)]) -> Option<String> {
    let first = jobs[members[0].0].owner.as_ref()?;
    members.iter().all(|(job, _)| jobs[*job].owner.as_ref() == Some(first)).then(|| first.clone())
}

fn strictest(so_far: Terms, other: &Terms, system: &System) -> Terms {
    let smaller = |a: Option<Weight>, b: Option<Weight>| match (a, b) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (one, None) | (None, one) => one,
    };
    let hottest = match (so_far.hottest, other.hottest) {
        (Some(a), Some(b)) => Some(a.max(b)),
        (one, None) | (None, one) => one,
    };
    // A limit temperature under 130 °F brings P200 with it, which must not get lost beside a higher one.
    let rules = |terms: &Terms| {
        if terms.un_applies() { terms.rules.and(crate::cylinder::Rules::Un) } else { terms.rules }
    };
    let mut terms = Terms {
        fill: so_far.fill.min(other.fill).min(system.fill.unwrap_or(other.fill)),
        at: so_far.at.max(other.at),
        rules: if so_far.at == other.at { so_far.rules.and(other.rules) } else { rules(&so_far).and(rules(other)) },
        hottest,
        lift_limit: smaller(so_far.lift_limit, other.lift_limit),
        scale: so_far.scale,
        date: so_far.date.max(other.date),
    };
    terms.scale.accuracy = so_far.scale.accuracy.max(other.scale.accuracy);
    terms.scale.capacity = smaller(so_far.scale.capacity, other.scale.capacity);
    terms
}
