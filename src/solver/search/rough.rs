//! Large problems: a bound and a plan at once, by what divisions are worth, before anything that takes longer.
//!
//! The relaxation bounds a field of thousands of cylinders within a hundredth of a second, and where lots have dozens each it
//! lacks less than a cylinder. Cylinders allotted by its worth and exchanged make a plan near it. What that leaves open goes to
//! coarser fields (`coarse`), and then to the field itself (`quest`).

use super::allot::allot;
use super::answer::{Answer, Quest};
use super::balance::{SURPLUS, balance};
use super::coarse::{bound_coarser, plan_coarser};
use super::quest::search;
use crate::solver::bound::generation::Memory;
use crate::solver::bound::relaxed::relaxed;
use crate::solver::bound::worth::Worth;
use crate::solver::field::Field;
use crate::solver::problem::watch::{Stopped, Watch};

/// How far bids pass what they must, and what room beyond a charge is worth at first when lots exchange: one after another
/// until there is a plan.
const WAYS: [(f64, f64); 3] = [(1e-5, SURPLUS), (1e-4, SURPLUS), (1e-5, 1.0)];
/// Plans are looked for with fewer cylinders than so many beyond the bound.
const FURTHEST: i64 = 64;
/// The part of the work that is done for a plan better than those known.
const BETTER: u64 = 2;
/// So small a part of the cost that is open isn't worth searching the field itself.
const CLOSE: i64 = 1_000;

/// Searches a field, a large one roughly first. `known`: there is a plan already.
pub fn search_roughly(
    field: &Field,
    quest: Quest,
    known: bool,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    if !field.is_large() {
        return search(field, quest, memory, answer, watch);
    }
    let worth = bound_roughly(field, quest, memory, answer, watch)?;
    let mut more = 0;
    while answer.plan.is_none() && answer.bound + more < quest.below && more < FURTHEST {
        plan_roughly(field, &worth, answer.bound + more, quest, answer, watch)?;
        more = 2 * more + 1;
    }
    let mut coarse = Memory::default();
    if !answer.settled(quest) {
        bound_coarser(field, &worth, quest, &mut coarse, answer, watch)?;
    }
    if !answer.settled(quest) {
        plan_coarser(field, &worth, quest, &mut coarse, answer, watch)?;
    }
    let least = answer.least(quest);
    if answer.settled(quest) || (answer.plan.is_some() && (least - answer.bound) * CLOSE <= least) {
        return Ok(());
    }
    // Where there is a plan, a better one isn't worth all the work.
    let allowance = if known || answer.plan.is_some() { quest.allowance / BETTER } else { quest.allowance };
    search(field, Quest { below: least, allowance, ..quest }, memory, answer, watch)
}

/// Bounds a field by its relaxation; the worth found.
pub fn bound_roughly(
    field: &Field,
    quest: Quest,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<Worth, Stopped> {
    let worth = relaxed(field, &memory.prices_for(field), watch)?;
    memory.remember(field, &worth.prices(field));
    answer.prove(quest, if field.hopeless() { quest.below } else { worth.bound(field) });
    Ok(worth)
}

/// Looks for a plan of so many cylinders by what divisions are worth.
pub fn plan_roughly(
    field: &Field,
    worth: &Worth,
    number: i64,
    quest: Quest,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    for (raise, surplus) in WAYS {
        let sets = allot(field, worth, usize::try_from(number).unwrap_or(0), raise, watch)?;
        let plan = balance(field, &sets, worth, surplus, watch)?.plan;
        let found = plan.is_some();
        answer.offer(quest, plan);
        answer.prove(quest, 0);
        if found {
            break;
        }
    }
    Ok(())
}
