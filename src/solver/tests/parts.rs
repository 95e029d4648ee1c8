//! The parts of the search on their own, each against every possibility tried out.

use super::super::bound::generation::Memory;
use super::super::bound::master::{Master, Row};
use super::super::bound::prices::Bound;
use super::super::bound::raise::{Aim, Else, raise};
use super::super::bound::simplex::Simplex;
use super::super::cover::cheapest::States;
use super::super::cover::table::Covers;
use super::super::cover::task::{CELLS, Item, NONE, Rounding, Task};
use super::super::field::{ANY, Field, Goal, Part, Quota, Sets};
use super::super::goals::amounts::{fills, totals};
use super::super::problem::watch::Watch;
use super::super::search::answer::{Answer, Quest};
use super::super::search::branch::branch;
use super::super::search::listing::{Effort, Verdict, list};
use super::super::search::ration::ration;
use super::super::{Amounts, Problem};
use super::{Dice, small};

/// The lowest price of a cover within a task's limits, by trying every one.
fn cheapest(items: &[Item], task: Task) -> Option<i64> {
    fn go(items: &[Item], task: Task, rest: i64, number: i64, claim: i64) -> Option<i64> {
        let Some((item, others)) = items.split_first() else {
            let price = if rest <= 0 { Some(0) } else { task.leftover.map(|each| each * rest) };
            return price.filter(|_| task.allows(number, claim));
        };
        let with = |n: i64| {
            let rest = go(others, task, rest - n * item.room, number + n, claim + n * item.claim)?;
            Some(n * item.price + rest)
        };
        (0..=item.most).filter_map(with).min()
    }
    go(items, task, task.charge, 0, 0)
}

fn items(dice: &mut Dice) -> Vec<Item> {
    (0..1 + dice.below(6) as usize)
        .map(|class| {
            let kept = dice.below(6) == 0;
            Item {
                class,
                room: 1 + dice.below(60),
                price: dice.below(50) - if kept { 20 } else { 0 },
                most: 1 + dice.below(3),
                kept,
                claim: dice.below(8) - if kept { 2 } else { 0 },
            }
        })
        .collect()
}

#[test]
fn the_cheapest_cover_is_what_trying_all_finds() {
    let (mut covered, mut partial, mut weaker) = (0, 0, 0);
    for seed in 0..4_000 {
        let mut dice = Dice::new(seed);
        let items = items(&mut dice);
        let charge = 1 + dice.below(250);
        let leftover = (dice.below(3) == 0).then(|| 1 + dice.below(3));
        // Small tables force coarse units and leave part of the core out.
        for cells in [CELLS, 200, 64] {
            for rounding in [Rounding::Outward, Rounding::Inward] {
                let task = Task { cells, ..Task::cheapest(charge, leftover, rounding) };
                let mut covers = Covers::default();
                covers.fill(items.clone(), task, &mut Watch::new(&mut |_| true)).unwrap();
                let truth = cheapest(&items, task);
                let ours = covers.cheapest();
                if rounding == Rounding::Outward && cells < CELLS {
                    // A bound: never above the truth, and only none where there is none.
                    assert!(ours.unwrap_or(i64::MAX) <= truth.unwrap_or(i64::MAX), "seed {seed}");
                    weaker += u64::from(ours < truth);
                    partial += u64::from(covers.core.partial);
                } else if cells == CELLS {
                    assert_eq!(ours, truth, "seed {seed}");
                }
                let Some(price) = ours.filter(|_| cells == CELLS || rounding == Rounding::Inward) else {
                    continue;
                };
                // What is traced is a cover of that price.
                let trace = covers.trace();
                let sum =
                    |value: &dyn Fn(&Item) -> i64| trace.iter().map(|&(at, n)| n * value(&items[at])).sum::<i64>();
                let missing = (charge - sum(&|item| item.room)).max(0);
                assert!(missing == 0 || leftover.is_some(), "seed {seed}");
                assert!(trace.iter().all(|&(at, n)| n > 0 && n <= items[at].most));
                if cells == CELLS {
                    assert_eq!(sum(&|item| item.price) + missing * leftover.unwrap_or(0), price, "seed {seed}");
                    covered += 1;
                }
            }
        }
    }
    assert!(covered > 2_000 && partial > 50 && weaker > 50, "{covered} {partial} {weaker}");
}

