//! The plain relaxation, in which cylinders can be cut: multipliers for large fields to begin with.
//!
//! In words: let a division of lot l's charge be worth λ_l. A cylinder goes where its room is worth most, if that is more
//! than it costs. The λ at which that proves most is found by cutting planes (the literature's Kelley method): what the
//! cylinders do at one λ is a column of a program as small as there are lots, whose duals are the λ to try next, a part
//! of the way from the best. It proves nothing: the multipliers of the supply that follow are judged like any others.

use super::multipliers::{DEAREST, Multipliers, items};
use super::program::{Column, Program, Suggestion};
use super::simplex::Simplex;
use crate::solver::field::{Class, Field};
use crate::solver::problem::watch::{Stopped, Watch};

/// Worths tried at most.
const STEPS: usize = 600;
/// What the program leaves open, as a part of the best, that isn't worth another step.
const CLOSE: f64 = 1e-5;
/// A charge is worth no more than so many times what all cylinders cost.
const DEAREST_CHARGE: f64 = 1e3;

/// What divisions and cylinders are worth, in costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// A division of each lot's charge; 0 or more.
    pub lots: Vec<f64>,
    /// What the number charges each cylinder; 0 or more.
    pub number: f64,
}

impl Worth {
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

    /// Multipliers of the supply that leave no cylinder a gain.
    pub fn multipliers(&self, field: &Field) -> Multipliers {
        let whole = |value: f64| ((value * (1_i64 << field.bits) as f64).round() as i64).clamp(-DEAREST, DEAREST);
        let price = |class: &Class| match class.contested() {
            true if class.kept => whole(self.gain(class).0),
            true => whole(self.gain(class).0.max(0.0)),
            false => 0,
        };
        Multipliers {
            classes: field.classes.iter().map(price).collect(),
            number: whole(self.number),
            ..Multipliers::none(field)
        }
    }
}

/// What the charges and the number of cylinders are worth, each as a whole; the number stands last.
pub type Whole = Vec<f64>;

/// The relaxation at one worth.
struct Relaxation<'f> {
    field: &'f Field,
    charges: Vec<f64>,
    /// The most cylinders; 0 where they aren't limited.
    most: f64,
}

impl Relaxation<'_> {
    /// What a division of each lot is worth, and what the number charges each cylinder.
    fn each(&self, whole: &Whole) -> Worth {
        let lots = whole.iter().zip(&self.charges).map(|(whole, charge)| whole / charge).collect();
        Worth { lots, number: if self.most > 0.0 { whole[self.charges.len()] / self.most } else { 0.0 } }
    }

    /// What it comes to, and what the cylinders do then: of each charge the part that is covered, of the number the part
    /// that is used, and the cost in whole costs of a cylinder.
    fn value(&self, whole: &mut Whole) -> (f64, Column) {
        self.limit(whole);
        let worth = self.each(whole);
        let mut covered = vec![0.0; self.charges.len()];
        let (mut gains, mut used, mut cost) = (0.0, 0.0, 0.0);
        for class in &self.field.classes {
            let (gain, lot) = worth.gain(class);
            if gain > 0.0 || class.kept {
                let count = class.count() as f64;
                gains += gain * count;
                used += count / self.most.max(1.0);
                cost += count * class.cost as f64;
                covered[lot] += count * class.rooms[lot] as f64 / self.charges[lot];
            }
        }
        let last = self.charges.len();
        let value = whole[..last].iter().sum::<f64>() - gains - if self.most > 0.0 { whole[last] } else { 0.0 };
        let taken = covered.into_iter().enumerate().map(|(lot, covered)| (lot, -covered)).collect();
        (value, Column { lot: 0, taken, number: used, cost })
    }

    /// Worth within its range: none below 0, no division worth more than leaving it over.
    fn limit(&self, whole: &mut Whole) {
        for (lot, whole) in whole.iter_mut().enumerate() {
            let most = self.charges.get(lot).and_then(|charge| Some((charge, self.field.leftover_of(lot)?)));
            *whole = whole.clamp(0.0, most.map_or(f64::INFINITY, |(charge, left)| charge * left as f64));
        }
    }
}

