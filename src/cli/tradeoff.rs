//! `tradeoff`: cylinders against the heaviest lift.

use std::path::PathBuf;

use super::changes::Changes;
use super::quote::one_currency;
use super::units::show_in;
use super::watching::Watching;
use super::{Exit, JobFiles, Output, Stop, load, seconds};
use crate::audit::Audited;
use crate::door::audited;
use crate::estimate::{Pool, Prices, Supply, Terms};
use crate::plan::Status;
use crate::planner::{self, Effort, Options};
use crate::report::TradeoffReport;

#[derive(Debug, clap::Args)]
pub(super) struct TradeoffArguments {
    /// Job files; several are planned together on one yard; - is standard input
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) changes: Changes,
    /// Each plan with as few pours as can be right after the fewest cylinders
    #[arg(long)]
    whole: bool,
    /// Seconds for all plans together, after which each is the best so far
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0, value_parser = seconds)]
    time_limit: f64,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &TradeoffArguments, output: &mut Output) -> Result<Exit, Stop> {
    let loaded = load(&arguments.jobs, arguments.files.skip_bad_rows, output)?;
    let work = arguments.changes.to(loaded.work, output)?;
    let options = Options { effort: Effort::within(arguments.time_limit), ..Options::default() };
    let mut watching = Watching::start(arguments.time_limit, work.division(), output);
    let tradeoff = if arguments.whole { planner::tradeoff_whole } else { planner::tradeoff };
    let planned = tradeoff(&work, &options, &mut |progress| watching.go_on(progress));
    watching.finish(output);
    let plans = planned?.into_iter().map(|plan| audited(&work, plan)).collect::<Result<Vec<_>, _>>()?;
    output.planned(plans.iter().map(Audited::plan));
    let fits = plans.iter().all(|plan| matches!(plan.plan().status, Status::Proved | Status::Bounded));
    let mut terms: Vec<Terms> = loaded.extras.into_iter().map(|extras| extras.terms).collect();
    if one_currency(&terms, false).is_err() {
        // Hours can be added up, and costs can't.
        terms.iter_mut().for_each(|terms| terms.prices = Prices::default());
    }
    let all: Vec<usize> = (0..work.jobs().len()).collect();
    let supply = Supply { work: work.clone(), hired: Vec::new(), assumptions: Vec::new() };
    let report = TradeoffReport::new(&work, &plans, &loaded.skipped);
    let pools: Vec<Pool> = plans.into_iter().map(|plan| Pool::new(&all, &supply, plan, &terms)).collect();
    let report = report.with_hours(&work, &pools);
    show_in(report, work.division().unit(), arguments.files.json, output)?;
    Ok(if fits { Exit::Done } else { Exit::No })
}
