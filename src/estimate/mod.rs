//! Hours and cost of a plan, for work not yet won: every figure with where it comes from.
//!
//! It takes a plan that has passed the audit, what the job files say under `labour` and `prices`, and adds up. It
//! chooses no cylinders, knows no files, and invents neither a price nor a currency: what has no price is named as
//! unpriced. Hours that a file doesn't state are taken from [`FIGURES`] and called assumed.

mod assumptions;
mod cost;
mod figures;
mod hire;
mod hours;
mod offer;
mod pool;
mod range;
mod split;
mod supply;

use assumptions::{general, of_pool};
pub use cost::{Cost, CostLine, Unpriced, cost};
pub use figures::{FIGURES, Figure, FigureLine, FigureUnit, NO_SOURCE};
pub use hours::{Hours, Piece, hours};
pub use offer::{
    At, ExtraPrices, Offer, OfferTerms, OfferedBy, OfferedTo, OffersDiffer, Price, PriceKind, SitePrice, SystemPrice,
    Valid, price,
};
pub use pool::{Pool, Way};
pub use range::Range;
pub use split::{Want, best, groups, is_better, joined, partitions};
pub use supply::{Choice, Hired, Source, Supply, supply};

use crate::job::System;
use crate::quantity::{Decimal, Percent, Unit, Weight};

/// Where a figure comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// The job file.
    File,
    /// Nobody: common practice, no source.
    Assumed,
}

impl Origin {
    /// Its word in reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::File => "the file",
            Self::Assumed => "assumed",
        }
    }
}

/// What a job file says under `labour`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Labour {
    /// Minutes of a working day, travel included.
    pub day: Option<Decimal>,
    /// People on the job.
    pub crew: Option<u32>,
    /// Recovery machines that work side by side.
    pub machines: Option<u32>,
    /// Floors between the machines and the truck; level ground counts as one.
    pub floors: Option<u32>,
    /// Liquid that the machine recovers in a minute, by its plate (AHRI 740).
    pub liquid_rate: Option<Weight>,
    /// Vapour that it recovers in a minute, by its plate (AHRI 740).
    pub vapour_rate: Option<Weight>,
    /// The figures of [`FIGURES`] that it states.
    pub figures: Vec<(Figure, Range<Decimal>)>,
}

/// A price for a weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PerWeight {
    /// Money for one of `unit`.
    pub price: Range<Decimal>,
    /// Pounds or kilograms.
    pub unit: Unit,
}

/// What a reclaimer asks for a refrigerant, or gives for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Reclaim {
    /// The refrigerant, as its table or job file spells it.
    pub refrigerant: String,
    /// Whether the price is paid to us.
    pub credit: bool,
    /// The price.
    pub price: PerWeight,
}

/// What the hire of a kind of cylinder costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Hire {
    /// The kind, by its name in the stock.
    pub kind: String,
    /// Money for one cylinder and period.
    pub price: Option<Range<Decimal>>,
    /// Days of a period; begun ones count.
    pub days: u32,
    /// Money left with the owner of a cylinder until it comes back.
    pub deposit: Option<Range<Decimal>>,
}

/// When hours count more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Overtime {
    /// Minutes of a day after which they do.
    pub after: Decimal,
    /// What an hour then costs, in per cent of the usual rate; at least 100.
    pub rate: Percent,
}

/// What a job file says under `prices`, and of hire in its stock. All money is in `currency`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Prices {
    /// The currency, as the file writes it; there is one as soon as there is any price.
    pub currency: Option<String>,
    /// For a person and hour.
    pub labour: Option<Range<Decimal>>,
    /// When hours count more.
    pub overtime: Option<Overtime>,
    /// What work out of hours costs beside, in per cent of the labour.
    pub after_hours: Option<Percent>,
    /// For a machine and job.
    pub machine: Option<Range<Decimal>>,
    /// For a job.
    pub freight: Option<Range<Decimal>>,
    /// For a system.
    pub oil_disposal: Option<Range<Decimal>>,
    /// For a job of which cylinders go by a hoist; they aren't carried then.
    pub hoist: Option<Range<Decimal>>,
    /// By refrigerant.
    pub reclaim: Vec<Reclaim>,
    /// For what is mixed or burnt, or is to be destroyed.
    pub disposal: Option<PerWeight>,
    /// By kind of cylinder.
    pub hire: Vec<Hire>,
    /// Days for which cylinders are hired.
    pub hire_days: Option<Range<Decimal>>,
    /// On the sum of the costs, in per cent.
    pub contingency: Option<Percent>,
}

