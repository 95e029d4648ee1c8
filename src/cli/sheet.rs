//! `sheet`: the plan as a page to print or to carry on a phone.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use jiff::ZonedDateTime;

use super::plan::{Planned, Wishes};
use super::{Exit, Output, Stop, audited};
use crate::files::{Input, write_whole};
use crate::planner::{self, Options};
use crate::report::{Inputs, Sheet, TradeoffReport};

/// The longest that the trade-off beside the plan may take: the page is complete without it.
const TRADEOFF: Duration = Duration::from_secs(2);

#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    #[command(flatten)]
    wishes: Wishes,
    /// The page to write
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Leave out cylinders whose row in the yard can't be read, and plan with the rest
    #[arg(long)]
    skip_bad_rows: bool,
}

pub(super) fn run(arguments: &Arguments, output: &mut Output) -> Result<Exit, Stop> {
    let planned = arguments.wishes.plan(arguments.skip_bad_rows)?;
    let inputs = Inputs {
        files: planned.inputs.iter().map(|input| input.file.display().to_string()).collect(),
        hash: Input::short(&planned.inputs),
        made: ZonedDateTime::now().strftime("%Y-%m-%d %H:%M").to_string(),
    };
    let tradeoff = tradeoff(&planned)?;
    let report = planned.report();
    let page = Sheet::new(&planned.work, &planned.audited, &report, tradeoff.as_ref(), &inputs).page();
    write_whole(&arguments.output, &page).map_err(|error| {
        Stop::Said(Exit::Refused, format!("{} can't be written: {error}", arguments.output.display()))
    })?;
    output.say(&format!("wrote {}", arguments.output.display()))?;
    Ok(planned.exit())
}

/// What more cylinders would do, where that is known in time.
fn tradeoff(planned: &Planned) -> Result<Option<TradeoffReport>, Stop> {
    let end = Instant::now() + TRADEOFF;
    let plans = planner::tradeoff(&planned.work, &Options::default(), &mut |_| Instant::now() < end);
    let Ok(plans) = plans else { return Ok(None) };
    if plans.len() < 2 {
        return Ok(None);
    }
    let plans = plans.into_iter().map(|plan| audited(&planned.work, plan)).collect::<Result<Vec<_>, _>>()?;
    Ok(Some(TradeoffReport::new(&planned.work, &plans, &[])))
}
