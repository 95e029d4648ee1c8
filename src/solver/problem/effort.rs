//! How much work a plan is worth. It counts steps and reads no clock, so that a plan is the same wherever it isn't stopped.

use super::Problem;

/// Steps for each second that somebody would wait. A step took 2.2 to 2.4 ns of CPU at 200 × 6, where this was measured on two
/// shared cores, so that what stays open there takes 7 of 10 s. A machine half as slow again may be stopped by its clock.
const STEPS_A_SECOND: f64 = 3.1e8;
/// Cylinders times lots beyond which nearly all steps are those of pricing, ...
const LARGE: u64 = 3_000;
/// ... of which so many more are done in a second: one took 1.1 ns at 500 × 60.
const SHORTER: u64 = 3;

/// Steps of work for one plan, from the seconds that are given for it and never from those that have passed.
///
/// The planner does the same steps in the same order whatever it is given, and this says after how many it stops: what more of
/// it finds is never worse. Only from when on a large plan is close enough to its bound (a thousandth) hangs on it, too: twice
/// the usual effort goes on to half of that.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort(u64);

impl Effort {
    /// What so many seconds are worth; none for less than nothing.
    pub fn within(seconds: f64) -> Self {
        // Whole steps, at most 2^64 − 1: the conversion cuts off what is beyond.
        Self((seconds * STEPS_A_SECOND) as u64)
    }

    /// A part of it, for one plan of several that are made in the same time.
    pub fn part_of(self, plans: u64) -> Self {
        Self(self.0 / plans.max(1))
    }

    /// In steps.
    pub(crate) fn steps(self, problem: &Problem) -> u64 {
        if problem.size() > LARGE { self.0.saturating_mul(SHORTER) } else { self.0 }
    }
}

impl Default for Effort {
    /// What the usual ten seconds are worth.
    fn default() -> Self {
        Self::within(10.0)
    }
}
