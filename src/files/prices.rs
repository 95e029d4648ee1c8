//! What a job file says under `prices`, for a quote. All money is in the currency that it states.

use super::code::Code;
use super::fields::{Fields, Findings, Value};
use super::refrigerants::Known;
use super::tree::Node;
use crate::estimate::{Hire, Overtime, PerWeight, Prices, Range, Reclaim};
use crate::quantity::{Decimal, Percent, Unit};

const KEYS: [&str; 12] = [
    "currency",
    "labour",
    "overtime",
    "after_hours_premium",
    "machine",
    "freight",
    "oil_disposal",
    "hoist",
    "reclaim",
    "disposal",
    "hire_days",
    "contingency",
];
const OVERTIME_KEYS: [&str; 2] = ["after", "rate"];
const RECLAIM_KEYS: [&str; 3] = ["refrigerant", "fee", "credit"];
const MOST_RECLAIMS: usize = 500;
const PER_WEIGHT: &str = "an amount for a weight, such as 1.20..1.50..2.00 per lb";
const PER_PERIOD: &str = "an amount for a time, such as 18.00 per week (day, week or month)";

/// Reads `prices`, with the hire that the stock states.
pub(super) fn read(job: Fields, known: &Known, hire: Vec<Hire>, found: &mut Findings) -> Prices {
    let Some(fields) = job.map("prices", "prices", &KEYS, found) else {
        if !hire.is_empty() {
            let message = "`stock` states prices and `prices` no currency";
            found.add(Code::MissingKey, job.mark("stock"), message, "add `prices: { currency: … }`");
        }
        return Prices::default();
    };
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
        currency: fields.need("currency", found, |value, found| value.text_up_to(12, found)),
        labour: amounts("labour", found),
        overtime: overtime(fields, found),
        after_hours: share("after_hours_premium", found),
        machine: amounts("machine", found),
        freight: amounts("freight", found),
        oil_disposal: amounts("oil_disposal", found),
        hoist: amounts("hoist", found),
        reclaim: reclaim(fields, known, found),
        disposal: fields.read("disposal", found, |value, found| per_weight(value, found)),
        hire,
        hire_days: fields.read("hire_days", found, |value, found| days(value, found)),
        contingency: share("contingency", found),
    }
}

/// What a cylinder's hire costs for a period of so many days.
pub(super) fn hire(value: Value, found: &mut Findings) -> Option<(Range<Decimal>, u32)> {
    let (amounts, period) = value.amounts_per(PER_PERIOD, found)?;
    let days = match period.as_str() {
        "day" => Some(1),
        "week" => Some(7),
        // A month of hire, counted in days: common practice, no source.
        "month" => Some(30),
        _ => None,
    };
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
    let fields = prices.map("overtime", "overtime", &OVERTIME_KEYS, found)?;
    let after = fields.need("after", found, |value, found| value.minutes(found));
    let rate = fields.need("rate", found, Value::percent);
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
    let unit = [Unit::Lb, Unit::Kg].into_iter().find(|unit| unit.name() == per);
    if unit.is_none() {
        let message = format!("`{per}` isn't a weight to pay by; expected lb or kg");
        value.problem(Code::BadWord, &message, "write per lb or per kg", found);
    }
    unit.map(|unit| PerWeight { price, unit })
}

fn reclaim(prices: Fields, known: &Known, found: &mut Findings) -> Vec<Reclaim> {
    let at = prices.mark("reclaim");
    let mut all: Vec<Reclaim> = Vec::new();
    let nodes: &[Node] = prices.list("reclaim", MOST_RECLAIMS, found);
    for node in nodes {
        let Some(fields) = Fields::open(node, at, "a price of reclaim", &RECLAIM_KEYS, found) else { continue };
        let name = fields.need("refrigerant", found, |value, found| known.find(value, found));
        if fields.has("fee") == fields.has("credit") {
            let message = "a price of reclaim is a `fee` or a `credit`, one of them";
            found.add(Code::ConflictingKeys, fields.start(), message, "keep the one that the reclaimer states");
        }
        let credit = fields.has("credit");
        let key = if credit { "credit" } else { "fee" };
        let price = fields.read(key, found, |value, found| per_weight(value, found));
        let (Some(name), Some(price)) = (name, price) else { continue };
        if all.iter().any(|other| other.refrigerant == name.name()) {
            let message = format!("two prices of reclaim for {}", name.name());
            found.add(Code::DuplicateName, fields.mark("refrigerant"), &message, "keep one of them");
        }
        all.push(Reclaim { refrigerant: name.name().to_owned(), credit, price });
    }
    all
}
