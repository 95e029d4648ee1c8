//! Improves a plan two lots at a time: the two give back their cylinders and share out anew what the other lots don't
//! use. Each such problem is small enough for the bound and the listing to decide it mostly. It proves nothing about
//! the whole.

use super::field::{Field, Sets};
use super::generation::Memory;
use super::quest::{Effort, Quest, first_plan};
use super::watch::{Stopped, Watch};

/// Steps of work that one improvement may take: a tenth of a second or so.
const ALLOWANCE: u64 = 100_000_000;

/// Improves `plan` until no pair of lots improves its cost is `enough` or less, or the allowance is spent. When stopped, what was reached
/// stands.
pub(super) fn improve(
    field: &Field,
    plan: &mut (i64, Sets),
    enough: i64,
    effort: Effort,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let lots = field.lots.len();
    let pairs: Vec<[usize; 2]> = (0..lots).flat_map(|a| (a + 1..lots).map(move |b| [a, b])).collect();
    let mut failed = 0;
    let until = watch.spent() + ALLOWANCE;
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
