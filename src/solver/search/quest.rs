//! The search in one field: raise the bound, dive for a plan, list what the gap leaves.

use super::answer::{Answer, Quest};
use super::branch::branch;
use super::dive::dive;
use super::first::bound_below;
use super::listing::SMALL;
use super::pairs::improve;
use crate::solver::bound::generation::Memory;
use crate::solver::bound::prices::Bound;
use crate::solver::field::Field;
use crate::solver::problem::watch::{Stopped, Watch};

/// Steps of work for improving a plan that was dived for: a tenth of a second or so.
const IMPROVING: u64 = 100_000_000;
/// Searches until the quest is settled or the effort is spent.
pub fn search(
    field: &Field,
    quest: Quest,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let mut bound = Bound::default();
    if !bound_below(field, quest, memory, answer, &mut bound, watch)? {
        return Ok(());
    }
    let enough = quest.enough.max(answer.bound);
    // A plan that is known is mostly better than what a dive would bring.
    let dived =
        if answer.plan.is_some() { None } else { dive(field, &bound.prices, enough, &mut memory.covers, watch)? };
    if let Some(mut plan) = dived {
        let improved =
            if field.lots.len() > 2 { improve(field, &mut plan, enough, SMALL, IMPROVING, watch) } else { Ok(()) };
        answer.offer(quest, Some(plan));
        answer.prove(quest, 0);
        improved?;
    }
    if answer.settled(quest) || quest.allowance == 0 {
        return Ok(());
    }
    branch(field, quest, SMALL, memory, answer, watch)
}
