//! The job: systems with their charges, the site and its terms, the lots that follow, and the notices that belong to
//! them.
//!
//! This room must not know files, plans or solvers. Charges stay exact until a lot rounds its own up, once.

mod capacity;
mod evacuation;
mod lift;
mod lot;
mod notice;
mod standing;
mod stock;
mod system;

use std::collections::HashSet;

use jiff::civil::Date;
use thiserror::Error;

pub use capacity::unusual_capacities;
pub use evacuation::{Evacuation, PressureClass};
pub use lift::{Carried, Carrying, Hands, LIFTS, Lift, lifts, usual_one_person};
pub use lot::{Lot, Part};
pub use notice::{NOTICES, Notice, notices};
pub use stock::{Kind, trade_sizes};
pub use system::{Allowance, Basis, Charge, System, SystemError, SystemFacts};

use crate::cylinder::{Cylinder, Id, Terms, computable};
use crate::quantity::{Decimal, Division, Percent, Temperature, Weight};

/// How a full cylinder leaves the place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// Over level ground.
    Level,
    /// Down stairs.
    Stairs,
    /// Down a ladder.
    Ladder,
    /// By a hoist.
    Hoist,
}

impl Access {
    /// Every way with its word in files and reports.
    pub const ALL: [(Self, &'static str); 4] =
        [(Self::Level, "level"), (Self::Stairs, "stairs"), (Self::Ladder, "ladder"), (Self::Hoist, "hoist")];
}

/// What a job file says, before it is checked.
#[derive(Debug, Clone)]
pub struct JobFacts {
    /// Its name.
    pub name: String,
    /// Whose systems they are.
    pub owner: Option<String>,
    /// The terms for every cylinder; a system may lower the fill.
    pub terms: Terms,
    /// The most that one person lifts.
    pub one_person: Option<Weight>,
    /// How cylinders leave the place.
    pub access: Option<Access>,
    /// People on the job, where the file says.
    pub crew: Option<u32>,
    /// Whether reuse lots of the same owner may join over systems.
    pub reuse_together: bool,
    /// The systems, in the order of the file.
    pub systems: Vec<System>,
    /// What can be hired or bought.
    pub stock: Vec<Kind>,
}

impl JobFacts {
    /// A job with these systems; the rest as in a file that doesn't say it: no owner, nothing known of the site, no stock.
    pub fn new(name: &str, terms: Terms, systems: Vec<System>) -> Self {
        Self {
            name: name.into(),
            owner: None,
            terms,
            one_person: None,
            access: None,
            crew: None,
            reuse_together: false,
            systems,
            stock: Vec::new(),
        }
    }
}

/// A job whose terms and systems are valid. Reads like its [`JobFacts`]; can't be changed.
#[derive(Debug, Clone)]
pub struct Job {
    facts: JobFacts,
}

impl std::ops::Deref for Job {
    type Target = JobFacts;
    fn deref(&self) -> &JobFacts {
        &self.facts
    }
}

/// Why a job can't be planned as stated.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum JobError {
    /// A fill that isn't above 0 and at most 80 %.
    #[error("a fill of {found} isn't planned; expected more than 0 and at most 80 %")]
    Fill {
        /// As stated.
        found: Percent,
    },
    /// A limit temperature outside 68 to 158 °F.
    #[error(
        "a limit temperature of {found} isn't planned; expected 68 to 158 F (20 to 70 C), in common practice 130 F"
    )]
    LimitTemperature {
        /// As stated.
        found: Temperature,
    },
    /// A hottest place outside 32 to 200 °F.
    #[error("a hottest place of {found} isn't planned; expected 32 to 200 F (0 to 93 C)")]
    Hottest {
        /// As stated.
        found: Temperature,
    },
    /// A weight of the site or scale that can't be.
    #[error("{what} must be {range}")]
    Weight {
        /// Which, by its key.
        what: &'static str,
        /// The permitted range in words.
        range: &'static str,
    },
    /// Two systems of one name.
    #[error("two systems are named \"{name}\"; their charges couldn't be told apart")]
    SameName {
        /// Position of the second in the file.
        system: usize,
        /// The name.
        name: String,
    },
    /// No system at all.
    #[error("the job has no systems; there is nothing to recover")]
    NoSystems,
    /// A refrigerant with no limit to compute.
    #[error("no limit can be computed for {name}: {reason}")]
    NoLimit {
        /// Position of the system in the file.
        system: usize,
        /// The refrigerant.
        name: String,
        /// Why not.
        reason: String,
    },
}

