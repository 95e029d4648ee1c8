//! What a division of each lot's charge is worth, and the bound that it proves.
//!
//! In words: let a division of lot l be worth λ_l, and the number of cylinders charge each of them ν. A cylinder gains at
//! most what its room is worth where that is most, less its cost and ν. No plan costs less than
//!
//!   Σ_l λ_l · charge_l − Σ_c N_c · max(0, max_l λ_l · room_cl − cost_c − ν) − K · ν
//!
//! for any λ_l ≥ 0 (at most what a division left over costs, where it may be) and ν ≥ 0; a cylinder that must be used counts
//! its gain below 0, too. That is the plain relaxation, in which cylinders can be cut: weak where a lot has few of them, close
//! where it has dozens. The worth is rounded to whole parts of a cost and the sum made in integers, so the bound is exact.

use super::prices::{DEAREST, Prices};
use crate::solver::field::{Class, Field, Sets};

/// Parts of a cost in which the bound is summed up.
const PART: i128 = 1 << 40;
/// The most of them for a division: with rooms up to 2^40 and a million cylinders the sum stays below 2^127.
const MOST: i128 = 1 << 62;

/// What divisions and cylinders are worth, in costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// A division of each lot's charge; 0 or more.
    pub lots: Vec<f64>,
    /// What the number charges each cylinder; 0 or more.
    pub number: f64,
}

impl Worth {
    /// A division of each lot's charge is worth what it costs in the mean.
    pub fn mean(field: &Field, sets: &Sets) -> Self {
        let of = field.class_of();
        let cost = |slot: &usize| of[*slot].map_or(0, |class| field.classes[class].cost);
        let mean = |(set, charge): (&Vec<usize>, &i64)| {
            set.iter().map(cost).sum::<i64>().max(1) as f64 / (*charge).max(1) as f64
        };
        Self { lots: sets.iter().zip(&field.charges).map(mean).collect(), number: 0.0 }
    }

    /// What one cylinder of a class gains, and for which lot.
    pub fn gain(&self, class: &Class) -> (f64, usize) {
        let mut best = (0.0, 0);
        for (lot, (&room, worth)) in class.rooms.iter().zip(&self.lots).enumerate() {
            let value = room as f64 * worth;
            if value > best.0 {
                best = (value, lot);
            }
        }
        (best.0 - class.cost as f64 - self.number, best.1)
    }

    /// Prices that leave no cylinder a gain.
    pub fn prices(&self, field: &Field) -> Prices {
        let whole = |value: f64| ((value * (1_i64 << field.bits) as f64).round() as i64).clamp(-DEAREST, DEAREST);
        let price = |class: &Class| match class.contested() {
            true if class.kept => whole(self.gain(class).0),
            true => whole(self.gain(class).0.max(0.0)),
            false => 0,
        };
        Prices { classes: field.classes.iter().map(price).collect(), number: whole(self.number), ..Prices::none(field) }
    }

    /// No plan of the field costs less.
    pub fn bound(&self, field: &Field) -> i64 {
        let whole = |value: f64| ((value * PART as f64).round() as i128).clamp(0, MOST);
        let most = |lot: usize| field.leftover_of(lot).map_or(MOST, |each| i128::from(each.max(0)) * PART);
        let lots: Vec<i128> = self.lots.iter().enumerate().map(|(lot, &worth)| whole(worth).min(most(lot))).collect();
        let (at_most, number) = field.at_most.map_or((0, 0), |most| (i128::from(most), whole(self.number)));
        let value = |rooms: &[i64]| rooms.iter().zip(&lots).map(|(&room, worth)| i128::from(room) * worth).max();
        let mut sum: i128 = field.charges.iter().zip(&lots).map(|(&charge, worth)| i128::from(charge) * worth).sum();
        for class in &field.classes {
            let gain = value(&class.rooms).unwrap_or(0) - i128::from(class.cost) * PART - number;
            sum -= i128::from(class.count()) * if class.kept { gain } else { gain.max(0) };
        }
        sum -= at_most * number;
        let whole_costs = sum.div_euclid(PART) + i128::from(sum.rem_euclid(PART) > 0);
        i64::try_from(whole_costs.max(0)).unwrap_or(i64::MAX)
    }
}
