//! The planner on random problems against every choice of cylinders there is, joined lot by lot.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use chargesplit::solver::{Demand, Options, Outcome, Priority, Problem, Slot, solve};
use fastrand::Rng;

use crate::every_choice::{best, figured, room};

/// Cases in every test run; those up to [`ALL_CASES`] when asked for.
const SOME_CASES: u64 = 600;
const ALL_CASES: u64 = 10_000;

/// Up to 9 cylinders and 3 lots: heels, cylinders alike, nearly alike and of the trade's sizes, lots that some may not
/// take, charges from a trickle to a little more than there is room for.
fn problem(rng: &mut Rng) -> Problem {
    let lots = rng.usize(1..=3);
    let number = rng.usize(1..=9);
    let trade = rng.bool();
    let share: Vec<i64> = (0..lots).map(|_| rng.i64(70..=100)).collect();
    let mut cylinders: Vec<Slot> = Vec::new();
    while cylinders.len() < number {
        if !cylinders.is_empty() && rng.u8(..5) == 0 {
            let alike = cylinders[rng.usize(..cylinders.len())].clone();
            cylinders.push(alike);
            continue;
        }
        // Tenths of a pound; common practice, no source.
        let (size, tare) = if trade {
            let (size, low, high) = [(262, 150, 180), (477, 260, 300), (1230, 550, 700)][rng.usize(..3)];
            (size + rng.i64(-5..=5), rng.i64(low..=high))
        } else {
            (rng.i64(1..12), rng.i64(0..9))
        };
        let net = |lot: usize| size * share[lot] / 100;
        let held = (rng.u8(..10) < 4).then(|| rng.usize(..lots));
        let heel = held.map_or(0, |lot| net(lot) * rng.i64(0..=100) / 100);
        let may = |lot: usize, rng: &mut Rng| held.is_none_or(|held| held == lot) && rng.u8(..10) > 0;
        cylinders.push(Slot {
            base: tare + heel,
            tops: (0..lots).map(|lot| may(lot, rng).then(|| tare + net(lot))).collect(),
            keeps_evacuated: held.is_none(),
            reserved: (0..lots).map(|_| rng.u8(..12) == 0).collect(),
        });
    }
    let room: i64 = cylinders.iter().map(|slot| (0..lots).map(|lot| room(slot, lot)).max().unwrap_or(0)).sum();
    let needed = room * rng.i64(1..=105) / 100;
    let parts: Vec<i64> = (0..lots).map(|_| rng.i64(1..=10)).collect();
    let all: i64 = parts.iter().sum();
    let lots = parts.iter().map(|part| Demand { charge: (needed * part / all).max(1) }).collect();
    Problem { lots, cylinders }
}

/// One case: the problem and the options from its seed, planned and compared. Whether it fitted.
fn agrees(seed: u64) -> bool {
    let mut rng = Rng::with_seed(seed);
    let problem = problem(&mut rng);
    let any = |rng: &mut Rng| rng.usize(..problem.cylinders.len());
    let options = Options {
        priority: if rng.bool() { Priority::Fewest } else { Priority::Lightest },
        at_most: (rng.u8(..5) == 0).then(|| any(&mut rng) + 1),
        must_use: if rng.u8(..5) == 0 { vec![any(&mut rng)] } else { Vec::new() },
        ..Options::default()
    };
    let said = || format!("seed {seed}: {problem:?} {options:?}");
    match (solve(&problem, &options, &mut |_| true), best(&problem, &options)) {
        (Outcome::Planned(ours), Some(best)) => {
            assert_eq!(ours.totals, best, "{}", said());
            assert_eq!(ours.bounds, best, "{}", said());
            assert!(ours.proved.all(), "{}", said());
            assert_eq!(figured(&problem, &ours.fills), best, "{}", said());
            true
        }
        (Outcome::Short(short), None) => {
            assert!(short.proved, "{}", said());
            false
        }
        (ours, best) => panic!("{}: {ours:?}, and the best is {best:?}", said()),
    }
}

fn all_agree(seeds: std::ops::Range<u64>) {
    let cases = seeds.end - seeds.start;
    let fitted = seeds.filter(|seed| agrees(*seed)).count() as u64;
    assert!(fitted > cases / 3 && fitted < cases * 9 / 10, "{fitted} of {cases} fitted: one-sided cases");
}

#[test]
fn some_random_problems_have_no_better_plan() {
    all_agree(0..SOME_CASES);
}

#[test]
#[ignore = "many cases; run in a release build"]
fn ten_thousand_random_problems_have_no_better_plan() {
    all_agree(SOME_CASES..SOME_CASES + ALL_CASES);
}
