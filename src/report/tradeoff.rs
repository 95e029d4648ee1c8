//! Cylinders against the heaviest lift as a report: one row for each number of cylinders worth having.

use serde::Serialize;

use super::quote::{clock, grouped};
use super::{Block, Report, ShownIn, Table, as_drawn, name, number};
use crate::audit::Audited;
use crate::estimate::{Cost, Pool};
use crate::job::Work;
use crate::plan::{Number, Plan, Reading, Status};
use crate::problem::SkippedRow;
use crate::quantity::{Decimal, Division};

/// The trade-off of a job.
#[derive(Debug, Serialize)]
pub struct TradeoffReport {
    format: &'static str,
    jobs: Vec<String>,
    unit: &'static str,
    division: Number,
    fits: bool,
    /// What costs are in, where the files state prices in one currency.
    currency: Option<String>,
    points: Vec<Point>,
    /// Some lot has several systems, so that hoses are changed.
    #[serde(skip)]
    shared: bool,
    /// With the last point one person carries everything: more cylinders change nothing but the time.
    ends_light: bool,
    skipped: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Point {
    cylinders: usize,
    heaviest: Reading,
    carried: Reading,
    /// Hose connections: a system into a cylinder.
    pours: usize,
    spare: Reading,
    /// Lifts over what one person lifts; `None` where the job doesn't say.
    two_persons: Option<usize>,
    status: &'static str,
    /// Whether `plan` makes this one.
    plan: bool,
    #[serde(flatten)]
    work: Option<PointWork>,
}

/// The hours and the cost of a point, as a quote has them.
#[derive(Debug, Serialize)]
struct PointWork {
    /// Ways of a cylinder, up or down, that take more than one person.
    heavy_ways: usize,
    /// From leaving to coming back, of all jobs, likely.
    elapsed_minutes: String,
    /// Of all people, likely.
    crew_minutes: String,
    /// Likely, without what has no price.
    cost: Option<String>,
    /// Pieces that have none.
    unpriced: usize,
    #[serde(skip)]
    elapsed: String,
    #[serde(skip)]
    crew: String,
}

impl TradeoffReport {
    /// A report of these plans, the one with the fewest cylinders first.
    pub fn new(work: &Work, plans: &[Audited], skipped: &[SkippedRow]) -> Self {
        let plans: Vec<&Plan> = plans.iter().map(Audited::plan).collect();
        let fits = plans.iter().all(|plan| matches!(plan.status, Status::Proved | Status::Bounded));
        let one_person = work.jobs().iter().filter_map(|job| job.one_person).min();
        let division = work.division();
        let point = |(index, plan): (usize, &&Plan)| Point {
            cylinders: plan.totals.cylinders,
            heaviest: Reading::new(division, plan.totals.heaviest),
            carried: Reading::new(division, plan.totals.carried),
            pours: plan.totals.pours,
            spare: Reading::new(division, plan.lots.iter().map(|lot| lot.spare).sum()),
            two_persons: one_person
                .map(|limit| plan.loads.iter().filter(|load| division.weight(load.stop) > limit).count()),
            status: plan.status.name(),
            plan: index == 0,
            work: None,
        };
        Self {
            format: "chargesplit-tradeoff/1",
            jobs: work.jobs().iter().map(|job| job.name.clone()).collect(),
            unit: division.unit().number_name(),
            division: Number(division.number(1)),
            fits,
            currency: None,
            ends_light: false,
            shared: work.lots().iter().any(|lot| lot.parts.len() > 1),
            points: if fits { plans.iter().enumerate().map(point).collect() } else { Vec::new() },
            skipped: super::skipped(skipped),
        }
    }
}

impl TradeoffReport {
    /// The same with hours and cost, from the same plans in the same order; it ends where one person carries everything, if
    /// every job says what that is.
    #[must_use]
    pub fn with_hours(mut self, work: &Work, pools: &[Pool]) -> Self {
        let stated = work.jobs().iter().all(|job| job.one_person.is_some());
        let heavy = |pool: &Pool| pool.hours.iter().map(|hours| hours.heavy).sum::<usize>();
        for (point, pool) in self.points.iter_mut().zip(pools) {
            let elapsed = pool.hours.iter().map(|hours| hours.elapsed.likely).sum::<Decimal>();
            let crew = pool.hours.iter().map(|hours| hours.crew.likely).sum::<Decimal>();
            let cost = pool.cost.as_ref();
            point.work = Some(PointWork {
                heavy_ways: heavy(pool),
                elapsed_minutes: elapsed.normalize().to_string(),
                crew_minutes: crew.normalize().to_string(),
                cost: cost.map(|cost| cost.total.likely.to_string()),
                unpriced: cost.map_or(0, Cost::pieces_unpriced),
                elapsed: clock(elapsed),
                crew: clock(crew),
            });
        }
        if let Some(light) = pools.iter().position(|pool| stated && heavy(pool) == 0) {
            self.ends_light = light + 1 < self.points.len();
            self.points.truncate(light + 1);
        }
        self.currency = pools.first().and_then(|pool| Some(pool.cost.as_ref()?.currency.clone()));
        self
    }

