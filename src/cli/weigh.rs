//! `weigh`: adds a reading to the job's log and says what it means.

use std::path::{Path, PathBuf};

use super::logged::{Site, at, last_standing, now, open, site, weight};
use super::stop::{ByLog, Ours, Typed};
use super::watching::Watching;
use super::{Exit, JobFiles, Output, Stop, remark, seconds, show};
use crate::cylinder::Id;
use crate::recovery::{self, Action, Answer, Asked, LogEntry, Moment, Planned, Shown};
use crate::report::{UndoReport, WeighReport};
use crate::text::{Log, log_path, read_readings};

#[derive(Debug, Clone, clap::Args)]
#[command(
    after_help = "The log stands beside the job file, JOB.log.jsonl, a line for each entry, and is only added to.\nA reading over the limit is kept, with DANGER first and exit status 1."
)]
pub(super) struct WeighArguments {
    /// The job file
    #[arg(value_name = "JOB")]
    job: PathBuf,
    /// The cylinder on the scale
    #[arg(value_name = "CYLINDER", required_unless_present_any = ["undo", "import"])]
    cylinder: Option<Id>,
    /// What the scale shows, a bare number in the job's unit
    #[arg(value_name = "GROSS", required_unless_present_any = ["undo", "net", "import"], conflicts_with_all = ["net", "undo"])]
    gross: Option<String>,
    /// What a scale shows that was zeroed with the cylinder on it, at its last gross reading or before the first
    #[arg(long, value_name = "ADDED", conflicts_with_all = ["undo", "emptied", "moved"])]
    net: Option<String>,
    /// When it was read: HH:MM of today, or YYYY-MM-DDTHH:MM [default: now]
    #[arg(long, value_name = "TIME", value_parser = at)]
    at: Option<Moment>,
    /// The system that it comes from, where it isn't the one before or the plan's
    #[arg(long, value_name = "NAME")]
    system: Option<String>,
    /// A remark for the log
    #[arg(long, value_name = "TEXT", value_parser = remark)]
    note: Option<String>,
    /// It is lighter: some left for good, into nothing that is weighed here; it stays counted as recovered
    #[arg(long)]
    emptied: bool,
    /// It is lighter: some went into another cylinder of this job, or back into the system
    #[arg(long, conflicts_with = "emptied")]
    moved: bool,
    /// Keep a reading that would be refused, with a mark
    #[arg(long)]
    force: bool,
    /// Take back the last reading, of this cylinder where one is named; the log gets a correcting line
    #[arg(long, conflicts_with_all = ["at", "system", "note", "emptied", "moved", "force", "plan"])]
    undo: bool,
    /// The readings that a sheet kept, as its lines were saved; each is taken as if it were typed, once
    #[arg(long, value_name = "FILE", conflicts_with_all = ["cylinder", "gross", "net", "at", "note", "emptied", "moved", "undo"])]
    import: Option<PathBuf>,
    /// With the first reading: the plan that is followed, as `plan --json` wrote it [default: the plan `plan` makes]
    #[arg(long, value_name = "PLAN")]
    plan: Option<PathBuf>,
    /// Seconds after which the first reading takes the best plan so far
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0, value_parser = seconds)]
    time_limit: f64,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &WeighArguments, output: &mut Output) -> Result<Exit, Stop> {
    match &arguments.import {
        Some(file) => import(arguments, file, output),
        None => keep(arguments, false, output),
    }
}

/// Takes a sheet's readings one after the other; the first that is refused ends it, and those before it stand.
fn import(arguments: &WeighArguments, file: &Path, output: &mut Output) -> Result<Exit, Stop> {
    let mut worst = Exit::Done;
    for (index, typed) in read_readings(file)?.into_iter().enumerate() {
        let number = index + 1;
        let of_line =
            |text: String| Stop::Reading { number, cylinder: None, stop: Box::new(Typed::Words(text).into()) };
        let time = Some(typed.at.trim()).filter(|time| !time.is_empty()).map(at).transpose();
        let note = Some(typed.note.as_str()).filter(|text| !text.trim().is_empty()).map(remark).transpose();
        let one = WeighArguments {
            cylinder: Some(typed.cylinder.into()),
            gross: Some(typed.gross),
            at: time.map_err(of_line)?,
            note: note.map_err(of_line)?,
            // The plan goes with the first reading of the log.
            plan: arguments.plan.clone().filter(|_| index == 0),
            import: None,
            ..arguments.clone()
        };
        match keep(&one, true, output) {
            Ok(Exit::Done) => {}
            Ok(exit) => worst = exit,
            // These have places of their own.
            Err(stop @ (Stop::Problems(_) | Stop::Write(_))) => return Err(stop),
            Err(stop) => return Err(Stop::Reading { number, cylinder: one.cylinder, stop: Box::new(stop) }),
        }
    }
    Ok(worst)
}