/// Whether each lot has as many cylinders as it may, none of which it could do without.
fn spare_none(field: &Field, sets: &Sets) -> bool {
    let of = field.class_of();
    (0..sets.len()).all(|lot| {
        let class = |slot: usize| &field.classes[of[slot].unwrap()];
        let spare = sets[lot].iter().map(|&slot| class(slot).rooms[lot]).sum::<i64>() - field.charges[lot];
        let needed = |&slot: &usize| class(slot).kept || class(slot).rooms[lot] > spare;
        (field.numbers[lot].0..=field.numbers[lot].1).contains(&(sets[lot].len() as i64))
            && sets[lot].iter().all(needed)
    })
}

/// Which cylinders must be used: one in twelve.
fn must_use(dice: &mut Dice, problem: &Problem) -> Vec<bool> {
    problem.cylinders.iter().map(|_| dice.below(12) == 0).collect()
}

/// The least cost of a plan of a field that passes, by trying every one.
fn least_cost(problem: &Problem, field: &Field, passes: &dyn Fn(&Sets) -> bool) -> Option<i64> {
    fn go(slots: usize, sets: &mut Sets, field: &Field, passes: &dyn Fn(&Sets) -> bool, best: &mut Option<i64>) {
        if slots == 0 {
            if let Some(cost) = field.cost(sets).filter(|_| passes(sets)) {
                *best = Some(best.map_or(cost, |least| least.min(cost)));
            }
            return;
        }
        go(slots - 1, sets, field, passes, best);
        for lot in 0..sets.len() {
            sets[lot].push(slots - 1);
            go(slots - 1, sets, field, passes, best);
            sets[lot].pop();
        }
    }
    let mut best = None;
    go(problem.cylinders.len(), &mut vec![Vec::new(); field.lots.len()], field, passes, &mut best);
    best
}

#[test]
fn branching_alone_finds_what_trying_all_finds() {
    // Without listing, so that branching has to do the work; it may then leave a gap, but no wrong bound.
    let (mut closed, mut all) = (0, 0);
    for seed in 0..300 {
        let mut dice = Dice::new(seed);
        let problem = small::case(&mut dice, 3);
        let kept = must_use(&mut dice, &problem);
        let part = Part::whole(&problem);
        let goal = [Goal::Count, Goal::Gross, Goal::Leftover(9)][dice.below(3) as usize];
        let most = (dice.below(2) == 0).then(|| 1 + dice.below(6) as usize);
        let field = Field::new(&problem, &kept, &part, i64::MAX, goal, most);
        let truth = least_cost(&problem, &field, &|_| true);
        let quest = Quest { below: 1_000_000, enough: 0, allowance: u64::MAX / 2 };
        for effort in [Effort { covers: 0, steps: 0 }, Effort { covers: 1_000, steps: 10_000 }] {
            let mut answer = Answer::default();
            let mut yes = |_: &super::super::problem::Progress| true;
            branch(&field, quest, effort, &mut Memory::default(), &mut answer, &mut Watch::new(&mut yes)).unwrap();
            let truth = truth.unwrap_or(quest.below);
            assert!(answer.bound <= truth, "seed {seed} {goal:?}: {answer:?}, truth {truth}");
            if let Some((cost, sets)) = &answer.plan {
                assert_eq!(field.cost(sets), Some(*cost));
                assert!(*cost >= truth);
            }
            closed += u64::from(answer.bound == truth);
            all += 1;
            if effort.covers > 0 {
                assert_eq!(answer.bound, truth, "seed {seed} {goal:?}");
                assert_eq!(answer.plan.is_some(), truth < quest.below);
            }
        }
    }
    assert!(closed * 10 >= all * 9, "{closed} of {all} closed");
}

