//! What a job's file, or the file of rates that it names, says under `offer`: how the price is made and what stands on the
//! customer's page.

use jiff::civil::Date;

use super::fields::{Fields, Findings, Value};
use super::labour::MONEY;
use super::prices::{A_PRICE_PER, WEIGHTS};
use super::shape::{Holds, Shape, may, words};
use crate::estimate::{At, ExtraPrices, Offer, OfferTerms, OfferedBy, OfferedTo, PriceKind, Valid};
use crate::problem::Code;
use crate::quantity::{A_PERCENT, Decimal, Percent, Unit};

pub(super) static SHAPE: Shape = Shape {
    what: "an offer",
    keys: &[
        may("price", Holds::OneOf(|| words(&PriceKind::ALL)), "What the price promises; default firm, up to a weight."),
        may("at", Holds::OneOf(|| words(&At::ALL)), "Which figures it is made from; default likely."),
        may("margin", Holds::Quantity(A_PERCENT), "Of the price, not of the cost; at most 90 %; default nothing."),
        may("tax", Holds::Quantity(A_PERCENT), "On the price; 0 % where there is none."),
        may(
            "round_to",
            Holds::Number("an amount, such as 5"),
            "The price of a site is rounded up to a multiple; default 0.01.",
        ),
        may("number", Holds::Text, "The number of the offer."),
        may("date", Holds::Day, "Its day; default today."),
        may("valid", Holds::Text, "How long it holds, such as 30 days, or to which day."),
        may("extra", Holds::Map(&EXTRA), "What is paid only if it happens, as the customer pays it."),
        may("terms", Holds::Map(&TERMS), "In your own words."),
        may("from", Holds::Map(&FROM), "Who offers."),
        may("to", Holds::Map(&TO), "To whom, and where."),
    ],
    rules: &[],
};
static EXTRA: Shape = Shape {
    what: "extra",
    keys: &[
        may("over", Holds::Per(|| words(&WEIGHTS)), "Refrigerant over what is included."),
        may("mixed", Holds::Per(|| words(&WEIGHTS)), "Refrigerant that turns out mixed or burnt."),
        may("waiting", Holds::Per(|| vec!["hour"]), "Waiting that isn't ours."),
        may("valve", Holds::Number(MONEY), "A stuck valve."),
        may("visit", Holds::Number(MONEY), "A further visit."),
    ],
    rules: &[],
};
static TERMS: Shape = Shape {
    what: "terms",
    keys: &[
        may("payment", Holds::Text, "When and how it is paid."),
        may("refrigerant", Holds::Text, "Whose the refrigerant is, and from when."),
        may("credit", Holds::Text, "What is given for it; default: settled after weighing and analysis."),
        may("other", Holds::Texts(20), "What else is agreed."),
    ],
    rules: &[],
};
static FROM: Shape = Shape {
    what: "from",
    keys: &[
        may("name", Holds::Text, "Your firm."),
        may("licence", Holds::Text, "Its licence or certificate."),
        may("address", Holds::Text, "Where it is."),
    ],
    rules: &[],
};
static TO: Shape = Shape {
    what: "to",
    keys: &[
        may("name", Holds::Text, "The customer."),
        may("site", Holds::Text, "Where the job is; default the job's name."),
    ],
    rules: &[],
};