/// Worth near the relaxation's best, from given multipliers on: at each of them a division is worth what it costs where the
/// lot's charge breaks off, cheapest first.
pub fn relaxed(field: &Field, from: &Multipliers, watch: &mut Watch<'_>) -> Result<Worth, Stopped> {
    let room: i64 = field.classes.iter().map(|c| c.count() * c.rooms.iter().max().unwrap_or(&0)).sum();
    let cost: i64 = field.classes.iter().map(|class| class.count() * class.cost).sum();
    let mean = cost.max(1) as f64 / room.max(1) as f64;
    let known = from.classes.iter().any(|multiplier| *multiplier != 0);
    let lots = (0..field.lots.len()).map(|lot| if known { at_break(field, lot, from).unwrap_or(mean) } else { mean });
    let relaxation = Relaxation {
        field,
        charges: field.charges.iter().map(|&charge| charge.max(1) as f64).collect(),
        most: field.at_most.unwrap_or(0) as f64,
    };
    let number = from.number as f64 / (1_i64 << field.bits) as f64;
    let mut whole: Whole = lots.zip(&relaxation.charges).map(|(each, charge)| each * charge).collect();
    whole.push(number * relaxation.most);
    let all = field.classes.iter().map(|class| class.count() * class.cost).sum::<i64>().max(1) as f64;
    let work = field.classes.len() * (field.lots.len() + 8);
    let mut supply = vec![-1.0; field.lots.len()];
    supply.push(f64::from(u8::from(relaxation.most > 0.0)));
    let begin = (whole, &supply[..], all);
    let best = raised(begin, Vec::new(), |whole| relaxation.value(whole), work, watch)?;
    Ok(relaxation.each(&best))
}

/// The best worth met, by cutting planes from `whole` on, or from what `known` columns suggest. `value` says what the
/// relaxation comes to at a worth and what the cylinders do then; `all` is what they cost together, `supply` what each row
/// may take, the last one 0 where the number isn't limited.
pub fn raised(
    (mut whole, supply, all): (Whole, &[f64], f64),
    known: Vec<Column>,
    mut value: impl FnMut(&mut Whole) -> (f64, Column),
    work: usize,
    watch: &mut Watch<'_>,
) -> Result<Whole, Stopped> {
    let (&most, rows) = supply.split_last().unwrap_or((&0.0, &[]));
    let mut program = Simplex::new(&Program {
        lots: 1,
        supply: rows.iter().map(|&supply| Some((supply, false))).collect(),
        at_most: (most > 0.0).then_some(most),
        dearest: DEAREST_CHARGE,
    });
    let worth = |next: &Suggestion| -> Whole {
        next.multipliers.iter().chain([&next.count_multiplier]).map(|worth| worth * all).collect()
    };
    if !known.is_empty() {
        known.into_iter().for_each(|column| program.add(&Column { cost: column.cost / all, ..column }));
        if program.solve(watch)? {
            whole = worth(&program.suggestion());
        }
    }
    let mut best = (f64::NEG_INFINITY, whole.clone());
    let mut in_vain = 0;
    for _ in 0..STEPS {
        watch.work(work)?;
        let (value, column) = value(&mut whole);
        in_vain = if value > best.0 { 0 } else { in_vain + 1 };
        if value > best.0 {
            best = (value, whole.clone());
        }
        program.add(&Column { cost: column.cost / all, ..column });
        if !program.solve(watch)? {
            break;
        }
        let next = program.suggestion();
        if next.value * all - best.0 < CLOSE * best.0.abs() {
            break;
        }
        let part = 0.5_f64.powi(1 + in_vain.min(6));
        whole = best.1.iter().zip(worth(&next)).map(|(here, there)| here + part * (there - here)).collect();
    }
    Ok(best.1)
}

/// What a division costs at multipliers where a lot's charge breaks off; `None` where it never does.
fn at_break(field: &Field, lot: usize, multipliers: &Multipliers) -> Option<f64> {
    let mut items = items(field, lot, multipliers, |class| field.classes[class].count());
    items.sort_unstable_by(|a, b| (a.price as f64 / a.room as f64).total_cmp(&(b.price as f64 / b.room as f64)));
    let mut rest = field.charges[lot];
    let last = items.iter().find(|item| {
        rest -= item.room.saturating_mul(item.most);
        rest <= 0
    })?;
    Some((last.price.max(1) as f64 / last.room as f64) / (1_i64 << field.bits) as f64)
}
