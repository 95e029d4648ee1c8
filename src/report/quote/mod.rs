//! A quote as a report: the struct is its JSON, `blocks` its text, `csv` its spreadsheet, and all three carry every
//! assumption. `customer` is the page for the customer, which says what is promised and nothing of how it was figured.

mod blocks;
mod csv;
mod customer;
mod money;
mod price;

use serde::Serialize;

use super::ShownIn;
use crate::cylinder::Id;
use crate::door::Quoted;
use crate::estimate::{self, Offer, Piece, Pool, Price, Range, Want, Way};
use crate::job::Work;
use crate::plan::{Number, Plan, Reading, Reason, Status};
use crate::planner::visits;
use crate::problem::SkippedRow;
use crate::quantity::{Decimal, Division, Marks, Money};
use crate::transport::over_on_the_road;

pub use csv::to_csv;
pub use customer::CustomerReport;
pub(in crate::report) use customer::{BLANK, SIGNED};
pub(in crate::report) use money::grouped;
use price::PriceShown;

/// A quote.
#[derive(Debug, Serialize)]
pub struct QuoteReport {
    format: &'static str,
    jobs: Vec<String>,
    unit: &'static str,
    division: Number,
    status: &'static str,
    currency: Option<String>,
    sites: Vec<Site>,
    cylinders: Vec<Cylinder>,
    missing: Vec<String>,
    hours: Vec<Hours>,
    cost: Option<Cost>,
    /// The price by the `offer` of the files, where they state one.
    price: Option<PriceShown>,
    /// What the customer's page still lacks: prices, and keys of `offer`.
    open: Vec<String>,
    ways: Vec<LookedAt>,
    by_cost: bool,
    /// What was compared, where there is more than one job.
    compared: Option<String>,
    /// How cylinders are carried, and where a crew is too small for that.
    warnings: Vec<Reason>,
    assumptions: Vec<String>,
    skipped: Vec<String>,
    #[serde(skip)]
    status_drawn: Status,
}

/// One job in the sum.
#[derive(Debug, Serialize)]
struct Site {
    job: String,
    /// Cylinders that are filled there; one that several sites fill counts at each.
    cylinders: usize,
    days: Three,
    crew_minutes: Three,
    /// What it costs, credits left aside.
    cost: Option<Three>,
    credits: Option<Three>,
    /// Filled cylinders on the fullest of as many trips as there are likely days.
    trip: Reading,
    /// The limits of the road that this trip is over.
    road: Vec<Road>,
    #[serde(skip)]
    crew: Three,
}

#[derive(Debug, Serialize)]
struct Road {
    code: &'static str,
    source: &'static str,
    text: &'static str,
}

#[derive(Debug, Serialize)]
struct Cylinder {
    cylinder: String,
    from: &'static str,
    lot: String,
    /// The jobs that fill it.
    jobs: Vec<String>,
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
    days: Three,
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
    /// What a reclaimer gives, once it is weighed and analysed.
    credit: bool,
    origin: &'static str,
}

/// A way to do it that was looked at.
#[derive(Debug, Serialize)]
struct LookedAt {
    chosen: bool,
    /// Plans that it is made of: jobs planned together share cylinders.
    plans: usize,
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
    /// A report of this quote for this work; `None` without any way to do it.
    pub fn new(
        work: &Work,
        quoted: &Quoted,
        want: Want,
        offer: &Offer,
        price: Option<&Price>,
        skipped: &[SkippedRow],
    ) -> Option<Self> {
        let way = quoted.ways.get(quoted.chosen)?;
        let names: Vec<String> = work.jobs().iter().map(|job| job.name.clone()).collect();
        let job = |index: usize| names.get(index).cloned().unwrap_or_default();
        let line = |line: &estimate::CostLine| CostLine {
            what: line.what.clone(),
            job: job(line.job),
            basis: line.basis.clone(),
            amount: money(line.amount),
            credit: line.is_credit,
            origin: line.origin.name(),
        };
        let cost = way.cost.as_ref().map(|cost| Cost {
            lines: cost.lines.iter().chain(&cost.contingency).map(line).collect(),
            total: money(cost.total),
            deposits: (cost.deposits.high != Money::ZERO).then(|| money(cost.deposits)),
            unpriced: cost.unpriced_in_words(),
        });
        let plans = || way.pools.iter().map(|pool| pool.plan.plan());
        Some(Self {
            format: "chargesplit-quote/1",
            unit: work.division().unit().number_name(),
            division: Number(work.division().number(1)),
            status: way.status().name(),
            currency: way.cost.as_ref().map(|cost| cost.currency.clone()),
            sites: way.hours.iter().map(|hours| site(work, way, hours)).collect(),
            cylinders: way.pools.iter().flat_map(|pool| cylinders(pool, &names)).collect(),
            missing: way
                .pools
                .iter()
                .flat_map(|pool| super::missing(pool.plan.plan(), pool.supply.hired.is_empty()))
                .collect(),
            hours: way.hours.iter().map(hours).collect(),
            cost,
            price: price.filter(|_| *offer != Offer::default()).map(|price| PriceShown::new(work, offer, price)),
            open: price::open(way, offer),
            ways: (quoted.ways.iter().enumerate())
                .map(|(index, way)| looked_at(way, work.division(), index == quoted.chosen))
                .collect(),
            by_cost: want == Want::Cheapest,
            compared: (names.len() > 1).then(|| compared(quoted, names.len())),
            warnings: plans().flat_map(|plan| carrying(plan, names.len() > 1)).collect(),
            assumptions: way.assumptions.clone(),
            skipped: super::skipped(skipped),
            status_drawn: way.status(),
            jobs: names,
        })
    }
}

