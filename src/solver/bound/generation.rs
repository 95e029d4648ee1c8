//! Column generation: the dual bound raised, round after round, at the multipliers that the program suggests.
//!
//! Each round prices every lot: a knapsack finds the column of least reduced cost. Their sum is a bound, exact in whole
//! numbers; the columns go into the program, which suggests the next multipliers.

use super::multipliers::{Bound, Cover, Multipliers, items};
use super::relaxation::relaxed;
use super::restricted::{Memory, RestrictedMaster};
use crate::solver::cover::knapsack::States;
use crate::solver::cover::task::{NONE, Task};
use crate::solver::field::Field;
use crate::solver::problem::watch::{Stopped, Watch};

/// How far to raise a bound that won't reach what is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Else {
    /// No further, once the program shows that.
    GiveUp,
    /// To one that is close to what multipliers can prove.
    Close,
    /// To the highest whole cost that multipliers prove.
    Whole,
}

/// When to stop raising the bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Aim {
    /// A bound of this cost is all that is asked.
    pub enough: i64,
    /// How far to go where no multipliers prove that.
    pub else_to: Else,
    /// Steps of work after which to stop at whatever bound there is.
    pub most: u64,
}

/// At first columns are cheapest to the dearest cost, then all together to such a part of what the program leaves open.
const PARTS: i64 = 8;
/// A bound is close where so many times what multipliers can still add leaves it short of the aim.
const CLOSE: f64 = 16.0;
/// Contested classes from which the multipliers of the plain relaxation are tried first.
const MANY: usize = 80;

/// One round of pricing: the dual bound at these multipliers, and for each lot its cheapest column.
fn price(
    field: &Field,
    multipliers: &Multipliers,
    master: &RestrictedMaster<'_>,
    tolerance: i64,
    states: &mut States,
    watch: &mut Watch<'_>,
) -> Result<Option<(Bound, Vec<Cover>)>, Stopped> {
    let mut value: i128 = 0;
    let mut found = Vec::with_capacity(field.lots.len());
    let mut leasts = Vec::with_capacity(field.lots.len());
    for (lot, known) in master.cheapest_known(multipliers).into_iter().enumerate() {
        let items = items(field, lot, multipliers, |class| field.classes[class].count());
        let leftover = field.leftover_of(lot).map(|each| each << field.bits);
        let task = Task { tolerance, ..Task::cheapest(field.charges[lot], leftover) };
        let below = known.map_or(NONE, |(price, _)| price);
        let cheapest = states.cheapest(&items, task, below, watch)?;
        let Some(cover) = cheapest.cover.map(|(_, cover)| cover).or(known.map(|(_, cover)| cover.clone())) else {
            return Ok(None);
        };
        value += i128::from(cheapest.least);
        leasts.push(cheapest.least);
        found.push(cover);
    }
    for (class, &price) in field.classes.iter().zip(&multipliers.classes) {
        value -= i128::from(price) * i128::from(class.count());
    }
    for (quota, &price) in field.quotas.iter().zip(&multipliers.quotas) {
        value -= i128::from(price) * i128::from(quota.supply());
    }
    value -= i128::from(multipliers.number) * i128::from(field.at_most.unwrap_or(0));
    let value = i64::try_from(value).unwrap_or(if value > 0 { i64::MAX } else { i64::MIN });
    Ok(Some((Bound { value, multipliers: multipliers.clone(), leasts }, found)))
}

/// Raises the bound of a field by column master. `bound` is improved in place, so that it stands when stopped.
/// Returns the columns generated, or `None` where some lot has no cover at all.
pub fn raise<'f>(
    field: &'f Field,
    memory: &mut Memory,
    aim: Aim,
    bound: &mut Bound,
    watch: &mut Watch<'_>,
) -> Result<Option<RestrictedMaster<'f>>, Stopped> {
    let until = watch.spent().saturating_add(aim.most);
    let mut master = RestrictedMaster::new(field, memory);
    let mut trial = memory.multipliers_for(field);
    *bound = Bound { value: i64::MIN, multipliers: trial.clone(), leasts: Vec::new() };
    let enough = aim.enough.saturating_sub(1).saturating_mul(1 << field.bits);
    let mut next = None;
    if field.quotas.is_empty() && field.classes.iter().filter(|class| class.contested()).count() > MANY {
        next = Some(relaxed(field, &trial, watch)?.multipliers(field));
    }
    // Columns are cheapest to a part of what is still open, and exactly so in the end.
    let mut tolerance = master.unit as i64;
    let mut in_vain = 0;
    loop {
        let Some((priced, found)) = price(field, &trial, &master, tolerance, &mut memory.states, watch)? else {
            return Ok(None);
        };
        in_vain = if priced.value > bound.value { 0 } else { in_vain + 1 };
        if priced.value > bound.value {
            *bound = priced;
            memory.remember(field, &bound.multipliers);
        }
        let mut added = false;
        for (lot, cover) in found.into_iter().enumerate() {
            added |= master.add(lot, cover);
        }
        if bound.value > enough || watch.spent() > until {
            break;
        }
        if let Some(next) = next.take() {
            trial = next;
            continue;
        }
        let at_master = master.suggested.as_ref() == Some(&trial);
        if at_master && !added && tolerance == 0 {
            break;
        }
        if added || master.suggested.is_none() {
            let Some(top) = master.suggest(watch)? else { break };
            let whole = (1_i64 << field.bits) as f64;
            let (enough, gap) = (enough as f64, top - bound.value as f64);
            let whole_reached = (top / whole - 1e-6).ceil() <= bound.cost(field) as f64;
            let reached = match aim.else_to {
                Else::GiveUp => whole_reached || top < enough,
                Else::Close => whole_reached || gap * CLOSE < enough - top,
                Else::Whole => whole_reached,
            };
            if reached {
                break;
            }
            let part = gap.max(0.0) as i64 / (PARTS * field.lots.len() as i64);
            tolerance = tolerance.min(part);
            trial = master.between(&bound.multipliers, in_vain);
        } else {
            if at_master {
                tolerance = 0;
            }
            if let Some(last) = &master.suggested {
                trial = last.clone();
            }
        }
    }
    master.keep(memory);
    Ok(Some(master))
}
