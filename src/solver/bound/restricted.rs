//! The restricted master problem of one field: the columns known so far, and what is remembered of them.

use std::collections::BTreeSet;

use super::multipliers::{Cover, DEAREST, Multipliers};
use super::program::{Column, Program};
use super::simplex::{LARGEST, MOST_ROWS, Simplex};
use crate::solver::cover::knapsack::States;
use crate::solver::field::{Class, Field};
use crate::solver::problem::watch::{Stopped, Watch};

/// Columns remembered from field to field.
const MOST_REMEMBERED: usize = 3_000;
/// Steps in vain after which the next isn't shorter any more.
const MOST_IN_VAIN: u32 = 4;
/// Columns taken up again, for each row of the program.
const MOST_RECALLED: usize = 5;

/// A column as cylinders, so that it outlives the classes of one lift.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Pooled {
    /// The problem's index of the lot.
    lot: usize,
    /// Cylinders, ascending.
    cylinders: Vec<usize>,
}

/// Multipliers by cylinder, so that they outlive the classes of one lift.
#[derive(Debug, Clone, Default)]
pub struct Remembered {
    classes: Vec<i64>,
    number: i64,
    quotas: Vec<i64>,
    bits: u32,
}

/// What a search leaves for the next one: a pool of columns, and multipliers to begin with.
#[derive(Debug, Default)]
pub struct Memory {
    pool: BTreeSet<Pooled>,
    /// The best multipliers of the last field.
    pub last: Remembered,
    /// The knapsack's memory.
    pub states: States,
}

impl Memory {
    /// Multipliers by class from those remembered by cylinder: the mean of the members.
    pub fn multipliers_for(&self, field: &Field) -> Multipliers {
        let last = &self.last;
        let fit = |price: i64| {
            let (had, has) = (last.bits, field.bits);
            if had > has { price >> (had - has) } else { (price << (has - had)).min(DEAREST) }
        };
        let price = |class: &Class| {
            if !class.contested() {
                return 0;
            }
            let sum: i64 = class.members.iter().map(|&member| last.classes.get(member).copied().unwrap_or(0)).sum();
            fit(sum / class.count()).max(if class.kept { -DEAREST } else { 0 })
        };
        let quota = |at: usize| last.quotas.get(at).map_or(0, |&price| fit(price));
        Multipliers {
            classes: field.classes.iter().map(price).collect(),
            number: if field.at_most.is_some() { fit(last.number) } else { 0 },
            quotas: (0..field.quotas.len()).map(quota).collect(),
        }
    }

    /// Remembers multipliers by cylinder.
    pub fn remember(&mut self, field: &Field, multipliers: &Multipliers) {
        let last = &mut self.last;
        last.classes.resize(field.cylinders, 0);
        for (class, &price) in field.classes.iter().zip(&multipliers.classes) {
            for &member in &class.members {
                last.classes[member] = price;
            }
        }
        last.number = multipliers.number;
        last.quotas.clone_from(&multipliers.quotas);
        last.bits = field.bits;
    }
}

/// The columns of a field, and the program made of them.
pub struct RestrictedMaster<'f> {
    field: &'f Field,
    /// The program kept solved; `None` where it is too large for that, or where that failed.
    simplex: Option<Simplex>,
    covers: Vec<(usize, Cover)>,
    /// What each column costs without multipliers.
    costs: Vec<i64>,
    known: BTreeSet<(usize, Cover)>,
    /// Whole 2^−bits of cost in one unit of the program.
    pub unit: f64,
    /// The program's last suggestion, in whole multipliers.
    pub suggested: Option<Multipliers>,
}

