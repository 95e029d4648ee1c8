//! When the charge doesn't fit: the plan that leaves the least over.
//!
//! The same search with charges that may stay uncovered: a division left over costs more than all cylinders
//! together, so the least weight left over comes first and the fewest cylinders second.

use super::amounts::fills;
use crate::solver::bound::restricted::Memory;
use crate::solver::field::{Field, Goal, Part, Sets, charge};
use crate::solver::problem::watch::Watch;
use crate::solver::problem::{Options, Problem, Shortage};
use crate::solver::search::answer::{Answer, FULL, Target};
use crate::solver::search::root::search;

/// Costs of all that is left over that sums and prices are made for.
const DEAREST: i64 = 1 << 50;

/// The cost of one division left over: more than all cylinders.
pub fn leftover_cost(problem: &Problem) -> i64 {
    problem.cylinders.len() as i64 + 1
}

/// The best partial plan of a problem that is proved not to fit. When stopped, the best found so far.
pub fn shortage(problem: &Problem, options: &Options, parts: &[Part], watch: &mut Watch<'_>) -> Shortage {
    let free = vec![false; problem.cylinders.len()];
    let each = leftover_cost(problem);
    let mut result = Shortage { missing: vec![0; problem.lots.len()], proved: true, ..Shortage::default() };
    for part in parts {
        let field = |goal| Field::new(problem, &free, part, i64::MAX, goal, options.at_most);
        let (sets, bound) = least(&field(Goal::Leftover(each)), vec![Vec::new(); part.lots.len()], watch);
        let missing = |sets: &Sets| {
            let over = |(&lot, set): (&usize, &Vec<usize>)| {
                let room: i64 = set.iter().map(|&slot| problem.cylinders[slot].room(lot, i64::MAX)).sum();
                (charge(problem, lot) - room).max(0)
            };
            part.lots.iter().zip(sets).map(over).collect::<Vec<i64>>()
        };
        let total: i64 = missing(&sets).iter().sum();
        result.least_missing += bound / each;
        result.proved &= bound / each == total;
        let sets = wait(problem, &field, total, sets, watch);
        for (&lot, missing) in part.lots.iter().zip(missing(&sets)) {
            result.missing[lot] = missing;
        }
        result.fills.extend(fills(problem, &part.lots, &sets, options.amounts, i64::MAX));
    }
    result.fills.sort_by_key(|fill| (fill.lot, fill.cylinder));
    let used = |cylinder: usize| result.fills.iter().any(|fill| fill.cylinder == cylinder);
    result.unused = options.must_use.iter().copied().filter(|&cylinder| !used(cylinder)).collect();
    result.unused.sort_unstable();
    result.unused.dedup();
    result
}

/// The sets of least cost that are found, from given ones on, with a bound that no sets undercut.
fn least(field: &Field, sets: Sets, watch: &mut Watch<'_>) -> (Sets, i64) {
    let Some(cost) = field.cost(&sets) else {
        return (sets, 0);
    };
    let mut answer = Answer { bound: 0, plan: Some((cost, sets.clone())) };
    let target = Target { cutoff: cost + 1, enough: 0, allowance: FULL };
    // Stopped or not, what is known by then is the answer.
    let _stopped = search(field, target, &mut Memory::default(), &mut answer, watch);
    (answer.plan.map_or(sets, |(_, sets)| sets), answer.bound)
}

/// Sets that leave no more over, with as much of it as can be in later lots.
///
/// With T left over in all and L lots, a division of lot l (from 0) left over costs L(T + 1) − l: T + 1 divisions cost
/// more than T, whichever they are, so no more is left over; and of T divisions the later are cheaper.
fn wait(problem: &Problem, field: &impl Fn(Goal) -> Field, total: i64, sets: Sets, watch: &mut Watch<'_>) -> Sets {
    let each = leftover_cost(problem);
    let weight = (problem.lots.len() as i64).saturating_mul(total + 1).saturating_mul(each);
    let charges: i64 = (0..problem.lots.len()).map(|lot| charge(problem, lot).max(0)).sum();
    if total == 0 || weight.saturating_mul(charges) > DEAREST {
        return sets;
    }
    least(&field(Goal::Waiting(weight, each)), sets, watch).0
}
