//! The covers known so far in one field: rows of the program that suggests prices, and what is remembered of them.

use std::collections::BTreeSet;

use super::covers::Covers;
use super::field::{Class, Field};
use super::master::{Master, Row};
use super::prices::{Cover, Prices};
use super::simplex::{LARGEST, MOST_ROWS, Simplex};
use super::watch::{Stopped, Watch};

/// A price no larger than this leaves sums of them below overflow.
pub(super) const DEAREST: i64 = 1 << 45;
/// Covers remembered from field to field.
const MOST_REMEMBERED: usize = 3_000;
/// A program that takes longer isn't solved from scratch.
const MOST_WORK: usize = 5_000_000;
/// Only covers that cost no more above their lot's value than this, in units of the program, can have a share.
const TIGHT: f64 = 1e-6;

/// A cover of one lot as cylinders, so that it outlives the classes of one lift.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Column {
    /// The problem's index of the lot.
    lot: usize,
    /// Cylinders, ascending.
    cylinders: Vec<usize>,
}

/// What a search leaves for the next one: covers, and prices by cylinder.
#[derive(Debug, Default)]
pub(super) struct Memory {
    pool: BTreeSet<Column>,
    prices: Vec<i64>,
    number: i64,
    bits: u32,
    /// The table's memory.
    pub covers: Covers,
}

impl Memory {
    /// Prices by class from those remembered by cylinder: the mean of the members.
    pub fn prices_for(&self, field: &Field) -> Prices {
        let fit = |price: i64| {
            let (had, has) = (self.bits, field.bits);
            if had > has { price >> (had - has) } else { (price << (has - had)).min(DEAREST) }
        };
        let price = |class: &Class| {
            if !class.contested() {
                return 0;
            }
            let sum: i64 = class.members.iter().map(|&member| self.prices.get(member).copied().unwrap_or(0)).sum();
            fit(sum / class.count()).max(if class.kept { -DEAREST } else { 0 })
        };
        Prices {
            classes: field.classes.iter().map(price).collect(),
            number: if field.at_most.is_some() { fit(self.number) } else { 0 },
        }
    }

    /// Remembers prices by cylinder.
    pub fn remember(&mut self, field: &Field, prices: &Prices) {
        self.prices.resize(field.cylinders, 0);
        for (class, &price) in field.classes.iter().zip(&prices.classes) {
            for &member in &class.members {
                self.prices[member] = price;
            }
        }
        self.number = prices.number;
        self.bits = field.bits;
    }
}

/// The covers of a field, and the program made of them.
pub(super) struct Generation<'f> {
    field: &'f Field,
    /// The program, without its rows.
    master: Master,
    rows: Vec<Row>,
    /// The program kept solved; `None` where it is too large for that.
    simplex: Option<Simplex>,
    covers: Vec<(usize, Cover)>,
    /// What each cover costs without prices.
    costs: Vec<i64>,
    known: BTreeSet<(usize, Cover)>,
    /// Whole 2^−bits of cost in one unit of the program.
    pub unit: f64,
    /// The program's last suggestion, in whole prices.
    pub suggested: Option<Prices>,
}

impl<'f> Generation<'f> {
    /// Starts with the covers remembered that are still covers.
    pub fn new(field: &'f Field, memory: &Memory) -> Self {
        let scale = (1_i64 << field.bits) as f64;
        let largest = field.classes.iter().map(|class| class.cost).max().unwrap_or(1).max(1) as f64;
        let dearest = match field.leftover {
            // A cylinder never saves more than its room.
            Some(each) => each as f64 * field.classes.iter().flat_map(|c| &c.rooms).max().copied().unwrap_or(1) as f64,
            None => largest * 4.0 * (field.cylinders as f64 + 1.0),
        };
        let unit = if field.leftover.is_some() { dearest } else { largest } * scale;
        let supply = |class: &Class| class.contested().then_some((class.count() as f64, class.kept));
        let master = Master {
            lots: field.lots.len(),
            supply: field.classes.iter().map(supply).collect(),
            at_most: field.at_most.map(|most| most as f64),
            dearest: (dearest * scale / unit).min(DEAREST as f64 / unit),
            rows: Vec::new(),
        };
        let rows = master.lots + master.supply.iter().flatten().count();
        let small = rows <= MOST_ROWS && rows * master.lots * field.cylinders <= LARGEST;
        let mut this = Self {
            field,
            simplex: small.then(|| Simplex::new(&master)),
            master,
            rows: Vec::new(),
            covers: Vec::new(),
            costs: Vec::new(),
            known: BTreeSet::new(),
            unit,
            suggested: None,
        };
        let of = field.class_of();
        for column in &memory.pool {
            if let Some(lot) = field.lots.iter().position(|&lot| lot == column.lot) {
                this.recall(lot, column, &of);
            }
        }
        this
    }

    /// Takes up a remembered cover if it still is one at this lift.
    fn recall(&mut self, lot: usize, column: &Column, of: &[Option<usize>]) {
        let room = |class: &usize| self.field.classes[*class].rooms[lot];
        let mut classes: Vec<usize> = column.cylinders.iter().filter_map(|&cylinder| of[cylinder]).collect();
        classes.retain(|class| room(class) > 0);
        if classes.iter().map(room).sum::<i64>() < self.field.charges[lot] && self.field.leftover.is_none() {
            return;
        }
        classes.sort_unstable();
        let mut cover: Cover = Vec::new();
        for class in classes {
            match cover.last_mut() {
                Some((last, number)) if *last == class => *number += 1,
                _ => cover.push((class, 1)),
            }
        }
        self.add(lot, cover);
    }

