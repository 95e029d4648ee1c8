//! The solver against independent truths.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod brute;
mod edges;
mod larger;
mod oracle;
mod parts;
mod sets;
mod small;

use super::{Options, Outcome, Problem, Solution, solve};

/// A random number generator of a few lines (a linear congruence, its upper half), so that cases never change.
pub(super) struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        let mut dice = Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xD1B5_4A32_D192_ED03);
        for _ in 0..4 {
            dice.below(2);
        }
        dice
    }

    /// A whole number from 0 to `end` − 1.
    pub fn below(&mut self, end: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % end as u64) as i64
    }
}

/// Solves without a limit.
pub(super) fn run(problem: &Problem, options: &Options) -> Outcome {
    solve(problem, options, &mut |_| true)
}

/// Every rule that a plan must keep, by direct arithmetic.
pub(super) fn check(problem: &Problem, options: &Options, solution: &Solution) {
    let mut used = vec![false; problem.cylinders.len()];
    for fill in &solution.fills {
        let slot = &problem.cylinders[fill.cylinder];
        assert!(!std::mem::replace(&mut used[fill.cylinder], true), "cylinder used twice");
        assert!(fill.add >= 1, "a chosen cylinder gets nothing");
        assert!(slot.base + fill.add <= slot.tops[fill.lot].expect("may not take this lot"), "over the top");
    }
    for (lot, demand) in problem.lots.iter().enumerate() {
        let placed: i64 = solution.fills.iter().filter(|fill| fill.lot == lot).map(|fill| fill.add).sum();
        assert_eq!(placed, demand.charge, "lot {lot}");
    }
    let stop = |fill: &super::Fill| problem.cylinders[fill.cylinder].base + fill.add;
    assert_eq!(solution.totals.cylinders, solution.fills.len());
    assert_eq!(solution.totals.heaviest, solution.fills.iter().map(stop).max().unwrap_or(0));
    assert_eq!(solution.totals.carried, solution.fills.iter().map(stop).sum::<i64>());
    assert!(solution.bounds.cylinders <= solution.totals.cylinders);
    assert!(solution.bounds.heaviest <= solution.totals.heaviest);
    assert!(solution.bounds.carried <= solution.totals.carried);
    assert!(options.at_most.is_none_or(|most| solution.fills.len() <= most));
    assert!(options.must_use.iter().all(|&cylinder| used[cylinder]));
    assert!(solution.fills.is_sorted_by_key(|fill| (fill.lot, fill.cylinder)));
}
