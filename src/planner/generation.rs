//! The covers known so far in one field: rows of the program that suggests prices, and what is remembered of them.

use std::collections::BTreeSet;

use super::covers::Covers;
use super::field::{Class, Field};
use super::master::{Master, Row};
use super::prices::{Cover, Prices};
use super::watch::{Stopped, Watch};

/// A price no larger than this leaves sums of them below overflow.
pub(super) const DEAREST: i64 = 1 << 45;
/// Covers remembered from field to field.
const MOST_REMEMBERED: usize = 3_000;
/// A row is contradicted when it costs less than its lot's value by this, in units of the program.
const SLACK: f64 = 1e-6;
/// Rows for each variable from which the program is cut down, and how far.
const MANY: usize = 3;
const FEW: usize = 1;

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
    /// Whether a row is in the program.
    active: Vec<bool>,
    covers: Vec<(usize, Cover)>,
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
        let mut this = Self {
            field,
            master,
            rows: Vec::new(),
            active: Vec::new(),
            covers: Vec::new(),
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
        this.suggested = Some(memory.prices_for(field));
        this.let_wait();
        this.suggested = None;
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

    /// Adds a cover as a row; false if it is known and in the program.
    pub fn add(&mut self, lot: usize, cover: Cover) -> bool {
        if self.known.contains(&(lot, cover.clone())) {
            let place = self.covers.iter().position(|(of, known)| *of == lot && *known == cover);
            return place.is_some_and(|place| !std::mem::replace(&mut self.active[place], true));
        }
        let field = self.field;
        let sum = |value: &dyn Fn(&Class) -> i64| -> i64 {
            cover.iter().map(|&(class, number)| number * value(&field.classes[class])).sum()
        };
        let missing = (field.charges[lot] - sum(&|class| class.rooms[lot])).max(0);
        let cost = sum(&|class| class.cost) + missing * field.leftover_of(lot).unwrap_or(0);
        let contested = |&&(class, _): &&(usize, i64)| field.classes[class].contested();
        self.rows.push(Row {
            lot,
            taken: cover.iter().filter(contested).map(|&(class, number)| (class, number as f64)).collect(),
            number: sum(&|_| 1) as f64,
            cost: cost as f64 * (1_i64 << field.bits) as f64 / self.unit,
        });
        self.active.push(true);
        self.known.insert((lot, cover.clone()));
        self.covers.push((lot, cover));
        true
    }

    /// What a row costs at the suggested prices.
    fn price(&self, row: &Row) -> f64 {
        let Some(prices) = &self.suggested else { return row.cost };
        let of_class = |&(class, number): &(usize, f64)| number * prices.classes[class] as f64;
        let extra: f64 = row.taken.iter().map(of_class).sum::<f64>() + row.number * prices.number as f64;
        row.cost + extra / self.unit
    }

    /// Takes the rows out of the program that are farthest from binding at the suggested prices, where there are
    /// many: they only slow it down.
    fn let_wait(&mut self) {
        let variables = self.field.classes.len() + self.field.lots.len() + 8;
        if self.active.iter().filter(|active| **active).count() <= MANY * variables {
            return;
        }
        let mut least = vec![f64::INFINITY; self.field.lots.len()];
        let prices: Vec<f64> = self.rows.iter().map(|row| self.price(row)).collect();
        for (row, &price) in self.rows.iter().zip(&prices) {
            least[row.lot] = least[row.lot].min(price);
        }
        let excess = |place: usize| prices[place] - least[self.rows[place].lot];
        let mut places: Vec<usize> = (0..self.rows.len()).filter(|&place| self.active[place]).collect();
        places.sort_by(|&a, &b| excess(a).total_cmp(&excess(b)));
        for &place in places.iter().skip(FEW * variables) {
            self.active[place] = false;
        }
    }

    /// Asks the program for prices until no known cover contradicts them; returns its value in whole 2^−bits, which
    /// no prices can pass by more than its rounding. `None` where the solver fails.
    pub fn suggest(&mut self, watch: &mut Watch<'_>) -> Result<Option<f64>, Stopped> {
        self.let_wait();
        loop {
            let active = self.rows.iter().zip(&self.active).filter(|(_, active)| **active);
            self.master.rows = active.map(|(row, _)| row.clone()).collect();
            watch.work(self.master.work())?;
            let Ok(suggestion) = self.master.suggest() else {
                return Ok(None);
            };
            let whole = |price: f64, kept: bool| {
                ((price * self.unit).round() as i64).clamp(if kept { -DEAREST } else { 0 }, DEAREST)
            };
            let classes = self.field.classes.iter().zip(&suggestion.prices);
            self.suggested = Some(Prices {
                classes: classes.map(|(class, &price)| whole(price, class.kept)).collect(),
                number: whole(suggestion.count_price, false),
            });
            let mut contradicted = false;
            for place in 0..self.rows.len() {
                let row = &self.rows[place];
                if !self.active[place] && self.price(row) < suggestion.values[row.lot] - SLACK {
                    self.active[place] = true;
                    contradicted = true;
                }
            }
            if !contradicted {
                return Ok(Some(suggestion.value * self.unit));
            }
        }
    }

    /// Prices halfway between the best and the program's: the program's jump about, and halfway the bound rises
    /// sooner.
    pub fn between(&self, best: &Prices) -> Prices {
        let Some(last) = &self.suggested else {
            return best.clone();
        };
        let mid = |a: i64, b: i64| a + (b - a) / 2;
        Prices {
            classes: last.classes.iter().zip(&best.classes).map(|(&a, &b)| mid(a, b)).collect(),
            number: mid(last.number, best.number),
        }
    }

    /// How much of each cover the relaxed choice of covers takes, as (lot, cover, share); nothing where the solver
    /// fails.
    pub fn shares(&mut self, watch: &mut Watch<'_>) -> Result<Vec<(usize, &Cover, f64)>, Stopped> {
        watch.work(self.master.work())?;
        let Ok(shares) = self.master.shares() else {
            return Ok(Vec::new());
        };
        let active = self.covers.iter().zip(&self.active).filter(|(_, active)| **active);
        Ok(active.zip(shares).map(|(((lot, cover), _), share)| (*lot, cover, share)).collect())
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