impl QuoteReport {
    /// What the customer's page still lacks.
    pub fn open(&self) -> &[String] {
        &self.open
    }
}

/// What was compared.
fn compared(quoted: &Quoted, jobs: usize) -> String {
    let plans = quoted.ways.get(quoted.chosen).map_or(1, |way| way.pools.len());
    let chosen = match plans {
        1 => "all sites in one plan".into(),
        plans if plans == jobs => "a plan for each site".into(),
        plans => format!("{plans} plans, each for some of the sites"),
    };
    let of = if quoted.every_group {
        "every way to split the sites into plans was looked at".to_owned()
    } else {
        format!("{} groups of sites were looked at, not every one; another split may be better", quoted.groups)
    };
    format!("Quoted is {chosen}: {of}.")
}

fn site(work: &Work, way: &Way, hours: &estimate::Hours) -> Site {
    let trip = work.division().weight(hours.trip);
    let cost = way.cost.as_ref();
    let credits = cost.map(|cost| cost.credits(hours.job)).filter(|credits| *credits != Range::default());
    let fills = |pool: &Pool| -> usize {
        let visits = visits(&pool.supply.work, pool.plan.plan());
        let here = visits.iter().filter(|visit| pool.jobs.get(visit.job) == Some(&hours.job));
        here.map(|visit| visit.fills.len()).sum()
    };
    Site {
        job: hours.name.clone(),
        cylinders: way.pools.iter().map(fills).sum(),
        days: minutes(hours.days),
        crew_minutes: minutes(hours.crew),
        cost: cost.map(|cost| money(cost.before_credits(hours.job))),
        credits: credits.map(money),
        trip: Reading::new(work.division(), hours.trip),
        road: over_on_the_road(trip)
            .into_iter()
            .map(|over| Road { code: over.code, source: over.source, text: over.text })
            .collect(),
        crew: clocks(hours.crew),
    }
}

fn cylinders(pool: &Pool, names: &[String]) -> Vec<Cylinder> {
    let plan = pool.plan.plan();
    let reading = |marks: Marks| Reading::new(plan.division, marks);
    let visits = visits(&pool.supply.work, plan);
    let filled_at = |load: usize| {
        let here = visits.iter().filter(|visit| visit.fills.iter().any(|fill| fill.load == load));
        here.filter_map(|visit| names.get(*pool.jobs.get(visit.job)?).cloned()).collect()
    };
    let of = |(index, load): (usize, &crate::plan::Load)| Cylinder {
        cylinder: load.cylinder.to_string(),
        from: origin_of(pool, &load.cylinder),
        lot: load.lot.clone(),
        jobs: filled_at(index),
        now: reading(load.now),
        add: reading(load.add),
        stop: reading(load.stop),
    };
    plan.loads.iter().enumerate().map(of).collect()
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
        for site in &mut self.sites {
            site.trip = site.trip.up(to);
        }
    }
}

/// What the plan says of carrying; what one person is taken to lift stands among the assumptions.
fn carrying(plan: &Plan, several: bool) -> Vec<Reason> {
    let said = plan.warnings.iter().filter(|warning| ["crew", "lift"].contains(&warning.code.as_str()));
    // A plan of several jobs names them itself.
    let alone = plan.jobs.first().filter(|_| several && plan.jobs.len() == 1);
    let of = alone.map_or_else(String::new, |job| format!("{job}: "));
    said.map(|reason| Reason { code: reason.code.clone(), text: format!("{of}{}", reason.text) }).collect()
}

/// Where a cylinder of the plan comes from.
fn origin_of(pool: &Pool, id: &Id) -> &'static str {
    match pool.supply.hired.iter().find(|hired| hired.id == *id) {
        None => "yard",
        Some(hired) if hired.is_trade_size => "trade size",
        Some(_) => "stock",
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
pub(in crate::report) fn clock(minutes: Decimal) -> String {
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
        days: minutes(hours.days),
        crew_minutes: minutes(hours.crew),
        elapsed: clocks(hours.elapsed),
        crew: clocks(hours.crew),
    }
}

fn looked_at(way: &Way, division: Division, chosen: bool) -> LookedAt {
    let elapsed: Range<Decimal> = way.hours.iter().map(|hours| hours.elapsed).sum();
    let cost = way.cost.as_ref();
    let heaviest = way.pools.iter().map(|pool| pool.plan.plan().totals.heaviest).max().unwrap_or(0);
    LookedAt {
        chosen,
        plans: way.pools.len(),
        cylinders: way.cylinders(),
        hired: way.hired(),
        heaviest: Reading::new(division, heaviest),
        heavy_ways: way.hours.iter().map(|hours| hours.heavy).sum(),
        elapsed_minutes: elapsed.likely.normalize().to_string(),
        likely: cost.map(|cost| cost.total.likely.to_string()),
        unpriced: cost.map_or(0, |cost| cost.unpriced_in_words().len()),
        status: way.status().name(),
        elapsed: clock(elapsed.likely),
    }
}
