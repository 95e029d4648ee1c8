//! `check`: what is wrong with the files, all of it.

use std::path::PathBuf;

use super::units::show_in;
use super::{Exit, JobFiles, Output, Stop, load};
use crate::report::CheckReport;

#[derive(Debug, clap::Args)]
pub(super) struct CheckArguments {
    /// Job files; several are read as one plan would read them; - is standard input
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &CheckArguments, output: &mut Output) -> Result<Exit, Stop> {
    let loaded = load(&arguments.jobs, arguments.files.skip_bad_rows, output)?;
    let own = loaded.work.division().unit();
    show_in(CheckReport::new(&loaded.work, &loaded.skipped), own, arguments.files.json, output)?;
    Ok(Exit::Done)
}
