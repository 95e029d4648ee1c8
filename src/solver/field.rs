//! The problem at one heaviest lift, in classes of cylinders that are alike in every room.
//!
//! A lift Z belongs in the room, not in a row of the model: room = max(0, min(top, Z) − base). What is left is a
//! covering problem: for each lot take so many of each class that their rooms cover the charge. Members of a class
//! are interchangeable in it, so only the count of a class is chosen; a plan is turned back into cylinders at the end.

use std::collections::BTreeMap;

use crate::solver::problem::{LARGEST_MARK, Problem};

/// What a plan is to cost, in whole units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Goal {
    /// One for each cylinder.
    Count,
    /// The gross weight now of each cylinder (the charge is carried anyhow).
    Gross,
    /// One for each cylinder and so much for each division left over.
    Leftover(i64),
    /// The same with so much less for each place that the lot stands later.
    Waiting(i64, i64),
}

/// Cylinders alike in the room for every lot, in cost, and in whether they must be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Class {
    /// Cylinders by index, in yard order.
    pub members: Vec<usize>,
    /// Room for each lot of the field, at most that lot's charge; 0 where it may not go.
    pub rooms: Vec<i64>,
    /// Cost of using one.
    pub cost: i64,
    /// All of them must be used.
    pub kept: bool,
}

impl Class {
    /// How many there are.
    pub fn count(&self) -> i64 {
        self.members.len() as i64
    }

    /// Several lots could use it, or it must be used: only then does its supply need a price.
    pub fn contested(&self) -> bool {
        self.kept || self.rooms.iter().filter(|room| **room > 0).count() > 1
    }
}

/// The covering problem at one lift.
#[derive(Debug, Clone)]
pub struct Field {
    /// The problem's index of each lot here.
    pub lots: Vec<usize>,
    /// Charge of each lot here.
    pub charges: Vec<i64>,
    /// The classes, in the yard order of their first members.
    pub classes: Vec<Class>,
    /// At most so many cylinders in all.
    pub at_most: Option<i64>,
    /// Cost of a division left over; `None` where every charge must be covered.
    pub leftover: Option<i64>,
    /// So much less for each place that the lot stands later in the problem.
    pub patience: i64,
    /// Prices are whole multiples of 2^−bits.
    pub bits: u32,
    /// Cylinders in the whole problem.
    pub cylinders: usize,
    /// A cylinder that must be used has no room for any lot: there is no plan.
    pub kept_without_room: bool,
    /// What branching asks of the plans, besides.
    pub quotas: Vec<Quota>,
}

/// A lot, or all of them, take at most, or at least, so many cylinders of some classes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quota {
    /// Which lot of the field; `None`: all together.
    pub lot: Option<usize>,
    /// Whether it counts, for each class.
    pub counts: Vec<bool>,
    /// 1: at most so many; −1: at least.
    pub sign: i64,
    /// So many.
    pub number: i64,
}

impl Quota {
    /// What one cylinder of a class takes of the quota, for a lot: `sign` or nothing.
    pub fn takes(&self, lot: usize, class: usize) -> i64 {
        if self.lot.is_none_or(|of| of == lot) && self.counts[class] { self.sign } else { 0 }
    }

    /// What a cover (class, how many) of a lot takes.
    pub fn taken(&self, lot: usize, cover: &[(usize, i64)]) -> i64 {
        cover.iter().map(|&(class, number)| number * self.takes(lot, class)).sum()
    }

    /// What there is to take.
    pub fn supply(&self) -> i64 {
        self.sign * self.number
    }
}

/// Cylinders by (rooms, cost, kept).
type Groups = BTreeMap<(Vec<i64>, i64, bool), Vec<usize>>;

/// Classes from groups of cylinders, in the yard order of their first members.
fn classes(groups: Groups) -> Vec<Class> {
    let class = |((rooms, cost, kept), mut members): ((Vec<i64>, i64, bool), Vec<usize>)| {
        members.sort_unstable();
        Class { members, rooms, cost, kept }
    };
    let mut classes: Vec<Class> = groups.into_iter().map(class).collect();
    classes.sort_by_key(|class| class.members.first().copied());
    classes
}

/// Cylinders for each lot of a field, in yard order.
pub type Sets = Vec<Vec<usize>>;

/// Prices have at most this many binary places ...
const PRICE_BITS: u32 = 20;
/// ... and fewer where costs are so large that a single price would pass 2^44.
const COST_BITS: u32 = 44;

