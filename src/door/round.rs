//! Jobs with their yard now and the plan that they follow: what every command at the scale, and every one that shows a plan
//! in force, begins with.

use std::path::{Path, PathBuf};

use jiff::civil::Date;
use thiserror::Error;

use super::old_log::refuse_old_log;
use super::rests_on::RestsOn;
use super::same::{same_job, same_stamp};
use super::store::{Store, StoreError, refuse_copied};
use super::yard::{Seen, YardRead, yard_now};
use crate::audit::{Fault, Raw, ledger_faults};
use crate::cylinder::{Cylinder, Id};
use crate::disk::{Holder, Input, Machine};
use crate::job::{Job, Work};
use crate::ledger::{Bind, BoundJob, Entry, EntryId, JobId, JobNow, Jobs, Ledger, bind_of};
use crate::problem::Problems;
use crate::recovery::{Day, InForce, Known, Planned};
use crate::text::{self, Latest, Loaded, Request, Today, cylinder_of, read_copies};

/// What may be done with the ledger.
#[derive(Debug, Clone)]
pub enum Keep {
    /// It is looked at; nobody waits for anybody. What this machine remembers to have written has to be there.
    Read(Option<Machine>),
    /// It is added to from this machine by whoever holds the turn.
    Write(Machine, Holder),
}

/// Jobs on their yard now.
#[derive(Debug)]
pub struct Opened {
    /// What was read; its work has the yard now.
    pub loaded: Loaded,
    /// The rows as the file has them.
    pub rows: Vec<Cylinder>,
    /// The ledger beside the yard; `None` where the cylinders stand in no file.
    pub store: Option<Store>,
    /// What the ledger says of each cylinder.
    pub yard: YardRead,
    /// For each of the jobs that were named, the open one of its text.
    pub open: Vec<Option<JobId>>,
    rests_on: RestsOn,
}

/// Why jobs can't be opened.
#[derive(Debug, Error)]
pub enum NotOpened {
    /// The files are at fault.
    #[error(transparent)]
    Files(#[from] Problems),
    /// The ledger can't be read or written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// What the ledger says and what was asked don't go together.
    #[error(transparent)]
    Round(#[from] NotInForce),
    /// The yard now failed the audit: a fault of ours, and nothing is done with it.
    #[error("the yard now failed the audit")]
    Faults(Vec<Fault>),
}

/// Why there is no plan in force to go by.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NotInForce {
    /// A job of the same text is under way and is another one.
    #[error(
        "same-name: a job called \"{name}\" is under way already, with other {what}. Where this is another job, write another \
         `job:`; where it is the same, put back its {what}, or close it out first"
    )]
    SameName {
        /// The text.
        name: String,
        /// What is other: owner, systems or refrigerants.
        what: &'static str,
    },
    /// Two open jobs of one text.
    #[error(
        "two jobs called \"{name}\" are under way, begun apart: {}. `release` or `closeout` one of them on the machine that \
         began it", listed(.binds)
    )]
    TwoOfOneText {
        /// The text.
        name: String,
        /// Where they began.
        binds: Vec<EntryId>,
    },
    /// Jobs that aren't planned together are asked for together.
    #[error(
        "{named}: these aren't the jobs of one plan that is in force; name all that it is for: {together}; or `release` it"
    )]
    NotTogether {
        /// The jobs that were named.
        named: String,
        /// The jobs of the plan.
        together: String,
    },
    /// A log of an earlier version lies beside the job.
    #[error(
        "{}: a log of an earlier version lies here; it isn't carried over. Weigh again what it speaks of ({cylinders}) and \
         write it into the yard, then move the file away", .file.display()
    )]
    OldLog {
        /// The file.
        file: PathBuf,
        /// The cylinders that it names.
        cylinders: String,
    },
}

impl NotInForce {
    fn not_together<'n>(named: impl Iterator<Item = &'n str>, together: &[JobId]) -> Self {
        let quoted = |name: &str| format!("\"{name}\"");
        let mut all: Vec<String> = Vec::new();
        for id in together {
            if !all.contains(&quoted(&id.name)) {
                all.push(quoted(&id.name));
            }
        }
        Self::NotTogether { named: named.map(quoted).collect::<Vec<_>>().join(", "), together: all.join(", ") }
    }
}

fn listed(binds: &[EntryId]) -> String {
    binds.iter().map(ToString::to_string).collect::<Vec<_>>().join(" and ")
}