#[test]
fn listing_keeps_every_plan_within_the_gap_where_numbers_are_given() {
    let (mut planned, mut none) = (0, 0);
    for seed in 0..2_000 {
        let mut dice = Dice::new(seed);
        let problem = small::case(&mut dice, 3);
        let kept = must_use(&mut dice, &problem);
        let goal = [Goal::Count, Goal::Gross, Goal::Leftover(9)][dice.below(3) as usize];
        let mut field = Field::new(&problem, &kept, &Part::whole(&problem), i64::MAX, goal, None);
        for lot in 0..field.lots.len() {
            let fewest = dice.below(4);
            field = field.with_numbers(lot, (fewest, fewest + dice.below(3)));
        }
        if field.hopeless() {
            continue;
        }
        let aim = Aim { enough: i64::MAX >> 25, else_to: Else::Whole, most: u64::MAX };
        let (mut bound, mut memory) = (Bound::default(), Memory::default());
        let mut yes = |_: &super::super::problem::Progress| true;
        let watch = &mut Watch::new(&mut yes);
        let truth = least_cost(&problem, &field, &|sets| spare_none(&field, sets));
        if raise(&field, &mut memory, aim, &mut bound, watch).unwrap().is_none() {
            assert_eq!(truth, None, "seed {seed} {goal:?}");
            continue;
        }
        let effort = Effort { covers: 10_000, steps: 1_000_000 };
        let at_most = truth.unwrap_or(bound.cost(&field)) + dice.below(3);
        let verdict = list(&field, &bound, at_most, effort, &mut memory.covers, watch).unwrap();
        match truth {
            Some(truth) => {
                assert!(
                    matches!(verdict, Verdict::Best(cost, _) if cost == truth),
                    "seed {seed} {goal:?}: {verdict:?} {truth} {bound:?} {field:?}"
                );
                planned += 1;
            }
            None => {
                assert_eq!(verdict, Verdict::Nothing, "seed {seed} {goal:?}");
                none += 1;
            }
        }
    }
    assert!(planned > 100 && none > 20, "{planned} {none}");
}

/// The covers that a plan is made of, cylinder by cylinder.
fn covers(field: &Field, sets: &Sets) -> Vec<Vec<(usize, i64)>> {
    let of = field.class_of();
    sets.iter().map(|set| set.iter().map(|&slot| (of[slot].unwrap(), 1)).collect()).collect()
}

/// Whether a plan keeps to the quotas of a field.
fn within_quotas(field: &Field, sets: &Sets) -> bool {
    let covers = covers(field, sets);
    let taken = |quota: &Quota| covers.iter().enumerate().map(|(lot, cover)| quota.taken(lot, cover)).sum::<i64>();
    field.quotas.iter().all(|quota| taken(quota) <= quota.supply())
}

#[test]
fn a_ration_bars_covers_of_no_plan() {
    let (mut barring, mut settled) = (0, 0);
    for seed in 0..3_000 {
        let mut dice = Dice::new(seed);
        let problem = small::case(&mut dice, 3);
        let kept = must_use(&mut dice, &problem);
        let field = |goal, most| Field::new(&problem, &kept, &Part::whole(&problem), i64::MAX, goal, most);
        let fewest = least_cost(&problem, &field(Goal::Count, None), &|_| true).unwrap_or(2);
        let most = fewest + dice.below(8).min(2) - 1;
        let mut field = field(Goal::Gross, Some(most.max(0) as usize));
        for _ in 0..dice.below(3) {
            let lot = (dice.below(2) == 0).then(|| dice.below(field.lots.len() as i64) as usize);
            let counts = field.classes.iter().map(|_| dice.below(2) == 0).collect();
            let quota = Quota { lot, counts, sign: 2 * dice.below(2) - 1, number: dice.below(4) };
            field = field.with(quota);
        }
        let mut yes = |_: &super::super::problem::Progress| true;
        let watch = &mut Watch::new(&mut yes);
        let truth = least_cost(&problem, &field, &|sets| within_quotas(&field, sets));
        let Some(ration) = ration(&field, &mut Memory::default(), watch).unwrap() else { continue };
        let fair = |sets: &Sets| covers(&field, sets).iter().enumerate().all(|(lot, cover)| ration.allows(lot, cover));
        let unfair = |sets: &Sets| within_quotas(&field, sets) && !fair(sets);
        assert_eq!(least_cost(&problem, &field, &unfair), None, "seed {seed}: {ration:?}");
        let free = Field { at_most: None, quotas: Vec::new(), ..field.clone() };
        barring += u64::from(least_cost(&problem, &free, &|sets| !fair(sets)).is_some());
        let field = Field { ration: Some(ration), ..field };
        let quest = Quest { below: 1_000_000, enough: 0, allowance: u64::MAX / 2 };
        let mut answer = Answer::default();
        branch(&field, quest, Effort { covers: 0, steps: 0 }, &mut Memory::default(), &mut answer, watch).unwrap();
        let truth = truth.unwrap_or(quest.below);
        assert!(answer.bound <= truth, "seed {seed}: {answer:?}, truth {truth}");
        settled += u64::from(answer.bound == truth);
    }
    assert!(barring > 80 && settled > 250, "{barring} {settled}");
}