impl Prices {
    /// These, and where they don't say something, the others, which are in the same currency.
    pub fn over(mut self, other: &Self) -> Self {
        let own = |refrigerant: &String| self.reclaim.iter().any(|reclaim| reclaim.refrigerant == *refrigerant);
        let reclaim: Vec<_> = other.reclaim.iter().filter(|price| !own(&price.refrigerant)).cloned().collect();
        let own = |kind: &String| self.hire.iter().any(|hire| hire.kind == *kind);
        let hire: Vec<_> = other.hire.iter().filter(|price| !own(&price.kind)).cloned().collect();
        self.reclaim.extend(reclaim);
        self.hire.extend(hire);
        Self {
            currency: self.currency.or_else(|| other.currency.clone()),
            labour: self.labour.or(other.labour),
            overtime: self.overtime.or(other.overtime),
            after_hours: self.after_hours.or(other.after_hours),
            machine: self.machine.or(other.machine),
            freight: self.freight.or(other.freight),
            oil_disposal: self.oil_disposal.or(other.oil_disposal),
            hoist: self.hoist.or(other.hoist),
            reclaim: self.reclaim,
            disposal: self.disposal.or(other.disposal),
            hire: self.hire,
            hire_days: self.hire_days.or(other.hire_days),
            contingency: self.contingency.or(other.contingency),
        }
    }
}

/// What one job file says for a quote.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Terms {
    /// Hours.
    pub labour: Labour,
    /// Money.
    pub prices: Prices,
    /// The offer.
    pub offer: Offer,
}

/// Minutes of a working day where a file doesn't say: 8 h. Common practice, no source.
pub const USUAL_DAY: u32 = 480;
/// The people of a job where its file doesn't say: 1. Common practice, no source.
pub const USUAL_CREW: u32 = 1;
/// The machines of a job where its file doesn't say: 1. Common practice, no source.
pub const USUAL_MACHINES: u32 = 1;
/// The floors of a job where its file doesn't say: 1, level ground.
pub const USUAL_FLOORS: u32 = 1;

impl Labour {
    /// These, and where they don't say something, the others.
    pub fn over(mut self, other: &Self) -> Self {
        let stated = |figure| self.figures.iter().any(|(own, _)| *own == figure);
        let more: Vec<_> = other.figures.iter().filter(|(figure, _)| !stated(*figure)).copied().collect();
        self.figures.extend(more);
        Self {
            day: self.day.or(other.day),
            crew: self.crew.or(other.crew),
            machines: self.machines.or(other.machines),
            floors: self.floors.or(other.floors),
            liquid_rate: self.liquid_rate.or(other.liquid_rate),
            vapour_rate: self.vapour_rate.or(other.vapour_rate),
            figures: self.figures,
        }
    }

    /// A figure with its origin.
    pub fn figure(&self, figure: Figure) -> (Range<Decimal>, Origin) {
        let stated = self.figures.iter().find(|(of, _)| *of == figure);
        stated.map_or_else(|| (figure.line().usual(), Origin::Assumed), |(_, range)| (*range, Origin::File))
    }

    /// Minutes of a working day.
    pub fn day(&self) -> (Decimal, Origin) {
        self.day.map_or_else(|| (Decimal::from(USUAL_DAY), Origin::Assumed), |day| (day, Origin::File))
    }

    /// People on the job.
    pub fn crew(&self) -> u32 {
        self.crew.unwrap_or(USUAL_CREW).max(1)
    }

    /// Machines side by side.
    pub fn machines(&self) -> u32 {
        self.machines.unwrap_or(USUAL_MACHINES).max(1)
    }

    /// Floors that a cylinder is carried; at least one.
    pub fn floors(&self) -> u32 {
        self.floors.unwrap_or(USUAL_FLOORS).max(1)
    }

    /// Liquid in a minute: 5 lb where the file doesn't say. Common practice, no source.
    pub fn liquid_rate(&self) -> (Weight, Origin) {
        let usual = (Weight::pounds(Decimal::from(5)), Origin::Assumed);
        self.liquid_rate.map_or(usual, |rate| (rate, Origin::File))
    }

    /// Vapour in a minute: 0.5 lb where the file doesn't say, and never more than liquid. Common practice, no source.
    pub fn vapour_rate(&self) -> (Weight, Origin) {
        let usual = (Weight::pounds(Decimal::new(5, 1)).min(self.liquid_rate().0), Origin::Assumed);
        self.vapour_rate.map_or(usual, |rate| (rate, Origin::File))
    }
}

/// What a system holds, low, likely and high: the least that is stated, the middle between that and the most, and what is
/// planned for, the allowance with it. Exact.
pub fn charge_of(system: &System) -> Range<Weight> {
    let (least, most) = (system.least_charge(), system.charge_by_records());
    Range { low: least, likely: (least + most).times(Decimal::new(5, 1)), high: system.planned_charge() }
}

/// Minutes in words: `45 min`, `6 h 5 min`.
pub fn hours_and_minutes(minutes: Decimal) -> String {
    let sixty = Decimal::from(60);
    let hours = (minutes / sixty).floor();
    let rest = (minutes - hours * sixty).normalize();
    if hours.is_zero() { format!("{rest} min") } else { format!("{hours} h {rest} min") }
}
