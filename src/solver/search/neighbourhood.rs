//! Improves a plan in large neighbourhoods: two lots give back their cylinders and share out anew what the others don't
//! use. It proves nothing about the whole.

use super::answer::{Answer, Target};
use super::root::search;
use crate::solver::bound::restricted::Memory;
use crate::solver::field::{Field, Sets};
use crate::solver::problem::watch::{Stopped, Watch};

/// Steps of work that branching may take for one pair: some milliseconds.
const PAIR: u64 = 5_000_000;

/// Improves the answer's plan until no pair of lots improves it, it meets its bound, or the allowance is spent. When
/// stopped, what was reached stands.
pub fn improve(field: &Field, allowance: u64, answer: &mut Answer, watch: &mut Watch<'_>) -> Result<(), Stopped> {
    let until = watch.spent().saturating_add(allowance);
    let lots = field.lots.len();
    let pairs: Vec<[usize; 2]> = (0..lots).flat_map(|a| (a + 1..lots).map(move |b| [a, b])).collect();
    let mut failed = 0;
    for &pair in pairs.iter().cycle() {
        let Some((cost, sets)) = &answer.plan else { break };
        if failed == pairs.len() || *cost <= answer.bound || watch.spent() > until {
            break;
        }
        failed += 1;
        if let Some(better) = shared_anew(field, sets, pair, watch)? {
            answer.plan = Some(better);
            failed = 0;
        }
    }
    Ok(())
}

/// A cheaper plan by sharing out anew between two lots.
fn shared_anew(
    field: &Field,
    sets: &Sets,
    pair: [usize; 2],
    watch: &mut Watch<'_>,
) -> Result<Option<(i64, Sets)>, Stopped> {
    let small = field.without_others(&pair, sets);
    let mine: Sets = pair.iter().map(|&lot| sets[lot].clone()).collect();
    let Some(cutoff) = small.cost(&mine) else { return Ok(None) };
    let mut found = Answer::default();
    let target = Target { cutoff, enough: 0, allowance: PAIR };
    search(&small, target, &mut Memory::default(), &mut found, watch)?;
    let Some((_, better)) = found.plan else { return Ok(None) };
    let mut sets = sets.clone();
    for (lot, set) in pair.into_iter().zip(better) {
        sets[lot] = set;
    }
    Ok(field.cost(&sets).map(|cost| (cost, sets)))
}
