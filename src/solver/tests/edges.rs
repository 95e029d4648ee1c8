//! Ties, odd input and the ends of the ranges.

use super::super::{Demand, Options, Outcome, Priority, Problem, Slot};
use super::{Dice, check, run, small};

fn slot(base: i64, top: i64) -> Slot {
    Slot { base, tops: vec![Some(top)], keeps_evacuated: false, reserved: Vec::new() }
}

fn plan(problem: &Problem) -> Vec<usize> {
    match run(problem, &Options::default()) {
        Outcome::Planned(solution) => {
            check(problem, &Options::default(), &solution);
            solution.fills.iter().map(|fill| fill.cylinder).collect()
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn among_equals_held_comes_before_evacuated_then_yard_order() {
    let mut problem = Problem { lots: vec![Demand { charge: 5 }], cylinders: vec![slot(10, 20); 4] };
    assert_eq!(plan(&problem), [0]);
    problem.cylinders[0].keeps_evacuated = true;
    assert_eq!(plan(&problem), [1]);
    // But never against one of the three objectives.
    for other in 1..4 {
        problem.cylinders[other].base = 11;
    }
    assert_eq!(plan(&problem), [0]);
}

#[test]
fn a_reserved_cylinder_goes_only_where_the_number_would_be_larger() {
    let mut problem = Problem { lots: vec![Demand { charge: 5 }], cylinders: vec![slot(10, 20), slot(40, 50)] };
    problem.cylinders[0].reserved = vec![true];
    // Not for any weight, ...
    assert_eq!(plan(&problem), [1]);
    let Outcome::Planned(lightest) = run(&problem, &Options { priority: Priority::Lightest, ..Options::default() })
    else {
        panic!("no plan")
    };
    assert_eq!(lightest.fills[0].cylinder, 1);
    // ... but before one cylinder more, where it is asked for, and where it is alone.
    problem.cylinders[1].tops = vec![Some(44)];
    problem.cylinders.push(slot(40, 44));
    assert_eq!(plan(&problem), [0]);
    problem.cylinders.truncate(1);
    assert_eq!(plan(&problem), [0]);
    let two = Problem { lots: problem.lots, cylinders: vec![problem.cylinders[0].clone(), slot(40, 50)] };
    let Outcome::Planned(kept) = run(&two, &Options { must_use: vec![0], ..Options::default() }) else {
        panic!("no plan")
    };
    assert_eq!(kept.fills[0].cylinder, 0);
}

#[test]
fn the_order_of_the_yard_changes_no_total() {
    for seed in 0..300 {
        let mut dice = Dice::new(seed);
        let problem = small::case(&mut dice, 3);
        let mut turned = problem.clone();
        turned.cylinders.reverse();
        match (run(&problem, &Options::default()), run(&turned, &Options::default())) {
            (Outcome::Planned(a), Outcome::Planned(b)) => assert_eq!((a.totals, a.bounds), (b.totals, b.bounds)),
            (Outcome::Short(a), Outcome::Short(b)) => {
                assert_eq!(a.missing.iter().sum::<i64>(), b.missing.iter().sum::<i64>());
            }
            (a, b) => panic!("{a:?} {b:?}"),
        }
    }
}

#[test]
fn removing_an_unused_cylinder_keeps_the_totals() {
    for seed in 0..300 {
        let problem = small::case(&mut Dice::new(seed), 3);
        let Outcome::Planned(whole) = run(&problem, &Options::default()) else {
            continue;
        };
        let used = |slot: usize| whole.fills.iter().any(|fill| fill.cylinder == slot);
        let Some(unused) = (0..problem.cylinders.len()).find(|&slot| !used(slot)) else {
            continue;
        };
        let mut less = problem.clone();
        less.cylinders.remove(unused);
        let Outcome::Planned(less) = run(&less, &Options::default()) else { panic!("seed {seed}: no plan") };
        assert_eq!(whole.totals, less.totals);
    }
}

#[test]
fn nothing_to_do_is_a_plan_of_nothing() {
    let none = Problem::default();
    let Outcome::Planned(solution) = run(&none, &Options::default()) else { panic!("no plan") };
    assert!(solution.fills.is_empty() && solution.proved.all());
    let empty = Problem { lots: vec![Demand { charge: 0 }], cylinders: vec![slot(3, 9)] };
    assert!(plan(&empty).is_empty());
    let without = Problem { lots: vec![Demand { charge: 4 }], cylinders: Vec::new() };
    let Outcome::Short(short) = run(&without, &Options::default()) else { panic!("a plan without cylinders") };
    assert_eq!((short.missing, short.proved), (vec![4], true));
}

#[test]
fn a_cylinder_that_must_be_used_and_cant_be_is_named() {
    let problem = Problem { lots: vec![Demand { charge: 4 }], cylinders: vec![slot(3, 9), slot(9, 9)] };
    for must_use in [vec![1], vec![7], vec![0, 1]] {
        for at_most in [None, Some(2)] {
            let options = Options { must_use: must_use.clone(), at_most, ..Options::default() };
            let Outcome::Short(short) = run(&problem, &options) else { panic!("{options:?}") };
            assert_eq!(short.missing, [0]);
            assert_eq!(short.unused, must_use[must_use.len() - 1..]);
        }
    }
}

#[test]
fn no_number_makes_it_panic() {
    let odd = [i64::MIN, -1, 0, 1, 7, 1 << 30, 1 << 40, i64::MAX];
    for seed in 0..20 {
        let mut dice = Dice::new(seed);
        let mut number = || odd[dice.below(odd.len() as i64) as usize];
        let lots: Vec<Demand> = (0..2).map(|_| Demand { charge: number() }).collect();
        let cylinders = (0..4)
            .map(|at| Slot {
                base: number(),
                tops: (0..at).map(|_| Some(number())).collect(),
                keeps_evacuated: false,
                reserved: Vec::new(),
            })
            .collect();
        let problem = Problem { lots, cylinders };
        for priority in [Priority::Fewest, Priority::Lightest] {
            run(&problem, &Options { priority, must_use: vec![9], ..Options::default() });
            run(&problem, &Options { priority, ..Options::default() });
        }
    }
}