/// Reads jobs with their yard as it is now.
///
/// # Errors
/// See [`NotOpened`].
pub fn open(request: &Request, needs_yard: bool, keep: &Keep) -> Result<Opened, NotOpened> {
    open_for(request, needs_yard, keep, RestsOn::Yard)
}

/// Reads jobs to say how far they are: nothing can be planned with what comes of it, as the audit looks at their own
/// cylinders alone.
///
/// # Errors
/// See [`NotOpened`].
pub fn open_to_follow(request: &Request, keep: &Keep) -> Result<Opened, NotOpened> {
    open_for(request, true, keep, RestsOn::Jobs)
}

fn open_for(request: &Request, needs_yard: bool, keep: &Keep, rests_on: RestsOn) -> Result<Opened, NotOpened> {
    for job in request.jobs {
        refuse_old_log(job)?;
    }
    let read = || if needs_yard { text::read_work(request) } else { text::read_tender(request) };
    let mut loaded = read()?;
    let mut rows = loaded.work.yard().to_vec();
    let store = match &loaded.stands {
        Some(file) if file.exists() => {
            refuse_copied(file, &rows)?;
            Some(Store::open(file, &rows, keep)?)
        }
        _ => None,
    };
    if matches!(keep, Keep::Write(..)) && !loaded.inputs.iter().all(Input::stands) {
        // Whoever had the turn before has written into the yard.
        loaded = read()?;
        rows = loaded.work.yard().to_vec();
    }
    let mut opened = Opened { loaded, rows, store, yard: YardRead::default(), open: Vec::new(), rests_on };
    opened.yard.cylinders.clone_from(&opened.rows);
    opened.look(request.today)?;
    Ok(opened)
}

/// Reads a yard alone as it is now, for filling on this date, by its file or by that of a job with its cylinders in place.
///
/// # Errors
/// See [`NotOpened`].
pub fn open_yard(
    file: &Path,
    date: Date,
    today: &Today,
    skip_bad_rows: bool,
    keep: &Keep,
) -> Result<Opened, NotOpened> {
    let read = match text::read_typed_yard(file, date, skip_bad_rows) {
        Ok(read) => read,
        Err(problems) => {
            // A job with its cylinders in place is a yard, too.
            let jobs = [file.to_owned()];
            let request = Request { jobs: &jobs, today, skip_bad_rows };
            return match text::read_work(&request) {
                Ok(loaded) if loaded.stands.as_deref() == Some(file) => open(&request, true, keep),
                _ => Err(problems.into()),
            };
        }
    };
    let mut read = read;
    let mut rows = read.cylinders.clone();
    let stands = file.exists().then(|| file.to_owned());
    // Whoever only looks at a copy, such as the yard before a settling, is told that it is one.
    let copy = stands.as_deref().and_then(|file| refuse_copied(file, &rows).err());
    if let (Some(_), Keep::Write(..)) = (&copy, keep) {
        return Err(copy.map_or(NotOpened::Store(StoreError::NoPlace), NotOpened::Store));
    }
    let mut store = stands.as_deref().map(|file| Store::open(file, &rows, keep)).transpose()?;
    if let (Some(copy), Some(store)) = (copy, &mut store) {
        store.said.push(copy.to_string());
    }
    if matches!(keep, Keep::Write(..)) && !read.input.iter().all(Input::stands) {
        read = text::read_typed_yard(file, date, skip_bad_rows)?;
        rows.clone_from(&read.cylinders);
    }
    let loaded = Loaded {
        work: Work::yard_alone(read.cylinders, read.unit.default_division(), date),
        skipped: read.skipped,
        extras: Vec::new(),
        inputs: read.input.into_iter().collect(),
        assumed: Vec::new(),
        known: text::Known::default(),
        unit: read.unit,
        copies: Vec::new(),
        stands,
    };
    let mut opened =
        Opened { loaded, rows, store, yard: YardRead::default(), open: Vec::new(), rests_on: RestsOn::Yard };
    opened.yard.cylinders.clone_from(&opened.rows);
    opened.look(today)?;
    Ok(opened)
}

impl Opened {
    /// The row of a cylinder as the file has it.
    pub fn file_row(&self, id: &Id) -> Option<&Cylinder> {
        self.rows.iter().find(|row| row.id == *id)
    }

