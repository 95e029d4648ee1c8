//! What a file says under `offer`, and the price that follows from it.

use jiff::ToSpan;
use jiff::civil::Date;

use super::{Cost, Hours, Range, Terms, Way, charge_of};
use crate::job::Work;
use crate::quantity::{Decimal, Money, Percent, Unit, Weight};

/// What a price promises.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PriceKind {
    /// This much, up to the weights that are included.
    #[default]
    Firm,
    /// Between two figures.
    Range,
    /// By the hours that it takes.
    Time,
}

impl PriceKind {
    /// Every kind with its word in files.
    pub const ALL: [(Self, &'static str); 3] = [(Self::Firm, "firm"), (Self::Range, "range"), (Self::Time, "time")];

    /// Its word.
    pub const fn name(self) -> &'static str {
        Self::ALL[self as usize].1
    }
}

/// Which figures a price is made from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum At {
    /// The likely ones.
    #[default]
    Likely,
    /// The high ones.
    High,
}

impl At {
    /// Both with their words in files.
    pub const ALL: [(Self, &'static str); 2] = [(Self::Likely, "likely"), (Self::High, "high")];

    /// Its word.
    pub const fn name(self) -> &'static str {
        Self::ALL[self as usize].1
    }

    fn of<T: Copy>(self, range: Range<T>) -> T {
        match self {
            Self::Likely => range.likely,
            Self::High => range.high,
        }
    }
}

/// How long an offer holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Valid {
    /// So many days from its own.
    Days(u16),
    /// Up to this day.
    To(Date),
}

impl Valid {
    /// The last day.
    pub fn last(self, from: Date) -> Date {
        match self {
            Self::Days(days) => from.saturating_add(i64::from(days).days()),
            Self::To(day) => day,
        }
    }
}

/// What is paid only if it happens, as the customer pays it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ExtraPrices {
    /// Refrigerant over what is included, for a pound or kilogram.
    pub over: Option<(Decimal, Unit)>,
    /// Refrigerant that turns out mixed or burnt.
    pub mixed: Option<(Decimal, Unit)>,
    /// An hour of waiting.
    pub waiting: Option<Decimal>,
    /// A stuck valve.
    pub valve: Option<Decimal>,
    /// A further visit.
    pub visit: Option<Decimal>,
}

/// The terms, in the file's words.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OfferTerms {
    /// When and how it is paid.
    pub payment: Option<String>,
    /// Whose the refrigerant is.
    pub refrigerant: Option<String>,
    /// What is given for it.
    pub credit: Option<String>,
    /// What else is agreed.
    pub other: Vec<String>,
}

/// Who offers.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OfferedBy {
    /// The firm.
    pub name: Option<String>,
    /// Its licence.
    pub licence: Option<String>,
    /// Where it is.
    pub address: Option<String>,
}

/// To whom.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OfferedTo {
    /// The customer.
    pub name: Option<String>,
    /// Where the job is.
    pub site: Option<String>,
}

/// What a file says under `offer`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Offer {
    /// What the price promises.
    pub price: Option<PriceKind>,
    /// Which figures it is made from.
    pub at: Option<At>,
    /// Of the price, not of the cost.
    pub margin: Option<Percent>,
    /// On the price.
    pub tax: Option<Percent>,
    /// The price of a site is rounded up to a multiple of this.
    pub round_to: Option<Decimal>,
    /// Its number.
    pub number: Option<String>,
    /// Its day.
    pub date: Option<Date>,
    /// How long it holds.
    pub valid: Option<Valid>,
    /// What is paid only if it happens.
    pub extra: ExtraPrices,
    /// The terms.
    pub terms: OfferTerms,
    /// Who offers.
    pub from: OfferedBy,
    /// To whom.
    pub to: OfferedTo,
}

