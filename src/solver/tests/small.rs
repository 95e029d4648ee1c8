//! Small random cases against brute force.

use super::super::{Amounts, Demand, Effort, Options, Outcome, Priority, Problem, Slot};
use super::{Dice, brute, check, run};

/// A case of up to `lots` lots and 7 cylinders: heels, tops that differ by lot, cylinders alike, ties.
pub fn case(dice: &mut Dice, lots: i64) -> Problem {
    let lots = 1 + dice.below(lots) as usize;
    let number = 1 + dice.below(7) as usize;
    let scale = [6, 25, 120][dice.below(3) as usize];
    let sizes: Vec<i64> = (0..3).map(|_| 1 + dice.below(scale)).collect();
    let mut cylinders: Vec<Slot> = Vec::new();
    for _ in 0..number {
        if !cylinders.is_empty() && dice.below(4) == 0 {
            let alike = cylinders[dice.below(cylinders.len() as i64) as usize].clone();
            cylinders.push(alike);
            continue;
        }
        let tare = dice.below(scale);
        let size = sizes[dice.below(3) as usize];
        let holds = (dice.below(5) < 2).then(|| dice.below(lots as i64) as usize);
        let heel = if holds.is_some() { dice.below(size + 1) } else { 0 };
        let tops = (0..lots)
            .map(|lot| {
                let may = dice.below(8) > 0 && holds.is_none_or(|held| held == lot);
                let top = tare + size * (90 + 10 * lot as i64) / 100;
                may.then_some(top)
            })
            .collect();
        cylinders.push(Slot {
            base: tare + heel,
            tops,
            keeps_evacuated: holds.is_none(),
            reserved: (0..lots).map(|_| dice.below(9) == 0).collect(),
        });
    }
    let room: i64 =
        cylinders.iter().map(|slot| slot.tops.iter().flatten().max().map_or(0, |top| (top - slot.base).max(0))).sum();
    let share = 1 + dice.below(110);
    let lots =
        (0..lots).map(|_| Demand { charge: (room * share / 100 / lots as i64 + dice.below(3)).max(1) }).collect();
    Problem { lots, cylinders }
}

/// Solves a case and compares everything with brute force. Returns whether it fitted.
fn compare(problem: &Problem, options: &Options) -> bool {
    match (run(problem, options), brute::best(problem, options)) {
        (Outcome::Planned(solution), Some(best)) => {
            check(problem, options, &solution);
            assert_eq!(solution.totals, best, "{problem:?} {options:?}");
            assert_eq!(solution.bounds, best, "{problem:?} {options:?}");
            assert!(solution.proved.all());
            true
        }
        (Outcome::Short(short), None) => {
            let (least, late) = brute::least_missing(problem, options.at_most);
            let ours: i64 = short.missing.iter().enumerate().map(|(lot, missing)| lot as i64 * missing).sum();
            assert_eq!(ours, late, "the later lot waits: {problem:?} {short:?}");
            assert_eq!(short.missing.iter().sum::<i64>(), least, "{problem:?} {options:?} {short:?}");
            assert!(short.proved && short.least_missing == least, "{problem:?} {options:?} {short:?}");
            assert!(least > 0 || !short.unused.is_empty());
            for (lot, demand) in problem.lots.iter().enumerate() {
                let placed: i64 = short.fills.iter().filter(|fill| fill.lot == lot).map(|fill| fill.add).sum();
                assert_eq!(placed + short.missing[lot], demand.charge);
            }
            false
        }
        (ours, best) => panic!("{problem:?} {options:?}: {ours:?}, brute force says {best:?}"),
    }
}

/// Compares `cases` random cases under options made from each; some must fit and some must not.
fn sweep(cases: u64, mut options: impl FnMut(&Problem, &mut Dice) -> Options) {
    let mut fitted = 0;
    for seed in 0..cases {
        let mut dice = Dice::new(seed);
        let problem = case(&mut dice, 3);
        let options = options(&problem, &mut dice);
        fitted += u64::from(compare(&problem, &options));
    }
    assert!(fitted > cases / 10 && fitted < cases * 95 / 100, "{fitted} of {cases} fitted: one-sided cases");
}

