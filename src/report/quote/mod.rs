//! A quote as a report: the struct is its JSON, `blocks` its text, `csv` its spreadsheet, `customer` its page for the
//! customer. All four carry every assumption.

mod blocks;
mod csv;
mod customer;

use serde::Serialize;

use super::ShownIn;
use crate::cylinder::Id;
use crate::estimate::{self, Offer, Piece, Range};
use crate::plan::{Number, Plan, Reading, Reason, Status};
use crate::problem::SkippedRow;
use crate::quantity::{Decimal, Division, Marks, Money};

pub use csv::to_csv;
pub use customer::CustomerReport;

/// What a quote's report is made from.
#[derive(Debug)]
pub struct Quoted<'a> {
    /// The ways that were looked at, at least one.
    pub offers: &'a [Offer],
    /// The one that is quoted, by its position.
    pub chosen: usize,
    /// Whether it was chosen by its cost.
    pub by_cost: bool,
    /// Rows of the yard that couldn't be read.
    pub skipped: &'a [SkippedRow],
}

/// A quote.
#[derive(Debug, Serialize)]
pub struct QuoteReport {
    format: &'static str,
    jobs: Vec<String>,
    unit: &'static str,
    division: Number,
    status: &'static str,
    currency: Option<String>,
    cylinders: Vec<Cylinder>,
    missing: Vec<String>,
    hours: Vec<Hours>,
    cost: Option<Cost>,
    ways: Vec<Way>,
    by_cost: bool,
    /// How cylinders are carried, and where a crew is too small for that.
    warnings: Vec<Reason>,
    assumptions: Vec<String>,
    skipped: Vec<String>,
    #[serde(skip)]
    status_drawn: Status,
}

#[derive(Debug, Serialize)]
struct Cylinder {
    cylinder: String,
    from: &'static str,
    lot: String,
    now: Reading,
    add: Reading,
    stop: Reading,
}

/// A figure from low over likely to high.
#[derive(Debug, Clone, Serialize)]
struct Three {
    low: String,
    likely: String,
    high: String,
}

#[derive(Debug, Serialize)]
struct Hours {
    job: String,
    people: u32,
    /// Ways of a cylinder, up or down, over what one person lifts.
    heavy_ways: usize,
    pieces: Vec<PieceLine>,
    systems: Vec<SystemHours>,
    elapsed_minutes: Three,
    crew_minutes: Three,
    #[serde(skip)]
    elapsed: Three,
    #[serde(skip)]
    crew: Three,
}

#[derive(Debug, Serialize)]
struct SystemHours {
    system: String,
    minutes: Three,
    #[serde(skip)]
    drawn: Three,
}

#[derive(Debug, Serialize)]
struct PieceLine {
    what: &'static str,
    system: Option<String>,
    minutes: Three,
    basis: String,
    origin: &'static str,
    #[serde(skip)]
    drawn: Three,
}

#[derive(Debug, Serialize)]
struct Cost {
    lines: Vec<CostLine>,
    total: Three,
    deposits: Option<Three>,
    unpriced: Vec<String>,
}

#[derive(Debug, Serialize)]
struct CostLine {
    what: String,
    job: String,
    basis: String,
    amount: Three,
    origin: &'static str,
}

/// A way to do it that was looked at.
#[derive(Debug, Serialize)]
struct Way {
    chosen: bool,
    cylinders: usize,
    hired: usize,
    heaviest: Reading,
    heavy_ways: usize,
    elapsed_minutes: String,
    likely: Option<String>,
    unpriced: usize,
    status: &'static str,
    #[serde(skip)]
    elapsed: String,
}

impl QuoteReport {
    /// A report of this quote; `None` without any offer.
    pub fn new(quoted: &Quoted) -> Option<Self> {
        let offer = quoted.offers.get(quoted.chosen)?;
        let plan = offer.plan.plan();
        let reading = |marks: Marks| Reading::new(plan.division, marks);
        let job = |index: usize| plan.jobs.get(index).cloned().unwrap_or_default();
        let line = |line: &estimate::CostLine| CostLine {
            what: line.what.clone(),
            job: job(line.job),
            basis: line.basis.clone(),
            amount: money(line.amount),
            origin: line.origin.name(),
        };
        let cost = offer.cost.as_ref().map(|cost| Cost {
            lines: cost.lines.iter().chain(&cost.contingency).map(line).collect(),
            total: money(cost.total),
            deposits: (cost.deposits.high != Money::ZERO).then(|| money(cost.deposits)),
            unpriced: cost.unpriced.clone(),
        });
        Some(Self {
            format: "chargesplit-quote/1",
            jobs: plan.jobs.clone(),
            unit: plan.division.unit().number_name(),
            division: Number(plan.division.number(1)),
            status: plan.status.name(),
            currency: offer.cost.as_ref().map(|cost| cost.currency.clone()),
            cylinders: plan
                .loads
                .iter()
                .map(|load| Cylinder {
                    cylinder: load.cylinder.to_string(),
                    from: origin_of(offer, &load.cylinder),
                    lot: load.lot.clone(),
                    now: reading(load.now),
                    add: reading(load.add),
                    stop: reading(load.stop),
                })
                .collect(),
            missing: super::missing(plan, offer.supply.hired.is_empty()),
            hours: offer.hours.iter().map(hours).collect(),
            cost,
            ways: quoted.offers.iter().enumerate().map(|(index, way)| self::way(way, index == quoted.chosen)).collect(),
            by_cost: quoted.by_cost,
            warnings: carrying(plan),
            assumptions: offer.assumptions.clone(),
            skipped: super::skipped(quoted.skipped),
            status_drawn: plan.status,
        })
    }
}

