//! A job with its log: the files of the commands that are used at the scale.

use std::path::{Path, PathBuf};

use jiff::ZonedDateTime;
use jiff::civil::{DateTime, Time};
use jiff::tz::TimeZone;

use super::stop::{ByLog, Ours, Typed};
use super::talk::rows;
use super::{Output, Stop, is_standard_input, load};
use crate::cylinder::{Cylinder, Id};
use crate::disk::Input;
use crate::door::plan_work;
use crate::job::Work;
use crate::planner::{Options, Progress};
use crate::quantity::{Unit, Weight, parse_weight};
use crate::recovery::{Action, Day, FileMark, LogEntry, Moment, Planned, first_plan};
use crate::report::{counted, skipped};
use crate::text::{Known, Latest, Log, Torn, log_path, read_further_yard, read_plan};

/// One job as its files give it.
pub(super) struct Site {
    /// The job file.
    pub job: PathBuf,
    /// The job with all its cylinders.
    pub work: Work,
    /// The files that hold the cylinders: the yard or the job file, then those that were added.
    pub yards: Vec<PathBuf>,
    /// The files that were read, as they were then.
    inputs: Vec<Input>,
    /// The refrigerants that the job brings.
    known: Known,
}

/// Reads a job file and its yard.
pub(super) fn site(job: &Path, skip_bad_rows: bool, output: &mut Output) -> Result<Site, Stop> {
    if is_standard_input(job) {
        return Err(ByLog::StandardInput.into());
    }
    let loaded = load(&[job.to_owned()], skip_bad_rows, output)?;
    for line in skipped(&loaded.skipped) {
        output.say(&format!("warning: left out, its row can't be read: {line}"))?;
    }
    // The job itself, and behind it the yard where that is a file of its own.
    let yard = loaded.inputs.last().map_or_else(|| job.to_owned(), |input| input.file.clone());
    Ok(Site { job: job.to_owned(), work: loaded.work, yards: vec![yard], inputs: loaded.inputs, known: loaded.known })
}

/// The job's log, to read or to add to.
pub(super) fn open(site: &Site, to_add: bool, output: &mut Output) -> Result<Log, Stop> {
    let path = log_path(&site.job);
    let division = site.work.division();
    let log = if to_add { Log::open(&path, division)? } else { Log::read(&path, division)? };
    output.detail_of(&log.input);
    output.detail(&format!("{} of the log", counted(log.entries.len(), "line")));
    if let Some(torn) = &log.torn {
        output.say(&in_words(&path, torn))?;
    }
    Ok(log)
}

fn in_words(path: &Path, torn: &Torn) -> String {
    let found = format!(
        "warning: {}:{}: the last line is torn off ({} bytes), nothing was answered for it; all before it stands",
        path.display(),
        torn.line,
        torn.bytes
    );
    match &torn.aside {
        Some(aside) => format!("{found}. It was put aside in {}", aside.display()),
        None => format!("{found}. The next reading puts it aside"),
    }
}

impl Site {
    /// Takes in the yards that plans in the log added, also those that were taken back: readings may need them.
    pub(super) fn with_added(mut self, entries: &[LogEntry], output: &mut Output) -> Result<Self, Stop> {
        for entry in entries {
            let Action::Plan(planned) = &entry.action else { continue };
            for yard in &planned.with {
                self.add(&self.folder().join(yard), output)?;
            }
        }
        Ok(self)
    }

    /// Takes in the cylinders of a further yard; returns their ids. One that is in already changes nothing.
    pub(super) fn add(&mut self, yard: &Path, output: &mut Output) -> Result<Vec<Id>, Stop> {
        let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
        if self.yards.iter().any(|known| real(known) == real(yard)) {
            return Ok(Vec::new());
        }
        let read = read_further_yard(yard, &self.known, Latest::of(self.work.date(), &output.today))?;
        read.input.iter().for_each(|input| output.detail_of(input));
        output.detail(&rows(read.cylinders.len(), read.skipped.len()));
        let added = read.cylinders;
        let mut all: Vec<Cylinder> = self.work.yard().to_vec();
        for cylinder in &added {
            if all.iter().any(|known| known.id == cylinder.id) {
                return Err(ByLog::IdTaken { yard: yard.to_owned(), id: cylinder.id.clone() }.into());
            }
            all.push(cylinder.clone());
        }
        let work = Work::new(self.work.jobs().to_vec(), all);
        self.work = work.map_err(Ours::from)?;
        self.yards.push(yard.to_owned());
        self.inputs.extend(read.input);
        Ok(added.iter().map(|cylinder| cylinder.id.clone()).collect())
    }

