//! One way to do the work, with its hours and its cost; and the cheapest of several.

use super::{Cost, Hours, Supply, Terms, assumptions, cost, hours};
use crate::audit::Audited;
use crate::plan::Status;

/// A plan with its hours, its cost and what it rests on.
#[derive(Debug, Clone)]
pub struct Offer {
    /// The work, with the cylinders that the plan is made from.
    pub supply: Supply,
    /// The plan.
    pub plan: Audited,
    /// Hours by job.
    pub hours: Vec<Hours>,
    /// Cost; `None` where no file states a currency.
    pub cost: Option<Cost>,
    /// Everything assumed. An offer has no other way to be made than with it.
    pub assumptions: Vec<String>,
}

/// The offer that this plan makes.
pub fn offer(supply: &Supply, plan: Audited, terms: &[Terms]) -> Offer {
    let hours = hours(&supply.work, plan.plan(), terms);
    let cost = cost(&supply.work, plan.plan(), terms, &hours, &supply.hired);
    let assumptions = assumptions(supply, plan.plan(), terms);
    Offer { supply: supply.clone(), plan, hours, cost, assumptions }
}

impl Offer {
    /// Every charge is placed.
    pub fn is_whole(&self) -> bool {
        matches!(self.plan.plan().status, Status::Proved | Status::Bounded)
    }
}

/// The position of the offer with the lowest likely cost among those that place every charge; the earlier of equals.
/// Offers with the fewest unpriced pieces alone are compared: what isn't priced isn't cheap.
pub fn cheapest(offers: &[Offer]) -> Option<usize> {
    let unpriced = |offer: &Offer| offer.cost.as_ref().map_or(usize::MAX, |cost| cost.unpriced.len());
    let whole = offers.iter().enumerate().filter(|(_, offer)| offer.is_whole());
    let priced = whole.filter_map(|(index, offer)| Some((unpriced(offer), offer.cost.as_ref()?.total.likely, index)));
    priced.min().map(|(.., index)| index)
}
