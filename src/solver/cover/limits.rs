//! What the search for a cheapest cover keeps besides prices where the number of cylinders or what they claim is limited.

use super::state::{Ranked, State};
use super::task::{Item, Task};

/// To spare for rounding in sums of claims.
const SPARE: f64 = 4.0;
/// The same as a part of what goes into them.
const ROUNDING: f64 = 1e-12;

/// What covers will claim at least.
///
/// As for prices: at a rate for room every cover claims at least so much, and each cylinder taken or left against that
/// rule adds what it is off. What isn't tried yet may still bring something back.
#[derive(Debug, Clone, Copy)]
pub struct Claims {
    most: i64,
    /// The rate.
    each: f64,
    /// One cylinder against the rule may add no more than this.
    spare: f64,
    /// The most that a state may claim, what is uncovered at the rate: less and less as cylinders are tried.
    left: f64,
}

impl Claims {
    /// A task's covers may claim `most`; greed took `first` of each item.
    pub fn new(items: &[Ranked], first: &[i64], task: Task, most: i64) -> Self {
        let each = |item: &Item| item.claim as f64 / item.room as f64;
        let mut order: Vec<&Item> = items.iter().map(|(_, item)| item).collect();
        order.sort_unstable_by(|a, b| each(a).total_cmp(&each(b)));
        let mut rest = task.charge;
        let last = order.iter().find(|item| {
            rest -= item.room * item.most;
            rest <= 0
        });
        // What is left over claims nothing.
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
        let taken = item.claim as f64 - self.each * item.room as f64;
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
        state.claim as f64 + self.each * state.rest as f64 <= self.left
    }

    /// Whether a state claims no more than it may.
    pub fn allow(&self, state: &State) -> bool {
        state.claim <= self.most
    }
}

/// The states that none before them beats, of those that leave as much uncovered or less.
#[derive(Debug, Default)]
pub struct Front {
    /// Whether claims count.
    claims: bool,
    /// For each number of cylinders, where that is limited, the lowest price.
    least: Vec<i64>,
    /// The same where claims count: (price, claim), the dearer the less claimed.
    stairs: Vec<Vec<(i64, i64)>>,
    /// The numbers met, from the first to before the second.
    met: (usize, usize),
}

impl Front {
    /// Numbers of cylinders below `numbers` are told apart; 1 where their number isn't limited.
    pub fn begin(&mut self, numbers: usize, claims: bool) {
        self.clear();
        self.claims = claims;
        if claims {
            self.stairs.resize_with(numbers, Vec::new);
        } else {
            self.least.resize(numbers, i64::MAX);
        }
    }

    /// Forgets the states met.
    pub fn clear(&mut self) {
        let (from, to) = std::mem::take(&mut self.met);
        if self.claims {
            self.stairs[from..to].iter_mut().for_each(Vec::clear);
        } else {
            self.least[from..to].fill(i64::MAX);
        }
    }

    /// Takes a state in unless one before is as good: as cheap, claiming as little, with as many cylinders.
    pub fn takes(&mut self, number: usize, price: i64, claim: i64) -> bool {
        let (from, to) = self.met;
        self.met = if from == to { (number, number + 1) } else { (from.min(number), to.max(number + 1)) };
        if !self.claims {
            let better = price < self.least[number];
            self.least[number] = self.least[number].min(price);
            return better;
        }
        let stairs = &mut self.stairs[number];
        let dearer = stairs.partition_point(|(other, _)| *other <= price);
        if dearer > 0 && stairs[dearer - 1].1 <= claim {
            return false;
        }
        let from = dearer - usize::from(dearer > 0 && stairs[dearer - 1].0 == price);
        let to = dearer + stairs[dearer..].iter().take_while(|(_, other)| *other >= claim).count();
        stairs.splice(from..to, [(price, claim)]);
        true
    }
}
