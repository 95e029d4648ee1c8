//! `sheet`: the plan as a page to print or to carry on a phone.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use super::page::{self, page_file};
use super::plan::{CheckedPlan, Wishes};
use super::{Exit, Output, Stop, is_standard_input, site, status};
use crate::door::{Opened, Round, audited};
use crate::planner::{self, Effort, Options};
use crate::report::{Alarms, Block, InForceSheet, Sheet, TradeoffReport};

/// The longest that the trade-off beside the plan may take: the page is complete without it.
const TRADEOFF: Duration = Duration::from_secs(2);

#[derive(Debug, clap::Args)]
pub(super) struct SheetArguments {
    /// Job files; several are planned together on one yard
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) wishes: Wishes,
    /// The page to write
    #[arg(short, long, value_name = "FILE.html", value_parser = page_file)]
    output: PathBuf,
    /// A draft: nobody is to follow it, and it binds nothing
    #[arg(long)]
    draft: bool,
    /// Leave out cylinders whose row in the yard can't be read, and plan with the rest
    #[arg(long)]
    skip_bad_rows: bool,
}

pub(super) fn run(arguments: &SheetArguments, output: &mut Output) -> Result<Exit, Stop> {
    page::check(&arguments.output)?;
    let binds = !arguments.draft && !arguments.jobs.iter().any(|job| is_standard_input(job));
    let doing = binds.then_some("sheet");
    let mut opened = site::open(&arguments.jobs, arguments.skip_bad_rows, doing, output)?;
    if let Some(round) = site::in_force(&opened, output)?.filter(|round| round.begun) {
        if !arguments.wishes.options().is_empty() {
            site::refuse_begun(&opened)?;
        }
        return in_force(&arguments.output, &opened, &round, output);
    }
    let planned = arguments.wishes.plan(&opened, output)?;
    let inputs = page::inputs(&planned.inputs);
    let tradeoff = tradeoff(&planned)?;
    let report = planned.report();
    let mut first = output.alarms().map(Alarms::blocks).unwrap_or_default();
    if !binds {
        first.push(Block::Note("DRAFT: it binds nobody, and its cylinders may be somebody else's by then.".into()));
    }
    let page = Sheet::new(&planned.work, &planned.audited, &report, tradeoff.as_ref(), &inputs).page(&first);
    output.say_danger();
    if binds {
        site::bind(&mut opened, &planned.audited, arguments.wishes.options(), None, output)?;
    }
    page::write(&arguments.output, &page, output)?;
    Ok(planned.exit())
}

/// The page of the plan in force, where it is begun.
fn in_force(file: &Path, opened: &Opened, round: &Round, output: &mut Output) -> Result<Exit, Stop> {
    let day = site::day(opened, round, output);
    let first = output.alarms().map(Alarms::blocks).unwrap_or_default();
    let inputs = page::inputs(&site::inputs(opened));
    let page = InForceSheet::new(&day, &status::in_force(round, &day), &inputs).page(&first);
    output.say_danger();
    page::write(file, &page, output)?;
    Ok(Exit::Done)
}

/// What more cylinders would do, where that is known in time.
fn tradeoff(planned: &CheckedPlan) -> Result<Option<TradeoffReport>, Stop> {
    let end = Instant::now() + TRADEOFF;
    let options = Options { effort: Effort::within(TRADEOFF.as_secs_f64()), ..Options::default() };
    let plans = planner::tradeoff(&planned.work, &options, &mut |_| Instant::now() < end);
    let Ok(plans) = plans else { return Ok(None) };
    if plans.len() < 2 {
        return Ok(None);
    }
    let plans = plans.into_iter().map(|plan| audited(&planned.work, plan)).collect::<Result<Vec<_>, _>>()?;
    Ok(Some(TradeoffReport::new(&planned.work, &plans, &[])))
}