    /// A refrigerant that a job of the ledger describes.
    pub fn named(&self, name: &str, today: &Today) -> Option<crate::refrigerant::Refrigerant> {
        self.loaded.known.named(name).or_else(|| others_refrigerant(self.ledger(), name, today))
    }

    /// Goes through the ledger, again where it has been added to.
    ///
    /// # Errors
    /// Jobs that the ledger can't tell apart.
    pub fn look(&mut self, today: &Today) -> Result<(), NotOpened> {
        let Some(store) = self.store.as_ref().filter(|store| !store.ledger.is_empty()) else {
            self.open = vec![None; self.loaded.work.jobs().len()];
            if let Some(store) = &self.store {
                self.yard.said.clone_from(&store.said);
            }
            return Ok(());
        };
        let jobs = Jobs::of(&store.ledger);
        self.open =
            self.loaded.work.jobs().iter().map(|job| the_open_one(&jobs, job, today)).collect::<Result<Vec<_>, _>>()?;
        let ours: Vec<JobId> = self.open.iter().flatten().cloned().collect();
        let others = |name: &str| others_refrigerant(&store.ledger, name, today);
        let Loaded { unit, known, .. } = &self.loaded;
        let see = Seen { ledger: &store.ledger, jobs: &jobs, ours: &ours, unit: *unit, known, others: &others };
        self.yard = yard_now(&see, &self.rows, **today);
        self.yard.said.splice(0..0, store.said.iter().cloned());
        self.loaded.work = self.loaded.work.clone().with_yard(self.yard.cylinders.clone());
        let (entries, damage) = (&store.ledger.entries, &store.ledger.damage);
        let rows: Vec<_> = self.rows.iter().map(|row| (row.id.clone(), text::state_of(row))).collect();
        let raw = Raw { rows: &rows, entries, damage, ours: &ours, today: **today };
        let unit = self.loaded.work.division().unit();
        let faults = ledger_faults(&self.rests_on.cylinders(&self.loaded.work, &store.ledger, &jobs), unit, raw);
        if faults.is_empty() { Ok(()) } else { Err(NotOpened::Faults(faults)) }
    }

    /// The ledger; an empty one where there is none.
    pub fn ledger(&self) -> &Ledger {
        static NONE: Ledger = Ledger { entries: Vec::new(), damage: Vec::new() };
        self.store.as_ref().map_or(&NONE, |store| &store.ledger)
    }

    /// The plan that the jobs follow which were named, with all jobs that it is for; `None` where none of them follows one.
    ///
    /// # Errors
    /// Jobs of which some follow a plan and some don't, or not the same; a file that isn't that of the job any more.
    pub fn round(&self, today: &Today) -> Result<Option<Round>, NotOpened> {
        let named: Vec<&JobId> = self.open.iter().flatten().collect();
        let Some(first) = named.first() else { return Ok(None) };
        let jobs = Jobs::of(self.ledger());
        let together = group(&jobs, first);
        if named.len() != self.open.len() || named.iter().any(|id| !together.contains(id)) {
            let names = self.loaded.work.jobs().iter().map(|job| job.name.as_str());
            return Err(NotInForce::not_together(names, &together).into());
        }
        Round::of(self, &jobs, first, today).map(Some)
    }

    /// Why a new plan of the jobs that were named would take the plan of others away; `None` where it doesn't.
    pub fn leaves_others(&self) -> Option<NotInForce> {
        let jobs = Jobs::of(self.ledger());
        let named: Vec<&JobId> = self.open.iter().flatten().collect();
        let together: Vec<JobId> = named.iter().flat_map(|id| group(&jobs, id)).collect();
        let other = together.iter().any(|id| !named.contains(&id) && jobs.get(id).is_some_and(|job| !job.is_closed()));
        other.then(|| NotInForce::not_together(self.loaded.work.jobs().iter().map(|job| job.name.as_str()), &together))
    }

    /// Whether a cylinder came from another list and stands in no row of the yard.
    pub fn is_added(&self, id: &Id) -> bool {
        self.yard.now.get(id).is_some_and(|now| now.row.is_some() && !now.missing)
    }

