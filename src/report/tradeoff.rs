//! Cylinders against the heaviest lift as a report: one row for each number of cylinders worth having.

use serde::Serialize;

use super::{Block, Report, ShownIn, Table, as_drawn, name, number, words};
use crate::audit::Audited;
use crate::job::Work;
use crate::plan::{Number, Plan, Reading, Status};
use crate::problem::SkippedRow;
use crate::quantity::Division;

/// Columns of the longest bar.
const BAR: usize = 12;

/// The trade-off of a job.
#[derive(Debug, Serialize)]
pub struct TradeoffReport {
    format: &'static str,
    jobs: Vec<String>,
    unit: &'static str,
    division: Number,
    fits: bool,
    points: Vec<Point>,
    skipped: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Point {
    cylinders: usize,
    heaviest: Reading,
    carried: Reading,
    spare: Reading,
    /// Lifts over what one person lifts; `None` where the job doesn't say.
    two_persons: Option<usize>,
    status: &'static str,
    /// Whether `plan` makes this one.
    plan: bool,
    #[serde(skip)]
    bar: usize,
}

impl TradeoffReport {
    /// A report of these plans, the one with the fewest cylinders first.
    pub fn new(work: &Work, plans: &[Audited], skipped: &[SkippedRow]) -> Self {
        let plans: Vec<&Plan> = plans.iter().map(Audited::plan).collect();
        let fits = plans.iter().all(|plan| matches!(plan.status, Status::Proved | Status::Bounded));
        let heaviest = plans.iter().map(|plan| plan.totals.heaviest).max().unwrap_or(1).max(1);
        let one_person = work.jobs().iter().filter_map(|job| job.one_person).min();
        let division = work.division();
        let point = |(index, plan): (usize, &&Plan)| Point {
            cylinders: plan.totals.cylinders,
            heaviest: Reading::new(division, plan.totals.heaviest),
            carried: Reading::new(division, plan.totals.carried),
            spare: Reading::new(division, plan.lots.iter().map(|lot| lot.spare).sum()),
            two_persons: one_person
                .map(|limit| plan.loads.iter().filter(|load| division.weight(load.stop) > limit).count()),
            status: plan.status.name(),
            plan: index == 0,
            bar: usize::try_from(plan.totals.heaviest * BAR as i64 / heaviest).unwrap_or(0),
        };
        Self {
            format: "chargesplit-tradeoff/1",
            jobs: work.jobs().iter().map(|job| job.name.clone()).collect(),
            unit: division.unit().number_name(),
            division: Number(division.number(1)),
            fits,
            points: if fits { plans.iter().enumerate().map(point).collect() } else { Vec::new() },
            skipped: super::skipped(skipped),
        }
    }
}

impl TradeoffReport {
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
        let weights = ["heaviest", "all lifts", "spare", "two-person"].map(number);
        let columns = [number("cylinders"), words("")].into_iter().chain(weights);
        let columns = columns.chain([name("status"), words("")]).collect();
        let row = |point: &Point| {
            vec![
                point.cylinders.to_string(),
                if point.plan { "plan".into() } else { String::new() },
                point.heaviest.bare(),
                point.carried.bare(),
                point.spare.bare(),
                point.two_persons.map_or_else(|| "-".into(), |count| count.to_string()),
                point.status.into(),
                "#".repeat(point.bar),
            ]
        };
        blocks.push(Block::Table(Table { columns, rows: self.points.iter().map(row).collect() }));
        let proved = self.points.iter().all(|point| point.status == Status::Proved.name());
        let more = if proved { "don't make" } else { "may make (not all is proved)" };
        blocks.push(Block::Note(format!(
            "Weights in {}. More cylinders than these {more} the heaviest lift lighter.",
            as_drawn(self.unit)
        )));
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
