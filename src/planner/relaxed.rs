//! Prices to begin with where there are many classes: those of the plain relaxation, in which cylinders can be cut.
//!
//! In words: a division of a lot's charge is worth λ_l; a cylinder goes where its room is worth most, and its supply
//! has the price that leaves no gain, max(0, max_l λ_l · room_cl − cost_c − ν), with ν for the number. Where a lot gets
//! too little its λ rises, where too much it falls, by steps that become smaller. It needs no program and no table, and
//! proves nothing: the best prices met are judged like any others.

use super::field::{Class, Field};
use super::generation::DEAREST;
use super::prices::{Prices, items};
use super::watch::{Stopped, Watch};

/// Steps taken from nothing, and from prices of another lift.
const STEPS: usize = 1_600;
const FEWER: usize = 400;
/// The first step is so large a part of what is lacking, and each so much smaller than the one before.
const FIRST: f64 = 0.4;
const SMALLER: f64 = 0.9955;
const FASTER: f64 = 0.982;
/// The first step from prices of another lift.
const CLOSE: f64 = 0.02;

/// What divisions and cylinders are worth.
#[derive(Debug, Clone)]
struct Worth {
    lots: Vec<f64>,
    number: f64,
}

impl Worth {
    /// What one cylinder of a class gains, and for which lot.
    fn gain(&self, class: &Class) -> (f64, usize) {
        let mut best = (0.0, 0);
        for (lot, (&room, worth)) in class.rooms.iter().zip(&self.lots).enumerate() {
            let value = room as f64 * worth;
            if value > best.0 {
                best = (value, lot);
            }
        }
        (best.0 - class.cost as f64 - self.number, best.1)
    }
}

/// Prices near the relaxation's best, from given ones on: at each of them a division is worth what it costs where the
/// lot's charge breaks off, cheapest first.
pub(super) fn relaxed(field: &Field, from: &Prices, watch: &mut Watch<'_>) -> Result<Prices, Stopped> {
    let room: i64 = field.classes.iter().map(|c| c.count() * c.rooms.iter().max().unwrap_or(&0)).sum();
    let cost: i64 = field.classes.iter().map(|class| class.count() * class.cost).sum();
    let mean = cost.max(1) as f64 / room.max(1) as f64;
    let known = from.classes.iter().any(|price| *price != 0);
    let lots = (0..field.lots.len()).map(|lot| if known { at_break(field, lot, from).unwrap_or(mean) } else { mean });
    let number = from.number as f64 / (1_i64 << field.bits) as f64;
    let mut worth = Worth { lots: lots.collect(), number };
    let (mut size, smaller, steps) = if known { (CLOSE, FASTER, FEWER) } else { (FIRST, SMALLER, STEPS) };
    let mut best = (f64::NEG_INFINITY, worth.clone());
    for _ in 0..steps {
        watch.work(field.classes.len() * (field.lots.len() + 8))?;
        let mut used = vec![0.0; field.lots.len()];
        let (mut number, mut gains) = (0.0, 0.0);
        for class in &field.classes {
            let (gain, lot) = worth.gain(class);
            if gain > 0.0 || class.kept {
                let count = class.count() as f64;
                gains += gain * count;
                number += count;
                used[lot] += count * class.rooms[lot] as f64;
            }
        }
        let charged: f64 = worth.lots.iter().zip(&field.charges).map(|(worth, &charge)| worth * charge as f64).sum();
        let most = field.at_most.unwrap_or(0) as f64;
        let value = charged - gains - worth.number * most;
        if value > best.0 {
            best = (value, worth.clone());
        }
        size *= smaller;
        let lacking = |(used, charge): (&f64, &i64)| 1.0 - used / *charge as f64;
        let lacking: Vec<f64> = used.iter().zip(&field.charges).map(lacking).collect();
        let scale = size / lacking.iter().fold(1.0, |most: f64, lacking| most.max(lacking.abs()));
        for (lot, (worth, lacking)) in worth.lots.iter_mut().zip(lacking).enumerate() {
            *worth *= (scale * lacking).exp();
            if let Some(left) = field.leftover_of(lot) {
                *worth = worth.min(left as f64);
            }
        }
        if most > 0.0 {
            let each = cost as f64 / field.cylinders as f64;
            worth.number = (worth.number + size * each * (number / most - 1.0).clamp(-1.0, 1.0)).max(0.0);
        }
    }
    let whole = |value: f64| ((value * (1_i64 << field.bits) as f64).round() as i64).clamp(-DEAREST, DEAREST);
    let price = |class: &Class| match class.contested() {
        true if class.kept => whole(best.1.gain(class).0),
        true => whole(best.1.gain(class).0.max(0.0)),
        false => 0,
    };
    Ok(Prices {
        classes: field.classes.iter().map(price).collect(),
        number: whole(best.1.number),
        ..Prices::none(field)
    })
}

/// What a division costs at prices where a lot's charge breaks off; `None` where it never does.
fn at_break(field: &Field, lot: usize, prices: &Prices) -> Option<f64> {
    let mut items = items(field, lot, prices, |class| field.classes[class].count());
    items.sort_unstable_by(|a, b| (a.price as f64 / a.room as f64).total_cmp(&(b.price as f64 / b.room as f64)));
    let mut rest = field.charges[lot];
    let last = items.iter().find(|item| {
        rest -= item.room.saturating_mul(item.most);
        rest <= 0
    })?;
    Some((last.price.max(1) as f64 / last.room as f64) / (1_i64 << field.bits) as f64)
}
