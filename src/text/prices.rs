//! What a job file says under `prices`, for a quote. All money is in the currency that it states.

use super::fields::{Fields, Findings, Value};
use super::labour::MONEY;
use super::refrigerants::Known;
use super::shape::{Holds, KeyRule, Shape, may, must, words};
use crate::estimate::{Hire, Overtime, PerWeight, Prices, Range, Reclaim};
use crate::problem::Code;
use crate::quantity::{A_PERCENT, Decimal, Percent, Unit};

pub(super) static SHAPE: Shape = Shape {
    what: "prices",
    keys: &[
        must("currency", Holds::Text, "What every amount is in; at most 12 characters."),
        may("labour", Holds::Number(MONEY), "A person and hour."),
        may("overtime", Holds::Map(&OVERTIME), "When an hour costs more; never, where it isn't given."),
        may("after_hours_premium", Holds::Quantity(A_PERCENT), "Of labour, for work outside usual hours."),
        may("machine", Holds::Number(MONEY), "A recovery machine and job."),
        may("freight", Holds::Number(MONEY), "A job."),
        may("oil_disposal", Holds::Number(MONEY), "A system."),
        may(
            "hoist",
            Holds::Number(MONEY),
            "A job of which cylinders go by hoist, by its `access`; they aren't carried then.",
        ),
        may("reclaim", Holds::List(&RECLAIM, 500), "What the reclaimer takes or pays, one item for each refrigerant."),
        may("disposal", Holds::Per(|| words(&WEIGHTS)), "Of what is mixed, burnt, or for destruction."),
        may(
            "hire_days",
            Holds::Number(MONEY_DAYS),
            "How long cylinders are hired, and no less than the work takes; begun periods count.",
        ),
        may("contingency", Holds::Quantity(A_PERCENT), "Of costs, credits left aside."),
    ],
    rules: &[],
};
static OVERTIME: Shape = Shape {
    what: "overtime",
    keys: &[
        must("after", Holds::Quantity("one time in min or h, such as 8 h"), "Hours of a day after which it counts."),
        must("rate", Holds::Quantity(A_PERCENT), "What an hour then costs, 100 to 1000 %."),
    ],
    rules: &[],
};
static RECLAIM: Shape = Shape {
    what: "a price of reclaim",
    keys: &[
        must("refrigerant", Holds::Text, "Which refrigerant."),
        may("fee", Holds::Per(|| words(&WEIGHTS)), "What the reclaimer takes; or `credit`."),
        may("credit", Holds::Per(|| words(&WEIGHTS)), "What the reclaimer pays; or `fee`."),
    ],
    rules: &[KeyRule::Either("fee", "credit")],
};
/// What refrigerant is paid by.
pub(super) const WEIGHTS: [(Unit, &str); 2] = [(Unit::Lb, Unit::Lb.name()), (Unit::Kg, Unit::Kg.name())];
/// Days of a period of hire; those of a month: common practice, no source.
pub(super) const PERIODS: [(u32, &str); 3] = [(1, "day"), (7, "week"), (30, "month")];
const MONEY_DAYS: &str = "days, or low..likely..high, such as 7..10..15";
/// A price for one of something.
pub(super) const A_PRICE_PER: &str = "an amount for one of something, such as 12.00 per lb";
const PER_WEIGHT: &str = "an amount for a weight, such as 1.20..1.50..2.00 per lb";
const PER_PERIOD: &str = "an amount for a time, such as 18.00 per week (day, week or month)";

/// Reads `prices`, with the hire that the stock states, over those of `rates`.
pub(super) fn read(
    job: Fields,
    known: &Known,
    hire: Vec<Hire>,
    rates: Option<&Prices>,
    found: &mut Findings,
) -> Prices {
    let shared = rates.and_then(|rates| rates.currency.as_deref());
    let states_hire = !hire.is_empty();
    let fields = job.map("prices", found);
    let own = fields.map_or_else(Prices::default, |fields| of_map(fields, known, found));
    match (fields, own.currency.as_deref(), shared) {
        (None, _, None) if states_hire => {
            let message = "`stock` states prices and `prices` no currency";
            found.add(Code::MissingKey, job.mark("stock"), message, "add `prices: { currency: … }`");
        }
        (Some(fields), Some(own), Some(shared)) if own != shared => {
            let message = format!("the amounts here are in {own}, and those of the file of rates in {shared}");
            found.add(Code::ConflictingKeys, fields.mark("currency"), &message, "state all of them in one currency");
        }
        _ => {}
    }
    let own = Prices { hire, ..own };
    rates.map_or_else(|| own.clone(), |rates| own.clone().over(rates))
}

