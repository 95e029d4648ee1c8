//! `audit`: a plan file against its job.

use std::path::PathBuf;

use super::changes::{Changes, find};
use super::plan::First;
use super::stop::Typed;
use super::{Exit, JobFiles, Output, Stop, is_standard_input, load, seconds, show};
use crate::audit::{self, Second};
use crate::cylinder::Id;
use crate::planner::Options;
use crate::report::AuditReport;
use crate::text::read_plan;

#[derive(Debug, clap::Args)]
#[command(override_usage = "chargesplit audit [OPTIONS] <JOB>... <PLAN>")]
pub(super) struct AuditArguments {
    /// Job files, and last the plan: the JSON that `plan --json` printed; one of them may be -, standard input
    #[arg(required = true, num_args = 2.., value_names = ["JOB", "PLAN"])]
    files: Vec<PathBuf>,
    /// Ask a second way, by another solver, whether the plan is the best; for a dozen cylinders
    #[arg(long)]
    best: bool,
    /// With --best, what mattered most when it was planned
    #[arg(long, value_enum, default_value_t = First::Fewest, requires = "best")]
    priority: First,
    /// With --best, the number of cylinders that it was planned within
    #[arg(long, value_name = "N", requires = "best")]
    cylinders: Option<usize>,
    /// With --best, a cylinder that had to be used; may be given more than once
    #[arg(long, value_name = "ID", requires = "best")]
    keep: Vec<Id>,
    /// With --best, the seconds that each of cylinders, heaviest and carried may take
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0, value_parser = seconds, requires = "best")]
    time_limit: f64,
    #[command(flatten)]
    pub(super) changes: Changes,
    #[command(flatten)]
    options: JobFiles,
}

pub(super) fn run(arguments: &AuditArguments, output: &mut Output) -> Result<Exit, Stop> {
    let Some((plan, jobs)) = arguments.files.split_last() else {
        return Err(Typed::NoPlanFile.into());
    };
    if [plan].into_iter().chain(jobs).filter(|file| is_standard_input(file)).count() > 1 {
        return Err(Typed::StandardInputTwice.into());
    }
    let loaded = load(jobs, arguments.options.skip_bad_rows, output)?;
    let work = arguments.changes.to(loaded.work, output)?;
    let (plan, input) = read_plan(plan)?;
    output.detail_of(&input);
    output.planned([&plan]);
    let (report, exit) = match audit::check(&work, plan) {
        Ok(audited) if arguments.best => {
            let keep = arguments.keep.iter().map(|id| find(&work, id)).collect::<Result<Vec<_>, _>>()?;
            let priority = arguments.priority.priority();
            let options = Options { priority, at_most: arguments.cylinders, must_use: keep, ..Options::default() };
            let second = audit::second(&work, &audited, &options, arguments.time_limit);
            let exit = if second == Second::Best { Exit::Done } else { Exit::No };
            (AuditReport::clean(&audited).with_second(&audited, second), exit)
        }
        Ok(audited) => (AuditReport::clean(&audited), Exit::Done),
        Err(faults) => (AuditReport::faulty(&faults), Exit::No),
    };
    show(&report, arguments.options.json, output)?;
    Ok(exit)
}
