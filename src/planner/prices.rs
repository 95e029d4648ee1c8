//! Supply prices and the bound that they prove.
//!
//! In words: charge every cylinder a price on top of its cost, let each lot take its cheapest cover as if alone, and
//! give back what the whole supply was charged. No plan costs less, whatever the prices, because a plan's lots
//! together take no more than the supply:
//!
//!   Σ_l cheapest cover of l at (cost_c + price_c + count_price) − Σ_c N_c · price_c − K · count_price ≤ cost of a plan
//!
//! and likewise for every quota that branching asks for,
//!
//! for all price_c ≥ 0 (of either sign where all N_c must be used) and count_price ≥ 0. Prices are whole multiples of
//! 2^−bits and the sum is made in integers, so the bound is exact; the linear program only suggests where to look.

use super::covers::{Covers, Item, NONE, Rounding};
use super::field::Field;
use super::generation::{Generation, Memory};
use super::reduction::Task;
use super::relaxed::relaxed;
use super::watch::{Stopped, Watch};

/// Prices, in whole 2^−bits of a cost.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Prices {
    /// On top of the cost, for each class.
    pub classes: Vec<i64>,
    /// On top of that for every cylinder, for the number of them.
    pub number: i64,
    /// On top of that for what is taken of each quota.
    pub quotas: Vec<i64>,
}

impl Prices {
    /// No price for anything.
    pub fn none(field: &Field) -> Self {
        Self { classes: vec![0; field.classes.len()], number: 0, quotas: vec![0; field.quotas.len()] }
    }

    /// What a lot pays for a cylinder of a class, on top of its cost.
    pub fn of(&self, field: &Field, lot: usize, class: usize) -> i64 {
        let quotas = field.quotas.iter().zip(&self.quotas).map(|(quota, price)| quota.takes(lot, class) * price);
        self.classes[class] + self.number + quotas.sum::<i64>()
    }
}

/// A bound with the prices that prove it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Bound {
    /// No plan costs less, in whole 2^−bits.
    pub value: i64,
    /// The prices.
    pub prices: Prices,
    /// What the cover of each lot costs at least at these prices, among those that the field allows.
    pub leasts: Vec<i64>,
}

impl Bound {
    /// No plan costs less, in whole units of cost.
    pub fn cost(&self, field: &Field) -> i64 {
        (self.value >> field.bits) + i64::from(self.value & ((1 << field.bits) - 1) != 0)
    }
}

/// How far to raise a bound that won't reach what is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Else {
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
pub(super) struct Aim {
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

/// The items of a lot at prices, with `left` of each class.
pub(super) fn items(field: &Field, lot: usize, prices: &Prices, left: impl Fn(usize) -> i64) -> Vec<Item> {
    field
        .classes
        .iter()
        .enumerate()
        .filter(|(index, class)| class.rooms[lot] > 0 && left(*index) > 0)
        .map(|(index, class)| Item {
            class: index,
            room: class.rooms[lot],
            price: (class.cost << field.bits) + prices.of(field, lot, index),
            most: left(index),
            kept: class.kept,
            claim: field.ration.as_ref().map_or(0, |ration| ration.claims[lot][index]),
        })
        .collect()
}

/// A cover of one lot: (class, how many).
pub(super) type Cover = Vec<(usize, i64)>;

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
pub(super) fn raise<'f>(
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
