//! What is asked of a field and what is known of the answer.

use crate::solver::field::Sets;

/// Steps of work for branching where a proof is worth it: a second or two.
pub const FULL: u64 = 1_000_000_000;
/// What is asked of a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quest {
    /// Only plans cheaper than this count.
    pub below: i64,
    /// A plan of this cost or less is good enough, proved best or not.
    pub enough: i64,
    /// Steps of work that branching may take.
    pub allowance: u64,
}

/// What is known: kept up to date, so that it stands when the search is stopped.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Answer {
    /// No plan costs less (never above `below`).
    pub bound: i64,
    /// The cheapest plan found below `below`, with its cost.
    pub plan: Option<(i64, Sets)>,
}

impl Answer {
    /// Nothing more to find.
    pub fn settled(&self, quest: Quest) -> bool {
        let least = self.least(quest);
        self.bound >= least || (self.plan.is_some() && least <= quest.enough)
    }

    /// Only plans cheaper than this are still of use.
    pub fn least(&self, quest: Quest) -> i64 {
        self.plan.as_ref().map_or(quest.below, |(cost, _)| *cost)
    }

    /// Takes a plan if it is the cheapest so far.
    pub fn offer(&mut self, quest: Quest, plan: Option<(i64, Sets)>) {
        let Some((cost, sets)) = plan else { return };
        if cost < self.least(quest) {
            self.plan = Some((cost, sets));
        }
    }

    /// Raises the bound, never past what a plan shows to be possible.
    pub fn prove(&mut self, quest: Quest, bound: i64) {
        self.bound = self.bound.max(bound).min(self.least(quest));
    }
}
