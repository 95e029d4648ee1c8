//! Column generation: the bound raised, round after round, by the prices that the program suggests.

use super::generation::{Generation, Memory};
use super::prices::{Bound, Cover, Prices, items};
use super::relaxed::relaxed;
use crate::solver::cover::table::Covers;
use crate::solver::cover::task::{NONE, Rounding, Task};
use crate::solver::field::Field;
use crate::solver::problem::watch::{Stopped, Watch};

/// How far to raise a bound that won't reach what is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Else {
    /// No further, once the program shows that.
    GiveUp,
    /// To one that is close to what prices can prove.
    Close,
    /// To the highest whole cost that prices prove.
    Whole,
    /// To the highest that prices prove, within a ten-thousandth of a cost.
    Highest,
}

/// When to stop raising the bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Aim {
    /// A bound of this cost is all that is asked.
    pub enough: i64,
    /// How far to go where no prices prove that.
    pub else_to: Else,
    /// Steps of work after which to stop at whatever bound there is.
    pub most: u64,
}

/// At first covers are cheapest to so many binary places of the dearest cost ...
const FIRST: u32 = 0;
/// ... and all together to such a part of what the program leaves open.
const PARTS: i64 = 8;
/// ... though in large problems never finer than to so many binary places of the dearest cost.
const FINEST: u32 = 14;
/// A bound is close where so many times what prices can still add leaves it short of the aim.
const CLOSE: f64 = 16.0;
/// What prices can still add to a cost that isn't worth another step.
const LAST: f64 = 1e-4;
/// Contested classes from which the prices of the plain relaxation are tried first.
const MANY: usize = 80;

/// One round of pricing: the bound at these prices and for each lot the cheapest cover.
fn judge(
    field: &Field,
    prices: &Prices,
    generation: &Generation<'_>,
    tolerance: i64,
    covers: &mut Covers,
    watch: &mut Watch<'_>,
) -> Result<Option<(Bound, Vec<Cover>)>, Stopped> {
    let mut value: i128 = 0;
    let mut found = Vec::with_capacity(field.lots.len());
    let mut leasts = Vec::with_capacity(field.lots.len());
    for (lot, known) in generation.cheapest_known(prices).into_iter().enumerate() {
        let items = items(field, lot, prices, |class| field.classes[class].count());
        let leftover = field.leftover_of(lot).map(|each| each << field.bits);
        let numbers = field.numbers[lot];
        let ration = field.ration.as_ref().map(|ration| ration.most[lot]);
        let task =
            Task { tolerance, numbers, ration, ..Task::cheapest(field.charges[lot], leftover, Rounding::Outward) };
        let below = known.map_or(NONE, |(price, _)| price);
        let cheapest = covers.cheapest_below(items, task, below, watch)?;
        let Some(cover) = cheapest.cover.map(|(_, cover)| cover).or(known.map(|(_, cover)| cover.clone())) else {
            return Ok(None);
        };
        value += i128::from(cheapest.least);
        leasts.push(cheapest.least);
        found.push(cover);
    }
    for (class, &price) in field.classes.iter().zip(&prices.classes) {
        value -= i128::from(price) * i128::from(class.count());
    }
    for (quota, &price) in field.quotas.iter().zip(&prices.quotas) {
        value -= i128::from(price) * i128::from(quota.supply());
    }
    value -= i128::from(prices.number) * i128::from(field.at_most.unwrap_or(0));
    let value = i64::try_from(value).unwrap_or(if value > 0 { i64::MAX } else { i64::MIN });
    Ok(Some((Bound { value, prices: prices.clone(), leasts }, found)))
}

/// Raises the bound of a field by column generation. `bound` is improved in place, so that it stands when stopped.
/// Returns the covers generated, or `None` where some lot has no cover at all.
pub fn raise<'f>(
    field: &'f Field,
    memory: &mut Memory,
    aim: Aim,
    bound: &mut Bound,
    watch: &mut Watch<'_>,
) -> Result<Option<Generation<'f>>, Stopped> {
    let until = watch.spent().saturating_add(aim.most);
    let mut generation = Generation::new(field, memory);
    let mut trial = memory.prices_for(field);
    *bound = Bound { value: i64::MIN, prices: trial.clone(), leasts: Vec::new() };
    let enough = aim.enough.saturating_sub(1).saturating_mul(1 << field.bits);
    let mut next = None;
    if field.quotas.is_empty() && field.classes.iter().filter(|class| class.contested()).count() > MANY {
        next = Some(relaxed(field, &trial, watch)?.prices(field));
    }
    // Covers are cheapest to a part of what is still open, and exactly so in the end.
    let mut tolerance = generation.unit as i64 >> FIRST;
    let finest = if field.is_large() { generation.unit as i64 >> FINEST } else { 0 };
    let mut in_vain = 0;
    loop {
        let Some((judged, found)) = judge(field, &trial, &generation, tolerance, &mut memory.covers, watch)? else {
            return Ok(None);
        };
        in_vain = if judged.value > bound.value { 0 } else { in_vain + 1 };
        if judged.value > bound.value {
            *bound = judged;
            memory.remember(field, &bound.prices);
        }
        let mut added = false;
        for (lot, cover) in found.into_iter().enumerate() {
            added |= generation.add(lot, cover);
        }
        if bound.value > enough || watch.spent() > until {
            break;
        }
        if let Some(next) = next.take() {
            trial = next;
            continue;
        }
        let at_master = generation.suggested.as_ref() == Some(&trial);
        if at_master && !added && tolerance <= finest {
            break;
        }
        if added || generation.suggested.is_none() {
            let Some(top) = generation.suggest(watch)? else { break };
            let whole = (1_i64 << field.bits) as f64;
            let (enough, lacks) = (enough as f64, top - bound.value as f64);
            let whole_reached = (top / whole - 1e-6).ceil() <= bound.cost(field) as f64;
            let reached = match aim.else_to {
                Else::GiveUp => whole_reached || top < enough,
                Else::Close => whole_reached || lacks * CLOSE < enough - top,
                Else::Whole => whole_reached,
                Else::Highest => lacks < LAST * whole,
            };
            if reached {
                break;
            }
            let part = (top - bound.value as f64).max(0.0) as i64 / (PARTS * field.lots.len() as i64);
            tolerance = tolerance.min(part.max(finest));
            trial = generation.between(&bound.prices, in_vain);
        } else {
            if at_master {
                tolerance = finest;
            }
            if let Some(last) = &generation.suggested {
                trial = last.clone();
            }
        }
    }
    generation.keep(memory);
    Ok(Some(generation))
}
