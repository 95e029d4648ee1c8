//! Cylinders against the heaviest lift: one plan for each number of cylinders worth having.

use super::assemble::{NoPlan, plan, plan_whole};
use crate::job::Work;
use crate::plan::{Plan, Status};
use crate::solver::{Options, Priority, Progress};

/// Each plan may take such a part of the effort for all: more of them are seldom hard.
const HARD: u64 = 2;

/// The plan with the fewest cylinders, and behind it, for each larger number that lightens the heaviest lift, the
/// lightest plan within that number. A single plan where the charge doesn't fit.
///
/// # Errors
/// None that isn't one of [`plan`]'s: nothing is insisted on here.
pub fn tradeoff(work: &Work, options: &Options, go_on: &mut dyn FnMut(&Progress) -> bool) -> Result<Vec<Plan>, NoPlan> {
    first_of_tradeoff(work, options, usize::MAX, go_on)
}

/// The same numbers of cylinders, with each plan as [`plan_whole`] makes it.
///
/// # Errors
/// As [`tradeoff`].
pub fn tradeoff_whole(
    work: &Work,
    options: &Options,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Vec<Plan>, NoPlan> {
    let plans = tradeoff(work, options, go_on)?;
    let whole = |(index, plan): (usize, &Plan)| {
        let at_most = (index > 0).then_some(plan.totals.cylinders);
        plan_whole(work, &Options { at_most, ..for_each(options) }, go_on)
    };
    plans.iter().enumerate().map(whole).collect()
}

/// The first so many plans of the trade-off: it goes on only as far as the caller has a use for.
///
/// # Errors
/// As [`tradeoff`].
pub fn first_of_tradeoff(
    work: &Work,
    options: &Options,
    most: usize,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Vec<Plan>, NoPlan> {
    let options = &for_each(options);
    let fewest = plan(work, &Options { priority: Priority::Fewest, ..options.clone() }, go_on)?;
    if most <= 1 || !is_whole(&fewest) {
        return Ok(vec![fewest]);
    }
    let lightest = plan(work, &Options { priority: Priority::Lightest, ..options.clone() }, go_on)?;
    let mut plans = vec![fewest];
    for number in plans[0].totals.cylinders + 1..=lightest.totals.cylinders {
        if plans.len() >= most {
            break;
        }
        let Some(last) = plans.last().filter(|last| last.totals.heaviest > lightest.totals.heaviest) else { break };
        let next = plan(work, &Options { at_most: Some(number), ..options.clone() }, go_on)?;
        if is_whole(&next) && next.totals.heaviest < last.totals.heaviest {
            plans.push(next);
        }
    }
    Ok(plans)
}

/// The options for one of the plans.
fn for_each(options: &Options) -> Options {
    Options { effort: options.effort.part_of(HARD), ..options.clone() }
}

/// Every charge is placed.
fn is_whole(plan: &Plan) -> bool {
    matches!(plan.status, Status::Proved | Status::Bounded)
}
