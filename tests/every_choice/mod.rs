//! Every choice of cylinders there is, for small problems: what no plan can beat, by plain arithmetic.
//!
//! It must not call anything of the planner but its types.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use chargesplit::solver::{Fill, Objectives, Options, Priority, Problem, Slot};

/// The room of a cylinder for a lot, at any lift.
pub fn room(slot: &Slot, lot: usize) -> i64 {
    slot.tops[lot].map_or(0, |top| (top - slot.base).max(0))
}

/// What a set of cylinders makes of a lot: its heaviest lift, and the sum of the bases.
type Cover = Option<(i64, i64)>;

/// For each set of cylinders (a bit for each) what it makes of a lot; `None` where the charge doesn't go in.
fn covers(problem: &Problem, lot: usize) -> Vec<Cover> {
    let charge = problem.lots[lot].charge;
    let of = |set: usize| -> Cover {
        let members: Vec<&Slot> =
            problem.cylinders.iter().enumerate().filter(|(at, _)| set >> at & 1 == 1).map(|(_, slot)| slot).collect();
        let rooms: i64 = members.iter().map(|slot| room(slot, lot)).sum();
        let idle = members.iter().any(|slot| room(slot, lot) == 0);
        if idle || rooms < charge || i64::try_from(members.len()).unwrap() > charge {
            return None;
        }
        // The lowest lift that holds the charge, with a division in each.
        let holds = |lift: i64| {
            let takes = |slot: &&Slot| (lift - slot.base).min(room(slot, lot)).max(0);
            members.iter().all(|slot| slot.base < lift) && members.iter().map(takes).sum::<i64>() >= charge
        };
        let (mut low, mut high) = (0, members.iter().filter_map(|slot| slot.tops[lot]).max()?);
        while low < high {
            let middle = (low + high) / 2;
            if holds(middle) { high = middle } else { low = middle + 1 }
        }
        Some((low, members.iter().map(|slot| slot.base).sum()))
    };
    (0..1 << problem.cylinders.len()).map(of).collect()
}

/// For each set of cylinders the least cost of giving exactly those to the lots; `cost` of a set for a lot, by its
/// cover.
fn joined(all: &[Vec<Cover>], sets: usize, cost: impl Fn((i64, i64)) -> Option<i64>) -> Vec<Option<i64>> {
    let mut so_far = vec![None; sets];
    so_far[0] = Some(0);
    for covers in all {
        let mut next: Vec<Option<i64>> = vec![None; sets];
        for (set, best) in next.iter_mut().enumerate() {
            // Every part of the set for this lot, the rest for those before.
            let mut part = set;
            while part > 0 {
                if let (Some(mine), Some(before)) = (covers[part].and_then(&cost), so_far[set ^ part]) {
                    let sum = mine + before;
                    *best = Some(best.map_or(sum, |least: i64| least.min(sum)));
                }
                part = (part - 1) & set;
            }
        }
        so_far = next;
    }
    so_far
}

/// The best objectives there are, by the order asked for.
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
    let sets = 1_usize << problem.cylinders.len();
    let kept: usize = options.must_use.iter().fold(0, |kept, cylinder| kept | 1 << cylinder);
    let all: Vec<Vec<Cover>> = (0..problem.lots.len()).map(|lot| covers(problem, lot)).collect();
    let number = |set: usize| set.count_ones() as usize;
    let allowed = |set: usize| set & kept == kept && options.at_most.is_none_or(|most| number(set) <= most);
    let within = |lift: i64, most: usize| {
        let weights = joined(&all, sets, |(heaviest, bases)| (heaviest <= lift).then_some(bases));
        let fit = weights.into_iter().enumerate().filter(|(set, _)| allowed(*set) && number(*set) <= most);
        fit.filter_map(|(set, bases)| Some((number(set), bases?))).min()
    };
    let fewest = within(i64::MAX, sets)?.0;
    let light = options.priority == Priority::Lightest || options.at_most.is_some();
    let most = if light { sets } else { fewest };
    let mut lifts: Vec<i64> = all.iter().flatten().flatten().map(|(heaviest, _)| *heaviest).collect();
    lifts.sort_unstable();
    lifts.dedup();
    let heaviest = lifts[lifts.partition_point(|lift| within(*lift, most).is_none())];
    // The fewest at that lift, and of those the lightest: the order of the pairs.
    let (cylinders, bases) = within(heaviest, most)?;
    let charges: i64 = problem.lots.iter().map(|lot| lot.charge).sum();
    Some(Objectives { cylinders, heaviest, carried: bases + charges })
}

/// The objectives of fills by plain arithmetic, every rule held.
pub fn figured(problem: &Problem, fills: &[Fill]) -> Objectives {
    let mut left: Vec<i64> = problem.lots.iter().map(|lot| lot.charge).collect();
    let mut used = vec![false; problem.cylinders.len()];
    let (mut heaviest, mut carried) = (0, 0);
    for fill in fills {
        let slot = &problem.cylinders[fill.cylinder];
        let stop = slot.base + fill.add;
        assert!(fill.add > 0 && stop <= slot.tops[fill.lot].unwrap(), "{fill:?}");
        assert!(!std::mem::replace(&mut used[fill.cylinder], true), "used twice: {fill:?}");
        left[fill.lot] -= fill.add;
        heaviest = heaviest.max(stop);
        carried += stop;
    }
    assert!(left.iter().all(|left| *left == 0), "{left:?}");
    Objectives { cylinders: fills.len(), heaviest, carried }
}
