//! The linear program of `program`, kept solved while columns come: a revised simplex with a dense inverse.
//!
//! The choice of columns keeps its basis, so that a new column costs a few pivots:
//!
//!   minimise Σ cost_r · share_r + M · (what is over or, of classes that must be used, under the supply)
//!   Σ over columns r of lot l of share_r = 1,  Σ a_rc · share_r + under_c − over_c = N_c,  likewise for the number
//!
//! Its duals are a value_l for each lot and a multiplier 0 ≤ μ_c ≤ M for each class. They are suggestions; nothing is
//! proved by them. Supplies are a ten-millionth larger than they are, each by another amount, so that pivots don't
//! stall (the literature's perturbation).

use super::program::{Column, Program, Suggestion};
use crate::solver::problem::watch::{Stopped, Watch};

/// Rows beyond this, and rows times lots times cylinders, take too many pivots, each over a full inverse.
pub const MOST_ROWS: usize = 700;
pub const LARGEST: usize = 20_000_000;
/// A reduced cost above the negative of this counts as none.
const NEGLIGIBLE: f64 = 1e-9;
/// The smallest pivot.
const LEAST_PIVOT: f64 = 1e-8;
/// Columns chosen in one look over all of them.
const CHOSEN: usize = 16;
/// A share that isn't put down to rounding.
const LEAST_SHARE: f64 = 1e-6;
/// An artificial column costs as much as so many of the dearest cylinders.
const ARTIFICIAL: f64 = 1e3;
/// Error of a reduced cost that is put down to rounding.
const TOLERANCE: f64 = 1e-7;

/// A column: its entries by row, and its cost.
#[derive(Debug, Clone, PartialEq)]
struct Sparse {
    entries: Vec<(usize, f64)>,
    cost: f64,
}

/// The program with its basis.
#[derive(Debug, Clone, PartialEq)]
pub struct Simplex {
    /// Rows: the lots, then the contested classes, then the number where that is limited.
    rows: usize,
    lots: usize,
    /// Row of each class.
    row_of: Vec<Option<usize>>,
    count_row: Option<usize>,
    supply: Vec<f64>,
    columns: Vec<Sparse>,
    /// The column that stands in each row.
    basis: Vec<usize>,
    /// The basis inverted, column after column.
    inverse: Vec<f64>,
    /// What each basic column is taken.
    taken: Vec<f64>,
    prices: Vec<f64>,
    pivots: usize,
}

impl Simplex {
    /// The program without columns: every lot by an artificial column dearer than any, all supply unused.
    pub fn new(program: &Program) -> Self {
        let artificial = program.dearest * ARTIFICIAL;
        let mut rows = program.lots;
        let mut next = || {
            rows += 1;
            rows - 1
        };
        let row_of: Vec<Option<usize>> = program.supply.iter().map(|supply| supply.map(|_| next())).collect();
        let count_row = program.at_most.map(|_| next());
        let mut supply = vec![1.0; program.lots];
        let mut columns: Vec<Sparse> =
            (0..program.lots).map(|row| Sparse { entries: vec![(row, 1.0)], cost: artificial }).collect();
        let of_classes = program.supply.iter().flatten().copied();
        let mut others = Vec::new();
        for (number, kept) in of_classes.chain(program.at_most.map(|most| (most, false))) {
            let row = supply.len();
            let apart = 0.5 + (row as f64 * 0.618_033_988_75).fract();
            supply.push(number + 1e-7 * apart);
            let under = Sparse { entries: vec![(row, 1.0)], cost: if kept { program.dearest } else { 0.0 } };
            let over = Sparse { entries: vec![(row, -1.0)], cost: program.dearest };
            let (first, other) = if number < 0.0 { (over, under) } else { (under, over) };
            columns.push(first);
            others.push(other);
        }
        let sign = |row: usize| columns[row].entries[0].1;
        let signs: Vec<f64> = (0..rows).map(sign).collect();
        let prices: Vec<f64> = columns.iter().zip(&signs).map(|(column, sign)| column.cost * sign).collect();
        columns.append(&mut others);
        let mut this = Self {
            rows,
            lots: program.lots,
            row_of,
            count_row,
            taken: supply.iter().zip(&signs).map(|(supply, sign)| supply * sign).collect(),
            supply,
            columns,
            basis: (0..rows).collect(),
            inverse: vec![0.0; rows * rows],
            prices,
            pivots: 0,
        };
        (0..rows).for_each(|row| this.inverse[row * rows + row] = signs[row]);
        this
    }

