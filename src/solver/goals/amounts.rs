//! How much goes into each chosen cylinder.

use crate::solver::field::{Sets, charge};
use crate::solver::problem::{Amounts, Fill, LARGEST_MARK, Objectives, Problem};

/// What a cylinder takes when its lot is levelled to a lift: min(room, max(1, lift − base)), because every chosen
/// cylinder gets at least one division.
fn add_at(problem: &Problem, lot: usize, slot: usize, lift: i64) -> i64 {
    let cylinder = &problem.cylinders[slot];
    (lift - cylinder.now()).max(1).min(cylinder.room(lot, i64::MAX))
}

/// A lot's cylinders levelled: the lowest whole lift h with Σ add(h) ≥ charge, and the surplus of the last step taken
/// off again, one division from each of the last in yard order that this step had raised.
///
/// The rooms must cover the charge, and the charge must have a division for each cylinder; else the fills come to
/// less or more than it, which the caller rules out.
fn levelled(problem: &Problem, lot: usize, charge: i64, set: &[usize]) -> Vec<Fill> {
    let total = |lift: i64| set.iter().map(|&slot| add_at(problem, lot, slot, lift)).sum::<i64>();
    let (mut low, mut high) = (0, LARGEST_MARK);
    while low < high {
        let mid = low + (high - low) / 2;
        if total(mid) >= charge { high = mid } else { low = mid + 1 }
    }
    let mut surplus = total(low) - charge;
    let mut fills: Vec<Fill> = Vec::with_capacity(set.len());
    for &cylinder in set.iter().rev() {
        let (add, lower) = (add_at(problem, lot, cylinder, low), add_at(problem, lot, cylinder, low - 1));
        let raised = lower < add && surplus > 0;
        surplus -= i64::from(raised);
        fills.push(Fill { cylinder, lot, add: if raised { lower } else { add } });
    }
    fills.reverse();
    fills
}

/// A lot's cylinders filled one after another, no stop above `lift`, leaving a division for each that follows.
fn in_turn(problem: &Problem, lot: usize, charge: i64, set: &[usize], lift: i64) -> Vec<Fill> {
    let mut left = charge;
    let mut fills = Vec::with_capacity(set.len());
    for (index, &cylinder) in set.iter().enumerate() {
        let after = (set.len() - index - 1) as i64;
        let add = problem.cylinders[cylinder].room(lot, lift).min(left - after).max(0);
        left -= add;
        fills.push(Fill { cylinder, lot, add });
    }
    fills
}

/// Fills for sets of cylinders (each in yard order), no stop above `lift`, by lot, then in yard order. Of a charge
/// that the rooms can't hold, as much as they can.
pub fn fills(problem: &Problem, lots: &[usize], sets: &Sets, amounts: Amounts, lift: i64) -> Vec<Fill> {
    let mut all = Vec::new();
    for (&lot, set) in lots.iter().zip(sets) {
        let room: i64 = set.iter().map(|&slot| problem.cylinders[slot].room(lot, lift)).sum();
        let charge = charge(problem, lot).min(room);
        all.extend(match amounts {
            Amounts::Levelled => levelled(problem, lot, charge, set),
            Amounts::InTurn => in_turn(problem, lot, charge, set, lift),
        });
    }
    all.sort_by_key(|fill| (fill.lot, fill.cylinder));
    all
}

/// Fills for sets of cylinders, one for each lot and each in yard order, no stop above `lift`.
pub fn spread(problem: &Problem, sets: &[Vec<usize>], amounts: Amounts, lift: i64) -> Vec<Fill> {
    let lots: Vec<usize> = (0..sets.len()).collect();
    fills(problem, &lots, &sets.to_vec(), amounts, lift)
}

/// The heaviest stop weight of levelled sets, which is the lowest that they allow. 0 for no cylinders.
pub fn heaviest(problem: &Problem, lots: &[usize], sets: &Sets) -> i64 {
    totals(problem, &fills(problem, lots, sets, Amounts::Levelled, i64::MAX)).heaviest
}

/// What fills come to.
pub fn totals(problem: &Problem, fills: &[Fill]) -> Objectives {
    let stop = |fill: &Fill| problem.cylinders[fill.cylinder].now() + fill.add;
    Objectives {
        cylinders: fills.len(),
        heaviest: fills.iter().map(stop).max().unwrap_or(0),
        carried: fills.iter().map(stop).sum(),
    }
}