#[test]
fn growing_states_find_what_trying_all_finds() {
    let (mut covered, mut cheaper) = (0, 0);
    for seed in 0..6_000 {
        let mut dice = Dice::new(seed);
        let items = items(&mut dice);
        let charge = 1 + dice.below(250);
        let leftover = (dice.below(3) == 0).then(|| 1 + dice.below(3));
        let exact = Task::cheapest(charge, leftover, Rounding::Outward);
        let fewest = dice.below(6);
        let ration = (dice.below(2) == 0).then(|| dice.below(40) - 2);
        let numbers = if dice.below(2) == 0 { ANY } else { (fewest, fewest + dice.below(4)) };
        let task = Task { tolerance: [0, 0, 7][dice.below(3) as usize], numbers, ration, ..exact };
        let truth = cheapest(&items, task);
        let below = if dice.below(2) == 0 { NONE } else { truth.unwrap_or(0) + dice.below(5) - 2 };
        let mut states = States::default();
        let found = states.cheapest(&items, task, below, &mut Watch::new(&mut |_| true)).unwrap().unwrap();
        let least = truth.unwrap_or(NONE).min(below);
        assert!(found.least <= least && found.least >= least - task.tolerance, "seed {seed}: {found:?}, {truth:?}");
        let Some((price, cover)) = found.cover else {
            cheaper += u64::from(truth.is_some());
            assert!(truth.is_none_or(|truth| truth + task.tolerance >= below), "seed {seed}");
            continue;
        };
        assert!(price < below && price <= truth.unwrap() + task.tolerance, "seed {seed}");
        assert!(cover.iter().all(|&(at, number)| number > 0 && number <= items[at].most));
        let sum = |value: &dyn Fn(&Item) -> i64| cover.iter().map(|&(at, n)| n * value(&items[at])).sum::<i64>();
        let missing = (charge - sum(&|item| item.room)).max(0);
        assert!(missing == 0 || leftover.is_some());
        assert!(task.allows(sum(&|_| 1), sum(&|item| item.claim)), "seed {seed}");
        assert_eq!(sum(&|item| item.price) + missing * leftover.unwrap_or(0), price, "seed {seed}");
        covered += 1;
    }
    assert!(covered > 2_000 && cheaper > 500, "{covered} {cheaper}");
}

/// A random program: prices that are worth looking for, some of them shared, some of whose supply must be used.
fn program(dice: &mut Dice) -> Master {
    let lots = 1 + dice.below(4) as usize;
    let classes = 1 + dice.below(8) as usize;
    let mut supply: Vec<_> =
        (0..classes).map(|_| (dice.below(5) > 0).then(|| (1.0 + dice.below(4) as f64, dice.below(6) == 0))).collect();
    // One that is a quota: at least so many of it.
    supply.push(Some((-(dice.below(3) as f64), false)));
    let row = |dice: &mut Dice, lot: usize| {
        let contested = (0..classes).filter(|&class| supply[class].is_some());
        let taken: Vec<(usize, f64)> = contested.map(|class| (class, dice.below(3) as f64)).collect();
        let number = taken.iter().map(|(_, number)| number).sum::<f64>() + dice.below(3) as f64;
        let quota = [(classes, -(dice.below(3) as f64))];
        let taken = taken.into_iter().chain(quota).filter(|(_, number)| *number != 0.0).collect();
        Row { lot, taken, number, cost: dice.below(30) as f64 / 4.0 }
    };
    let count = lots + dice.below(30) as usize;
    let rows = (0..count).map(|at| row(dice, at % lots)).collect();
    Master { lots, supply, at_most: (dice.below(2) == 0).then(|| dice.below(12) as f64), dearest: 50.0, rows }
}

