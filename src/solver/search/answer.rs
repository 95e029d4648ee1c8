//! What is asked of a field and what is known of the answer.

use crate::solver::field::Sets;

/// Steps of work for branching where a proof is worth it: a second or two.
pub const FULL: u64 = 1_000_000_000;
/// What is asked of a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Target {
    /// Only plans cheaper than this count.
    pub cutoff: i64,
    /// A plan of this cost or less is good enough, proved best or not.
    pub enough: i64,
    /// Steps of work that branching may take.
    pub allowance: u64,
}

/// What is known: kept up to date, so that it stands when the search is stopped.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Answer {
    /// No plan costs less (never above the cutoff).
    pub bound: i64,
    /// The cheapest plan found below the cutoff, with its cost: the incumbent.
    pub plan: Option<(i64, Sets)>,
}

impl Answer {
    /// Nothing more to find.
    pub fn settled(&self, target: Target) -> bool {
        let least = self.least(target);
        self.bound >= least || (self.plan.is_some() && least <= target.enough)
    }

    /// Only plans cheaper than this are still of use.
    pub fn least(&self, target: Target) -> i64 {
        self.plan.as_ref().map_or(target.cutoff, |(cost, _)| *cost)
    }

    /// Takes a plan if it is the cheapest so far.
    pub fn offer(&mut self, target: Target, plan: Option<(i64, Sets)>) {
        let Some((cost, sets)) = plan else { return };
        if cost < self.least(target) {
            self.plan = Some((cost, sets));
        }
    }

    /// Raises the bound, never past what a plan shows to be possible.
    pub fn prove(&mut self, target: Target, bound: i64) {
        self.bound = self.bound.max(bound).min(self.least(target));
    }
}