    /// Adds a column.
    pub fn add(&mut self, column: &Column) {
        let column = self.sparse(column);
        self.columns.push(column);
    }

    fn sparse(&self, column: &Column) -> Sparse {
        let mut entries = vec![(column.lot, 1.0)];
        entries.extend(column.taken.iter().filter_map(|&(class, number)| Some((self.row_of[class]?, number))));
        entries.extend(self.count_row.map(|count| (count, column.number)));
        Sparse { entries, cost: column.cost }
    }

    /// The multipliers and what the program comes to at them: the values of the lots less what the supply is worth.
    pub fn suggestion(&self) -> Suggestion {
        let price = |row: Option<usize>| row.map_or(0.0, |row| -self.prices[row]);
        Suggestion {
            value: self.prices.iter().zip(&self.supply).map(|(price, supply)| price * supply).sum(),
            multipliers: self.row_of.iter().map(|&row| price(row)).collect(),
            count_multiplier: price(self.count_row),
        }
    }

    /// What a column costs above its lot's value.
    #[cfg(test)]
    pub fn excess(&self, column: &Column) -> f64 {
        self.reduced(&self.sparse(column))
    }

    /// The share of each column that has one, by the order in which they were added.
    pub fn shares(&self) -> Vec<(usize, f64)> {
        let first = 2 * self.rows - self.lots;
        let share = |(&place, &share): (&usize, &f64)| Some((place.checked_sub(first)?, share));
        let mut shares: Vec<(usize, f64)> =
            self.basis.iter().zip(&self.taken).filter_map(share).filter(|(_, share)| *share > LEAST_SHARE).collect();
        shares.sort_unstable_by_key(|(place, _)| *place);
        shares
    }

    /// Pivots until no known column has a negative reduced cost; false where that fails.
    pub fn solve(&mut self, watch: &mut Watch<'_>) -> Result<bool, Stopped> {
        if self.basis.contains(&usize::MAX) {
            return Ok(false); // it failed before
        }
        let mut refreshed = false;
        let until = self.pivots + 50 * self.rows + 1_000;
        while self.pivots < until {
            watch.work(self.columns.len() * 8)?;
            let chosen = self.choose();
            if chosen.is_empty() {
                if self.error() < TOLERANCE {
                    return Ok(true);
                }
                if refreshed || !self.refresh(watch)? {
                    return Ok(false);
                }
                refreshed = true;
            }
            if !self.enter(chosen, watch)? {
                return Ok(false);
            }
        }
        Ok(false)
    }

    /// The reduced cost of a column.
    fn reduced(&self, column: &Sparse) -> f64 {
        column.cost - column.entries.iter().map(|&(row, entry)| entry * self.prices[row]).sum::<f64>()
    }

    /// The columns of the lowest reduced costs, below 0; artificial ones never come back.
    fn choose(&self) -> Vec<usize> {
        let mut chosen: Vec<(f64, usize)> = Vec::with_capacity(CHOSEN + 1);
        for (place, column) in self.columns.iter().enumerate().skip(self.lots) {
            let reduced = self.reduced(column);
            let last = if chosen.len() < CHOSEN { -NEGLIGIBLE } else { chosen[CHOSEN - 1].0 };
            if reduced < last {
                let at = chosen.partition_point(|&(other, _)| other <= reduced);
                chosen.insert(at, (reduced, place));
                chosen.truncate(CHOSEN);
            }
        }
        chosen.into_iter().map(|(_, place)| place).collect()
    }

