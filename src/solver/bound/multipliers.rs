//! Multipliers of the supply, and the dual bound that they prove (a Lagrangian bound, in the literature's words).
//!
//! In words: charge every cylinder a multiplier on top of its cost, let each lot take its cheapest cover as if alone, and
//! give back what the whole supply was charged. No plan costs less, whatever the multipliers, because a plan's lots
//! together take no more than the supply:
//!
//!   Σ_l cheapest cover of l at (cost_c + μ_c + ν) − Σ_c N_c · μ_c − K · ν ≤ cost of a plan
//!
//! and likewise for every quota that branching asks for, for all μ_c ≥ 0 (of either sign where all N_c must be used) and
//! ν ≥ 0. Multipliers are whole multiples of 2^−bits and the sum is made in integers, so the bound is exact; the linear
//! program only suggests where to look.

use crate::solver::cover::task::Item;
use crate::solver::field::Field;

/// A multiplier no larger than this leaves sums of them below overflow.
pub const DEAREST: i64 = 1 << 45;
/// Multipliers, in whole 2^−bits of a cost.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Multipliers {
    /// On top of the cost, for each class.
    pub classes: Vec<i64>,
    /// On top of that for every cylinder, for the number of them.
    pub number: i64,
    /// On top of that for what is taken of each quota.
    pub quotas: Vec<i64>,
}

impl Multipliers {
    /// None for anything.
    pub fn none(field: &Field) -> Self {
        Self { classes: vec![0; field.classes.len()], number: 0, quotas: vec![0; field.quotas.len()] }
    }

    /// What a lot pays for a cylinder of a class, on top of its cost.
    pub fn of(&self, field: &Field, lot: usize, class: usize) -> i64 {
        let quotas =
            field.quotas.iter().zip(&self.quotas).map(|(quota, multiplier)| quota.takes(lot, class) * multiplier);
        self.classes[class] + self.number + quotas.sum::<i64>()
    }
}

/// A dual bound with the multipliers that prove it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Bound {
    /// No plan costs less, in whole 2^−bits.
    pub value: i64,
    /// The multipliers.
    pub multipliers: Multipliers,
    /// What the cover of each lot costs at least at these multipliers, among those that the field allows.
    pub leasts: Vec<i64>,
}

impl Bound {
    /// No plan costs less, in whole units of cost.
    pub fn cost(&self, field: &Field) -> i64 {
        (self.value >> field.bits) + i64::from(self.value & ((1 << field.bits) - 1) != 0)
    }
}

/// The items of a lot at multipliers, with `left` of each class.
pub fn items(field: &Field, lot: usize, multipliers: &Multipliers, left: impl Fn(usize) -> i64) -> Vec<Item> {
    field
        .classes
        .iter()
        .enumerate()
        .filter(|(index, class)| class.rooms[lot] > 0 && left(*index) > 0)
        .map(|(index, class)| Item {
            class: index,
            room: class.rooms[lot],
            price: (class.cost << field.bits) + multipliers.of(field, lot, index),
            most: left(index),
            kept: class.kept,
        })
        .collect()
}

/// A cover of one lot, a column: (class, how many).
pub type Cover = Vec<(usize, i64)>;