#[test]
fn the_program_kept_solved_comes_to_what_the_solver_says() {
    for seed in 0..2_000 {
        let master = program(&mut Dice::new(seed));
        let mut kept = Simplex::new(&master);
        // Covers come a few at a time, as they do in the search.
        for rows in master.rows.chunks(5) {
            rows.iter().for_each(|row| kept.add(row));
            if rows.len() == 5 {
                kept.solve(&mut Watch::new(&mut |_| true)).unwrap();
            }
        }
        assert!(kept.solve(&mut Watch::new(&mut |_| true)).unwrap(), "seed {seed}");
        let (ours, theirs) = (kept.suggestion(), master.suggest().unwrap());
        assert!((ours.value - theirs.value).abs() < 1e-3, "seed {seed}: {} and {}", ours.value, theirs.value);
        assert!(master.rows.iter().all(|row| kept.excess(row) > -1e-6), "seed {seed}");
    }
}

#[test]
fn levelled_amounts_are_level() {
    let mut seen = 0;
    for seed in 0..2_000 {
        let mut dice = Dice::new(seed);
        let problem = small::case(&mut dice, 1);
        let set: Vec<usize> =
            (0..problem.cylinders.len()).filter(|&slot| problem.cylinders[slot].room(0, i64::MAX) > 0).collect();
        let room: i64 = set.iter().map(|&slot| problem.cylinders[slot].room(0, i64::MAX)).sum();
        let charge = problem.lots[0].charge;
        if room < charge || (set.len() as i64) > charge {
            continue;
        }
        seen += 1;
        let level = fills(&problem, &[0], &vec![set.clone()], Amounts::Levelled, i64::MAX);
        assert_eq!(level.iter().map(|fill| fill.add).sum::<i64>(), charge);
        let stop = |fill: &super::super::Fill| problem.cylinders[fill.cylinder].base + fill.add;
        let full = |fill: &super::super::Fill| fill.add == problem.cylinders[fill.cylinder].room(0, i64::MAX);
        let highest = level.iter().filter(|fill| fill.add > 1).map(stop).max().unwrap_or(0);
        for fill in &level {
            assert!(fill.add >= 1);
            // Whoever is more than one division below the level is full.
            assert!(full(fill) || stop(fill) + 1 >= highest, "seed {seed}: {level:?}");
        }
        // The ones that give up a division are the last in yard order.
        let short: Vec<bool> = level.iter().filter(|f| !full(f) && f.add > 1).map(|f| stop(f) < highest).collect();
        assert!(short.is_sorted(), "seed {seed}: {level:?}");
        let lift = totals(&problem, &level).heaviest;
        let turned = fills(&problem, &[0], &vec![set], Amounts::InTurn, lift);
        assert_eq!(turned.iter().map(|fill| fill.add).sum::<i64>(), charge);
        assert_eq!(totals(&problem, &turned).carried, totals(&problem, &level).carried);
        assert!(totals(&problem, &turned).heaviest <= lift);
        // All but the last that take more than one are as full as the lift allows.
        let fuller: Vec<bool> =
            turned.iter().map(|fill| fill.add == problem.cylinders[fill.cylinder].room(0, lift)).collect();
        let first_short = fuller.iter().position(|full| !full).unwrap_or(turned.len());
        assert!(turned.iter().skip(first_short + 1).all(|fill| fill.add == 1));
    }
    assert!(seen > 500, "{seen}");
}
