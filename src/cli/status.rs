//! `status`: how far the job is, from its log.

use std::path::PathBuf;

use super::logged::{open, site};
use super::{Exit, JobFiles, Output, Stop, show};
use crate::recovery;
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
    let site = site(&arguments.job, arguments.files.skip_bad_rows, output)?;
    let log = open(&site, false, output)?;
    let site = site.with_added(&log.entries, output)?;
    let day = site.day(&log.entries, output)?;
    let warnings = site.changed_files(&day);
    let status = recovery::status(&day);
    let last = day.fillings.iter().filter_map(|filling| filling.last);
    let last = last.reduce(|a, b| if b.seconds_since(a) > 0 { b } else { a });
    show(&StatusReport::new(site.name(), day.division(), &status, last, &warnings), arguments.files.json, output)?;
    Ok(Exit::Done)
}