    /// Takes columns into the basis, the lowest reduced cost first, as long as one is below 0.
    fn enter(&mut self, mut chosen: Vec<usize>, watch: &mut Watch<'_>) -> Result<bool, Stopped> {
        while let Some((reduced, at)) =
            (0..chosen.len()).map(|at| (self.reduced(&self.columns[chosen[at]]), at)).min_by(|a, b| a.0.total_cmp(&b.0))
        {
            if reduced >= -NEGLIGIBLE {
                break;
            }
            let place = chosen.swap_remove(at);
            watch.work(self.rows * self.rows / 4)?;
            if !self.pivot(place, reduced) {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// A column in terms of the basis.
    fn in_basis(&self, place: usize) -> Vec<f64> {
        let mut column = vec![0.0; self.rows];
        for &(row, entry) in &self.columns[place].entries {
            for (sum, part) in column.iter_mut().zip(&self.inverse[row * self.rows..]) {
                *sum += entry * part;
            }
        }
        column
    }

    /// Brings one column into the basis; false where nothing leaves it.
    fn pivot(&mut self, place: usize, reduced: f64) -> bool {
        let column = self.in_basis(place);
        let mut leaves: Option<(f64, usize)> = None;
        for (row, &entry) in column.iter().enumerate().filter(|(_, entry)| **entry > LEAST_PIVOT) {
            let ratio = self.taken[row].max(0.0) / entry;
            let better = |(least, other): (f64, usize)| {
                ratio < least - NEGLIGIBLE || (ratio <= least + NEGLIGIBLE && entry > column[other])
            };
            if leaves.is_none_or(better) {
                leaves = Some((ratio, row));
            }
        }
        let Some((ratio, out)) = leaves else { return false };
        for (taken, entry) in self.taken.iter_mut().zip(&column) {
            *taken -= ratio * entry;
        }
        self.taken[out] = ratio;
        self.eliminate(&column, out);
        for row in 0..self.rows {
            self.prices[row] += reduced * self.inverse[row * self.rows + out];
        }
        self.basis[out] = place;
        self.pivots += 1;
        true
    }

    /// Makes a column of the basis the unit vector of a row.
    fn eliminate(&mut self, column: &[f64], out: usize) {
        let pivot = column[out];
        for part in self.inverse.chunks_exact_mut(self.rows) {
            let factor = part[out] / pivot;
            if factor != 0.0 {
                for (cell, entry) in part.iter_mut().zip(column) {
                    *cell -= factor * entry;
                }
                part[out] = factor;
            }
        }
    }

    /// How far the basic columns are from costing just what they bring.
    fn error(&self) -> f64 {
        self.basis.iter().map(|&place| self.reduced(&self.columns[place]).abs()).fold(0.0, f64::max)
    }

    /// Inverts the basis anew; false where it has become singular.
    fn refresh(&mut self, watch: &mut Watch<'_>) -> Result<bool, Stopped> {
        let mut waiting = std::mem::take(&mut self.basis);
        self.inverse.fill(0.0);
        (0..self.rows).for_each(|row| self.inverse[row * self.rows + row] = 1.0);
        self.basis = vec![usize::MAX; self.rows];
        waiting.sort_by_key(|&place| self.columns[place].entries.len());
        for place in waiting {
            watch.work(self.rows * self.rows / 4)?;
            let column = self.in_basis(place);
            let free = (0..self.rows).filter(|&row| self.basis[row] == usize::MAX);
            let Some(out) = free.max_by(|&a, &b| column[a].abs().total_cmp(&column[b].abs())) else {
                return Ok(false);
            };
            if column[out].abs() < LEAST_PIVOT {
                return Ok(false);
            }
            self.eliminate(&column, out);
            self.basis[out] = place;
        }
        for row in 0..self.rows {
            let part = &self.inverse[row * self.rows..(row + 1) * self.rows];
            self.prices[row] = part.iter().zip(&self.basis).map(|(cell, &place)| cell * self.columns[place].cost).sum();
        }
        for row in 0..self.rows {
            let at = |column: usize| self.inverse[column * self.rows + row];
            self.taken[row] = (0..self.rows).map(|column| at(column) * self.supply[column]).sum();
        }
        Ok(true)
    }
}
