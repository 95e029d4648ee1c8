//! What the proof of a number of cylinders leaves to the columns of a plan with that number: a resource.
//!
//! At the multipliers that prove the number every lot's column comes to so much in cylinders: one for each and what their
//! supply costs. All lots together can't come to more than the number and the worth of the supply, and each comes to its
//! least at least. So none passes its least by more than the slack, what the dual bound leaves open of the number: often
//! some hundredths of a cylinder, which bars most columns (the literature's fixing by reduced cost, kept by pricing). A
//! multiplier for the number in the cost's bound says less, because columns beyond and within can be mixed there.

use crate::solver::bound::generation::{Aim, Else, raise};
use crate::solver::bound::multipliers::Bound;
use crate::solver::bound::restricted::Memory;
use crate::solver::field::{Field, Resource};
use crate::solver::problem::watch::{Stopped, Watch};

/// Steps of work that the bound on the number may take.
const WORK: u64 = 100_000_000;

/// What a field whose number of cylinders is limited leaves to the columns of its plans; `None` where that is more than
/// half a cylinder, or can't be told.
pub fn resource(field: &Field, memory: &mut Memory, watch: &mut Watch<'_>) -> Result<Option<Resource>, Stopped> {
    let Some(most) = field.at_most else { return Ok(None) };
    let counting = field.counting();
    let aim = Aim { enough: most + 1, else_to: Else::Highest, most: WORK };
    let mut bound = Bound::default();
    if raise(&counting, memory, aim, &mut bound, watch)?.is_none() {
        return Ok(None);
    }
    let slack = (most << counting.bits) - bound.value;
    if !(0..=1 << (counting.bits - 1)).contains(&slack) {
        return Ok(None);
    }
    let uses = |lot: usize, class: usize| (1 << counting.bits) + bound.multipliers.of(&counting, lot, class);
    let of_lot = |lot: usize| (0..field.classes.len()).map(|class| uses(lot, class)).collect();
    Ok(Some(Resource {
        uses: (0..field.lots.len()).map(of_lot).collect(),
        most: bound.leasts.iter().map(|least| least + slack).collect(),
    }))
}
