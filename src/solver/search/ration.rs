//! What the proof of a number of cylinders leaves to the covers of a plan with that number.
//!
//! At the prices that prove the number every lot's cover comes to so much in cylinders: one for each and what their
//! supply costs. All lots together can't come to more than the number and the worth of the supply, and each comes to its
//! least at least. So none passes its least by more than what the bound lacks of the number: often some hundredths of a
//! cylinder, which bars most covers. A price for the number in the cost's bound says less, because covers that lie beyond
//! and covers that lie within can be mixed there.

use crate::solver::bound::generation::Memory;
use crate::solver::bound::prices::Bound;
use crate::solver::bound::raise::{Aim, Else, raise};
use crate::solver::field::{Field, Ration};
use crate::solver::problem::watch::{Stopped, Watch};

/// Steps of work that the bound on the number may take.
const WORK: u64 = 100_000_000;

/// What a field whose number of cylinders is limited leaves to the covers of its plans; `None` where that is more than
/// half a cylinder, or can't be told.
pub fn ration(field: &Field, memory: &mut Memory, watch: &mut Watch<'_>) -> Result<Option<Ration>, Stopped> {
    let Some(most) = field.at_most else { return Ok(None) };
    let counting = field.counting();
    let aim = Aim { enough: most + 1, else_to: Else::Highest, most: WORK };
    let mut bound = Bound::default();
    if raise(&counting, memory, aim, &mut bound, watch)?.is_none() {
        return Ok(None);
    }
    let lacks = (most << counting.bits) - bound.value;
    if !(0..=1 << (counting.bits - 1)).contains(&lacks) {
        return Ok(None);
    }
    let claim = |lot: usize, class: usize| (1 << counting.bits) + bound.prices.of(&counting, lot, class);
    let claims = |lot: usize| (0..field.classes.len()).map(|class| claim(lot, class)).collect();
    Ok(Some(Ration {
        claims: (0..field.lots.len()).map(claims).collect(),
        most: bound.leasts.iter().map(|least| least + lacks).collect(),
    }))
}
