//! A primal heuristic: one lot after another takes its cheapest cover of what the ones before have left.
//!
//! The multipliers of the bound steer it: a cylinder that another lot wants is dear. It proves nothing.

use crate::solver::bound::multipliers::{DEAREST, Multipliers, items};
use crate::solver::cover::greedy::greedy;
use crate::solver::cover::knapsack::States;
use crate::solver::cover::task::{NONE, Task};
use crate::solver::field::{Class, Field, Sets};
use crate::solver::problem::watch::{Stopped, Watch};

/// Covers are cheapest to so many binary places of the dearest cost: this only guesses.
const ROUGHEST: u32 = 4;
const FINEST: u32 = 13;
/// Steps of work after which no other order is tried.
const ALLOWANCE: u64 = 100_000_000;
/// Orders tried by greed.
const GREEDY_ORDERS: usize = 4;

/// The best plan over several orders of the lots, with its cost; stops at a cost of `enough` or less.
pub fn sequential(
    field: &Field,
    multipliers: &Multipliers,
    enough: i64,
    states: &mut States,
    watch: &mut Watch<'_>,
) -> Result<Option<(i64, Sets)>, Stopped> {
    let mut best: Option<(i64, Sets)> = None;
    let until = watch.spent() + ALLOWANCE;
    for (index, order) in orders(field).into_iter().enumerate() {
        if index > 0 && watch.spent() > until {
            break;
        }
        // Roughly first: that is often enough, and where cylinders are many it is much sooner done.
        let places = (ROUGHEST + 3 * index as u32).min(FINEST);
        let Some(sets) = in_order(field, multipliers, &order, Some(places), states, watch)? else {
            continue;
        };
        let Some(cost) = field.cost(&sets) else { continue };
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, sets));
            if cost <= enough {
                break;
            }
        }
    }
    Ok(best)
}

/// A plan by greed alone, so that there is one at once.
pub fn greedy_plan(field: &Field, watch: &mut Watch<'_>) -> Result<Option<(i64, Sets)>, Stopped> {
    let multipliers = Multipliers::none(field);
    let mut best: Option<(i64, Sets)> = None;
    for order in orders(field).into_iter().take(GREEDY_ORDERS) {
        let sets = in_order(field, &multipliers, &order, None, &mut States::default(), watch)?;
        let found = sets.and_then(|sets| Some((field.cost(&sets)?, sets)));
        best = found.into_iter().chain(best).min_by_key(|(cost, _)| *cost);
    }
    Ok(best)
}

/// Orders of the lots worth trying: the largest charge first and last, and every lot once in front.
fn orders(field: &Field) -> Vec<Vec<usize>> {
    let mut by_charge: Vec<usize> = (0..field.lots.len()).collect();
    by_charge.sort_by_key(|&lot| std::cmp::Reverse(field.charges[lot]));
    let mut orders = vec![by_charge.clone(), by_charge.iter().rev().copied().collect()];
    for front in 1..by_charge.len().min(12) {
        let mut order = by_charge.clone();
        let lot = order.remove(front);
        order.insert(0, lot);
        orders.push(order);
    }
    orders.dedup();
    orders
}

/// One order, each lot to so many places or by greed. Where a lot can't be covered any more there is no plan.
fn in_order(
    field: &Field,
    multipliers: &Multipliers,
    order: &[usize],
    places: Option<u32>,
    states: &mut States,
    watch: &mut Watch<'_>,
) -> Result<Option<Sets>, Stopped> {
    let mut left: Vec<i64> = field.classes.iter().map(Class::count).collect();
    let mut sets: Sets = vec![Vec::new(); field.lots.len()];
    let dearest = field.classes.iter().map(|class| class.cost).max().unwrap_or(0);
    for &lot in order {
        let mut items = items(field, lot, multipliers, |class| left[class]);
        for item in items.iter_mut().filter(|item| item.kept) {
            item.price = -DEAREST; // the first lot that can takes what must be used
        }
        let leftover = field.leftover_of(lot).map(|each| each << field.bits);
        let task = Task::cheapest(field.charges[lot], leftover);
        let cover = match places {
            Some(places) => {
                let task = Task { tolerance: (dearest << field.bits) >> places, ..task };
                states.cheapest(&items, task, NONE, watch)?.cover
            }
            None => {
                items.sort_by(|a, b| (a.price as f64 / a.room as f64).total_cmp(&(b.price as f64 / b.room as f64)));
                greedy(items.iter(), task)
            }
        };
        let Some((_, cover)) = cover else {
            return Ok(None);
        };
        for (class, number) in cover {
            let members = &field.classes[class].members;
            let first = members.len() - left[class] as usize;
            sets[lot].extend(&members[first..first + number as usize]);
            left[class] -= number;
        }
        sets[lot].sort_unstable();
    }
    Ok(Some(sets))
}
