//! `replan`: the plan for what is left, from the log.

use std::path::PathBuf;

use super::logged::{Site, last_standing, now, open, site, weight};
use super::page::Page;
use super::stop::{ByLog, Typed};
use super::units::{other, refuse_in_data};
use super::watching::Watching;
use super::{Exit, JobFiles, Output, Stop, seconds, show};
use crate::cylinder::Id;
use crate::quantity::Marks;
use crate::recovery::{self, Action, Changes, Day};
use crate::report::{Alarms, ReplanReport, ReplanSheet, UndoReport};
use crate::text::Log;

#[derive(Debug, clap::Args)]
pub(super) struct ReplanArguments {
    /// The job file
    #[arg(value_name = "JOB")]
    job: PathBuf,
    /// What is believed to be left now: WEIGHT, or SYSTEM=WEIGHT where the job has several; may be given more than once
    #[arg(long, value_name = "[SYSTEM=]WEIGHT")]
    left: Vec<String>,
    /// A yard file with further cylinders; may be given more than once
    #[arg(long, value_name = "YARD")]
    with: Vec<PathBuf>,
    /// Take out this cylinder, missing or bad; what is in it stays counted; may be given more than once
    #[arg(long, value_name = "ID")]
    pub(super) without: Vec<Id>,
    /// Take back the last replan; the log gets a correcting line
    #[arg(long, conflicts_with_all = ["left", "with", "without", "output"])]
    undo: bool,
    /// Seconds after which the best plan so far is taken
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0, value_parser = seconds)]
    time_limit: f64,
    #[command(flatten)]
    page: Page,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &ReplanArguments, output: &mut Output) -> Result<Exit, Stop> {
    refuse_in_data(arguments.files.json, output)?;
    arguments.page.check(output)?;
    let site = site(&arguments.job, arguments.files.skip_bad_rows, output)?;
    if !crate::text::log_path(&site.job).exists() {
        return Err(ByLog::NoLog.into());
    }
    let mut log = open(&site, true, output)?;
    let mut site = site.with_added(&log.entries, output)?;
    if arguments.undo {
        return undo(arguments, &site, &mut log, output);
    }
    let mut added = Vec::new();
    for yard in &arguments.with {
        added.extend(site.add(yard, output)?);
    }
    let day = site.day(&log.entries, output)?;
    if day.plan.is_none() {
        return Err(ByLog::Empty.into());
    }
    let changes = Changes {
        left: left(&arguments.left, &day)?,
        without: without(&arguments.without, &day)?,
        with: arguments.with.iter().map(|yard| site.recorded(yard)).collect(),
        added,
    };
    let about_files = site.changed_files(&day);
    let mut watching = Watching::start(arguments.time_limit, day.division(), output);
    let replanned = recovery::replan(&day, &changes, site.marks(), &mut |progress| watching.go_on(progress));
    watching.finish(output);
    let replanned = replanned?;
    output.stand_by(&day, Some(&replanned.planned));
    let first = output.alarms().map(Alarms::blocks).unwrap_or_default();
    let report = ReplanReport::new(&day, &replanned, &about_files);
    let report = report.beside(day.division().unit(), other(day.division().unit(), output));
    let page = arguments
        .page
        .draw(&site.inputs_with(&log), |inputs| ReplanSheet::new(&day, &replanned, &report, &inputs).page(&first));
    let no = replanned.undecided || !replanned.short.is_empty();
    log.append(vec![(now(), Action::Plan(replanned.planned))])?;
    show(&report, arguments.files.json, output)?;
    arguments.page.write(page.as_deref(), output)?;
    Ok(if no { Exit::No } else { Exit::Done })
}

/// What is left in which system.
fn left(typed: &[String], day: &Day) -> Result<Vec<(usize, Marks)>, Stop> {
    let systems = || day.systems.iter().map(|system| system.name.clone()).collect();
    let mut found: Vec<(usize, Marks)> = Vec::new();
    for text in typed {
        let (system, size) = match text.rsplit_once('=') {
            Some((name, size)) => {
                let wanted = name.trim().to_lowercase();
                let system = day.systems.iter().position(|system| system.name.to_lowercase() == wanted);
                let unknown = || Typed::System { name: name.trim().to_owned(), systems: systems() };
                (system.ok_or_else(unknown)?, size)
            }
            None if day.systems.len() == 1 => (0, text.as_str()),
            None => return Err(Typed::LeftOfWhich { systems: systems() }.into()),
        };
        if found.iter().any(|(known, _)| *known == system) {
            return Err(Typed::LeftTwice { system: day.systems[system].name.clone() }.into());
        }
        let marks = day.division().ceil(weight(size, day.division().unit())?);
        // The most that a job file may say of a system.
        let most = day.division().floor(crate::quantity::Weight::pounds(crate::quantity::Decimal::from(200_000)));
        if marks > most {
            return Err(Typed::LeftTooMuch { size: size.to_owned() }.into());
        }
        found.push((system, marks));
    }
    Ok(found)
}

fn without(ids: &[Id], day: &Day) -> Result<Vec<Id>, Stop> {
    for id in ids {
        super::changes::find(day.work, id)?;
    }
    Ok(ids.to_vec())
}

fn undo(arguments: &ReplanArguments, site: &Site, log: &mut Log, output: &mut Output) -> Result<Exit, Stop> {
    let day = site.day(&log.entries, output)?;
    let plan = |entry: &recovery::LogEntry| matches!(entry.action, Action::Plan(_)) && entry.number > 1;
    let takes_back = last_standing(&day, plan).ok_or(ByLog::NoReplan)?;
    log.append(vec![(now(), Action::Undo { takes_back })])?;
    let day = site.day(&log.entries, output)?;
    let number = day.plan.map_or(0, |(number, _)| number);
    show(&UndoReport::plan(day.division(), takes_back, number), arguments.files.json, output)?;
    Ok(Exit::Done)
}
