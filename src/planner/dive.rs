//! Plans by pricing one lot after another: each takes its cheapest cover of what the ones before have left.
//!
//! The prices of the bound steer it: a cylinder that another lot wants is dear. It proves nothing.

use super::covers::{Covers, NONE, Rounding};
use super::field::{Field, Sets};
use super::generation::DEAREST;
use super::prices::{Prices, items};
use super::reduction::Task;
use super::watch::{Stopped, Watch};

/// Covers are cheapest to so many binary places of the dearest cost: a dive only guesses.
const COARSE: u32 = 10;

/// The best plan over several orders of the lots, with its cost; stops at a cost of `enough` or less.
pub(super) fn dive(
    field: &Field,
    prices: &Prices,
    enough: i64,
    covers: &mut Covers,
    watch: &mut Watch<'_>,
) -> Result<Option<(i64, Sets)>, Stopped> {
    let mut best: Option<(i64, Sets)> = None;
    for order in orders(field) {
        let Some(sets) = one_dive(field, prices, &order, covers, watch)? else {
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

/// One order. Where a lot can't be covered any more there is no plan.
fn one_dive(
    field: &Field,
    prices: &Prices,
    order: &[usize],
    covers: &mut Covers,
    watch: &mut Watch<'_>,
) -> Result<Option<Sets>, Stopped> {
    let mut left: Vec<i64> = field.classes.iter().map(super::field::Class::count).collect();
    let mut sets: Sets = vec![Vec::new(); field.lots.len()];
    let dearest = field.classes.iter().map(|class| class.cost).max().unwrap_or(0);
    for &lot in order {
        let mut items = items(field, lot, prices, |class| left[class]);
        for item in items.iter_mut().filter(|item| item.kept) {
            item.price = -DEAREST; // the first lot that can takes what must be used
        }
        let leftover = field.leftover_of(lot).map(|each| each << field.bits);
        let tolerance = (dearest << field.bits) >> COARSE;
        let task = Task { tolerance, ..Task::cheapest(field.charges[lot], leftover, Rounding::Inward) };
        let Some((_, cover)) = covers.cheapest_below(items, task, NONE, watch)?.cover else {
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
