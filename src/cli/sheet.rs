//! `sheet`: the plan as a page to print or to carry on a phone.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use super::page::{self, page_file};
use super::plan::{CheckedPlan, Wishes};
use super::{Exit, Output, Stop};
use crate::door::audited;
use crate::planner::{self, Options};
use crate::report::{Alarms, Sheet, TradeoffReport};

/// The longest that the trade-off beside the plan may take: the page is complete without it.
const TRADEOFF: Duration = Duration::from_secs(2);

#[derive(Debug, clap::Args)]
pub(super) struct SheetArguments {
    #[command(flatten)]
    pub(super) wishes: Wishes,
    /// The page to write
    #[arg(short, long, value_name = "FILE.html", value_parser = page_file)]
    output: PathBuf,
    /// Leave out cylinders whose row in the yard can't be read, and plan with the rest
    #[arg(long)]
    skip_bad_rows: bool,
}

pub(super) fn run(arguments: &SheetArguments, output: &mut Output) -> Result<Exit, Stop> {
    page::check(&arguments.output)?;
    let planned = arguments.wishes.plan(arguments.skip_bad_rows, output)?;
    let inputs = page::inputs(&planned.inputs);
    let tradeoff = tradeoff(&planned)?;
    let report = planned.report();
    let first = output.alarms().map(Alarms::blocks).unwrap_or_default();
    let page = Sheet::new(&planned.work, &planned.audited, &report, tradeoff.as_ref(), &inputs).page(&first);
    output.say_danger();
    page::write(&arguments.output, &page, output)?;
    Ok(planned.exit())
}

/// What more cylinders would do, where that is known in time.
fn tradeoff(planned: &CheckedPlan) -> Result<Option<TradeoffReport>, Stop> {
    let end = Instant::now() + TRADEOFF;
    let plans = planner::tradeoff(&planned.work, &Options::default(), &mut |_| Instant::now() < end);
    let Ok(plans) = plans else { return Ok(None) };
    if plans.len() < 2 {
        return Ok(None);
    }
    let plans = plans.into_iter().map(|plan| audited(&planned.work, plan)).collect::<Result<Vec<_>, _>>()?;
    Ok(Some(TradeoffReport::new(&planned.work, &plans, &[])))
}
