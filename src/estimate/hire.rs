//! What the cylinders cost that aren't on hand, and whose cost that is.
//!
//! A cylinder is hired for as long as the file says, and at least for the days that the work takes at the jobs that fill it.
//! Its cost is theirs, whoever's file states its kind; of several that fill it, by their hours.

use super::cost::price;
use super::{Hired, Hours, Origin, Range, Terms};
use crate::job::Work;
use crate::plan::Plan;
use crate::planner::visits;
use crate::quantity::{Decimal, Money};

/// Days of hire where the file doesn't say: 7. Common practice, no source.
const USUAL_HIRE_DAYS: i64 = 7;

/// Cylinders of one kind that the same jobs fill.
pub(super) struct Rented {
    pub kind: String,
    /// Of the list of trade sizes, which nobody hires out.
    pub is_trade_size: bool,
    pub count: usize,
    /// The jobs that fill them, in order.
    pub jobs: Vec<usize>,
    pub deposits: Range<Money>,
    /// What it costs by job; empty where no price is stated.
    pub shares: Vec<HireShare>,
}

/// A job's part of it.
pub(super) struct HireShare {
    pub job: usize,
    pub amount: Range<Money>,
    pub basis: String,
    pub origin: Origin,
}

/// Every kind that the plan uses and that isn't on hand.
pub(super) fn rented(work: &Work, plan: &Plan, terms: &[Terms], hours: &[Hours], hired: &[Hired]) -> Vec<Rented> {
    let mut all: Vec<Rented> = Vec::new();
    let visits = visits(work, plan);
    for one in hired {
        let Some(load) = plan.loads.iter().position(|load| load.cylinder == one.id) else { continue };
        let fills = |visit: &&crate::planner::Visit| visit.fills.iter().any(|fill| fill.load == load);
        let jobs: Vec<usize> = visits.iter().filter(fills).map(|visit| visit.job).collect();
        match all.iter_mut().find(|known| known.kind == one.kind && known.jobs == jobs) {
            Some(known) => known.count += 1,
            None => all.push(Rented {
                kind: one.kind.clone(),
                is_trade_size: one.is_trade_size,
                count: 1,
                jobs,
                deposits: Range::default(),
                shares: Vec::new(),
            }),
        }
    }
    all.iter_mut().for_each(|one| one.priced(terms, hours));
    all
}

impl Rented {
    fn priced(&mut self, terms: &[Terms], hours: &[Hours]) {
        let stated = || terms.iter().flat_map(|terms| &terms.prices.hire).filter(|hire| hire.kind == self.kind);
        let count = Decimal::from(self.count);
        if let Some(deposit) = stated().find_map(|hire| hire.deposit) {
            self.deposits = deposit.map(|each| Money::rounded(each * count));
        }
        let Some((each, period)) = stated().find_map(|hire| Some((hire.price?, hire.days.max(1)))) else { return };
        let (days, origin) = self.days(terms, hours);
        let periods = days.map(|days| (days / Decimal::from(period)).ceil().max(Decimal::ONE));
        let amount = each.with(periods, |each, periods| Money::rounded(each * periods * count));
        let basis = format!("{count} x {} begun periods of {period} days x {}", periods.likely, price(each.likely));
        let users: Vec<&Hours> = hours.iter().filter(|hours| self.jobs.contains(&hours.job)).collect();
        let weights: Vec<Decimal> = users.iter().map(|hours| hours.elapsed.likely).collect();
        let [low, likely, high] = [amount.low, amount.likely, amount.high].map(|amount| amount.split(&weights));
        let amounts = low.into_iter().zip(likely).zip(high).map(|((low, likely), high)| Range { low, likely, high });
        let names: Vec<&str> = users.iter().map(|hours| hours.name.as_str()).collect();
        let shared = if users.len() > 1 { format!("; by hours among {}", names.join(", ")) } else { String::new() };
        self.shares = users
            .iter()
            .zip(amounts)
            .map(|(hours, amount)| HireShare { job: hours.job, amount, basis: format!("{basis}{shared}"), origin })
            .collect();
    }

    /// Days from the first of its jobs to the last, and no fewer than stated.
    fn days(&self, terms: &[Terms], hours: &[Hours]) -> (Range<Decimal>, Origin) {
        let (first, last) = (self.jobs.first().copied().unwrap_or(0), self.jobs.last().copied().unwrap_or(0));
        let between = hours.iter().filter(|hours| (first..=last).contains(&hours.job));
        let work: Range<Decimal> = between.map(|hours| hours.days).sum();
        let stated = self.jobs.iter().filter_map(|job| terms.get(*job)?.prices.hire_days);
        let most = stated.reduce(|one, other| one.with(other, |one, other| one.max(other)));
        let origin = if most.is_some() { Origin::File } else { Origin::Assumed };
        let least = most.unwrap_or_else(|| Range::exactly(Decimal::from(USUAL_HIRE_DAYS)));
        (least.with(work, |least, work| least.max(work)), origin)
    }
}