#[test]
fn fewest_first_is_what_brute_force_finds() {
    sweep(1500, |_, _| Options::default());
}

#[test]
fn lightest_first_is_what_brute_force_finds() {
    sweep(1500, |_, _| Options { priority: Priority::Lightest, ..Options::default() });
}

#[test]
fn lightest_within_a_number_is_what_brute_force_finds() {
    sweep(1000, |problem, dice| Options {
        at_most: Some(dice.below(problem.cylinders.len() as i64 + 2) as usize),
        ..Options::default()
    });
}

#[test]
fn cylinders_that_must_be_used_are_used_and_the_rest_is_best() {
    sweep(1500, |problem, dice| {
        let any = |dice: &mut Dice| dice.below(problem.cylinders.len() as i64) as usize;
        Options {
            must_use: (0..=dice.below(3)).map(|_| any(dice)).collect(),
            priority: [Priority::Fewest, Priority::Lightest][dice.below(2) as usize],
            at_most: (dice.below(3) == 0).then(|| 1 + any(dice)),
            ..Options::default()
        }
    });
}

#[test]
fn filling_in_turn_changes_no_total() {
    for seed in 0..400 {
        let problem = case(&mut Dice::new(seed), 3);
        let levelled = run(&problem, &Options::default());
        let options = Options { amounts: Amounts::InTurn, ..Options::default() };
        if let (Outcome::Planned(levelled), Outcome::Planned(turned)) = (levelled, run(&problem, &options)) {
            check(&problem, &options, &turned);
            assert_eq!(levelled.totals, turned.totals);
            assert_eq!(levelled.proved, turned.proved);
        }
    }
}

#[test]
fn beyond_a_thousand_a_thousandth_of_the_weight_may_stay_open() {
    let (mut fitted, mut proved) = (0, 0);
    for seed in 0..600 {
        let mut dice = Dice::new(seed);
        let problem = case(&mut dice, 3);
        // Cylinders that may take nothing, so that cylinders times lots pass a thousand.
        let mut many = problem.clone();
        let idle = Slot { base: 1, tops: Vec::new(), keeps_evacuated: true, reserved: Vec::new() };
        many.cylinders.resize(1_001, idle);
        let options =
            Options { priority: [Priority::Fewest, Priority::Lightest][dice.below(2) as usize], ..Options::default() };
        match (run(&many, &options), brute::best(&problem, &options)) {
            (Outcome::Planned(solution), Some(best)) => {
                check(&problem, &options, &solution);
                let said = format!("{problem:?} {options:?} {solution:?}");
                assert!(solution.proved.cylinders && solution.proved.heaviest, "{said}");
                assert_eq!((solution.totals.cylinders, solution.totals.heaviest), (best.cylinders, best.heaviest));
                assert!((solution.bounds.carried..=solution.totals.carried).contains(&best.carried), "{said}");
                assert!((solution.totals.carried - best.carried) * 1_000 <= solution.totals.carried, "{said}");
                fitted += 1;
                proved += u64::from(solution.proved.carried);
            }
            (Outcome::Short(short), None) => assert!(short.proved),
            (ours, best) => panic!("{problem:?} {options:?}: {ours:?}, brute force says {best:?}"),
        }
    }
    assert!(fitted > 100 && proved > fitted / 2, "{proved} of {fitted}");
}

#[test]
fn with_little_effort_no_more_is_said_to_stay_than_has_to() {
    let mut unproved = 0;
    for seed in 0..600 {
        let problem = case(&mut Dice::new(seed), 3);
        for seconds in [1e-6, 3e-6, 1e-5, 3e-5] {
            let options = Options { effort: Effort::within(seconds), ..Options::default() };
            let Outcome::Short(short) = run(&problem, &options) else { continue };
            let (least, _) = brute::least_missing(&problem, None);
            let missing: i64 = short.missing.iter().sum();
            assert!(short.least_missing <= least && least <= missing, "{problem:?} {short:?}, not {least}");
            assert_eq!(short.proved, short.least_missing == missing);
            unproved += u32::from(!short.proved);
        }
    }
    assert!(unproved > 0, "always proved: too much effort");
}
