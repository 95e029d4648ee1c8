//! `plan`: the loading plan.

use std::path::PathBuf;

use clap::ValueEnum;

use super::changes::{Changes, find};
use super::watching::Watching;
use super::{Exit, JobFiles, Output, Stop, audited, flammable, load, seconds, show};
use crate::plan::Status;
use crate::planner::{self, Amounts, Options, Priority};
use crate::report::PlanReport;

#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Job files; several are planned together on one yard
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// What matters most
    #[arg(long, value_enum, default_value_t = First::Fewest)]
    priority: First,
    /// The lightest plan within so many cylinders
    #[arg(long, value_name = "N")]
    cylinders: Option<usize>,
    /// Use this cylinder; may be given more than once
    #[arg(long, value_name = "ID")]
    keep: Vec<String>,
    #[command(flatten)]
    changes: Changes,
    /// Fill the cylinders of a lot one after the other, which leaves the last one light, not all alike
    #[arg(long)]
    in_turn: bool,
    /// Say why so many cylinders, and why so heavy
    #[arg(long)]
    explain: bool,
    /// Seconds after which the best plan so far is taken, with its bounds
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0, value_parser = seconds)]
    time_limit: f64,
    #[command(flatten)]
    files: JobFiles,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum First {
    /// As few cylinders as can be, then the lowest heaviest lift
    Fewest,
    /// The lowest heaviest lift, then as few cylinders as can be
    Lightest,
}

pub(super) fn run(arguments: &Arguments, output: &mut Output) -> Result<Exit, Stop> {
    let loaded = load(&arguments.jobs, arguments.files.skip_bad_rows)?;
    let work = arguments.changes.to(loaded.work)?;
    let keep = arguments.keep.iter().map(|id| find(&work, id)).collect::<Result<Vec<_>, _>>()?;
    let options = Options {
        priority: match arguments.priority {
            First::Fewest => Priority::Fewest,
            First::Lightest => Priority::Lightest,
        },
        amounts: if arguments.in_turn { Amounts::InTurn } else { Amounts::Levelled },
        at_most: arguments.cylinders,
        must_use: keep,
    };
    let mut watching = Watching::start(arguments.time_limit, work.division());
    let planned = planner::plan(&work, &options, &mut |progress| watching.go_on(progress));
    watching.finish();
    let audited = audited(&work, planned.map_err(|no| Stop::Said(Exit::No, no.to_string()))?)?;
    let why = if arguments.explain { planner::explain(&work, &options, audited.plan()) } else { Vec::new() };
    let report = PlanReport::new(&audited, &loaded.skipped, flammable(&work)).with_why(why);
    show(&report, arguments.files.json, output)?;
    Ok(match audited.plan().status {
        Status::Proved | Status::Bounded => Exit::Done,
        Status::Short | Status::Undecided => Exit::No,
    })
}
