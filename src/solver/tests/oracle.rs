//! The solver against the whole problem stated to another one, beside brute force: to 12 cylinders and 2 lots.

use super::super::direct::best;
use super::super::{Options, Outcome, Priority};
use super::{Dice, brute, check, larger, run, small};

/// Seconds for each objective: more than any of these takes.
const SECONDS: f64 = 100.0;

#[test]
fn stated_directly_small_problems_come_to_what_brute_force_finds() {
    let mut fitted = 0;
    for seed in 0..150 {
        let mut dice = Dice::new(seed);
        let problem = small::case(&mut dice, 2);
        let options = Options {
            priority: [Priority::Fewest, Priority::Lightest][dice.below(2) as usize],
            at_most: (dice.below(5) == 0).then(|| 1 + dice.below(5) as usize),
            must_use: if dice.below(5) == 0 { vec![0] } else { Vec::new() },
            ..Options::default()
        };
        let truth = brute::best(&problem, &options);
        assert_eq!(best(&problem, &options, SECONDS), Ok(truth), "seed {seed}: {problem:?} {options:?}");
        fitted += u64::from(truth.is_some());
    }
    assert!(fitted > 40, "{fitted}");
}

#[test]
fn a_dozen_cylinders_come_to_the_same_stated_directly() {
    for seed in 0..3 {
        for share in [40, 80] {
            for priority in [Priority::Fewest, Priority::Lightest] {
                let problem = larger::yard(12, 2, share, 1, seed);
                let options = Options { priority, ..Options::default() };
                let theirs = best(&problem, &options, SECONDS).unwrap();
                match run(&problem, &options) {
                    Outcome::Planned(solution) => {
                        check(&problem, &options, &solution);
                        assert_eq!((Some(solution.totals), solution.proved.all()), (theirs, true), "seed {seed}");
                    }
                    Outcome::Short(short) => assert!(short.proved && theirs.is_none(), "seed {seed}: {theirs:?}"),
                    Outcome::Undecided => panic!("undecided"),
                }
            }
        }
    }
}