impl<'f> RestrictedMaster<'f> {
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
        let quotas = field.quotas.iter().map(|quota| Some((quota.supply() as f64, false)));
        let program = Program {
            lots: field.lots.len(),
            supply: field.classes.iter().map(supply).chain(quotas).collect(),
            at_most: field.at_most.map(|most| most as f64),
            dearest: (dearest * scale / unit).min(DEAREST as f64 / unit),
        };
        let rows = program.lots + program.supply.iter().flatten().count();
        let small = rows <= MOST_ROWS && rows * program.lots * field.cylinders <= LARGEST;
        let mut this = Self {
            field,
            simplex: small.then(|| Simplex::new(&program)),
            covers: Vec::new(),
            costs: Vec::new(),
            known: BTreeSet::new(),
            unit,
            suggested: None,
        };
        for (lot, cover) in this.recalled(memory, MOST_RECALLED * rows) {
            this.add(lot, cover);
        }
        this
    }

    /// The remembered covers that still are covers in this field: those cheapest at the remembered multipliers.
    fn recalled(&self, memory: &Memory, most: usize) -> Vec<(usize, Cover)> {
        let field = self.field;
        let of = field.class_of();
        let multipliers = memory.multipliers_for(field);
        let mut covers: Vec<(i64, usize, Cover)> = Vec::new();
        let mut least = vec![i64::MAX; field.lots.len()];
        for column in &memory.pool {
            let Some(lot) = field.lots.iter().position(|&lot| lot == column.lot) else { continue };
            let Some(cover) = self.recall(lot, column, &of) else { continue };
            let price = self.price(lot, &cover, self.cost(lot, &cover), &multipliers);
            least[lot] = least[lot].min(price);
            covers.push((price, lot, cover));
        }
        if covers.len() > most {
            covers.sort_by_key(|(price, lot, _)| (price - least[*lot], *lot));
            covers.truncate(most);
        }
        covers.into_iter().map(|(_, lot, cover)| (lot, cover)).collect()
    }

    /// A remembered cover in the classes of this field, if it still is one at this lift.
    fn recall(&self, lot: usize, column: &Pooled, of: &[Option<usize>]) -> Option<Cover> {
        let room = |class: &usize| self.field.classes[*class].rooms[lot];
        let mut classes: Vec<usize> = column.cylinders.iter().filter_map(|&cylinder| of[cylinder]).collect();
        classes.retain(|class| room(class) > 0);
        if classes.iter().map(room).sum::<i64>() < self.field.charges[lot] && self.field.leftover.is_none() {
            return None;
        }
        classes.sort_unstable();
        let mut cover: Cover = Vec::new();
        for class in classes {
            match cover.last_mut() {
                Some((last, number)) if *last == class => *number += 1,
                _ => cover.push((class, 1)),
            }
        }
        Some(cover)
    }

    /// What a cover costs without multipliers, with what it leaves over.
    fn cost(&self, lot: usize, cover: &Cover) -> i64 {
        let field = self.field;
        let sum = |value: &dyn Fn(&Class) -> i64| -> i64 {
            cover.iter().map(|&(class, number)| number * value(&field.classes[class])).sum()
        };
        let missing = (field.charges[lot] - sum(&|class| class.rooms[lot])).max(0);
        sum(&|class| class.cost) + missing * field.leftover_of(lot).unwrap_or(0)
    }

    /// What a cover of a cost comes to at multipliers.
    fn price(&self, lot: usize, cover: &Cover, cost: i64, multipliers: &Multipliers) -> i64 {
        let extra = |&(class, number): &(usize, i64)| number * multipliers.of(self.field, lot, class);
        (cost << self.field.bits) + cover.iter().map(extra).sum::<i64>()
    }

    /// Adds a cover as a row; false if it is known.
    pub fn add(&mut self, lot: usize, cover: Cover) -> bool {
        let new = (lot, cover);
        if self.known.contains(&new) {
            return false;
        }
        let cover = &new.1;
        let field = self.field;
        let cost = self.cost(lot, cover);
        let contested = |&&(class, _): &&(usize, i64)| field.classes[class].contested();
        let quotas = field.quotas.iter().enumerate().map(|(index, quota)| (index, quota.taken(lot, cover)));
        let quotas = quotas.filter(|(_, taken)| *taken != 0);
        let column = Column {
            lot,
            taken: cover
                .iter()
                .filter(contested)
                .map(|&(class, number)| (class, number as f64))
                .chain(quotas.map(|(index, taken)| (field.classes.len() + index, taken as f64)))
                .collect(),
            number: cover.iter().map(|(_, number)| number).sum::<i64>() as f64,
            cost: cost as f64 * (1_i64 << field.bits) as f64 / self.unit,
        };
        if let Some(simplex) = &mut self.simplex {
            simplex.add(&column);
        }
        self.costs.push(cost);
        self.known.insert(new.clone());
        self.covers.push(new);
        true
    }

    /// For each lot the cheapest cover known at multipliers, with its price.
    pub fn cheapest_known(&self, multipliers: &Multipliers) -> Vec<Option<(i64, &Cover)>> {
        let mut best: Vec<Option<(i64, &Cover)>> = vec![None; self.field.lots.len()];
        for ((lot, cover), cost) in self.covers.iter().zip(&self.costs) {
            let price = self.price(*lot, cover, *cost, multipliers);
            if best[*lot].is_none_or(|(least, _)| price < least) {
                best[*lot] = Some((price, cover));
            }
        }
        best
    }

    /// Asks the program for multipliers that no known column contradicts; returns its value in whole 2^−bits, which no
    /// multipliers can pass by more than its rounding. `None` where the program is too large or the simplex fails: the
    /// bound then stays where it is.
    pub fn suggest(&mut self, watch: &mut Watch<'_>) -> Result<Option<f64>, Stopped> {
        let Some(simplex) = &mut self.simplex else { return Ok(None) };
        if !simplex.solve(watch)? {
            self.simplex = None;
            return Ok(None);
        }
        let found = simplex.suggestion();
        let whole = |price: f64, kept: bool| {
            ((price * self.unit).round() as i64).clamp(if kept { -DEAREST } else { 0 }, DEAREST)
        };
        let (classes, quotas) = found.multipliers.split_at(self.field.classes.len());
        let classes = self.field.classes.iter().zip(classes);
        self.suggested = Some(Multipliers {
            classes: classes.map(|(class, &price)| whole(price, class.kept)).collect(),
            number: whole(found.count_multiplier, false),
            quotas: quotas.iter().map(|&price| whole(price, false)).collect(),
        });
        Ok(Some(found.value * self.unit))
    }

    /// Multipliers a part of the way from the best to the program's, a quarter and after each step in vain half of that:
    /// the program's jump about, and near the best the bound rises sooner (the literature's stabilisation by smoothing).
    pub fn between(&self, best: &Multipliers, in_vain: u32) -> Multipliers {
        let Some(last) = &self.suggested else {
            return best.clone();
        };
        let near = |a: i64, b: i64| b + (a - b) / (4 << in_vain.min(MOST_IN_VAIN));
        Multipliers {
            classes: last.classes.iter().zip(&best.classes).map(|(&a, &b)| near(a, b)).collect(),
            number: near(last.number, best.number),
            quotas: last.quotas.iter().zip(&best.quotas).map(|(&a, &b)| near(a, b)).collect(),
        }
    }

    /// How much of each cover the relaxed choice of covers takes, as (lot, cover, share); nothing where there is no
    /// program.
    pub fn shares(&self) -> Vec<(usize, &Cover, f64)> {
        let share = |(at, share): (usize, f64)| (self.covers[at].0, &self.covers[at].1, share);
        self.simplex.iter().flat_map(Simplex::shares).map(share).collect()
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
            memory.pool.insert(Pooled { lot: self.field.lots[*lot], cylinders });
        }
    }
}
