//! Rows, number and cost summed at multipliers: one row that says which sets are too dear.
//!
//! The multipliers are those of the relaxation over sets, in which every cylinder is taken that is worth more than it
//! costs. They are found in floating point and prove nothing; the sum at them is made in whole numbers.

use std::collections::VecDeque;

use super::rows::SetRow;
use crate::solver::bound::program::Column;
use crate::solver::bound::relaxation::{Whole, raised};
use crate::solver::field::{Class, Field};
use crate::solver::problem::watch::{Stopped, Watch};

/// Choices of classes kept for the next relaxation.
const POOLED: usize = 64;
/// Binary places of a multiplier.
const PLACES: u32 = 40;
/// An entry beyond this would let sums overflow.
const LARGEST: i64 = 1 << 46;

/// A plan that costs no more than T has Σ each ≥ least − 2^bits · T over its cylinders.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    /// For one cylinder of each class; above 0 where the relaxation takes it.
    pub each: Vec<i64>,
    pub least: i128,
    /// Σ each is never more than this.
    pub most: i128,
}

impl Cut {
    /// No set that keeps the rows costs less.
    pub fn bound(&self, field: &Field) -> i64 {
        let open = self.least - self.most + ((1 << field.bits) - 1);
        i64::try_from(open >> field.bits).unwrap_or(0)
    }

    /// What sets may fall short of `most` that cost no more than so much.
    pub fn slack(&self, field: &Field, cost: i64) -> i64 {
        i64::try_from(self.most - self.least + (i128::from(cost) << field.bits)).unwrap_or(i64::MAX / 2)
    }
}

/// The relaxation over sets of one field, with the choices that it met last.
pub struct Relaxed<'f> {
    field: &'f Field,
    met: VecDeque<Vec<bool>>,
}

impl<'f> Relaxed<'f> {
    pub fn new(field: &'f Field) -> Self {
        Self { field, met: VecDeque::new() }
    }

    /// The cut of rows at their best multipliers; `None` where its numbers would be too large.
    pub fn cut(&mut self, rows: &[SetRow], watch: &mut Watch<'_>) -> Result<Option<Cut>, Stopped> {
        let field = self.field;
        let scales: Vec<f64> = rows.iter().map(SetRow::scale).collect();
        let scaled =
            |of: &dyn Fn(&SetRow) -> f64| rows.iter().zip(&scales).map(|(row, scale)| of(row) / scale).collect();
        // What one cylinder of each class gives to every row.
        let each: Vec<Vec<f64>> = (0..field.classes.len()).map(|at| scaled(&|row| row.each[at] as f64)).collect();
        let mut supply: Vec<f64> = scaled(&|row| -(row.least as f64));
        let most = field.at_most.unwrap_or(0) as f64;
        supply.push(if most > 0.0 { 1.0 } else { 0.0 });
        let column = |taken: &[bool]| {
            let (mut number, mut cost, mut given) = (0.0, 0.0, vec![0.0; rows.len()]);
            for ((class, each), _) in field.classes.iter().zip(&each).zip(taken).filter(|(_, taken)| **taken) {
                let count = class.count() as f64;
                number += count / most.max(1.0);
                cost += count * class.cost as f64;
                given.iter_mut().zip(each).for_each(|(given, each)| *given += count * each);
            }
            let taken = given.into_iter().enumerate().map(|(row, given)| (row, -given)).collect();
            Column { lot: 0, taken, number, cost }
        };
        let known = self.met.iter().map(|taken| column(taken)).collect();
        let value = |whole: &mut Whole| {
            whole.iter_mut().for_each(|whole| *whole = whole.max(0.0));
            let number = if most > 0.0 { whole[rows.len()] } else { 0.0 };
            let (mut gained, mut taken) = (0.0, vec![false; field.classes.len()]);
            for ((class, each), taken) in field.classes.iter().zip(&each).zip(&mut taken) {
                let worth: f64 = each.iter().zip(whole.iter()).map(|(each, whole)| each * whole).sum();
                let gain = worth - class.cost as f64 - number / most.max(1.0);
                *taken = gain > 0.0 || class.kept;
                gained += if *taken { gain * class.count() as f64 } else { 0.0 };
            }
            let given: f64 = whole.iter().zip(&supply).map(|(whole, supply)| whole * supply).sum();
            let column = column(&taken);
            self.met.push_back(taken);
            (-given - gained, column)
        };
        let all = field.classes.iter().map(|class| class.count() * class.cost).sum::<i64>().max(1) as f64;
        let work = field.classes.len() * (rows.len() + 8);
        let whole = raised((vec![0.0; supply.len()], &supply, all), known, value, work, watch)?;
        self.met.drain(..self.met.len().saturating_sub(POOLED));
        Ok(self.summed(rows, &scales, &whole))
    }

    /// The rows summed at what each is worth as a whole, the number last: rounded up on the left and down on the right.
    fn summed(&self, rows: &[SetRow], scales: &[f64], whole: &Whole) -> Option<Cut> {
        let field = self.field;
        let one = (1_i64 << field.bits) as f64;
        let multiplier =
            |(scale, whole): (&f64, &f64)| (whole.max(0.0) * one / scale * (1_i64 << PLACES) as f64).round();
        let multipliers: Vec<i128> = scales.iter().zip(whole).map(|pair| multiplier(pair) as i128).collect();
        let most = field.at_most.filter(|most| *most > 0);
        let number = most.map_or(0, |most| (whole[rows.len()].max(0.0) / most as f64 * one).round() as i64);
        let sum = |of: &dyn Fn(&SetRow) -> i128| -> i128 {
            rows.iter().zip(&multipliers).map(|(row, by)| of(row) * by).sum()
        };
        let each = |(at, class): (usize, &Class)| {
            let worth = (sum(&|row| i128::from(row.each[at])) + ((1 << PLACES) - 1)) >> PLACES;
            let each = i64::try_from(worth - (i128::from(class.cost) << field.bits) - i128::from(number)).ok();
            each.filter(|each| each.abs() < LARGEST)
        };
        let each: Vec<i64> = field.classes.iter().enumerate().map(each).collect::<Option<_>>()?;
        let least = (sum(&|row| row.least) >> PLACES) - i128::from(number) * i128::from(most.unwrap_or(0));
        let most = |(class, &each): (&Class, &i64)| {
            i128::from(if class.kept { each } else { each.max(0) }) * i128::from(class.count())
        };
        Some(Cut { least, most: field.classes.iter().zip(&each).map(most).sum(), each })
    }
}