impl Field {
    /// The field of these lots and cylinders at a lift.
    pub fn new(problem: &Problem, kept: &[bool], part: &Part, lift: i64, goal: Goal, at_most: Option<usize>) -> Self {
        let lots = part.lots.clone();
        let charges: Vec<i64> = lots.iter().map(|&lot| charge(problem, lot)).collect();
        let mut groups = Groups::new();
        let mut kept_without_room = false;
        for &cylinder in &part.cylinders {
            let slot = &problem.cylinders[cylinder];
            let rooms: Vec<i64> =
                lots.iter().zip(&charges).map(|(&lot, &charge)| slot.room(lot, lift).min(charge)).collect();
            let cost = match goal {
                Goal::Count | Goal::Leftover(_) | Goal::Waiting(..) => 1,
                Goal::Gross => slot.now(),
            };
            if rooms.iter().any(|&room| room > 0) {
                groups.entry((rooms, cost, kept[cylinder])).or_default().push(cylinder);
            } else {
                kept_without_room |= kept[cylinder];
            }
        }
        let classes = classes(groups);
        // Each cylinder gets at least a division. Only those that must be used could ask for more than there are.
        let must = classes.iter().any(|class| class.kept);
        let fit = |lot: usize| classes.iter().filter(|class| class.rooms[lot] > 0).map(Class::count).sum::<i64>();
        let counts = vec![true; classes.len()];
        let quota = |lot: usize| Quota { lot: Some(lot), counts: counts.clone(), sign: 1, number: charges[lot] };
        let quotas = (0..lots.len()).filter(|&lot| must && fit(lot) > charges[lot]).map(quota).collect();
        let (leftover, patience) = match goal {
            Goal::Leftover(cost) => (Some(cost), 0),
            Goal::Waiting(cost, patience) => (Some(cost), patience),
            Goal::Count | Goal::Gross => (None, 0),
        };
        let dearest = classes.iter().map(|class| class.cost).max().unwrap_or(0);
        let spoilt = leftover.unwrap_or(0).saturating_mul(charges.iter().copied().max().unwrap_or(0));
        let used = 64 - dearest.max(spoilt).max(1).leading_zeros();
        Self {
            lots,
            charges,
            classes,
            at_most: at_most.map(|most| most.min(problem.cylinders.len()) as i64),
            leftover,
            patience,
            bits: COST_BITS.saturating_sub(used).min(PRICE_BITS),
            cylinders: problem.cylinders.len(),
            kept_without_room,
            quotas,
        }
    }

    /// Cost of a division of a lot left over; `None` where its charge must be covered.
    pub fn leftover_of(&self, lot: usize) -> Option<i64> {
        self.leftover.map(|each| each - self.patience * self.lots[lot] as i64)
    }

    /// The same field with the number of cylinders for its cost.
    pub fn counting(&self) -> Self {
        let classes = self.classes.iter().map(|class| Class { cost: 1, ..class.clone() }).collect();
        Self { classes, at_most: None, bits: PRICE_BITS, ..self.clone() }
    }

    /// The field of some of each class's cylinders, with their number for its cost.
    pub fn of_set(&self, set: &[i64]) -> Self {
        let some = |(class, &number): (&Class, &i64)| {
            let members = class.members[..number as usize].to_vec();
            (number > 0).then(|| Class { members, cost: 1, ..class.clone() })
        };
        let classes = self.classes.iter().zip(set).filter_map(some).collect();
        let quota = |quota: &Quota| {
            let counts = quota.counts.iter().zip(set).filter(|(_, number)| **number > 0).map(|(counts, _)| *counts);
            Quota { counts: counts.collect(), ..quota.clone() }
        };
        let quotas = self.quotas.iter().map(quota).collect();
        Self { classes, at_most: None, bits: PRICE_BITS, quotas, ..self.clone() }
    }

    /// The field that is left for some lots when the others keep their cylinders.
    pub fn without_others(&self, lots: &[usize], sets: &[Vec<usize>]) -> Self {
        let mut taken = vec![false; self.cylinders];
        let mut number = 0;
        for (_, set) in sets.iter().enumerate().filter(|(lot, _)| !lots.contains(lot)) {
            set.iter().for_each(|&slot| taken[slot] = true);
            number += set.len() as i64;
        }
        self.regrouped(lots, self.at_most.map(|most| most - number), |slot, _, room| if taken[slot] { 0 } else { room })
    }

    /// The field of the plans that keep to one more quota.
    pub fn with(&self, quota: Quota) -> Self {
        let mut field = self.clone();
        field.quotas.push(quota);
        field
    }

