//! `status`: how far the job is, from the ledger.

use std::path::PathBuf;

use super::{Exit, JobFiles, Output, Stop, show, site};
use crate::door::Round;
use crate::recovery::{self, Day, Known};
use crate::report::StatusReport;

#[derive(Debug, clap::Args)]
pub(super) struct StatusArguments {
    /// The job file
    #[arg(value_name = "JOB")]
    job: PathBuf,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &StatusArguments, output: &mut Output) -> Result<Exit, Stop> {
    let opened = site::follow(&arguments.job, arguments.files.skip_bad_rows, output)?;
    let round = match site::round(&opened, output)? {
        Some(round) => Some(round),
        // One that is over is looked at as it ended.
        None => opened.closed_round(&output.today)?,
    };
    match round {
        Some(round) => {
            let day = site::day(&opened, &round, output);
            show(&in_force(&round, &day), arguments.files.json, output)?;
        }
        None => {
            let day = Day::of(&opened.loaded.work, &Known::default());
            let job = opened.loaded.work.jobs().first().map_or("", |job| job.name.as_str());
            let status = recovery::status(&day);
            show(&StatusReport::new(job, day.division(), &status, None, &[]), arguments.files.json, output)?;
        }
    }
    // What a long ledger takes is given back with the process, at once.
    std::mem::forget(opened);
    Ok(Exit::Done)
}

/// The plan in force with what is done of it.
pub(super) fn in_force(round: &Round, day: &Day) -> StatusReport {
    let names: Vec<&str> = round.jobs.iter().map(|job| job.name.as_str()).collect();
    let last = day.fillings.iter().filter(|filling| filling.readings > 0).filter_map(|filling| filling.last);
    let last = last.reduce(|a, b| if b.seconds_since(a) > 0 { b } else { a });
    let report = StatusReport::new(&names.join(" + "), day.division(), &recovery::status(day), last, &round.edited);
    report.in_force(&round.in_force)
}