    /// Adds a cover as a row; false if it is known.
    pub fn add(&mut self, lot: usize, cover: Cover) -> bool {
        let new = (lot, cover);
        if self.known.contains(&new) {
            return false;
        }
        let cover = &new.1;
        let field = self.field;
        let sum = |value: &dyn Fn(&Class) -> i64| -> i64 {
            cover.iter().map(|&(class, number)| number * value(&field.classes[class])).sum()
        };
        let missing = (field.charges[lot] - sum(&|class| class.rooms[lot])).max(0);
        let cost = sum(&|class| class.cost) + missing * field.leftover_of(lot).unwrap_or(0);
        let contested = |&&(class, _): &&(usize, i64)| field.classes[class].contested();
        let row = Row {
            lot,
            taken: cover.iter().filter(contested).map(|&(class, number)| (class, number as f64)).collect(),
            number: sum(&|_| 1) as f64,
            cost: cost as f64 * (1_i64 << field.bits) as f64 / self.unit,
        };
        if let Some(simplex) = &mut self.simplex {
            simplex.add(&row);
        }
        self.rows.push(row);
        self.costs.push(cost);
        self.known.insert(new.clone());
        self.covers.push(new);
        true
    }

    /// For each lot the cheapest cover known at prices, with its price.
    pub fn cheapest_known(&self, prices: &Prices) -> Vec<Option<(i64, &Cover)>> {
        let mut best: Vec<Option<(i64, &Cover)>> = vec![None; self.field.lots.len()];
        for ((lot, cover), cost) in self.covers.iter().zip(&self.costs) {
            let extra = |&(class, number): &(usize, i64)| number * (prices.classes[class] + prices.number);
            let price = (cost << self.field.bits) + cover.iter().map(extra).sum::<i64>();
            if best[*lot].is_none_or(|(least, _)| price < least) {
                best[*lot] = Some((price, cover));
            }
        }
        best
    }

    /// Asks the program for prices that no known cover contradicts; returns its value in whole 2^−bits, which no prices
    /// can pass by more than its rounding. `None` where it is too large or the solver fails.
    pub fn suggest(&mut self, watch: &mut Watch<'_>) -> Result<Option<f64>, Stopped> {
        let Some(simplex) = &mut self.simplex else { return Ok(None) };
        let found = if simplex.solve(watch)? {
            simplex.suggestion()
        } else {
            self.master.rows.clone_from(&self.rows);
            if self.master.work() > MOST_WORK {
                return Ok(None);
            }
            watch.work(self.master.work())?;
            let Ok(found) = self.master.suggest() else { return Ok(None) };
            found
        };
        let whole = |price: f64, kept: bool| {
            ((price * self.unit).round() as i64).clamp(if kept { -DEAREST } else { 0 }, DEAREST)
        };
        let classes = self.field.classes.iter().zip(&found.prices);
        self.suggested = Some(Prices {
            classes: classes.map(|(class, &price)| whole(price, class.kept)).collect(),
            number: whole(found.count_price, false),
        });
        Ok(Some(found.value * self.unit))
    }

    /// Prices a quarter of the way from the best to the program's: the program's jump about, and near the best the
    /// bound rises sooner.
    pub fn between(&self, best: &Prices) -> Prices {
        let Some(last) = &self.suggested else {
            return best.clone();
        };
        let near = |a: i64, b: i64| b + (a - b) / 4;
        Prices {
            classes: last.classes.iter().zip(&best.classes).map(|(&a, &b)| near(a, b)).collect(),
            number: near(last.number, best.number),
        }
    }

    /// How much of each cover the relaxed choice of covers takes, as (lot, cover, share); nothing where the solver
    /// fails.
    pub fn shares(&mut self, watch: &mut Watch<'_>) -> Result<Vec<(usize, &Cover, f64)>, Stopped> {
        let Some(simplex) = &self.simplex else { return Ok(Vec::new()) };
        let tight: Vec<usize> = (0..self.rows.len()).filter(|&at| simplex.excess(&self.rows[at]) < TIGHT).collect();
        self.master.rows = tight.iter().map(|&at| self.rows[at].clone()).collect();
        watch.work(self.master.work())?;
        let Ok(shares) = self.master.shares() else {
            return Ok(Vec::new());
        };
        let share = |(at, share): (usize, f64)| (self.covers[at].0, &self.covers[at].1, share);
        Ok(tight.into_iter().zip(shares).map(share).collect())
    }

    /// Remembers the covers as cylinders.
    pub fn keep(&self, memory: &mut Memory) {
        if memory.pool.len() > MOST_REMEMBERED {
            memory.pool.clear();
        }
        for (lot, cover) in &self.covers {
            let members = |&(class, number): &(usize, i64)| self.field.classes[class].members[..number as usize].iter();
            let mut cylinders: Vec<usize> = cover.iter().flat_map(members).copied().collect();
            cylinders.sort_unstable();
            memory.pool.insert(Column { lot: self.field.lots[*lot], cylinders });
        }
    }
}