    /// The field of some lots with the rooms that `room(cylinder, lot, room so far)` gives.
    fn regrouped(&self, lots: &[usize], at_most: Option<i64>, room: impl Fn(usize, usize, i64) -> i64) -> Self {
        let mut groups = Groups::new();
        for class in &self.classes {
            for &slot in &class.members {
                let rooms: Vec<i64> = lots.iter().map(|&lot| room(slot, lot, class.rooms[lot])).collect();
                if rooms.iter().any(|&room| room > 0) {
                    groups.entry((rooms, class.cost, class.kept)).or_default().push(slot);
                }
            }
        }
        Self {
            lots: lots.iter().map(|&lot| self.lots[lot]).collect(),
            charges: lots.iter().map(|&lot| self.charges[lot]).collect(),
            classes: classes(groups),
            at_most,
            quotas: Vec::new(),
            ..*self
        }
    }

    /// A lot's charge is above all its rooms together, or a cylinder that must be used has none: no plan, at once.
    pub fn hopeless(&self) -> bool {
        let uncovered = |lot: usize| {
            self.classes.iter().map(|class| class.rooms[lot].saturating_mul(class.count())).sum::<i64>()
                < self.charges[lot]
        };
        self.kept_without_room || (self.leftover.is_none() && (0..self.lots.len()).any(uncovered))
    }

    /// The class of every cylinder.
    pub fn class_of(&self) -> Vec<Option<usize>> {
        let mut of = vec![None; self.cylinders];
        for (index, class) in self.classes.iter().enumerate() {
            for &member in &class.members {
                of[member] = Some(index);
            }
        }
        of
    }

    /// What sets of cylinders cost, or `None` where they aren't a plan of this field.
    pub fn cost(&self, sets: &[Vec<usize>]) -> Option<i64> {
        if self.kept_without_room {
            return None;
        }
        let of = self.class_of();
        let mut used = vec![false; self.cylinders];
        let (mut cost, mut number) = (0, 0);
        for (lot, set) in sets.iter().enumerate() {
            let mut covered = 0;
            for &cylinder in set {
                let class = &self.classes[of[cylinder]?];
                if std::mem::replace(&mut used[cylinder], true) || class.rooms[lot] == 0 {
                    return None;
                }
                covered += class.rooms[lot];
                cost += class.cost;
                number += 1;
            }
            let missing = (self.charges[lot] - covered).max(0);
            // Each cylinder must get at least one division.
            if set.len() as i64 > self.charges[lot] - missing {
                return None;
            }
            match self.leftover_of(lot) {
                Some(each) => cost += each * missing,
                None if missing > 0 => return None,
                None => {}
            }
        }
        let all_kept =
            self.classes.iter().filter(|class| class.kept).flat_map(|class| &class.members).all(|&member| used[member]);
        (all_kept && self.at_most.is_none_or(|most| number <= most)).then_some(cost)
    }
}

/// Lots that share cylinders, directly or through others, with those cylinders. Apart from a common heaviest lift and
/// a common number, parts have nothing to do with one another.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Part {
    /// Lots, ascending.
    pub lots: Vec<usize>,
    /// Cylinders with room for one of them, in yard order.
    pub cylinders: Vec<usize>,
}

impl Part {
    /// All lots that need something, as one part.
    pub fn whole(problem: &Problem) -> Self {
        let lots = (0..problem.lots.len()).filter(|&lot| problem.lots[lot].charge > 0).collect();
        Self { lots, cylinders: (0..problem.cylinders.len()).collect() }
    }

    /// The parts, in the order of their first lots.
    pub fn separate(problem: &Problem) -> Vec<Self> {
        let whole = Self::whole(problem);
        let mut parts: Vec<Self> = Vec::new();
        for &lot in &whole.lots {
            let mut merged = Self { lots: vec![lot], cylinders: Vec::new() };
            let takes = |slot: usize| problem.cylinders[slot].room(lot, i64::MAX) > 0;
            merged.cylinders = whole.cylinders.iter().copied().filter(|&slot| takes(slot)).collect();
            let (linked, apart): (Vec<Self>, Vec<Self>) =
                parts.into_iter().partition(|part| part.cylinders.iter().any(|&slot| takes(slot)));
            for part in linked {
                merged.lots.extend(part.lots);
                merged.cylinders.extend(part.cylinders);
            }
            merged.lots.sort_unstable();
            merged.cylinders.sort_unstable();
            merged.cylinders.dedup();
            parts = apart;
            parts.push(merged);
        }
        parts.sort_by_key(|part| part.lots.first().copied());
        parts
    }
}

/// A lot's charge, cut to the range in which sums can't overflow.
pub fn charge(problem: &Problem, lot: usize) -> i64 {
    problem.lots[lot].charge.min(LARGEST_MARK)
}