impl Offer {
    /// This, and where it doesn't say something, what the other says.
    pub fn over(self, other: &Self) -> Self {
        let other = other.clone();
        Self {
            price: self.price.or(other.price),
            at: self.at.or(other.at),
            margin: self.margin.or(other.margin),
            tax: self.tax.or(other.tax),
            round_to: self.round_to.or(other.round_to),
            number: self.number.or(other.number),
            date: self.date.or(other.date),
            valid: self.valid.or(other.valid),
            extra: ExtraPrices {
                over: self.extra.over.or(other.extra.over),
                mixed: self.extra.mixed.or(other.extra.mixed),
                waiting: self.extra.waiting.or(other.extra.waiting),
                valve: self.extra.valve.or(other.extra.valve),
                visit: self.extra.visit.or(other.extra.visit),
            },
            terms: OfferTerms {
                payment: self.terms.payment.or(other.terms.payment),
                refrigerant: self.terms.refrigerant.or(other.terms.refrigerant),
                credit: self.terms.credit.or(other.terms.credit),
                other: if self.terms.other.is_empty() { other.terms.other } else { self.terms.other },
            },
            from: OfferedBy {
                name: self.from.name.or(other.from.name),
                licence: self.from.licence.or(other.from.licence),
                address: self.from.address.or(other.from.address),
            },
            to: OfferedTo { name: self.to.name.or(other.to.name), site: self.to.site.or(other.to.site) },
        }
    }

    /// The one offer of several files, each of which may say a part of it, and the site of its own job.
    ///
    /// # Errors
    /// Where two say different things.
    pub fn of_all<'o>(offers: impl Iterator<Item = &'o Self>) -> Result<Self, OffersDiffer> {
        let mut all = Self::default();
        for offer in offers {
            let mut own = offer.clone();
            own.to.site = None;
            let one = all.clone().over(&own);
            // Whatever both say they say alike, or the other order would come out otherwise.
            if one != own.over(&all) {
                return Err(OffersDiffer);
            }
            all = one;
        }
        Ok(all)
    }

    /// What the price promises.
    pub fn kind(&self) -> PriceKind {
        self.price.unwrap_or_default()
    }

    /// What the customer's page asks for beside the prices of the work, and the file doesn't say, by key.
    pub fn missing(&self) -> Vec<&'static str> {
        let extra = &self.extra;
        let stated = [
            ("number", self.number.is_some()),
            ("valid", self.valid.is_some()),
            ("tax", self.tax.is_some()),
            ("from.name", self.from.name.is_some()),
            ("to.name", self.to.name.is_some()),
            ("terms.payment", self.terms.payment.is_some()),
            ("terms.refrigerant", self.terms.refrigerant.is_some()),
            ("extra.over", extra.over.is_some()),
            ("extra.mixed", extra.mixed.is_some()),
            ("extra.waiting", extra.waiting.is_some()),
            ("extra.valve", extra.valve.is_some()),
            ("extra.visit", extra.visit.is_some()),
        ];
        stated.into_iter().filter(|(_, stated)| !stated).map(|(key, _)| key).collect()
    }
}

/// The files of one quote say different things under `offer`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the jobs state different things under `offer`; state it once, in the file that all name with `rates:`")]
pub struct OffersDiffer;

/// The price of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct Price {
    /// What it promises.
    pub kind: PriceKind,
    /// By site.
    pub sites: Vec<SitePrice>,
    /// All sites together, from the lower figure to the upper; one figure where it is no range.
    pub subtotal: (Money, Money),
    /// Tax on it.
    pub tax: (Money, Money),
    /// Both.
    pub total: (Money, Money),
}

/// The price of one site.
#[derive(Debug, Clone, PartialEq)]
pub struct SitePrice {
    /// The job, by its position in the work.
    pub job: usize,
    /// The price, without hours where it goes by time.
    pub price: (Money, Money),
    /// A person and hour, where it goes by time, and how many people.
    pub rate: Option<(Money, u32)>,
    /// Its systems, in the order of the file: their parts by their hours, and up to which weight.
    pub systems: Vec<SystemPrice>,
}

/// A system's part.
#[derive(Debug, Clone, PartialEq)]
pub struct SystemPrice {
    /// Its name.
    pub name: String,
    /// What is included.
    pub up_to: Weight,
    /// Its part of the site's price.
    pub price: (Money, Money),
}

