//! A walk through the sets that cost no more than so much: which of each class, one class after another.
//!
//! A way is left where what a cut allows is used up: each cylinder taken against it, or left against it, uses some.
//! Those that use most are decided first, so that next to nothing of them is tried.

use super::cut::Cut;
use super::rows::SetRow;
use crate::solver::field::{Class, Field};

/// The fewest and most cylinders of a size.
pub type Numbers = (i64, i64);

/// What sets are to keep to.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    pub field: &'a Field,
    pub rows: &'a [SetRow],
    /// Numbers of each class that no plan is within.
    pub refuted: &'a [Vec<i64>],
    /// Which size each class is of ...
    pub size_of: &'a [usize],
    /// ... and the fewest and most cylinders of each.
    pub sizes: &'a [Numbers],
    /// The most that a set may cost.
    pub at_most: i64,
}

/// What a walk came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SetFound {
    /// There is no such set.
    None,
    /// Numbers of each class.
    Set(Vec<i64>),
    /// There are too many ways.
    TooMany,
}

/// The way so far.
pub struct Walk<'a> {
    wanted: Wanted<'a>,
    cuts: &'a [&'a Cut],
    /// The classes in the order in which they are decided.
    order: Vec<usize>,
    numbers: Vec<i64>,
    /// What each cut still allows, class after class.
    slack: Vec<i64>,
    /// Of each size those taken, and those not decided.
    taken: Vec<i64>,
    left: Vec<i64>,
    /// Steps of work so far, and the most.
    pub steps: u64,
    most_steps: u64,
}

impl<'a> Walk<'a> {
    /// A walk that the first cut leads.
    pub fn new(wanted: Wanted<'a>, cuts: &'a [&'a Cut], most_steps: u64) -> Self {
        let field = wanted.field;
        let mut order: Vec<usize> = (0..field.classes.len()).collect();
        order.sort_by_key(|&class| std::cmp::Reverse(cuts.first().map_or(0, |cut| cut.each[class].abs())));
        let mut left = vec![0; wanted.sizes.len()];
        for (class, &size) in field.classes.iter().zip(wanted.size_of) {
            left[size] += class.count();
        }
        Self {
            cuts,
            order,
            numbers: vec![0; field.classes.len()],
            slack: cuts.iter().map(|cut| cut.slack(field, wanted.at_most)).collect(),
            taken: vec![0; left.len()],
            left,
            steps: 0,
            most_steps,
            wanted,
        }
    }

    /// The first set on the way.
    pub fn go(mut self) -> (SetFound, u64) {
        (self.from(0), self.steps)
    }

    /// The first set with what is decided before.
    fn from(&mut self, at: usize) -> SetFound {
        let Some(&class) = self.order.get(at) else {
            return if self.is_set() { SetFound::Set(self.numbers.clone()) } else { SetFound::None };
        };
        self.steps += 4 * self.cuts.len() as u64;
        if self.steps > self.most_steps {
            return SetFound::TooMany;
        }
        let Class { kept, .. } = self.wanted.field.classes[class];
        let count = self.wanted.field.classes[class].count();
        let wants = kept || self.cuts.first().is_some_and(|cut| cut.each[class] > 0);
        let size = self.wanted.size_of[class];
        self.left[size] -= count;
        for against in 0..=if kept { 0 } else { count } {
            let number = if wants { count - against } else { against };
            match self.take(class, number) {
                Some(true) => {
                    self.numbers[class] = number;
                    self.taken[size] += number;
                    let found = self.from(at + 1);
                    self.taken[size] -= number;
                    self.slack.truncate(self.slack.len() - self.cuts.len());
                    if found != SetFound::None {
                        return found;
                    }
                }
                Some(false) => {}
                None => break,
            }
        }
        self.left[size] += count;
        SetFound::None
    }

    /// Notes what so many of a class leave of each cut. False where that is too little of one, or the numbers of its size
    /// can't come out; `None` where more of them against the first cut would be too much as well.
    fn take(&mut self, class: usize, number: i64) -> Option<bool> {
        let of = &self.wanted.field.classes[class];
        let size = self.wanted.size_of[class];
        let (fewest, most) = self.wanted.sizes[size];
        let taken = self.taken[size] + number;
        let mut allowed = taken <= most && taken + self.left[size] >= fewest;
        let first = self.slack.len() - self.cuts.len();
        for (place, cut) in self.cuts.iter().enumerate() {
            let each = cut.each[class];
            let against = if each > 0 || of.kept { of.count() - number } else { number };
            let left = self.slack[first + place] - against * each.abs();
            if place == 0 && left < 0 {
                return None;
            }
            allowed &= left >= 0;
            self.slack.push(left);
        }
        if !allowed {
            self.slack.truncate(first + self.cuts.len());
        }
        Some(allowed)
    }

    /// The numbers keep everything that is known of a plan's.
    fn is_set(&self) -> bool {
        let Wanted { field, rows, refuted, sizes, at_most, .. } = self.wanted;
        let cost: i64 = field.classes.iter().zip(&self.numbers).map(|(class, number)| class.cost * number).sum();
        let within = |set: &Vec<i64>| self.numbers.iter().zip(set).all(|(number, of)| number <= of);
        cost <= at_most
            && field.at_most.is_none_or(|most| self.numbers.iter().sum::<i64>() <= most)
            && self.taken.iter().zip(sizes).all(|(taken, (fewest, most))| fewest <= taken && taken <= most)
            && rows.iter().all(|row| row.holds(&self.numbers))
            && !refuted.iter().any(within)
    }
}
