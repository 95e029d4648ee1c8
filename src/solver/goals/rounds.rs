//! How much work goes into an objective, round after round.

use crate::solver::problem::Problem;
use crate::solver::search::answer::FULL;

/// Steps of work for an objective at first, ...
const QUICK: u64 = 30_000_000;
/// ... and so many more for each cylinder and lot.
const QUICK_EACH: u64 = 20_000;

/// What branching may take at first: never as much as in the rounds after that, which is how it is told apart.
pub fn quick(problem: &Problem) -> u64 {
    (QUICK + problem.size().saturating_mul(QUICK_EACH)).min(FULL / 2)
}

/// What branching may take in the rounds after that, up to so many steps in one.
pub fn rounds(steps: u64) -> impl Iterator<Item = u64> {
    std::iter::successors(Some(FULL), |last| last.checked_mul(2)).take_while(move |last| *last <= steps.max(FULL))
}
