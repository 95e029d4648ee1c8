//! The first steps of a search: a bound, and with little effort a plan.

use super::answer::{Answer, Quest};
use super::dive::dive;
use super::listing::{Effort, list_gap};
use crate::solver::bound::generation::Memory;
use crate::solver::bound::prices::Bound;
use crate::solver::bound::raise::{Aim, Else, raise};
use crate::solver::field::{Field, Sets};
use crate::solver::problem::watch::{Stopped, Watch};

/// Steps of work that a bound may take, however little is allowed.
const BOUNDING: u64 = 200_000_000;
/// A plan below `quest.below`, with little effort.
pub fn first_plan(
    field: &Field,
    quest: Quest,
    memory: &mut Memory,
    effort: Effort,
    watch: &mut Watch<'_>,
) -> Result<Option<(i64, Sets)>, Stopped> {
    let (mut answer, mut bound) = (Answer::default(), Bound::default());
    if !bound_below(field, quest, memory, &mut answer, &mut bound, watch)? {
        return Ok(None);
    }
    let plan = dive(field, &bound.prices, answer.bound, &mut memory.covers, watch)?;
    answer.offer(quest, plan);
    if answer.plan.is_none() {
        list_gap(field, quest, &bound, memory, effort, &mut answer, watch)?;
    }
    Ok(answer.plan)
}

/// Raises the bound; true where it leaves the quest open.
pub fn bound_below(
    field: &Field,
    quest: Quest,
    memory: &mut Memory,
    answer: &mut Answer,
    bound: &mut Bound,
    watch: &mut Watch<'_>,
) -> Result<bool, Stopped> {
    if field.hopeless() {
        answer.prove(quest, quest.below);
        return Ok(false);
    }
    let aim = Aim { enough: quest.below, else_to: Else::Whole, most: quest.allowance.max(BOUNDING) };
    let raised = raise(field, memory, aim, bound, watch);
    let covered = !matches!(raised, Ok(None));
    answer.prove(quest, if covered { bound.cost(field) } else { quest.below });
    raised?;
    Ok(!answer.settled(quest))
}
