//! The parts of the search on their own, each against every possibility tried out.

use super::super::bound::generation::{Aim, Else, raise};
use super::super::bound::multipliers::Bound;
use super::super::bound::program::{Column, Program};
use super::super::bound::relaxation::relaxed;
use super::super::bound::restricted::Memory;
use super::super::bound::simplex::Simplex;
use super::super::cover::knapsack::States;
use super::super::cover::task::{Item, NONE, Task};
use super::super::field::{Field, Goal, Part, Sets};
use super::super::goals::amounts::{fills, totals};
use super::super::problem::watch::Watch;
use super::super::search::answer::{Answer, Target};
use super::super::search::branch::branch;
use super::super::{Amounts, Problem};
use super::{Dice, small};

/// The lowest price of a task's covers, by trying every one.
fn cheapest(items: &[Item], task: Task) -> Option<i64> {
    let Some((item, others)) = items.split_first() else {
        return if task.charge <= 0 { Some(0) } else { task.leftover.map(|each| each * task.charge) };
    };
    let with = |n: i64| Some(n * item.price + cheapest(others, Task { charge: task.charge - n * item.room, ..task })?);
    (0..=item.most).filter_map(with).min()
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
            }
        })
        .collect()
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
fn branching_finds_what_trying_all_finds() {
    let mut planned = 0;
    for seed in 0..600 {
        let mut dice = Dice::new(seed);
        let problem = small::case(&mut dice, 3);
        let kept = must_use(&mut dice, &problem);
        let part = Part::whole(&problem);
        let goal = [Goal::Count, Goal::Gross, Goal::Leftover(9)][dice.below(3) as usize];
        let most = (dice.below(2) == 0).then(|| 1 + dice.below(6) as usize);
        let field = Field::new(&problem, &kept, &part, i64::MAX, goal, most);
        // No plan costs more than all cylinders and all that can be left over.
        let all: i64 = field.classes.iter().map(|class| class.cost * class.count()).sum();
        let left: i64 = field.charges.iter().map(|charge| charge * field.leftover.unwrap_or(0)).sum();
        let target = Target { cutoff: all + left + 1, enough: 0, allowance: u64::MAX / 2 };
        let truth = least_cost(&problem, &field, &|_| true).unwrap_or(target.cutoff);
        let mut answer = Answer::default();
        let mut yes = |_: &super::super::problem::Progress| true;
        branch(&field, target, &mut Memory::default(), &mut answer, &mut Watch::new(&mut yes)).unwrap();
        assert_eq!(answer.bound, truth, "seed {seed} {goal:?}: {answer:?}");
        assert_eq!(answer.plan.is_some(), truth < target.cutoff);
        if let Some((cost, sets)) = &answer.plan {
            assert_eq!((field.cost(sets), *cost), (Some(*cost), truth));
            planned += 1;
        }
    }
    assert!(planned > 200, "{planned}");
}

#[test]
fn the_relaxation_proves_no_more_than_is_true() {
    let (mut close, mut all) = (0, 0);
    for seed in 0..600 {
        let mut dice = Dice::new(seed);
        let problem = small::case(&mut dice, 3);
        let kept = must_use(&mut dice, &problem);
        let goal = [Goal::Count, Goal::Gross, Goal::Leftover(9)][dice.below(3) as usize];
        let most = (dice.below(2) == 0).then(|| 1 + dice.below(6) as usize);
        let field = Field::new(&problem, &kept, &Part::whole(&problem), i64::MAX, goal, most);
        let Some(truth) = least_cost(&problem, &field, &|_| true) else { continue };
        let mut yes = |_: &super::super::problem::Progress| true;
        let watch = &mut Watch::new(&mut yes);
        let (mut memory, mut bound) = (Memory::default(), Bound::default());
        let multipliers = relaxed(&field, &memory.multipliers_for(&field), watch).unwrap().multipliers(&field);
        memory.remember(&field, &multipliers);
        let aim = Aim { enough: i64::MAX >> 25, else_to: Else::Whole, most: 0 };
        raise(&field, &mut memory, aim, &mut bound, watch).unwrap().unwrap();
        assert!(bound.cost(&field) <= truth, "seed {seed} {goal:?}: {bound:?}, truth {truth}");
        close += u64::from(bound.cost(&field) * 2 >= truth);
        all += 1;
    }
    assert!(all > 200 && close * 3 > all, "{close} of {all}");
}

