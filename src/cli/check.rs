//! `check`: what is wrong with the files, all of it.

use std::path::PathBuf;

use super::units::show_in;
use super::{Exit, JobFiles, Output, Stop, site, tell};
use crate::door;
use crate::report::CheckReport;
use crate::text::Request;

#[derive(Debug, clap::Args)]
pub(super) struct CheckArguments {
    /// Job files; several are read as one plan would read them; - is standard input
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &CheckArguments, output: &mut Output) -> Result<Exit, Stop> {
    // A job that is quoted and not planned yet has no cylinders to name.
    let skip_bad_rows = arguments.files.skip_bad_rows;
    let request = Request { jobs: &arguments.jobs, today: &output.today, skip_bad_rows };
    let opened = door::open(&request, false, &site::keep(None, output)?)?;
    tell(&opened, output);
    let loaded = opened.loaded;
    let own = loaded.work.division().unit();
    show_in(CheckReport::new(&loaded.work, &loaded.extras, &loaded.skipped), own, arguments.files.json, output)?;
    Ok(Exit::Done)
}