impl Job {
    /// A job with these facts.
    ///
    /// # Errors
    /// Every term outside its range, every name that is read as an earlier one, and every refrigerant without a limit
    /// under the terms.
    pub fn new(facts: JobFacts) -> Result<Self, Vec<JobError>> {
        let mut errors = term_errors(&facts);
        if facts.systems.is_empty() {
            errors.push(JobError::NoSystems);
        }
        for (index, system) in facts.systems.iter().enumerate() {
            if facts.systems[..index].iter().any(|earlier| named_alike(&earlier.name, &system.name)) {
                errors.push(JobError::SameName { system: index, name: system.name.clone() });
            }
            if let Err(reason) = computable(&system.fluid, &facts.terms) {
                errors.push(JobError::NoLimit { system: index, name: system.fluid.name(), reason: reason.to_string() });
            }
        }
        if errors.is_empty() { Ok(Self { facts }) } else { Err(errors) }
    }
}

fn term_errors(facts: &JobFacts) -> Vec<JobError> {
    let terms = &facts.terms;
    let mut errors = Vec::new();
    if !system::is_fill(terms.fill) {
        errors.push(JobError::Fill { found: terms.fill });
    }
    let within = |found: Temperature, low: f64, high: f64| {
        let (low, high) = (Temperature::from_fahrenheit(low), Temperature::from_fahrenheit(high));
        !found.is_below(low) && !high.is_below(found)
    };
    if !within(terms.at, 68.0, 158.0) {
        errors.push(JobError::LimitTemperature { found: terms.at });
    }
    if let Some(found) = terms.hottest.filter(|found| !within(*found, 32.0, 200.0)) {
        errors.push(JobError::Hottest { found });
    }
    let weights =
        [("lift_limit", terms.lift_limit), ("one_person", facts.one_person), ("capacity", terms.scale.capacity)];
    let most = Weight::pounds(Decimal::from(20_000));
    for (what, weight) in weights {
        if weight.is_some_and(|weight| !weight.is_positive() || weight > most) {
            errors.push(JobError::Weight { what, range: "more than 0 and at most 20,000 lb (9,072 kg)" });
        }
    }
    if terms.scale.accuracy.is_negative() || terms.scale.accuracy > Weight::pounds(Decimal::from(50)) {
        errors.push(JobError::Weight { what: "accuracy", range: "0 to 50 lb (22.7 kg)" });
    }
    errors
}

/// Whether two names are read as one: capitals and spaces don't tell them apart.
pub fn named_alike(one: &str, other: &str) -> bool {
    words(one).eq(words(other))
}

/// The small letters of a name, with one space behind each word.
fn words(name: &str) -> impl Iterator<Item = char> {
    name.split_whitespace().flat_map(|word| word.chars().flat_map(char::to_lowercase).chain([' ']))
}

/// Jobs that are planned together: one yard, one scale division, and the lots that they form.
#[derive(Debug, Clone)]
pub struct Work {
    jobs: Vec<Job>,
    yard: Vec<Cylinder>,
    /// Cylinders of the yard that aren't on hand.
    hired: HashSet<Id>,
    lots: Vec<Lot>,
    /// Systems are named with their jobs.
    several: bool,
    division: Division,
    date: Date,
}

/// Why jobs can't be planned together.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WorkError {
    /// No job.
    #[error("there is no job to plan")]
    NoJob,
    /// Different units or divisions.
    #[error("jobs planned together must state the same units and scale division; read one plan for each instead")]
    DivisionsDiffer,
    /// Two jobs of one name, which a heel that is kept for it can't tell apart.
    #[error("two jobs are named alike, \"{first}\" and \"{second}\"; their loads and heels couldn't be told apart")]
    JobsAlike {
        /// The first one's name.
        first: String,
        /// The other's.
        second: String,
    },
    /// Two cylinders of one id.
    #[error("two cylinders are named {id}; nobody could tell which is meant")]
    SameId {
        /// The id of the second.
        id: String,
    },
    /// Two systems whose names, with their jobs', print alike.
    #[error("two systems are both called \"{name}\" in the plan; rename one of them or its job")]
    SameName {
        /// What both are called.
        name: String,
    },
}

impl Work {
    /// These jobs on this yard.
    ///
    /// # Errors
    /// No job, jobs that don't state the same units and division, or jobs, systems or cylinders that couldn't be told apart.
    pub fn new(jobs: Vec<Job>, yard: Vec<Cylinder>) -> Result<Self, WorkError> {
        let several = jobs.len() > 1;
        Self::named(jobs, yard, several)
    }

    /// A yard alone, for which no job is planned.
    pub fn yard_alone(yard: Vec<Cylinder>, division: Division, date: Date) -> Self {
        Self { jobs: Vec::new(), yard, hired: HashSet::new(), lots: Vec::new(), several: false, division, date }
    }

    /// What is left of some work: its systems are named with their jobs as they were in the whole.
    ///
    /// # Errors
    /// As [`Work::new`].
    pub fn part_of(whole: &Self, jobs: Vec<Job>, yard: Vec<Cylinder>) -> Result<Self, WorkError> {
        Self::named(jobs, yard, whole.jobs.len() > 1)
    }

