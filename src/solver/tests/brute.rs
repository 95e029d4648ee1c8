//! Brute force: every way of giving each cylinder to one lot or to none.

use super::super::{Objectives, Options, Priority, Problem};

/// The best objectives, in the order of the options; `None` where nothing fits.
pub fn best(problem: &Problem, options: &Options) -> Option<Objectives> {
    let number = Options { must_use: options.must_use.clone(), ..Options::default() };
    let held = held_back(problem, options, |problem| best_of(problem, &number).map(|best| best.cylinders));
    best_of(&held, options)
}

/// The problem without what reserved cylinders may take, one after another, the heaviest first, as long as `fewest` of it is the same.
fn held_back(problem: &Problem, options: &Options, fewest: impl Fn(&Problem) -> Option<usize>) -> Problem {
    let mut held = problem.clone();
    if problem.cylinders.iter().all(|slot| !slot.reserved.contains(&true)) {
        return held;
    }
    let number = fewest(problem);
    let mut order: Vec<usize> = (0..problem.cylinders.len()).collect();
    let of = |at: usize| &problem.cylinders[at];
    order.sort_by(|&a, &b| {
        let heavier = of(b).base.cmp(&of(a).base);
        heavier.then_with(|| of(a).tops.cmp(&of(b).tops)).then_with(|| of(a).reserved.cmp(&of(b).reserved))
    });
    for cylinder in order.into_iter().filter(|at| number.is_some() && !options.must_use.contains(at)) {
        let mut less = held.clone();
        let slot = &mut less.cylinders[cylinder];
        for lot in 0..slot.tops.len().min(slot.reserved.len()) {
            slot.tops[lot] = slot.tops[lot].filter(|_| !slot.reserved[lot]);
        }
        if fewest(&less) == number {
            held = less;
        }
    }
    held
}

fn best_of(problem: &Problem, options: &Options) -> Option<Objectives> {
    let mut best: Option<((i64, i64, i64), Objectives)> = None;
    each(problem, &mut |given| {
        let Some(found) = objectives(problem, options, given) else {
            return;
        };
        let (number, heaviest) = (found.cylinders as i64, found.heaviest);
        let key = if options.priority == Priority::Lightest || options.at_most.is_some() {
            (heaviest, number, found.carried)
        } else {
            (number, heaviest, found.carried)
        };
        if best.is_none_or(|(least, _)| key < least) {
            best = Some((key, found));
        }
    });
    best.map(|(_, found)| found)
}

/// The least weight left over within `at_most` cylinders; and, of that, how late the lots that wait can stand (the
/// sum of their places, each weight by its lot's).
pub fn least_missing(problem: &Problem, at_most: Option<usize>) -> (i64, i64) {
    let mut least = (i64::MAX, 0);
    each(problem, &mut |given| {
        if at_most.is_some_and(|most| given.iter().flatten().count() > most) {
            return;
        }
        let missing = |lot: usize| {
            let room: i64 = members(given, lot).map(|slot| room(problem, slot, lot)).sum();
            (problem.lots[lot].charge - room).max(0)
        };
        let lots = || 0..problem.lots.len();
        least = least.min((lots().map(missing).sum(), lots().map(|lot| -(lot as i64) * missing(lot)).sum()));
    });
    (least.0, -least.1)
}

/// Calls `visit` with every assignment in which no cylinder goes to a lot that it has no room for.
fn each(problem: &Problem, visit: &mut dyn FnMut(&[Option<usize>])) {
    fn go(problem: &Problem, given: &mut Vec<Option<usize>>, visit: &mut dyn FnMut(&[Option<usize>])) {
        let slot = given.len();
        if slot == problem.cylinders.len() {
            visit(given);
            return;
        }
        given.push(None);
        go(problem, given, visit);
        given.pop();
        for lot in 0..problem.lots.len() {
            if room(problem, slot, lot) > 0 {
                given.push(Some(lot));
                go(problem, given, visit);
                given.pop();
            }
        }
    }
    go(problem, &mut Vec::new(), visit);
}

fn members(given: &[Option<usize>], lot: usize) -> impl Iterator<Item = usize> {
    given.iter().enumerate().filter(move |(_, to)| **to == Some(lot)).map(|(slot, _)| slot)
}

fn room(problem: &Problem, slot: usize, lot: usize) -> i64 {
    let cylinder = &problem.cylinders[slot];
    cylinder.tops[lot].map_or(0, |top| (top - cylinder.base).max(0))
}

/// The objectives of an assignment, every cylinder with at least one division; `None` where that can't be.
fn objectives(problem: &Problem, options: &Options, given: &[Option<usize>]) -> Option<Objectives> {
    let number = given.iter().flatten().count();
    if options.at_most.is_some_and(|most| number > most) || options.must_use.iter().any(|&slot| given[slot].is_none()) {
        return None;
    }
    let mut found = Objectives { cylinders: number, heaviest: 0, carried: 0 };
    for (lot, demand) in problem.lots.iter().enumerate() {
        let set: Vec<usize> = members(given, lot).collect();
        let total: i64 = set.iter().map(|&slot| room(problem, slot, lot)).sum();
        if total < demand.charge || (set.len() as i64) > demand.charge {
            return None;
        }
        // The heaviest that must be lifted: raise the lift division by division until the charge goes in.
        let start = set.iter().map(|&slot| problem.cylinders[slot].base + 1).max()?;
        let takes = |lift: i64, slot: usize| (lift - problem.cylinders[slot].base).min(room(problem, slot, lot)).max(1);
        let lift = (start..).find(|&lift| set.iter().map(|&slot| takes(lift, slot)).sum::<i64>() >= demand.charge)?;
        found.heaviest = found.heaviest.max(lift);
        found.carried += demand.charge + set.iter().map(|&slot| problem.cylinders[slot].base).sum::<i64>();
    }
    Some(found)
}
