//! Improves a plan one lot and two lots at a time: they give back their cylinders and share out anew what the other
//! lots don't use. A lot alone takes its cheapest cover; for two the problem is small enough for the bound and the
//! listing to decide it mostly. It proves nothing about the whole.

use super::answer::Quest;
use super::first::first_plan;
use super::listing::Effort;
use crate::solver::bound::generation::Memory;
use crate::solver::bound::prices::{Prices, items};
use crate::solver::cover::table::Covers;
use crate::solver::cover::task::{NONE, Rounding, Task};
use crate::solver::field::{Field, Sets};
use crate::solver::problem::watch::{Stopped, Watch};

/// Improves `plan` until no pair of lots improves it, its cost is `enough` or less, or the allowance is spent. When
/// stopped, what was reached stands.
pub fn improve(
    field: &Field,
    plan: &mut (i64, Sets),
    enough: i64,
    effort: Effort,
    allowance: u64,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let until = watch.spent().saturating_add(allowance);
    let mut covers = Covers::default();
    for lot in 0..field.lots.len() {
        if let Some(better) = try_alone(field, plan, lot, &mut covers, watch)? {
            *plan = better;
        }
    }
    let lots = field.lots.len();
    let pairs: Vec<[usize; 2]> = (0..lots).flat_map(|a| (a + 1..lots).map(move |b| [a, b])).collect();
    let mut failed = 0;
    for pair in pairs.iter().cycle() {
        if failed == pairs.len() || plan.0 <= enough || watch.spent() > until {
            break;
        }
        failed += 1;
        if let Some(better) = try_pair(field, plan, *pair, effort, watch)? {
            *plan = better;
            failed = 0;
        }
    }
    Ok(())
}

/// A cheaper plan by covering one lot anew, with no more cylinders than it may have.
fn try_alone(
    field: &Field,
    plan: &(i64, Sets),
    lot: usize,
    covers: &mut Covers,
    watch: &mut Watch<'_>,
) -> Result<Option<(i64, Sets)>, Stopped> {
    let small = field.without_others(&[lot], &plan.1);
    let items = items(&small, 0, &Prices::none(&small), |class| small.classes[class].count());
    let leftover = small.leftover_of(0).map(|each| each << small.bits);
    let numbers = (0, small.at_most.unwrap_or(i64::MAX));
    let task = Task { numbers, ..Task::cheapest(small.charges[0], leftover, Rounding::Inward) };
    let Some((_, cover)) = covers.cheapest_below(items, task, NONE, watch)?.cover else { return Ok(None) };
    let mut sets = plan.1.clone();
    sets[lot] =
        cover.iter().flat_map(|&(class, number)| &small.classes[class].members[..number as usize]).copied().collect();
    sets[lot].sort_unstable();
    Ok(field.cost(&sets).filter(|&cost| cost < plan.0).map(|cost| (cost, sets)))
}

/// A cheaper plan by sharing out anew between two lots.
fn try_pair(
    field: &Field,
    plan: &(i64, Sets),
    pair: [usize; 2],
    effort: Effort,
    watch: &mut Watch<'_>,
) -> Result<Option<(i64, Sets)>, Stopped> {
    let small = field.without_others(&pair, &plan.1);
    let mine: Sets = pair.iter().map(|&lot| plan.1[lot].clone()).collect();
    let Some(cost) = small.cost(&mine) else { return Ok(None) };
    let quest = Quest { below: cost, enough: 0, allowance: 0 };
    let Some((_, found)) = first_plan(&small, quest, &mut Memory::default(), effort, watch)? else {
        return Ok(None);
    };
    let mut sets = plan.1.clone();
    for (lot, set) in pair.into_iter().zip(found) {
        sets[lot] = set;
    }
    Ok(field.cost(&sets).filter(|&cost| cost < plan.0).map(|cost| (cost, sets)))
}