    /// The job's name.
    pub(super) fn name(&self) -> &str {
        self.work.jobs().first().map_or("", |job| job.name.as_str())
    }

    fn folder(&self) -> &Path {
        self.job.parent().unwrap_or(Path::new(""))
    }

    /// A path as the log writes it: from the job's folder on where it lies in it, else in full.
    pub(super) fn recorded(&self, path: &Path) -> String {
        let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let folder = if self.folder().as_os_str().is_empty() { Path::new(".") } else { self.folder() };
        let (path, folder) = (real(path), real(folder));
        path.strip_prefix(&folder).unwrap_or(&path).to_string_lossy().into_owned()
    }

    /// The files that were read, and the log.
    pub(super) fn inputs_with(&self, log: &Log) -> Vec<Input> {
        self.inputs.iter().chain([&log.input]).cloned().collect()
    }

    /// The files with digests of what stood in them when they were read.
    pub(super) fn marks(&self) -> Vec<FileMark> {
        let mark = |input: &Input| FileMark { file: self.recorded(&input.file), mark: input.digest.clone() };
        self.inputs.iter().map(mark).collect()
    }

    /// A sentence for each file that has changed since the plan in force was made.
    pub(super) fn changed_files(&self, day: &Day) -> Vec<String> {
        let Some((number, planned)) = day.plan else { return Vec::new() };
        let now = self.marks();
        let changed = |then: &&FileMark| {
            let now = now.iter().find(|now| now.file == then.file);
            now.is_none_or(|now| now.mark != then.mark)
        };
        let say = |then: &FileMark| {
            format!(
                "{} has changed since the plan in force (entry {number}); weights before the first reading are those \
                 of the log",
                then.file
            )
        };
        planned.files.iter().filter(changed).map(say).collect()
    }

    /// The plan that the log begins with: the file given, or the plan that `plan` makes.
    pub(super) fn first_plan(
        &self,
        plan: Option<&Path>,
        go_on: &mut dyn FnMut(&Progress) -> bool,
    ) -> Result<Planned, Stop> {
        let plan = match plan {
            Some(path) => {
                let faults = |faults| ByLog::FaultyPlan { file: path.to_owned(), faults };
                crate::audit::check(&self.work, read_plan(path)?.0).map_err(faults)?
            }
            None => plan_work(&self.work, &Options::default(), go_on)?,
        };
        Ok(first_plan(&self.work, &plan, self.marks()))
    }

    /// The day by these entries, and how its cylinders stand.
    pub(super) fn day<'a>(&'a self, entries: &'a [LogEntry], output: &mut Output) -> Result<Day<'a>, Stop> {
        let fault = |fault| ByLog::Apart { log: log_path(&self.job), fault };
        let day = Day::replay(&self.work, entries).map_err(fault)?;
        output.stand_by(&day, None);
        Ok(day)
    }
}

/// The number of the last entry that stands and that `wanted` is true of.
pub(super) fn last_standing(day: &Day, wanted: impl Fn(&LogEntry) -> bool) -> Option<usize> {
    day.standing.iter().rev().find(|entry| wanted(entry)).map(|entry| entry.number)
}

/// A weight as typed, a bare number in the job's unit.
pub(super) fn weight(text: &str, unit: Unit) -> Result<Weight, Stop> {
    Ok(parse_weight(text, Some(unit)).map_err(Typed::from)?)
}

/// Now, on the clock of the place.
pub(super) fn now() -> Moment {
    of(&ZonedDateTime::now())
}

fn of(zoned: &ZonedDateTime) -> Moment {
    Moment::new(zoned.timestamp(), zoned.offset())
}

/// A time as typed: a date and a time, with an offset or by the clock of the place; or a time of today.
pub(super) fn at(text: &str) -> Result<Moment, String> {
    if let Some(moment) = Moment::parse(text) {
        return Ok(moment);
    }
    let expected = || format!("`{text}` isn't a time; expected HH:MM of today, or YYYY-MM-DDTHH:MM");
    let parts: Vec<&str> = text.split(['T', ' ']).collect();
    let time = |text: &str| text.parse::<Time>().ok().filter(|_| text.contains(':'));
    let local: DateTime = match parts.as_slice() {
        [clock] => ZonedDateTime::now().date().to_datetime(time(clock).ok_or_else(expected)?),
        [day, clock] => {
            let day = day.parse::<jiff::civil::Date>().map_err(|_| expected())?;
            day.to_datetime(time(clock).ok_or_else(expected)?)
        }
        _ => return Err(expected()),
    };
    local.to_zoned_datetime(TimeZone::system()).map(|zoned| of(&zoned)).map_err(|_| expected())
}
