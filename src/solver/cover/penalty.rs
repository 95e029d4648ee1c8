//! What cylinders are charged besides their prices, so that the cheapest cover within a limit is nearly the cheapest.
//!
//! Where each use of what is limited (a cylinder of the number, a part of the resource) is charged λ, a cover within the
//! limit pays at most λ times the limit, so what is found at the charged prices bounds what there is at the true ones.
//! Any λ is right. The λ at which a cover in which cylinders could be cut just keeps the limit shows soonest which covers
//! can't be the cheapest.

use super::task::{Item, Task};
use crate::solver::field::ANY;

/// Sums of what is charged stay below this.
const LARGEST: i64 = 1 << 58;
/// The first try, as a part of the dearest price.
const FIRST: i64 = 16;
/// Halvings of the range.
const HALVINGS: usize = 16;

/// What is charged besides.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Penalty {
    /// For each cylinder; below 0 where there would be too few.
    number: i64,
    /// For each use of the resource.
    resource: i64,
    /// What a cover within the limits pays at most.
    pub most: i64,
}

impl Penalty {
    /// What to charge for a task's limits.
    pub fn of(items: &[Item], task: Task) -> Self {
        let mut this = Self::default();
        if task.numbers != ANY {
            let (fewest, most) = task.numbers;
            this.number = rate(items, task, this, |_| 1, (fewest, most));
            this.most = this.number * if this.number > 0 { most } else { fewest };
        }
        if let Some(most) = task.resource {
            this.resource = rate(items, task, this, |item| item.uses, (i64::MIN, most));
            this.most += this.resource * most;
        }
        this
    }

    /// What one cylinder is charged.
    pub fn on(self, item: &Item) -> i64 {
        self.paid(1, item.uses)
    }

    /// What so many cylinders are charged that use so much.
    pub fn paid(self, number: i64, uses: i64) -> i64 {
        self.number * number + self.resource * uses
    }

    /// What is charged for the resource alone.
    pub fn for_uses(self, uses: i64) -> i64 {
        self.resource * uses
    }
}

/// What to charge for each use, so that a cover in which cylinders could be cut keeps within the limits: above 0 where it
/// would use too much, below 0 where too little.
fn rate(items: &[Item], task: Task, paid: Penalty, uses: fn(&Item) -> i64, (fewest, most): (i64, i64)) -> i64 {
    let (fewest, most) = (fewest as f64, most as f64);
    let mut ranked: Vec<(f64, &Item)> = Vec::with_capacity(items.len());
    let mut used = |rate: i64| {
        ranked.clear();
        let price = |item: &Item| item.price + paid.on(item) + rate * uses(item);
        ranked.extend(items.iter().map(|item| (price(item) as f64 / item.room as f64, item)));
        ranked.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.class.cmp(&b.1.class)));
        let (mut rest, mut used) = (task.charge as f64, 0.0);
        for (each, item) in &ranked {
            if *each > 0.0 && (rest <= 0.0 || task.leftover.is_some_and(|left| *each >= left as f64)) {
                break;
            }
            let wanted = (rest / item.room as f64).clamp(0.0, item.most as f64);
            let taken = if *each < 0.0 { item.most as f64 } else { wanted };
            rest -= taken * item.room as f64;
            used += taken * uses(item) as f64;
        }
        used
    };
    let free = used(0);
    if (fewest..=most).contains(&free) {
        return 0;
    }
    let sign = if free > most { 1 } else { -1 };
    let mut enough = |rate: i64| if sign > 0 { used(rate) <= most } else { used(-rate) >= fewest };
    let all = items.iter().map(|item| uses(item).abs().saturating_mul(item.most)).fold(1, i64::saturating_add);
    let limits = [fewest, most].map(|limit| if limit.abs() < LARGEST as f64 { limit.abs() as i64 } else { 0 });
    let highest = (LARGEST / all.max(limits[0]).max(limits[1])).max(1);
    let largest = items.iter().map(|item| uses(item).abs()).max().unwrap_or(1).max(1);
    let dearest = items.iter().map(|item| item.price.abs()).max().unwrap_or(0);
    let mut high = (dearest / largest / FIRST).clamp(1, highest);
    while high < highest && !enough(high) {
        high = (high * 2).min(highest);
    }
    let mut low = 0;
    for _ in 0..HALVINGS {
        let middle = low + (high - low) / 2;
        if enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    sign * high
}