#[test]
fn growing_states_find_what_trying_all_finds() {
    let (mut covered, mut cheaper) = (0, 0);
    for seed in 0..6_000 {
        let mut dice = Dice::new(seed);
        let items = items(&mut dice);
        let charge = 1 + dice.below(250);
        let leftover = (dice.below(3) == 0).then(|| 1 + dice.below(3));
        let task = Task { tolerance: [0, 0, 7][dice.below(3) as usize], ..Task::cheapest(charge, leftover) };
        let truth = cheapest(&items, task);
        let below = if dice.below(2) == 0 { NONE } else { truth.unwrap_or(0) + dice.below(5) - 2 };
        let mut states = States::default();
        let found = states.cheapest(&items, task, below, &mut Watch::new(&mut |_| true)).unwrap();
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
        assert_eq!(sum(&|item| item.price) + missing * leftover.unwrap_or(0), price, "seed {seed}");
        covered += 1;
    }
    assert!(covered > 2_000 && cheaper > 500, "{covered} {cheaper}");
}

/// A random program and its columns: some classes shared, some of whose supply must be used, and a quota.
fn program(dice: &mut Dice) -> (Program, Vec<Column>) {
    let lots = 1 + dice.below(4) as usize;
    let classes = 1 + dice.below(8) as usize;
    let mut supply: Vec<_> =
        (0..classes).map(|_| (dice.below(5) > 0).then(|| (1.0 + dice.below(4) as f64, dice.below(6) == 0))).collect();
    // One that is a quota: at least so many of it.
    supply.push(Some((-(dice.below(3) as f64), false)));
    let column = |dice: &mut Dice, lot: usize| {
        let contested = (0..classes).filter(|&class| supply[class].is_some());
        let taken: Vec<(usize, f64)> = contested.map(|class| (class, dice.below(3) as f64)).collect();
        let number = taken.iter().map(|(_, number)| number).sum::<f64>() + dice.below(3) as f64;
        let quota = [(classes, -(dice.below(3) as f64))];
        let taken = taken.into_iter().chain(quota).filter(|(_, number)| *number != 0.0).collect();
        Column { lot, taken, number, cost: dice.below(30) as f64 / 4.0 }
    };
    let count = lots + dice.below(30) as usize;
    let columns = (0..count).map(|at| column(dice, at % lots)).collect();
    (Program { lots, supply, at_most: (dice.below(2) == 0).then(|| dice.below(12) as f64), dearest: 50.0 }, columns)
}

/// What a choice of columns costs, with what is over the supply, or of what must be used under it; the shares of each lot
/// must come to 1.
fn cost_of(program: &Program, columns: &[Column], shares: &[(usize, f64)]) -> f64 {
    let of_lot =
        |lot: usize| shares.iter().filter(|(at, _)| columns[*at].lot == lot).map(|(_, share)| share).sum::<f64>();
    assert!((0..program.lots).all(|lot| (of_lot(lot) - 1.0).abs() < 1e-5), "{shares:?}");
    let taken = |class: usize, column: &Column| {
        column.taken.iter().filter(|(of, _)| *of == class).map(|(_, number)| number).sum::<f64>()
    };
    let sum = |of: &dyn Fn(&Column) -> f64| shares.iter().map(|(at, share)| share * of(&columns[*at])).sum::<f64>();
    let off = |supply: f64, kept: bool, used: f64| {
        program.dearest * if kept { (used - supply).abs() } else { (used - supply).max(0.0) }
    };
    let classes = program.supply.iter().enumerate().filter_map(|(class, supply)| supply.map(|supply| (class, supply)));
    let classes: f64 =
        classes.map(|(class, (supply, kept))| off(supply, kept, sum(&|column| taken(class, column)))).sum();
    let number = program.at_most.map_or(0.0, |most| off(most, false, sum(&|column| column.number)));
    sum(&|column| column.cost) + classes + number
}

#[test]
fn the_simplex_proves_its_own_answer() {
    // Optimality by duality: multipliers within their range that leave no column a reduced cost below 0, and a choice of
    // columns that costs what the multipliers come to.
    for seed in 0..2_000 {
        let (program, columns) = program(&mut Dice::new(seed));
        let mut simplex = Simplex::new(&program);
        // Columns come a few at a time, as they do in the search.
        for some in columns.chunks(5) {
            some.iter().for_each(|column| simplex.add(column));
            if some.len() == 5 {
                simplex.solve(&mut Watch::new(&mut |_| true)).unwrap();
            }
        }
        assert!(simplex.solve(&mut Watch::new(&mut |_| true)).unwrap(), "seed {seed}");
        let found = simplex.suggestion();
        let within = |multiplier: f64, kept: bool| {
            multiplier < program.dearest + 1e-6 && multiplier > if kept { -program.dearest - 1e-6 } else { -1e-6 }
        };
        for (multiplier, supply) in found.multipliers.iter().zip(&program.supply) {
            assert!(supply.map_or(*multiplier == 0.0, |(_, kept)| within(*multiplier, kept)), "seed {seed}");
        }
        assert!(within(found.count_multiplier, false), "seed {seed}");
        assert!(columns.iter().all(|column| simplex.excess(column) > -1e-6), "seed {seed}");
        let cost = cost_of(&program, &columns, &simplex.shares());
        assert!((found.value - cost).abs() < 1e-3, "seed {seed}: {} and {cost}", found.value);
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