    fn named(jobs: Vec<Job>, yard: Vec<Cylinder>, several: bool) -> Result<Self, WorkError> {
        let first = jobs.first().ok_or(WorkError::NoJob)?;
        let division = first.terms.scale.division;
        if jobs.iter().any(|job| job.terms.scale.division != division) {
            return Err(WorkError::DivisionsDiffer);
        }
        for (index, job) in jobs.iter().enumerate() {
            if let Some(earlier) = jobs[..index].iter().find(|earlier| named_alike(&earlier.name, &job.name)) {
                return Err(WorkError::JobsAlike { first: earlier.name.clone(), second: job.name.clone() });
            }
        }
        let date = jobs.iter().map(|job| job.terms.date).max().unwrap_or(first.terms.date);
        let lots = lot::form(&jobs, several);
        let mut names: Vec<&str> = lots.iter().flat_map(|lot| &lot.parts).map(|part| part.system.as_str()).collect();
        names.sort_unstable();
        if let Some(name) = names.windows(2).find(|pair| pair[0] == pair[1]).map(|pair| pair[0].to_owned()) {
            return Err(WorkError::SameName { name });
        }
        let mut ids = HashSet::new();
        if let Some(second) = yard.iter().find(|cylinder| !ids.insert(&cylinder.id)) {
            return Err(WorkError::SameId { id: second.id.to_string() });
        }
        Ok(Self { jobs, yard, hired: HashSet::new(), lots, several, division, date })
    }

    /// The same work with another lift limit.
    ///
    /// # Errors
    /// A lift limit outside its range.
    pub fn with_lift_limit(self, lift_limit: Weight) -> Result<Self, Vec<JobError>> {
        let changed = |job: Job| {
            let mut facts = job.facts;
            facts.terms.lift_limit = Some(lift_limit);
            Job::new(facts)
        };
        let jobs = self.jobs.into_iter().map(changed).collect::<Result<Vec<_>, _>>()?;
        let lots = lot::form(&jobs, self.several);
        Ok(Self { jobs, lots, ..self })
    }

    /// Some of the jobs by themselves, by their positions, on the same yard.
    ///
    /// # Errors
    /// As [`Work::new`]; none but for a list without jobs, where these could be planned together.
    pub fn of_jobs(&self, which: &[usize]) -> Result<Self, WorkError> {
        let jobs = which.iter().filter_map(|index| self.jobs.get(*index)).cloned().collect();
        Ok(Self { hired: self.hired.clone(), ..Self::new(jobs, self.yard.clone())? })
    }

    /// What a system is called in lots and plans: its name, behind its job's where several jobs are planned together.
    pub fn part_name(&self, job: &Job, system: &System) -> String {
        lot::part_name(self.several, job, system)
    }

    /// Whether systems are named with their jobs: where there are several, and in what is left of them.
    pub const fn names_jobs(&self) -> bool {
        self.several
    }

    /// The same work without some of its cylinders.
    pub fn without(mut self, ids: &[Id]) -> Self {
        self.yard.retain(|cylinder| !ids.contains(&cylinder.id));
        self
    }

    /// The same work with these cylinders in place of its own.
    pub fn with_yard(self, yard: Vec<Cylinder>) -> Self {
        Self { yard, ..self }
    }

    /// The same work where these cylinders aren't on hand and would have to be hired: they are used only where the number
    /// of cylinders would be larger without them.
    pub fn with_hired(self, hired: impl IntoIterator<Item = Id>) -> Self {
        Self { hired: hired.into_iter().collect(), ..self }
    }

    /// The kinds that can be hired or bought for any of the jobs. A kind that several of them state is one stock: it counts
    /// once, and where they don't agree on how many there are, the smaller number holds.
    pub fn stock(&self) -> Vec<Kind> {
        let mut all: Vec<Kind> = Vec::new();
        for kind in self.jobs.iter().flat_map(|job| &job.stock) {
            match all.iter_mut().find(|known| named_alike(&known.name, &kind.name)) {
                Some(known) => known.count = known.count.into_iter().chain(kind.count).min(),
                None => all.push(kind.clone()),
            }
        }
        all
    }

    /// Whether a cylinder would have to be hired.
    pub fn is_hired(&self, id: &Id) -> bool {
        self.hired.contains(id)
    }

    /// The jobs, in the order given.
    pub fn jobs(&self) -> &[Job] {
        &self.jobs
    }

    /// The cylinders on hand, in the order of the yard.
    pub fn yard(&self) -> &[Cylinder] {
        &self.yard
    }

    /// The lots, in the order in which their first systems stand.
    pub fn lots(&self) -> &[Lot] {
        &self.lots
    }

    /// Whose a lot's refrigerant is: the owner of its job, or the job's name where the file states none.
    pub fn whose<'a>(&'a self, lot: &'a Lot) -> &'a str {
        let job = lot.parts.first().and_then(|part| self.jobs.get(part.job));
        job.map_or(lot.name.as_str(), |job| job.owner.as_deref().unwrap_or(&job.name))
    }

    /// The division of the scale.
    pub fn division(&self) -> Division {
        self.division
    }

    /// The latest day of the jobs.
    pub fn date(&self) -> Date {
        self.date
    }
}
