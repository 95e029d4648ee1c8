//! Which states can still keep a limited resource.

use super::state::{Ranked, State};
use super::task::{Item, Task};

/// To spare for rounding in sums of uses.
const SPARE: f64 = 4.0;
/// The same as a part of what goes into them.
const ROUNDING: f64 = 1e-12;

/// What covers will use at least.
///
/// As for prices: at a rate for room every cover uses at least so much, and each cylinder taken or left against that
/// rule adds what it is off. What isn't tried yet may still bring something back.
#[derive(Debug, Clone, Copy)]
pub struct ResourceLimit {
    most: i64,
    /// The rate.
    each: f64,
    /// One cylinder against the rule may add no more than this.
    spare: f64,
    /// The most that a state may use, what is uncovered at the rate: less and less as cylinders are tried.
    left: f64,
}

impl ResourceLimit {
    /// A task's covers may use `most`; greed took `first` of each item.
    pub fn new(items: &[Ranked], first: &[i64], task: Task, most: i64) -> Self {
        let each = |item: &Item| item.uses as f64 / item.room as f64;
        let mut order: Vec<&Item> = items.iter().map(|(_, item)| item).collect();
        order.sort_unstable_by(|a, b| each(a).total_cmp(&each(b)));
        let mut rest = task.charge;
        let last = order.iter().find(|item| {
            rest -= item.room * item.most;
            rest <= 0
        });
        // What is left over uses nothing.
        let last = last.filter(|_| task.leftover.is_none());
        let mut this = Self { most, each: last.map_or(0.0, |item| each(item).max(0.0)), spare: 0.0, left: 0.0 };
        let (mut less, mut back) = (0.0, 0.0);
        for ((_, item), &first) in items.iter().zip(first) {
            less += this.against(item, true).min(0.0) * item.most as f64;
            back += this.against(item, true).min(0.0) * (item.most - first) as f64;
            back += this.against(item, false).min(0.0) * first as f64;
        }
        let rounding = ROUNDING * (most.abs() as f64 - less - back) + SPARE;
        this.spare = most as f64 - this.each * task.charge as f64 - less + rounding;
        this.left = most as f64 - back + rounding;
        this
    }

    /// What taking one, or giving it back, adds to the least.
    fn against(&self, item: &Item, taking: bool) -> f64 {
        let taken = item.uses as f64 - self.each * item.room as f64;
        if taking { taken } else { -taken }
    }

    /// One more taken or given back is in no cover.
    pub fn bars(&self, item: &Item, taking: bool) -> bool {
        self.against(item, taking) > self.spare
    }

    /// So many are tried now and bring nothing back any more.
    pub fn tried(&mut self, item: &Item, taking: bool, number: i64) {
        self.left += self.against(item, taking).min(0.0) * number as f64;
    }

    /// Whether a cover may come of a state.
    pub fn may(&self, state: &State) -> bool {
        state.uses as f64 + self.each * state.rest as f64 <= self.left
    }

    /// Whether a state uses no more than it may.
    pub fn allow(&self, state: &State) -> bool {
        state.uses <= self.most
    }
}
