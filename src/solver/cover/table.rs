//! The cheapest cover of one lot at given prices: a bounded knapsack over divisions.
//!
//! In words: take so many of each class, never more than there are, that their rooms together reach the charge, at
//! the lowest sum of prices. As a recursion over classes k and what is still uncovered r:
//!
//!   T\[k\]\[r\] = min over 0 ≤ a ≤ N_k of a · price_k + T\[k+1\]\[max(0, r − a · room_k)\],  T\[n\]\[0\] = 0,
//!   T\[n\]\[r\] = leftover · r where a charge may be left over, else ∞.
//!
//! Only the classes that are not decided beforehand (`reduction`) have rows. The whole table is kept, because the search reads from it what a started cover will cost at least. Where it would
//! pass [`CELLS`], rooms and charge are counted in coarser units. Rounded outward (both up) every true cover is still
//! a cover, so the cheapest is a true lower bound, only weaker; rounded inward (rooms down) what comes out is a true
//! cover, only not the cheapest.

use super::cheapest::{Cheapest, States};
use super::reduction::Core;
use super::task::{Item, NONE, Rounding, Task, div_up};
use crate::solver::problem::watch::{Stopped, Watch};

/// A table in coarse units is so much smaller than the largest: finer is slower and only a little sharper.
const COARSER: usize = 8;

/// The table for one lot; its memory is used again for the next.
#[derive(Debug, Default)]
pub struct Covers {
    cells: Vec<i64>,
    width: usize,
    unit: i64,
    /// What is decided before the table: the classes certainly in, and a cover found by greed.
    pub core: Core,
    /// The items, in the order of the table's rows.
    pub items: Vec<Item>,
    rooms: Vec<usize>,
    states: States,
}

impl Covers {
    /// The cheapest cover below a price, to the task's tolerance.
    pub fn cheapest_below(
        &mut self,
        items: Vec<Item>,
        task: Task,
        below: i64,
        watch: &mut Watch<'_>,
    ) -> Result<Cheapest, Stopped> {
        if let Some(found) = self.states.cheapest(&items, task, below, watch)? {
            return Ok(found);
        }
        self.fill(items, task, watch)?;
        Ok(Cheapest {
            least: self.cheapest().unwrap_or(NONE).min(below),
            cover: self.cheapest().map(|price| (price, self.trace())),
        })
    }

    /// Fills the table for the covers that the task asks for.
    pub fn fill(&mut self, items: Vec<Item>, task: Task, watch: &mut Watch<'_>) -> Result<(), Stopped> {
        let core = Core::of(items, task, &mut self.items);
        let rows = self.items.len() + 1;
        let exact = (core.rest as usize).saturating_mul(rows) <= task.cells;
        self.unit = if exact { 1 } else { core.rest / (task.cells / COARSER / rows).max(64) as i64 + 1 };
        self.width = div_up(core.rest, self.unit) as usize + 1;
        self.core = core;
        self.rooms.clear();
        self.rooms.extend(self.items.iter().map(|item| match task.rounding {
            Rounding::Outward => div_up(item.room, self.unit) as usize,
            Rounding::Inward => (item.room / self.unit) as usize,
        }));
        let cells = self.width * rows;
        if self.cells.len() < cells {
            self.cells.resize(cells, 0);
        }
        let last = self.items.len() * self.width;
        for (rest, cell) in self.cells[last..last + self.width].iter_mut().enumerate() {
            // The fewest divisions that so many units can stand for.
            let least = if rest == 0 { 0 } else { (rest as i64 - 1) * self.unit + 1 };
            *cell = task.leftover.map_or(if rest == 0 { 0 } else { NONE }, |each| each * least);
        }
        for row in (0..self.items.len()).rev() {
            self.fill_row(row);
            watch.work(self.width)?;
        }
        Ok(())
    }

    /// Fills one row from the one after it.
    fn fill_row(&mut self, row: usize) {
        let (item, room) = (self.items[row], self.rooms[row]);
        let (head, tail) = self.cells.split_at_mut((row + 1) * self.width);
        let (this, next) = (&mut head[row * self.width..], &tail[..self.width]);
        if item.most == 1 {
            let near = room.min(self.width - 1);
            let done = next[0] + item.price;
            for (cell, &without) in this[..=near].iter_mut().zip(&next[..=near]) {
                *cell = without.min(done);
            }
            // With nothing left to cover, only a price below 0 is worth paying.
            for ((cell, &without), &rest) in this[near + 1..].iter_mut().zip(&next[near + 1..]).zip(&next[1..]) {
                *cell = without.min(rest + item.price);
            }
            return;
        }
        this.copy_from_slice(next);
        let mut left = item.most;
        let mut batch = 1;
        while left > 0 {
            let taken = batch.min(left);
            let (step, price) = (room.saturating_mul(taken as usize), item.price * taken);
            for rest in (0..self.width).rev() {
                this[rest] = this[rest].min(this[rest.saturating_sub(step)] + price);
            }
            left -= taken;
            batch *= 2;
        }
    }

    /// The lowest price of covering `rest` divisions with the items from `row` on: a lower bound where units are
    /// coarse, [`NONE`] or more where there is no cover.
    pub fn at(&self, row: usize, rest: i64) -> i64 {
        self.cells[row * self.width + div_up(rest.max(0), self.unit) as usize]
    }

    /// A price that no cover undercuts; nearly always that of the cheapest. `None` where there is no cover.
    pub fn cheapest(&self) -> Option<i64> {
        let greedy = self.core.greedy.as_ref().map_or(NONE, |(price, _)| *price);
        let price = self.table_price().min(greedy).min(self.core.beyond);
        (price < NONE / 2).then_some(price)
    }

    /// The price of the cheapest cover that the table knows.
    pub fn table_price(&self) -> i64 {
        self.core.price.saturating_add(self.at(0, self.core.rest))
    }

    /// The cheapest cover known: (class, how many), by class. Of equal ones that of the table, and of those the one
    /// that takes least of the first classes.
    pub fn trace(&self) -> Vec<(usize, i64)> {
        if let Some((price, cover)) = &self.core.greedy
            && *price < self.table_price()
        {
            return cover.clone();
        }
        let mut cover = self.core.taken.clone();
        let mut rest = self.width - 1;
        for (row, item) in self.items.iter().enumerate() {
            let want = self.cells[row * self.width + rest];
            let after = |taken: i64| rest.saturating_sub(self.rooms[row].saturating_mul(taken as usize));
            let cost = |taken: i64| taken * item.price + self.cells[(row + 1) * self.width + after(taken)];
            if let Some(taken) = (0..=item.most).find(|&taken| cost(taken) == want) {
                if taken > 0 {
                    cover.push((item.class, taken));
                }
                rest = after(taken);
            }
        }
        cover.sort_unstable();
        cover
    }
}
