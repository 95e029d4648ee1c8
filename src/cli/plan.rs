//! `plan`: the loading plan.

use std::path::PathBuf;

use clap::ValueEnum;

use super::changes::{Changes, find};
use super::units::{other, refuse_in_data};
use super::watching::Watching;
use super::{Exit, JobFiles, Output, Stop, load, seconds, show};
use crate::audit::Audited;
use crate::cylinder::Id;
use crate::disk::Input;
use crate::door::plan_work;
use crate::job::Work;
use crate::plan::Status;
use crate::planner::{self, Amounts, Options, Priority};
use crate::problem::SkippedRow;
use crate::report::PlanReport;

#[derive(Debug, clap::Args)]
pub(super) struct PlanArguments {
    #[command(flatten)]
    pub(super) wishes: Wishes,
    /// Say why so many cylinders, and why so heavy
    #[arg(long)]
    explain: bool,
    #[command(flatten)]
    files: JobFiles,
}

/// What a plan is asked for.
#[derive(Debug, clap::Args)]
pub(super) struct Wishes {
    /// Job files; several are planned together on one yard; - is standard input
    #[arg(required = true, value_name = "JOB")]
    pub(super) jobs: Vec<PathBuf>,
    /// What matters most
    #[arg(long, value_enum, default_value_t = First::Fewest)]
    priority: First,
    /// The lightest plan within so many cylinders
    #[arg(long, value_name = "N")]
    cylinders: Option<usize>,
    /// Use this cylinder; may be given more than once
    #[arg(long, value_name = "ID")]
    keep: Vec<Id>,
    #[command(flatten)]
    changes: Changes,
    /// Fill the cylinders of a lot one after the other, which leaves the last one light, not all alike
    #[arg(long)]
    in_turn: bool,
    /// Seconds after which the best plan so far is taken, with its bounds
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0, value_parser = seconds)]
    time_limit: f64,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum First {
    /// As few cylinders as can be, then the lowest heaviest lift
    Fewest,
    /// The lowest heaviest lift, then as few cylinders as can be
    Lightest,
}

impl First {
    pub(super) fn priority(self) -> Priority {
        match self {
            Self::Fewest => Priority::Fewest,
            Self::Lightest => Priority::Lightest,
        }
    }
}

/// A plan that was made and checked.
pub(super) struct CheckedPlan {
    pub(super) work: Work,
    pub(super) skipped: Vec<SkippedRow>,
    pub(super) inputs: Vec<Input>,
    pub(super) options: Options,
    pub(super) audited: Audited,
}

impl Wishes {
    /// The cylinders that it names.
    pub(super) fn named(&self) -> Vec<&Id> {
        self.keep.iter().chain(self.changes.without()).collect()
    }

    /// Reads the files, makes the plan, and has it audited.
    pub(super) fn plan(&self, skip_bad_rows: bool, output: &mut Output) -> Result<CheckedPlan, Stop> {
        let loaded = load(&self.jobs, skip_bad_rows, output)?;
        let work = self.changes.to(loaded.work, output)?;
        let keep = self.keep.iter().map(|id| find(&work, id)).collect::<Result<Vec<_>, _>>()?;
        let options = Options {
            priority: self.priority.priority(),
            amounts: if self.in_turn { Amounts::InTurn } else { Amounts::Levelled },
            at_most: self.cylinders,
            must_use: keep,
        };
        let mut watching = Watching::start(self.time_limit, work.division(), output);
        let audited = plan_work(&work, &options, &mut |progress| watching.go_on(progress));
        watching.finish(output);
        let audited = audited?;
        output.planned([audited.plan()]);
        Ok(CheckedPlan { work, skipped: loaded.skipped, inputs: loaded.inputs, options, audited })
    }
}

impl CheckedPlan {
    /// The plan as a report.
    pub(super) fn report(&self) -> PlanReport {
        PlanReport::new(&self.audited, &self.skipped, &self.work)
    }

    /// Whether every charge is placed.
    pub(super) fn exit(&self) -> Exit {
        match self.audited.plan().status {
            Status::Proved | Status::Bounded => Exit::Done,
            Status::Short | Status::Undecided => Exit::No,
        }
    }
}

pub(super) fn run(arguments: &PlanArguments, output: &mut Output) -> Result<Exit, Stop> {
    refuse_in_data(arguments.files.json, output)?;
    let planned = arguments.wishes.plan(arguments.files.skip_bad_rows, output)?;
    let mut report = planned.report();
    report = report.beside(other(planned.work.division().unit(), output));
    if arguments.explain {
        report = report.with_why(planner::explain(&planned.work, &planned.options, planned.audited.plan()));
    }
    show(&report, arguments.files.json, output)?;
    Ok(planned.exit())
}