/// Adds one reading. One that is imported and that the log has already, be it taken back since, changes nothing.
fn keep(arguments: &WeighArguments, imported: bool, output: &mut Output) -> Result<Exit, Stop> {
    let site = site(&arguments.job, arguments.files.skip_bad_rows, output)?;
    if arguments.undo && !log_path(&site.job).exists() {
        return Err(ByLog::NoReading.into());
    }
    let mut log = open(&site, true, output)?;
    let site = site.with_added(&log.entries, output)?;
    if arguments.undo {
        return undo(arguments, &site, &mut log, output);
    }
    let asked = asked(arguments, &site)?;
    if imported && is_known(&log.entries, &asked, &site) {
        site.day(&log.entries, output)?;
        output.note(&format!("in the log already: {}", in_words(arguments)));
        return Ok(Exit::Done);
    }
    let mut new: Vec<(Moment, Action)> = Vec::new();
    if log.entries.is_empty() {
        new.push((now(), Action::Plan(begin(arguments, &site, output)?)));
    } else if arguments.plan.is_some() {
        return Err(ByLog::PlanInForce.into());
    }
    let mut entries = log.entries.clone();
    entries.extend(new.iter().enumerate().map(|(index, (at, action))| LogEntry {
        number: log.entries.len() + index + 1,
        at: *at,
        action: action.clone(),
    }));
    let reading = recovery::weigh(&site.day(&entries, output)?, &asked).map_err(ByLog::Refused)?;
    new.push((asked.at.unwrap_or_else(now), Action::Reading(reading.clone())));
    log.append(new)?;
    let day = site.day(&log.entries, output)?;
    let mut warnings = site.changed_files(&day);
    if asked.at.is_none() {
        warnings.extend(recovery::set_back(&log.entries));
    }
    let answer = Answer::to(&day, &reading).ok_or(Ours::ReadingLost)?;
    show(&WeighReport::new(day.division(), &answer, &warnings), arguments.files.json, output)?;
    Ok(Exit::Done)
}

fn asked(arguments: &WeighArguments, site: &Site) -> Result<Asked, Stop> {
    let unit = site.work.division().unit();
    let shown = match (&arguments.gross, &arguments.net) {
        (Some(gross), _) => Shown::Gross(weight(gross, unit)?),
        (None, Some(net)) => Shown::Net(weight(net, unit)?),
        (None, None) => return Err(Typed::NoWeight.into()),
    };
    Ok(Asked {
        cylinder: arguments.cylinder.clone().unwrap_or_else(|| Id::from("")),
        shown,
        system: arguments.system.clone(),
        emptied: arguments.emptied,
        moved: arguments.moved,
        force: arguments.force,
        note: arguments.note.clone(),
        at: arguments.at,
    })
}

/// Whether the log has this reading: of the same cylinder, at the same moment, of the same weight.
fn is_known(entries: &[LogEntry], asked: &Asked, site: &Site) -> bool {
    let (Some(at), Shown::Gross(gross)) = (asked.at, asked.shown) else { return false };
    let gross = site.work.division().ceil(gross);
    entries.iter().any(|entry| match &entry.action {
        Action::Reading(reading) => {
            let same = reading.cylinder == asked.cylinder;
            same && reading.gross == gross && entry.at.seconds_since(at) == 0
        }
        Action::Plan(_) | Action::Undo { .. } => false,
    })
}

fn in_words(arguments: &WeighArguments) -> String {
    let said = [
        arguments.cylinder.as_ref().map(ToString::to_string),
        arguments.gross.clone(),
        arguments.at.map(|at| at.to_string()),
    ];
    said.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn begin(arguments: &WeighArguments, site: &Site, output: &mut Output) -> Result<Planned, Stop> {
    let mut watching = Watching::start(arguments.time_limit, site.work.division(), output);
    let planned = site.first_plan(arguments.plan.as_deref(), &mut |progress| watching.go_on(progress));
    watching.finish(output);
    planned
}

fn undo(arguments: &WeighArguments, site: &Site, log: &mut Log, output: &mut Output) -> Result<Exit, Stop> {
    let day = site.day(&log.entries, output)?;
    let ours = |entry: &LogEntry| match &entry.action {
        Action::Reading(reading) => arguments.cylinder.as_ref().is_none_or(|id| *id == reading.cylinder),
        Action::Plan(_) | Action::Undo { .. } => false,
    };
    let takes_back = last_standing(&day, ours).ok_or(ByLog::NoReading)?;
    let plan = day.plan.map_or(0, |(number, _)| number);
    let entry = log.entries.iter().find(|entry| entry.number == takes_back).ok_or(ByLog::NoReading)?;
    let report = UndoReport::reading(day.division(), entry, plan);
    log.append(vec![(now(), Action::Undo { takes_back })])?;
    site.day(&log.entries, output)?;
    show(&report, arguments.files.json, output)?;
    Ok(Exit::Done)
}