impl ShownIn for QuoteReport {
    fn show_in(&mut self, to: Division) {
        (self.unit, self.division) = (to.unit().number_name(), Number(to.number(1)));
        for one in &mut self.cylinders {
            (one.now, one.add, one.stop) = (one.now.up(to), one.add.up(to), one.stop.down(to));
        }
        for way in &mut self.ways {
            way.heaviest = way.heaviest.up(to);
        }
    }
}

/// What the plan says of carrying; what one person is taken to lift stands among the assumptions.
fn carrying(plan: &Plan) -> Vec<Reason> {
    let said = plan.warnings.iter().filter(|warning| ["crew", "lift"].contains(&warning.code.as_str()));
    said.cloned().collect()
}

/// Where a cylinder of the plan comes from.
fn origin_of(offer: &Offer, id: &Id) -> &'static str {
    match offer.supply.hired.iter().find(|hired| hired.id == *id) {
        None => "yard",
        Some(hired) if hired.job.is_some() => "stock",
        Some(_) => "trade size",
    }
}

fn money(range: Range<Money>) -> Three {
    let [low, likely, high] = [range.low, range.likely, range.high].map(|money| money.to_string());
    Three { low, likely, high }
}

fn minutes(range: Range<Decimal>) -> Three {
    let [low, likely, high] = [range.low, range.likely, range.high].map(|minutes| minutes.normalize().to_string());
    Three { low, likely, high }
}

/// Hours and minutes as a column has them: `1:05`.
fn clock(minutes: Decimal) -> String {
    let sixty = Decimal::from(60);
    let hours = (minutes / sixty).floor();
    let rest = (minutes - hours * sixty).normalize();
    if rest < Decimal::TEN { format!("{hours}:0{rest}") } else { format!("{hours}:{rest}") }
}

fn clocks(range: Range<Decimal>) -> Three {
    let [low, likely, high] = [range.low, range.likely, range.high].map(clock);
    Three { low, likely, high }
}

fn hours(hours: &estimate::Hours) -> Hours {
    let piece = |piece: &Piece| PieceLine {
        what: piece.what,
        system: piece.system.clone(),
        minutes: minutes(piece.minutes),
        basis: piece.basis.clone(),
        origin: piece.origin.name(),
        drawn: clocks(piece.minutes),
    };
    let system = |(system, taken): &(String, Range<Decimal>)| SystemHours {
        system: system.clone(),
        minutes: minutes(*taken),
        drawn: clocks(*taken),
    };
    Hours {
        job: hours.name.clone(),
        people: hours.people,
        heavy_ways: hours.heavy,
        pieces: hours.pieces.iter().map(piece).collect(),
        systems: hours.systems.iter().map(system).collect(),
        elapsed_minutes: minutes(hours.elapsed),
        crew_minutes: minutes(hours.crew),
        elapsed: clocks(hours.elapsed),
        crew: clocks(hours.crew),
    }
}

fn way(offer: &Offer, chosen: bool) -> Way {
    let plan = offer.plan.plan();
    let elapsed: Range<Decimal> = offer.hours.iter().map(|hours| hours.elapsed).sum();
    let cost = offer.cost.as_ref();
    Way {
        chosen,
        cylinders: plan.totals.cylinders,
        hired: plan.loads.iter().filter(|load| origin_of(offer, &load.cylinder) != "yard").count(),
        heaviest: Reading::new(plan.division, plan.totals.heaviest),
        heavy_ways: offer.hours.iter().map(|hours| hours.heavy).sum(),
        elapsed_minutes: elapsed.likely.normalize().to_string(),
        likely: cost.map(|cost| cost.total.likely.to_string()),
        unpriced: cost.map_or(0, |cost| cost.unpriced.len()),
        status: plan.status.name(),
        elapsed: clock(elapsed.likely),
    }
}