    /// The options of a plan of this job that nobody has begun and that has lapsed; none where there is none.
    pub fn lapsed_options(&self) -> Vec<String> {
        let Some(job) = self.loaded.work.jobs().first() else { return Vec::new() };
        let jobs = Jobs::of(self.ledger());
        let ours = |one: &&JobNow| crate::job::named_alike(&one.id.name, &job.name) && !one.is_closed() && !one.begun;
        let binds = jobs.all.iter().filter(ours).flat_map(|one| one.binds.iter().copied());
        let last = binds.max_by(|one, other| one.at.order(&other.at).then_with(|| one.id.cmp(&other.id)));
        last.and_then(bind_of).map(|bind| bind.options.clone()).unwrap_or_default()
    }

    /// The last job of this text that is over, where none is open.
    ///
    /// # Errors
    /// As [`Opened::round`].
    pub fn closed_round(&self, today: &Today) -> Result<Option<Round>, NotOpened> {
        let Some(job) = self.loaded.work.jobs().first() else { return Ok(None) };
        let jobs = Jobs::of(self.ledger());
        let of_text = |one: &&JobNow| crate::job::named_alike(&one.id.name, &job.name) && one.is_closed();
        let mut closed: Vec<&JobNow> = jobs.all.iter().filter(of_text).collect();
        closed.sort_by(|one, other| {
            let at = |job: &JobNow| job.closed.last().map(|entry| entry.at);
            match (at(one), at(other)) {
                (Some(one), Some(other)) => one.order(&other),
                _ => std::cmp::Ordering::Equal,
            }
        });
        closed.last().map(|job| Round::of(self, &jobs, &job.id, today)).transpose()
    }
}

/// The jobs that are planned together with this one, in the order of the plan in force.
fn group(jobs: &Jobs, id: &JobId) -> Vec<JobId> {
    let bind = jobs.get(id).and_then(|job| job.binds.first()).and_then(|entry| bind_of(entry));
    bind.map(|bind| bind.jobs.iter().map(BoundJob::id).collect()).unwrap_or_default()
}

/// The open job of this text, where it is the same job.
fn the_open_one(jobs: &Jobs, job: &Job, today: &Today) -> Result<Option<JobId>, NotInForce> {
    let open = jobs.open(&job.name, **today);
    match open.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some(one.id.clone())),
        several => Err(NotInForce::TwoOfOneText {
            name: job.name.clone(),
            binds: several.iter().map(|one| one.id.first.clone()).collect(),
        }),
    }
}

/// A refrigerant that only another job of the ledger describes.
fn others_refrigerant(ledger: &Ledger, name: &str, today: &Today) -> Option<crate::refrigerant::Refrigerant> {
    let copies = ledger.entries.iter().rev().filter_map(bind_of).flat_map(|bind| &bind.jobs);
    let naming = copies.filter(|job| job.text.contains("\"refrigerants\"") && job.text.contains(name));
    naming.filter_map(|job| read_copies([job.text.as_str()], today).ok()?.known.named(name)).next()
}

/// Jobs that follow a plan in force, on their yard now.
#[derive(Debug)]
pub struct Round {
    /// The jobs as they were when the plan was bound, with the yard now.
    pub work: Work,
    /// The plan in force.
    pub in_force: InForce,
    /// The bind itself.
    pub bind: Bind,
    /// The job of the ledger for each job of the work.
    pub jobs: Vec<JobId>,
    /// A reading of one of them counts.
    pub begun: bool,
    /// What the files say otherwise than when the plan was bound, in sentences.
    pub edited: Vec<String>,
    stamped: Vec<Cylinder>,
    lost: Vec<Id>,
}

