//! The search in one field: the bound at the root, a plan of it, and then branching.

use super::answer::{Answer, Target};
use super::branch::branch;
use super::sequence::sequential;
use crate::solver::bound::generation::{Aim, Else, raise};
use crate::solver::bound::multipliers::Bound;
use crate::solver::bound::restricted::Memory;
use crate::solver::field::Field;
use crate::solver::problem::watch::{Stopped, Watch};

/// Steps of work that the bound at the root may take, however little is allowed.
const BOUNDING: u64 = 200_000_000;

/// Searches until the target is settled or the effort is spent.
pub fn search(
    field: &Field,
    target: Target,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    if field.hopeless() {
        answer.prove(target, target.cutoff);
        return Ok(());
    }
    let mut bound = Bound::default();
    let aim = Aim { enough: target.cutoff, else_to: Else::Whole, most: target.allowance.max(BOUNDING) };
    let raised = raise(field, memory, aim, &mut bound, watch);
    let covered = !matches!(raised, Ok(None));
    answer.prove(target, if covered { bound.cost(field) } else { target.cutoff });
    raised?;
    if answer.settled(target) {
        return Ok(());
    }
    // A plan that is known is mostly better than what this would bring.
    if answer.plan.is_none() {
        let enough = target.enough.max(answer.bound);
        let found = sequential(field, &bound.multipliers, enough, &mut memory.states, watch)?;
        answer.offer(target, found);
        answer.prove(target, 0);
    }
    if answer.settled(target) || target.allowance == 0 {
        return Ok(());
    }
    branch(field, target, memory, answer, watch)
}