/// Reads `offer`; empty where the file has none.
pub(super) fn read(file: Fields, found: &mut Findings) -> Offer {
    let Some(fields) = file.map("offer", found) else { return Offer::default() };
    let share = |key, most: u32, found: &mut Findings| {
        let share: Option<Percent> = fields.read(key, found, Value::percent);
        if share.is_some_and(|share| share.number() > Decimal::from(most)) {
            fields.outside(key, &format!("at most {most} %"), "check the number", found);
        }
        share
    };
    let date = fields.read("date", found, Value::day);
    let terms = fields.map("terms", found);
    let text = |section: Option<Fields>, key, found: &mut Findings| section?.read(key, found, Value::text_if_any);
    let (from, to) = (fields.map("from", found), fields.map("to", found));
    Offer {
        price: fields.read("price", found, |value, found| value.word(&PriceKind::ALL, found)),
        at: fields.read("at", found, |value, found| value.word(&At::ALL, found)),
        margin: share("margin", 90, found),
        tax: share("tax", 100, found),
        round_to: fields.read("round_to", found, step),
        number: text(Some(fields), "number", found),
        date,
        valid: fields.read("valid", found, |value, found| valid(value, date, found)),
        extra: extra(fields.map("extra", found), found),
        terms: OfferTerms {
            payment: text(terms, "payment", found),
            refrigerant: text(terms, "refrigerant", found),
            credit: text(terms, "credit", found),
            other: terms.map_or_else(Vec::new, |terms| super::job::texts(terms, "other", found)),
        },
        from: OfferedBy {
            name: text(from, "name", found),
            licence: text(from, "licence", found),
            address: text(from, "address", found),
        },
        to: OfferedTo { name: text(to, "name", found), site: text(to, "site", found) },
    }
}

/// One amount, not a range.
fn amount(value: Value, found: &mut Findings) -> Option<Decimal> {
    let amount = value.amounts(found)?;
    if amount.low != amount.high {
        value.problem(Code::BadQuantity, "expected one amount", "what a customer pays is no range", found);
        return None;
    }
    Some(amount.likely)
}

fn step(value: Value, found: &mut Findings) -> Option<Decimal> {
    let step = amount(value, found)?;
    let cents = step * Decimal::ONE_HUNDRED;
    if step <= Decimal::ZERO || cents != cents.trunc() {
        value.problem(Code::OutOfRange, "expected 0.01 or more, in whole cents", "write 1, 5 or 10, say", found);
        return None;
    }
    Some(step)
}

/// One amount for a weight or an hour.
fn per<T: Copy>(value: Value, list: &[(T, &'static str)], found: &mut Findings) -> Option<(Decimal, T)> {
    let (range, per) = value.amounts_per(A_PRICE_PER, found)?;
    let unit = list.iter().find(|(_, word)| *word == per).map(|(unit, _)| *unit);
    if unit.is_none() {
        let expected: Vec<&str> = list.iter().map(|(_, word)| *word).collect();
        let message = format!("`{per}` isn't what this is paid by; expected {}", expected.join(" or "));
        value.problem(Code::BadWord, &message, "write it behind `per`", found);
    } else if range.low != range.high {
        value.problem(Code::BadQuantity, "expected one amount", "what a customer pays is no range", found);
        return None;
    }
    Some((range.likely, unit?))
}

fn extra(fields: Option<Fields>, found: &mut Findings) -> ExtraPrices {
    let Some(fields) = fields else { return ExtraPrices::default() };
    let weight = |value: Value, found: &mut Findings| per::<Unit>(value, &WEIGHTS, found);
    ExtraPrices {
        over: fields.read("over", found, weight),
        mixed: fields.read("mixed", found, weight),
        waiting: fields.read("waiting", found, |value, found| Some(per(value, &[((), "hour")], found)?.0)),
        valve: fields.read("valve", found, amount),
        visit: fields.read("visit", found, amount),
    }
}

/// `30 days`, or a day.
fn valid(value: Value, date: Option<Date>, found: &mut Findings) -> Option<Valid> {
    let text = value.text(found)?;
    let number = text.strip_suffix("days").or_else(|| text.strip_suffix("day"));
    if let Some(number) = number {
        let days = number.trim().parse::<u16>().ok().filter(|days| (1..=3_660).contains(days));
        if days.is_none() {
            value.problem(Code::OutOfRange, "expected 1 to 3660 days", "write 30 days, say", found);
        }
        return days.map(Valid::Days);
    }
    let day = value.day(found)?;
    if date.is_some_and(|date| day < date) {
        value.problem(Code::BadDate, "it ends before the day of the offer", "check both days", found);
        return None;
    }
    Some(Valid::To(day))
}