impl Round {
    fn of(opened: &Opened, jobs: &Jobs, first: &JobId, today: &Today) -> Result<Self, NotOpened> {
        let Some(entry) = jobs.get(first).and_then(|job| newest(job, opened.ledger())) else {
            return Err(NotInForce::NotTogether { named: first.name.clone(), together: String::new() }.into());
        };
        let Some(bind) = bind_of(entry) else {
            return Err(NotInForce::NotTogether { named: first.name.clone(), together: String::new() }.into());
        };
        let copies = read_copies(bind.jobs.iter().map(|job| job.text.as_str()), today)?;
        let known = opened.loaded.known.clone().and(&copies.known);
        let mut edited = Vec::new();
        for (job, copy) in opened.loaded.work.jobs().iter().zip(&opened.loaded.copies) {
            let Some(at) = bind.jobs.iter().position(|bound| crate::job::named_alike(&bound.name, &job.name)) else {
                continue;
            };
            if let Some(before) = copies.work.jobs().get(at) {
                same_job(before, job)?;
            }
            if bind.jobs[at].text != *copy {
                edited.push(format!(
                    "the file of \"{}\" has changed since its plan was made ({}, {}); what it says now counts from the next \
                     `replan` on",
                    job.name, entry.by, entry.at
                ));
            }
        }
        let latest = Latest::from(**today);
        let stamped: Vec<Cylinder> =
            entry.rows.iter().filter_map(|row| cylinder_of(row, &known, latest).ok()).collect();
        let work = copies.work.with_yard(opened.yard.cylinders.clone());
        for bound in &stamped {
            let now = opened.rows.iter().find(|row| row.id == bound.id);
            if now.is_some_and(|now| !same_stamp(now, bound)) {
                edited.push(format!(
                    "{}: its row says other things of the cylinder itself than when the plan was made; the smaller limit counts \
                     until `replan`",
                    bound.id
                ));
            }
        }
        let division = work.division();
        let ids: Vec<JobId> = bind.jobs.iter().map(BoundJob::id).collect();
        let beside = jobs.get(first).map(|job| job.binds.iter().map(|one| one.id.clone()).collect::<Vec<_>>());
        let in_force = InForce {
            bind: entry.id.clone(),
            by: entry.by.clone(),
            at: entry.at,
            jobs: ids.clone(),
            beside: beside.unwrap_or_default().into_iter().filter(|one| *one != entry.id).collect(),
            planned: Planned::of(bind, division),
        };
        let lost = opened.yard.now.cylinders.iter().filter(|one| one.lost_by.contains(&entry.id));
        Ok(Self {
            lost: lost.map(|one| one.id.clone()).collect(),
            begun: ids.iter().any(|id| jobs.get(id).is_some_and(|job| job.begun)),
            bind: bind.clone(),
            work,
            in_force,
            jobs: ids,
            edited,
            stamped,
        })
    }

    /// With a cylinder that another plan has taken as one of these jobs' own.
    pub fn make_ours(&mut self, id: &Id) {
        let mut yard = self.work.yard().to_vec();
        for cylinder in yard.iter_mut().filter(|cylinder| cylinder.id == *id) {
            let mut facts = crate::cylinder::Facts::clone(cylinder);
            facts.ledger.bound = None;
            if let Ok(ours) = Cylinder::new(facts) {
                *cylinder = ours;
            }
        }
        self.work = self.work.clone().with_yard(yard);
        self.lost.retain(|lost| lost != id);
    }

    /// With the jobs that were named as their files have them now, and every stamp as the yard has it.
    ///
    /// # Errors
    /// A copy of another job that can't be read any more.
    pub fn renewed(mut self, opened: &Opened, today: &Today) -> Result<Self, NotOpened> {
        for (job, copy) in opened.loaded.work.jobs().iter().zip(&opened.loaded.copies) {
            let same = |bound: &&mut BoundJob| crate::job::named_alike(&bound.name, &job.name);
            if let Some(bound) = self.bind.jobs.iter_mut().find(same) {
                bound.text.clone_from(copy);
            }
        }
        let copies = read_copies(self.bind.jobs.iter().map(|job| job.text.as_str()), today)?;
        self.work = copies.work.with_yard(opened.yard.cylinders.clone());
        self.stamped.clear();
        self.edited.clear();
        Ok(self)
    }

    /// What the ledger says of these jobs.
    pub fn day<'a>(&'a self, ledger: &Ledger) -> Day<'a> {
        let states = |id: &Id| {
            let cylinder = self.work.yard().iter().find(|cylinder| cylinder.id == *id)?;
            Some(text::state_of(cylinder))
        };
        let known = Known {
            plan: Some(self.in_force.clone()),
            tracks: ledger.tracks(&self.jobs, &states),
            stamped: self.stamped.clone(),
            lost: self.lost.clone(),
        };
        Day::of(&self.work, &known)
    }
}

/// The bind in force; of several that were made apart the one of the greatest name.
fn newest<'a>(job: &JobNow<'a>, ledger: &'a Ledger) -> Option<&'a Entry> {
    let last =
        job.binds.iter().copied().max_by(|one, other| one.at.order(&other.at).then_with(|| one.id.cmp(&other.id)));
    last.or_else(|| ledger.entry(&job.id.first))
}
