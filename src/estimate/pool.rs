//! Jobs planned together with their hours and their cost; and a way to do all of the work, which is made of such pools.

use super::{Cost, Hours, Supply, Terms, cost, general, hours, of_pool};
use crate::audit::Audited;
use crate::plan::Status;
use crate::quantity::Decimal;

/// Jobs that are planned together, on cylinders that no other pool of the way uses.
#[derive(Debug, Clone)]
pub struct Pool {
    /// The jobs, by their positions in all of the work, in order.
    pub jobs: Vec<usize>,
    /// Their work, with the cylinders that the plan is made from.
    pub supply: Supply,
    /// The plan.
    pub plan: Audited,
    /// Hours by job.
    pub hours: Vec<Hours>,
    /// Cost; `None` where no file states a currency.
    pub cost: Option<Cost>,
    /// Everything assumed.
    assumptions: Vec<String>,
}

impl Pool {
    /// These jobs with this plan of their own; `terms` has an entry for every job of all of the work.
    pub fn new(jobs: &[usize], supply: &Supply, plan: Audited, terms: &[Terms]) -> Self {
        let several = terms.len() > 1;
        let currency = terms.iter().find_map(|terms| terms.prices.currency.clone());
        let terms: Vec<Terms> = jobs.iter().filter_map(|job| terms.get(*job)).cloned().collect();
        let mut hours = hours(&supply.work, plan.plan(), &terms);
        let assumptions = of_pool(supply, plan.plan(), &terms, &hours, several);
        let cost = currency.map(|currency| {
            let cost = cost(&supply.work, plan.plan(), &terms, &hours, &supply.hired, currency);
            cost.named_in_all(jobs)
        });
        for hours in &mut hours {
            hours.job = jobs.get(hours.job).copied().unwrap_or(hours.job);
        }
        Self { jobs: jobs.to_vec(), supply: supply.clone(), plan, hours, cost, assumptions }
    }

    /// Every charge is placed.
    pub fn is_whole(&self) -> bool {
        matches!(self.plan.plan().status, Status::Proved | Status::Bounded)
    }

    /// How many of its cylinders aren't on hand.
    pub fn hired(&self) -> usize {
        let used = |id| self.plan.plan().loads.iter().any(|load| load.cylinder == id);
        self.supply.hired.iter().filter(|hired| used(hired.id.clone())).count()
    }
}

/// A way to do all of the work. It has no other way to be made than with everything that it assumes.
#[derive(Debug, Clone)]
pub struct Way {
    /// What it is made of, in the order of their first jobs.
    pub pools: Vec<Pool>,
    /// Hours of every job, in the order of the work.
    pub hours: Vec<Hours>,
    /// Cost; `None` where no file states a currency.
    pub cost: Option<Cost>,
    /// Everything assumed.
    pub assumptions: Vec<String>,
}

impl Way {
    /// The way that these pools are, which have every job once; `None` without any.
    pub fn of(mut pools: Vec<Pool>) -> Option<Self> {
        pools.first()?;
        pools.sort_by_key(|pool| pool.jobs.first().copied());
        let mut hours: Vec<Hours> = pools.iter().flat_map(|pool| pool.hours.clone()).collect();
        hours.sort_by_key(|hours| hours.job);
        let costs: Option<Vec<&Cost>> = pools.iter().map(|pool| pool.cost.as_ref()).collect();
        let cost = costs.and_then(|costs| Cost::together(&costs));
        let mut assumptions: Vec<String> = Vec::new();
        for text in pools.iter().flat_map(|pool| &pool.assumptions) {
            if !assumptions.contains(text) {
                assumptions.push(text.clone());
            }
        }
        assumptions.extend(general(hours.len() > 1));
        Some(Self { pools, hours, cost, assumptions })
    }

    /// Every charge is placed.
    pub fn is_whole(&self) -> bool {
        self.pools.iter().all(Pool::is_whole)
    }

    /// The status of the plan that is worst off.
    pub fn status(&self) -> Status {
        let place = |status: &Status| match status {
            Status::Proved => 0,
            Status::Bounded => 1,
            Status::Undecided => 2,
            Status::Short => 3,
        };
        self.pools.iter().map(|pool| pool.plan.plan().status).max_by_key(place).unwrap_or(Status::Undecided)
    }

    /// How many cylinders it fills.
    pub fn cylinders(&self) -> usize {
        self.pools.iter().map(|pool| pool.plan.plan().totals.cylinders).sum()
    }

    /// What it is compared by with others, less being better: whether a charge is left over, cylinders, the heaviest lift,
    /// cylinders that aren't on hand, pieces without a price, the likely cost, hours and heavy ways.
    pub fn figures(&self) -> [Decimal; 8] {
        let heaviest = self.pools.iter().map(|pool| pool.plan.plan().totals.heaviest).max().unwrap_or(0);
        let cost = self.cost.as_ref();
        let heavy: usize = self.hours.iter().map(|hours| hours.heavy).sum();
        [
            usize::from(!self.is_whole()).into(),
            self.cylinders().into(),
            // Where one person carries everything, a little lighter changes nothing.
            if heavy == 0 { Decimal::ZERO } else { heaviest.into() },
            self.hired().into(),
            cost.map_or(0, Cost::pieces_unpriced).into(),
            cost.map_or(Decimal::ZERO, |cost| cost.total.likely.amount()),
            self.hours.iter().map(|hours| hours.elapsed.likely).sum(),
            heavy.into(),
        ]
    }

    /// How many of them aren't on hand.
    pub fn hired(&self) -> usize {
        self.pools.iter().map(Pool::hired).sum()
    }
}
