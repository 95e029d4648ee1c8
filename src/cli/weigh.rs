//! `weigh`: keeps a reading and says what it means.

use std::path::{Path, PathBuf};

use super::clock::{at, now};
use super::site::{self, weight};
use super::stop::{ByLedger, Ours, Typed};
use super::{Exit, JobFiles, Output, Stop, remark, seconds, show};
use crate::cylinder::Id;
use crate::door::{Opened, Round};
use crate::ledger::{Entry, JobId, What};
use crate::recovery::{self, Answer, Asked, Moment, Shown, pour};
use crate::report::{PlanReport, UndoReport, WeighReport};
use crate::text::read_readings;

#[derive(Debug, Clone, clap::Args)]
#[command(
    after_help = "Readings are kept in the ledger beside the yard, and are only ever added.\nA reading over the limit is kept, with DANGER first and exit status 1."
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
    /// The system that all of it comes from, where it isn't the one that the plan has connected
    #[arg(long, value_name = "NAME")]
    system: Option<String>,
    /// A remark to keep with it
    #[arg(long, value_name = "TEXT", value_parser = remark)]
    note: Option<String>,
    /// It is lighter: some left for good, into nothing that is weighed here; it stays counted as recovered
    #[arg(long)]
    emptied: bool,
    /// It is lighter: some went into another cylinder of this job, or back into the system
    #[arg(long, conflicts_with = "emptied")]
    moved: bool,
    /// Keep a reading that would be refused, with a mark: it has happened
    #[arg(long)]
    force: bool,
    /// Take over a cylinder that another job's plan has and hasn't begun; that job has to plan again
    #[arg(long)]
    take_over: bool,
    /// Take back the last reading, of this cylinder where one is named
    #[arg(long, conflicts_with_all = ["at", "system", "note", "emptied", "moved", "force", "take_over"])]
    undo: bool,
    /// The readings that a sheet kept, as its lines were saved; each is taken as if it were typed, once
    #[arg(long, value_name = "FILE", conflicts_with_all = ["cylinder", "gross", "net", "at", "note", "emptied", "moved", "undo"])]
    import: Option<PathBuf>,
    /// Seconds after which the first reading takes the best plan so far
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0, value_parser = seconds)]
    time_limit: f64,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &WeighArguments, output: &mut Output) -> Result<Exit, Stop> {
    match &arguments.import {
        Some(file) => import(arguments, file, output),
        None => keep(arguments, None, output),
    }
}

/// Takes a sheet's readings one after the other; the first that is refused ends it, and those before it stand. Taken
/// again, those that are kept already change nothing.
fn import(arguments: &WeighArguments, file: &Path, output: &mut Output) -> Result<Exit, Stop> {
    let mut worst = Exit::Done;
    for (index, typed) in read_readings(file)?.into_iter().enumerate() {
        let number = index + 1;
        let of_line =
            |text: String| Stop::Reading { number, cylinder: None, stop: Box::new(Typed::Words(text).into()) };
        let time = Some(typed.at.trim()).filter(|time| !time.is_empty()).map(at).transpose();
        let note = Some(typed.note.as_str()).filter(|text| !text.trim().is_empty()).map(remark).transpose();
        let via = typed.name();
        let one = WeighArguments {
            cylinder: Some(typed.cylinder.into()),
            gross: Some(typed.gross),
            at: time.map_err(of_line)?,
            note: note.map_err(of_line)?,
            import: None,
            ..arguments.clone()
        };
        match keep(&one, via, output) {
            Ok(Exit::Done) => {}
            Ok(exit) => worst = exit,
            // These have places of their own.
            Err(stop @ (Stop::Problems(_) | Stop::Write(_))) => return Err(stop),
            Err(stop) => return Err(Stop::Reading { number, cylinder: one.cylinder, stop: Box::new(stop) }),
        }
    }
    Ok(worst)
}

/// Keeps one reading. One that came from a card and is kept already, be it taken back since, changes nothing.
fn keep(arguments: &WeighArguments, via: Option<String>, output: &mut Output) -> Result<Exit, Stop> {
    let mut opened = site::open_one(&arguments.job, arguments.files.skip_bad_rows, Some("weigh"), output)?;
    if arguments.undo {
        return undo(arguments, &mut opened, output);
    }
    if let Some(via) = via.as_ref().filter(|via| is_kept(&opened, via)) {
        if let Some(round) = site::round(&opened, output)? {
            site::day(&opened, &round, output);
        }
        output.note(&format!("kept already: {via}"));
        return Ok(Exit::Done);
    }
    let (mut table, mut again) = (None, None);
    if site::round(&opened, output)?.is_none() {
        again = opened.closed_round(&output.today)?.map(|_| {
            "a job of this name has been closed out before: this reading begins another one of the same name".to_owned()
        });
        let plan = site::begin(&mut opened, arguments.time_limit, output)?;
        table = Some(PlanReport::new(&plan, &opened.loaded.skipped, &opened.loaded.work));
    }
    let round = site::round(&opened, output)?.ok_or(Ours::PlanLost)?;
    let (job, id) = site::position(&opened, &round);
    let bind = round.in_force.bind.clone();
    let judged = carried_on(round, arguments, &opened, job).and_then(|round| {
        let asked = asked(arguments, job, &round)?;
        let judged = recovery::weigh(&site::day(&opened, &round, output), &asked).map_err(ByLedger::Refused)?;
        Ok((round, asked, judged))
    });
    if judged.is_err() && table.is_some() {
        // What was bound for this reading alone goes with it.
        let draft = opened.release(&bind, &id, now());
        site::add(&mut opened, vec![draft], output)?;
    }
    let (round, asked, judged) = judged?;
    let day = round.day(opened.ledger());
    let mut warnings = round.edited.clone();
    warnings.extend(again);
    if arguments.at.is_none() {
        warnings.extend(recovery::set_back(&day, asked.at));
    }
    let reading = judged.entry(&day, &round.in_force.bind, via);
    let owner = day.systems.get(judged.system()).and_then(|system| round.jobs.get(system.job)).unwrap_or(&id).clone();
    let draft = opened.reading(&owner, reading, asked.at);
    site::add(&mut opened, vec![draft], output)?;
    let round = site::round(&opened, output)?.ok_or(Ours::PlanLost)?;
    let day = site::day(&opened, &round, output);
    let answer = Answer::to(&day, &judged).ok_or(Ours::ReadingLost)?;
    let report = WeighReport::new(day.division(), &answer, &warnings).with_plan(table);
    show(&report, arguments.files.json, output)?;
    Ok(Exit::Done)
}

