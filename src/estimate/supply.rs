//! Where the cylinders of a quote come from: the yard, the stock, or a list of trade sizes.

use super::assumptions::TRADE_SIZES;
use crate::cylinder::{Cylinder, Id};
use crate::job::{Access, Kind, Work, trade_sizes};
use crate::planner::room;
use crate::quantity::{Decimal, Weight};

/// The most cylinders of a kind that a quote looks at.
const MOST_OF_A_KIND: i64 = 200;

/// The largest trade size that is planned for where no file says that larger ones can be handled: nominal 125 lb.
/// A judgement, no source.
const LARGEST_BY_HAND: u32 = 124;

/// Which cylinders may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Those of the yard alone.
    Yard,
    /// Those of the stock alone.
    Stock,
    /// Both.
    Both,
}

/// Which cylinders a plan is made from, and which of them come first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Where they come from.
    pub source: Source,
    /// Of the stock this kind alone.
    pub only: Option<String>,
    /// Those on hand are taken first, and others only where the number would be larger without them.
    pub own_first: bool,
    /// The kinds of cylinders of the stock that other plans of the quote have, each as often as they do.
    pub taken: Vec<String>,
    /// A number that stands in the names of those that aren't on hand, where other plans of the quote have such too.
    pub site: Option<usize>,
}

impl Choice {
    /// Cylinders from this source, none of them before others.
    pub fn of(source: Source) -> Self {
        Self { source, only: None, own_first: false, taken: Vec::new(), site: None }
    }
}

/// A cylinder that isn't in the yard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hired {
    /// Its name in the plan.
    pub id: Id,
    /// Its kind.
    pub kind: String,
    /// Of the list of trade sizes, not of a stock.
    pub is_trade_size: bool,
}

/// The work with the cylinders that a quote plans with.
#[derive(Debug, Clone)]
pub struct Supply {
    /// The work.
    pub work: Work,
    /// Those of its cylinders that aren't in the yard.
    pub hired: Vec<Hired>,
    /// What was assumed of the cylinders.
    pub assumptions: Vec<String>,
}

/// The work with the cylinders of this choice. With none at all there it plans from the trade sizes, and says so.
pub fn supply(work: &Work, choice: &Choice) -> Supply {
    let source = choice.source;
    let mut yard: Vec<Cylinder> = if source == Source::Stock { Vec::new() } else { work.yard().to_vec() };
    let mut kinds = if source == Source::Yard { Vec::new() } else { work.stock() };
    kinds.retain(|kind| choice.only.as_ref().is_none_or(|only| *only == kind.name));
    let mut assumptions = Vec::new();
    let is_trade_size = yard.is_empty() && kinds.is_empty() && source != Source::Yard;
    if is_trade_size {
        assumptions.push(TRADE_SIZES.to_owned());
        kinds = by_trade(work, &mut assumptions);
    }
    let site = choice.site.map_or_else(String::new, |site| format!("{site}."));
    let mut hired = Vec::new();
    for kind in kinds {
        let taken = choice.taken.iter().filter(|taken| **taken == kind.name).count();
        let left = kind.count.map(|count| count.saturating_sub(u32::try_from(taken).unwrap_or(u32::MAX)));
        for number in 1..=needed(work, &Kind { count: left, ..kind.clone() }) {
            let mut id = format!("{} #{site}{number}", kind.name);
            while yard.iter().any(|cylinder| cylinder.id == *id.as_str()) {
                id.push('\'');
            }
            let id = Id::from(id);
            let Ok(cylinder) = kind.specimen(id.clone(), work.date()) else { break };
            yard.push(cylinder);
            hired.push(Hired { id, kind: kind.name.clone(), is_trade_size });
        }
    }
    let later = hired.iter().filter(|_| choice.own_first).map(|one| one.id.clone());
    Supply { work: work.clone().with_yard(yard).with_hired(later.collect::<Vec<_>>()), hired, assumptions }
}

/// The trade sizes that can be handled there, for flammables and not as the lots ask.
fn by_trade(work: &Work, assumptions: &mut Vec<String>) -> Vec<Kind> {
    let handled = work.jobs().iter().all(|job| job.terms.lift_limit.is_some() || job.access == Some(Access::Hoist));
    if !handled {
        assumptions.push(
            "no lift limit is stated: trade sizes up to nominal 125 lb are planned for (a judgement, no source)".into(),
        );
    }
    let largest = Weight::pounds(Decimal::from(LARGEST_BY_HAND));
    let burning = |flammable: bool| work.lots().iter().any(|lot| lot.intake.fluid.is_flammable() == flammable);
    let sizes = [false, true].into_iter().filter(|flammable| burning(*flammable)).flat_map(|flammable| {
        trade_sizes(flammable).into_iter().map(move |kind| {
            let name = if flammable { format!("{}, for flammables", kind.name) } else { kind.name };
            Kind { name, ..kind }
        })
    });
    sizes.filter(|kind| handled || kind.water_capacity <= largest).collect()
}

/// As many of a kind as could be used: for every lot enough to take all of it.
fn needed(work: &Work, kind: &Kind) -> i64 {
    let Ok(cylinder) = kind.specimen(kind.name.clone(), work.date()) else { return 0 };
    let rooms = work.lots().iter().filter_map(|lot| {
        let size = room(&cylinder, lot).ok()?.size();
        (size > 0).then(|| (lot.charge + size - 1).div_euclid(size))
    });
    rooms.sum::<i64>().min(kind.count.map_or(MOST_OF_A_KIND, i64::from)).min(MOST_OF_A_KIND)
}