fn of_map(fields: Fields, known: &Known, found: &mut Findings) -> Prices {
    let amounts = |key, found: &mut Findings| fields.read(key, found, |value, found| value.amounts(found));
    let share = |key, found: &mut Findings| {
        let share: Option<Percent> = fields.read(key, found, Value::percent);
        let most = Decimal::from(1_000);
        if share.is_some_and(|share| share.number() > most) {
            fields.outside(key, "at most 1000 %", "check the number", found);
        }
        share
    };
    Prices {
        currency: fields.read("currency", found, |value, found| value.text_up_to(12, found)),
        labour: amounts("labour", found),
        overtime: overtime(fields, found),
        after_hours: share("after_hours_premium", found),
        machine: amounts("machine", found),
        freight: amounts("freight", found),
        oil_disposal: amounts("oil_disposal", found),
        hoist: amounts("hoist", found),
        reclaim: reclaim(fields, known, found),
        disposal: fields.read("disposal", found, |value, found| per_weight(value, found)),
        hire: Vec::new(),
        hire_days: fields.read("hire_days", found, |value, found| days(value, found)),
        contingency: share("contingency", found),
    }
}

/// What a cylinder's hire costs for a period of so many days.
pub(super) fn hire(value: Value, found: &mut Findings) -> Option<(Range<Decimal>, u32)> {
    let (amounts, period) = value.amounts_per(PER_PERIOD, found)?;
    let days = PERIODS.iter().find(|(_, word)| *word == period).map(|(days, _)| *days);
    if days.is_none() {
        let message = format!("`{period}` isn't a period of hire; expected day, week or month");
        value.problem(Code::BadWord, &message, "write one of these words", found);
    }
    days.map(|days| (amounts, days))
}

fn days(value: Value, found: &mut Findings) -> Option<Range<Decimal>> {
    let days = value.amounts(found)?;
    if days.high > Decimal::from(3_660) {
        value.problem(Code::OutOfRange, "more than 3660 days aren't planned", "check the number", found);
        return None;
    }
    Some(days)
}

fn overtime(prices: Fields, found: &mut Findings) -> Option<Overtime> {
    let fields = prices.map("overtime", found)?;
    let after = fields.read("after", found, |value, found| value.minutes(found));
    let rate = fields.read("rate", found, Value::percent);
    if rate.is_some_and(|rate| rate.number() < Decimal::ONE_HUNDRED || rate.number() > Decimal::ONE_THOUSAND) {
        fields.outside("rate", "100 to 1000 %", "write what an hour then costs, such as 150 %", found);
    }
    let after = after?;
    if after.low != after.high {
        fields.outside("after", "one time", "it isn't a range", found);
    }
    Some(Overtime { after: after.likely, rate: rate? })
}

fn per_weight(value: Value, found: &mut Findings) -> Option<PerWeight> {
    let (price, per) = value.amounts_per(PER_WEIGHT, found)?;
    let unit = WEIGHTS.iter().find(|(_, word)| *word == per).map(|(unit, _)| *unit);
    if unit.is_none() {
        let message = format!("`{per}` isn't a weight to pay by; expected lb or kg");
        value.problem(Code::BadWord, &message, "write per lb or per kg", found);
    }
    unit.map(|unit| PerWeight { price, unit })
}

fn reclaim(prices: Fields, known: &Known, found: &mut Findings) -> Vec<Reclaim> {
    let mut all: Vec<Reclaim> = Vec::new();
    let one = |fields: Fields, found: &mut Findings| {
        let name = fields.read("refrigerant", found, |value, found| known.find(value, found));
        if fields.has("fee") == fields.has("credit") {
            let message = "a price of reclaim is a `fee` or a `credit`, one of them";
            found.add(Code::ConflictingKeys, fields.start(), message, "keep the one that the reclaimer states");
        }
        let credit = fields.has("credit");
        let key = if credit { "credit" } else { "fee" };
        let price = fields.read(key, found, |value, found| per_weight(value, found));
        let (name, price) = name.zip(price)?;
        if all.iter().any(|other| other.refrigerant == name.name()) {
            let message = format!("two prices of reclaim for {}", name.name());
            found.add(Code::DuplicateName, fields.mark("refrigerant"), &message, "keep one of them");
        }
        all.push(Reclaim { refrigerant: name.name().to_owned(), credit, price });
        Some(())
    };
    prices.each("reclaim", found, one);
    all
}