/// The round with the cylinder that is read as its own, where it may be: taken over empty, or begun by another job with
/// what may stand on it.
fn carried_on(mut round: Round, arguments: &WeighArguments, opened: &Opened, job: usize) -> Result<Round, Stop> {
    let Some(id) = &arguments.cylinder else { return Ok(round) };
    let Some(now) = opened.yard.now.get(id) else { return Ok(round) };
    let Some(bound) = now.bound.as_ref().filter(|bound| bound.bind != round.in_force.bind) else { return Ok(round) };
    let lots = round.work.lots().iter().filter(|lot| lot.parts.iter().any(|part| part.job == job));
    let goes =
        |lot: &crate::job::Lot| now.inside.pours.iter().all(|earlier| earlier.goes_with(&pour(&round.work, lot)));
    let carried = bound.begun && lots.clone().any(goes);
    if carried || (arguments.take_over && !bound.begun) {
        round.make_ours(id);
    } else if arguments.take_over {
        return Err(ByLedger::Begun { id: id.clone() }.into());
    }
    Ok(round)
}

fn asked(arguments: &WeighArguments, job: usize, round: &Round) -> Result<Asked, Stop> {
    let unit = round.work.division().unit();
    let shown = match (&arguments.gross, &arguments.net) {
        (Some(gross), _) => Shown::Gross(weight(gross, unit)?),
        (None, Some(net)) => Shown::Net(weight(net, unit)?),
        (None, None) => return Err(Typed::NoWeight.into()),
    };
    Ok(Asked {
        job,
        cylinder: arguments.cylinder.clone().unwrap_or_else(|| Id::from("")),
        shown,
        system: arguments.system.clone(),
        emptied: arguments.emptied,
        moved: arguments.moved,
        force: arguments.force,
        note: arguments.note.clone(),
        at: arguments.at.unwrap_or_else(now),
        at_was_said: arguments.at.is_some(),
    })
}

/// Whether a card's reading is in the ledger.
fn is_kept(opened: &Opened, via: &str) -> bool {
    opened.ledger().entries.iter().any(|entry| match &entry.what {
        What::Reading(reading) => reading.via.as_deref() == Some(via),
        _ => false,
    })
}

fn undo(arguments: &WeighArguments, opened: &mut Opened, output: &mut Output) -> Result<Exit, Stop> {
    let round = site::round(opened, output)?.ok_or(ByLedger::NoReading)?;
    let (_, job) = site::position(opened, &round);
    let (entry, cylinder) =
        last_reading(opened, &round, &job, arguments.cylinder.as_ref()).ok_or(ByLedger::NoReading)?;
    let planned_with = opened.ledger().knows(&cylinder, &round.in_force.bind, &entry.id);
    let report = UndoReport::reading(round.work.division(), &entry, planned_with);
    let draft = opened.undo(&entry, &cylinder, now());
    site::add(opened, vec![draft], output)?;
    let round = site::round(opened, output)?.ok_or(Ours::PlanLost)?;
    site::day(opened, &round, output);
    show(&report, arguments.files.json, output)?;
    Ok(Exit::Done)
}

/// The last reading of a job that can be taken back, of this cylinder where one is named: the last thing that happened in it.
fn last_reading(opened: &Opened, round: &Round, job: &JobId, cylinder: Option<&Id>) -> Option<(Entry, Id)> {
    let tracks = opened.ledger().tracks(&round.jobs, &|_| None);
    let of_job = |entry: &&Entry| entry.job.as_ref() == Some(job);
    let last = tracks.iter().filter(|track| cylinder.is_none_or(|id| id == track.cylinder));
    let last = last.filter_map(|track| Some((track.last.filter(of_job)?, track.cylinder)));
    let last = last.max_by(|(one, _), (other, _)| one.at.order(&other.at).then_with(|| one.id.cmp(&other.id)))?;
    Some((last.0.clone(), last.1.clone()))
}
