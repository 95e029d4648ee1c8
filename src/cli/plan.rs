//! `plan`: the loading plan.

use std::path::PathBuf;

use clap::{Parser, ValueEnum};

use super::changes::{Changes, find};
use super::stop::ByLedger;
use super::units::{other, refuse_in_data};
use super::watching::Watching;
use super::{Exit, JobFiles, Output, Stop, seconds, show, site, status};
use crate::audit::Audited;
use crate::cylinder::Id;
use crate::disk::Input;
use crate::door::{Opened, audited};
use crate::job::Work;
use crate::plan::{Plan, Status};
use crate::planner::{self, Amounts, Effort, NoPlan, Options, Priority, Progress};
use crate::problem::SkippedRow;
use crate::recovery::first_plan;
use crate::report::PlanReport;

#[derive(Debug, clap::Args)]
pub(super) struct PlanArguments {
    /// Job files; several are planned together on one yard; - is standard input
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) wishes: Wishes,
    /// Say why so many cylinders, and why so heavy
    #[arg(long)]
    explain: bool,
    #[command(flatten)]
    files: JobFiles,
}

/// What a plan is asked for.
#[derive(Debug, Clone, clap::Args)]
pub(super) struct Wishes {
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
    /// As few pours as can be right after the fewest cylinders: each system whole, where that is possible
    #[arg(long)]
    whole: bool,
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

/// Options as a bind keeps them.
#[derive(Debug, Parser)]
#[command(no_binary_name = true)]
struct Kept {
    #[command(flatten)]
    wishes: Wishes,
}

impl Wishes {
    /// The same with so many seconds to look.
    pub(super) fn within(self, seconds: f64) -> Self {
        Self { time_limit: seconds, ..self }
    }

    /// The options that a bind keeps.
    pub(super) fn of(options: &[String]) -> Result<Self, Stop> {
        let kept = Kept::try_parse_from(options).map_err(|error| ByLedger::Options { why: error.to_string() })?;
        Ok(kept.wishes)
    }

    /// These as a bind keeps them; none where nothing changes the plan.
    pub(super) fn options(&self) -> Vec<String> {
        let mut all = Vec::new();
        if matches!(self.priority, First::Lightest) {
            all.extend(["--priority".to_owned(), "lightest".to_owned()]);
        }
        if let Some(number) = self.cylinders {
            all.extend(["--cylinders".to_owned(), number.to_string()]);
        }
        all.extend(self.keep.iter().flat_map(|id| ["--keep".to_owned(), id.to_string()]));
        all.extend(self.changes.options());
        if self.in_turn {
            all.push("--in-turn".into());
        }
        if self.whole {
            all.push("--whole".into());
        }
        all
    }

    /// The work as these change it.
    pub(super) fn on(&self, work: Work, output: &mut Output) -> Result<Work, Stop> {
        self.changes.to(work, output)
    }

    /// What matters in a plan for what is left: how many and which cylinders was asked of the whole.
    pub(super) fn for_what_is_left(&self) -> Options {
        let amounts = if self.in_turn { Amounts::InTurn } else { Amounts::Levelled };
        Options { priority: self.priority.priority(), amounts, ..Options::default() }
    }

    /// The cylinders that it names.
    pub(super) fn named(&self) -> Vec<&Id> {
        self.keep.iter().chain(self.changes.without()).collect()
    }

    /// The plan; where systems are split that could be whole, with what that would save.
    fn planned(
        &self,
        work: &Work,
        options: &Options,
        go_on: &mut dyn FnMut(&Progress) -> bool,
    ) -> Result<Plan, NoPlan> {
        if self.whole {
            return planner::plan_whole(work, options, go_on);
        }
        let mut plan = planner::plan(work, options, go_on)?;
        plan.warnings.extend(planner::whole_instead(work, options, &plan, go_on));
        Ok(plan)
    }

    /// Makes the plan of jobs that were opened, and has it audited.
    pub(super) fn plan(&self, opened: &Opened, output: &mut Output) -> Result<CheckedPlan, Stop> {
        let loaded = &opened.loaded;
        let work = self.changes.to(loaded.work.clone(), output)?;
        let keep = self.keep.iter().map(|id| find(&work, id)).collect::<Result<Vec<_>, _>>()?;
        let effort = Effort::within(self.time_limit);
        let options = Options { at_most: self.cylinders, must_use: keep, effort, ..self.for_what_is_left() };
        let mut watching = Watching::start(self.time_limit, work.division(), output);
        let planned = self.planned(&work, &options, &mut |progress| watching.go_on(progress));
        watching.finish(output);
        let audited = audited(&work, planned?)?;
        output.planned([audited.plan()]);
        let (skipped, inputs) = (loaded.skipped.clone(), loaded.inputs.clone());
        Ok(CheckedPlan { work, skipped, inputs, options, audited })
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
    let opened = site::open(&arguments.jobs, arguments.files.skip_bad_rows, None, output)?;
    let round = site::in_force(&opened, output)?;
    // What was bound with options is shown as it was bound, unless other options are given.
    let wishes = match &round {
        Some(round) if !round.begun && arguments.wishes.options().is_empty() => {
            Wishes { time_limit: arguments.wishes.time_limit, ..Wishes::of(&round.bind.options)? }
        }
        _ => arguments.wishes.clone(),
    };
    if let Some(round) = round.as_ref().filter(|round| round.begun) {
        if !arguments.wishes.options().is_empty() || arguments.explain {
            // What was asked for isn't what would be shown.
            site::refuse_begun(&opened)?;
        }
        let day = site::day(&opened, round, output);
        show(&status::in_force(round, &day), arguments.files.json, output)?;
        return Ok(Exit::Done);
    }
    let planned = wishes.plan(&opened, output)?;
    let mut report = planned.report();
    report = report.beside(other(planned.work.division().unit(), output));
    if let Some(round) = &round {
        let same = first_plan(&planned.work, &planned.audited).steps == round.in_force.planned.steps;
        report = report.in_force(&round.in_force, same);
    }
    if arguments.explain {
        report = report.with_why(planner::explain(&planned.work, &planned.options, planned.audited.plan()));
    }
    show(&report, arguments.files.json, output)?;
    Ok(planned.exit())
}