/// The price of this way by this offer; `None` where nothing is priced. Credits are no part of it.
pub fn price(work: &Work, way: &Way, offer: &Offer, terms: &[Terms]) -> Option<Price> {
    let cost = way.cost.as_ref()?;
    let sites: Vec<SitePrice> =
        way.hours.iter().map(|hours| site(work, cost, hours, offer, terms.get(hours.job))).collect();
    let sum = |end: fn(&(Money, Money)) -> Money| sites.iter().map(|site| end(&site.price)).sum::<Money>();
    let subtotal = (sum(|both| both.0), sum(|both| both.1));
    let share = offer.tax.map_or(Decimal::ZERO, Percent::fraction);
    let tax = both(subtotal, |amount| Money::rounded(amount.amount() * share));
    let total = (subtotal.0 + tax.0, subtotal.1 + tax.1);
    Some(Price { kind: offer.kind(), sites, subtotal, tax, total })
}

fn both<T: Copy, U>((low, high): (T, T), of: impl Fn(T) -> U) -> (U, U) {
    (of(low), of(high))
}

fn site(work: &Work, cost: &Cost, hours: &Hours, offer: &Offer, terms: Option<&Terms>) -> SitePrice {
    let at = offer.at.unwrap_or_default();
    let kind = offer.kind();
    let prices = terms.map(|terms| &terms.prices);
    let more = |share: Option<Percent>| Decimal::ONE + share.map_or(Decimal::ZERO, Percent::fraction);
    let contingency = more(prices.and_then(|prices| prices.contingency));
    let costs = match kind {
        PriceKind::Time => cost.beside_time(hours.job).map(|cost| Money::rounded(cost.amount() * contingency)),
        PriceKind::Firm | PriceKind::Range => cost.before_credits(hours.job),
    };
    let costs = if kind == PriceKind::Range { (costs.low, costs.high) } else { (at.of(costs), at.of(costs)) };
    let step = offer.round_to.unwrap_or(Decimal::new(1, 2));
    let price = both(costs, |cost| rounded_up(with_margin(cost.amount(), offer), step));
    let rate = prices.filter(|_| kind == PriceKind::Time).and_then(|prices| {
        let hour = at.of(prices.labour?) * more(prices.after_hours) * contingency;
        Some((rounded_up(with_margin(hour, offer), Decimal::new(1, 2)), hours.people))
    });
    let systems = work.jobs().get(hours.job).map_or(&[][..], |job| &job.systems);
    let weights: Vec<Decimal> = hours.systems.iter().map(|(_, minutes)| minutes.likely).collect();
    let (low, high) = both(price, |price| in_steps(price, step, &weights));
    let included = |system| if kind == PriceKind::Range { charge_of(system).high } else { at.of(charge_of(system)) };
    let systems = systems.iter().zip(low.into_iter().zip(high)).map(|(system, price)| SystemPrice {
        name: system.name.clone(),
        up_to: included(system),
        price,
    });
    SitePrice { job: hours.job, price, rate, systems: systems.collect() }
}

/// The price of which this is the cost: the margin is a share of the price.
fn with_margin(cost: Decimal, offer: &Offer) -> Decimal {
    let left = Decimal::ONE - offer.margin.map_or(Decimal::ZERO, Percent::fraction);
    cost.checked_div(left).unwrap_or(cost)
}

/// The next multiple of a step from there on.
fn rounded_up(amount: Decimal, step: Decimal) -> Money {
    Money::rounded((amount / step).ceil() * step)
}

/// A multiple of a step cut into multiples of it.
fn in_steps(price: Money, step: Decimal, weights: &[Decimal]) -> Vec<Money> {
    let steps = Money::rounded(price.amount() / step / Decimal::ONE_HUNDRED);
    let hundredth = |part: Money| Money::rounded(part.amount() * Decimal::ONE_HUNDRED * step);
    steps.split(weights).into_iter().map(hundredth).collect()
}