    /// Cylinders and heaviest lift of every point, the fewest first.
    pub fn heaviest_by_cylinders(&self) -> Vec<(usize, Reading)> {
        self.points.iter().map(|point| (point.cylinders, point.heaviest)).collect()
    }
}

impl Report for TradeoffReport {
    fn blocks(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Heading(self.jobs.join(" + "))];
        blocks.extend(super::skipped_blocks(&self.skipped));
        if !self.fits {
            blocks.push(Block::Note("NOT ENOUGH cylinders, or no plan in the time: `plan` says more.".into()));
            return blocks;
        }
        let priced = self.currency.is_some();
        let proved = self.points.iter().all(|point| point.status == Status::Proved.name());
        let mut columns = vec![number("cylinders"), name("")];
        columns.extend(["heaviest", "all lifts"].map(number));
        columns.extend(self.shared.then(|| number("hoses")));
        columns.extend(["two-person", "hours", "work"].map(number));
        columns.extend(priced.then(|| number("cost")));
        columns.extend((!proved).then(|| name("status")));
        let row = |point: &Point| {
            let work = point.work.as_ref();
            let or_none = |text: Option<String>| text.unwrap_or_else(|| "-".into());
            let cost = || work.and_then(|work| Some(grouped(work.cost.as_ref()?, self.currency.as_ref()?)));
            let mut row = vec![
                point.cylinders.to_string(),
                if point.plan { "plan".into() } else { String::new() },
                point.heaviest.bare(),
                point.carried.bare(),
            ];
            row.extend(self.shared.then(|| point.pours.to_string()));
            row.extend([
                or_none(point.two_persons.map(|count| count.to_string())),
                or_none(work.map(|work| work.elapsed.clone())),
                or_none(work.map(|work| work.crew.clone())),
            ]);
            row.extend(priced.then(|| or_none(cost())));
            row.extend((!proved).then(|| point.status.into()));
            row
        };
        blocks.push(Block::Table(Table { columns, rows: self.points.iter().map(row).collect() }));
        let more = if proved { "don't make" } else { "may make (not all is proved)" };
        let end = if self.ends_light {
            "With the last of these one person carries everything: more cylinders change nothing but the time."
                .to_owned()
        } else {
            format!("More cylinders than these {more} the heaviest lift lighter.")
        };
        let currency = self.currency.as_ref().map_or_else(String::new, |currency| format!(", costs in {currency}"));
        blocks.push(Block::Note(format!(
            "Weights in {}{currency}; hours from leaving to coming back and the work of all people, likely, as `quote` figures \
             them. {end}",
            as_drawn(self.unit)
        )));
        let unpriced = self.points.iter().filter_map(|point| point.work.as_ref()).map(|work| work.unpriced).max();
        if priced && unpriced.is_some_and(|unpriced| unpriced > 0) {
            blocks.push(Block::Danger("NOT all of it is priced: `quote` says what isn't.".into()));
        }
        blocks
    }
}

impl ShownIn for TradeoffReport {
    fn show_in(&mut self, to: Division) {
        (self.unit, self.division) = (to.unit().number_name(), Number(to.number(1)));
        for point in &mut self.points {
            point.heaviest = point.heaviest.up(to);
            point.carried = point.carried.up(to);
            point.spare = point.spare.down(to);
        }
    }
}
