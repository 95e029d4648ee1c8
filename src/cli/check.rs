//! `check`: what is wrong with the files, all of it.

use std::path::PathBuf;

use super::{Exit, JobFiles, Output, Stop, load, show};
use crate::report::CheckReport;

#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Job files; several are read as one plan would read them; - is standard input
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &Arguments, output: &mut Output) -> Result<Exit, Stop> {
    let loaded = load(&arguments.jobs, arguments.files.skip_bad_rows, output)?;
    show(&CheckReport::new(&loaded.work, &loaded.skipped), arguments.files.json, output)?;
    Ok(Exit::Done)
}
