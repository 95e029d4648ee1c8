//! `audit`: a plan file against its job.

use std::path::PathBuf;

use super::changes::Changes;
use super::{Exit, JobFiles, Output, Stop, is_standard_input, load, show};
use crate::audit;
use crate::files::read_plan;
use crate::report::AuditReport;

#[derive(Debug, clap::Args)]
#[command(override_usage = "chargesplit audit [OPTIONS] <JOB>... <PLAN>")]
pub(super) struct Arguments {
    /// Job files, and last the plan: the JSON that `plan --json` printed; one of them may be -, standard input
    #[arg(required = true, num_args = 2.., value_names = ["JOB", "PLAN"])]
    files: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) changes: Changes,
    #[command(flatten)]
    options: JobFiles,
}

pub(super) fn run(arguments: &Arguments, output: &mut Output) -> Result<Exit, Stop> {
    let Some((plan, jobs)) = arguments.files.split_last() else {
        return Err(Stop::Said(Exit::Refused, "expected job files and a plan".into()));
    };
    if [plan].into_iter().chain(jobs).filter(|file| is_standard_input(file)).count() > 1 {
        return Err(Stop::Said(Exit::Refused, "only one of the files can be standard input".into()));
    }
    let loaded = load(jobs, arguments.options.skip_bad_rows, output)?;
    let work = arguments.changes.to(loaded.work, output)?;
    let (plan, input) = read_plan(plan)?;
    output.detail_of(&input);
    output.planned([&plan]);
    let (report, exit) = match audit::check(&work, plan) {
        Ok(audited) => (AuditReport::clean(&audited), Exit::Done),
        Err(faults) => (AuditReport::faulty(&faults), Exit::No),
    };
    show(&report, arguments.options.json, output)?;
    Ok(exit)
}
