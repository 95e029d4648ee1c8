//! What a job file says under `labour`, for a quote; and the reading of figures from low over likely to high.

use super::fields::{Fields, Findings, Value};
use super::shape::{Holds, Shape, may};
use crate::estimate::{FIGURES, Figure, FigureUnit, Labour, Range};
use crate::problem::Code;
use crate::quantity::{Decimal, QuantityError, Unit, Weight, parse_amount, parse_weight};

pub(super) static SHAPE: Shape = Shape {
    what: "labour",
    keys: &[
        may(
            "day",
            Holds::Quantity("one time in min or h, such as 8 h"),
            "A working day, travel included; default 8 h.",
        ),
        may("crew", Holds::Count(1, MOST_CREW), "People on the job; default 1."),
        may("machines", Holds::Count(1, MOST_CREW), "Recovery machines side by side; default 1."),
        may("floors", Holds::Count(0, MOST_FLOORS), "Floors that cylinders are carried; default 1, level ground."),
        may("liquid_rate", Holds::Quantity(RATE), "The machine's plate, liquid (AHRI 740); default 5 lb/min."),
        may(
            "vapour_rate",
            Holds::Quantity(RATE),
            "The machine's plate, vapour, no more than the liquid rate; default 0.5 lb/min.",
        ),
        may("travel", Holds::Quantity(MINUTES), "There and back; default 45..60..90 min."),
        may(
            "set_up",
            Holds::Quantity(MINUTES),
            "Unloading, gauges, scale, machine, and clearing up; default 20..30..45 min.",
        ),
        may("hook_up", Holds::Quantity(MINUTES), "Hoses on and off a system; default 10..15..25 min."),
        may(
            "vapour_share",
            Holds::Quantity(PERCENT),
            "Share of the charge that leaves as vapour; default 5..10..15 %.",
        ),
        may(
            "derating",
            Holds::Quantity(PERCENT),
            "Off the plate's rates, for heat and long hoses; default 20..30..40 %.",
        ),
        may(
            "pull_down",
            Holds::Quantity(MINUTES),
            "From the last liquid to the required level, each system; default 15..20..30 min.",
        ),
        may("cylinder_change", Holds::Quantity(MINUTES), "Close, weigh, change, open; default 5..6..10 min."),
        may("carry", Holds::Quantity(MINUTES), "One cylinder, one way, one floor; default 2..3..5 min."),
        may("leak_check", Holds::Quantity(MINUTES), "Each system afterwards; default 10..15..20 min."),
        may("label", Holds::Quantity(MINUTES), "Label and tag of each cylinder; default 3..4..5 min."),
        may("paperwork", Holds::Quantity(MINUTES), "Records of the job; default 15..20..30 min."),
    ],
    rules: &[],
};

const MOST_CREW: u32 = 100;
const MOST_FLOORS: u32 = 200;
const MINUTES: &str = "a time in min or h, or low..likely..high, such as 30..45..60 min";
const PERCENT: &str = "per cent, or low..likely..high, such as 5..10..15 %";
pub(super) const MONEY: &str = "an amount in the file's currency, or low..likely..high, such as 80..95..110";
const RATE: &str = "a weight for a minute, such as 6 lb/min";

/// Reads `labour`, over that of `rates`; empty where there is none.
pub(super) fn read(job: Fields, unit: Unit, rates: Option<&Labour>, found: &mut Findings) -> Labour {
    let shared = || rates.cloned().unwrap_or_default();
    let before = found.problems.len();
    let Some(fields) = job.map("labour", found) else { return shared() };
    let day = fields.read("day", found, |value, found| value.minutes(found));
    if day.is_some_and(|day| day.low != day.high) {
        fields.outside("day", "one time", "it isn't a range", found);
    }
    let people = |key, found: &mut Findings| {
        let count: Option<u32> = fields.read(key, found, |value, found| value.count(MOST_CREW, found));
        if count == Some(0) {
            fields.outside(key, "1 or more", "leave it away for 1", found);
        }
        count.filter(|count| *count > 0)
    };
    let (crew, machines) = (people("crew", found), people("machines", found));
    let floors = fields.read("floors", found, |value, found| value.count(MOST_FLOORS, found));
    let rate = |value: Value, found: &mut Findings| value.rate(unit, found);
    let liquid_rate = fields.read("liquid_rate", found, rate);
    let vapour_rate = fields.read("vapour_rate", found, rate);
    let mut figures = Vec::new();
    for line in FIGURES {
        let range = fields.read(line.key, found, |value, found| match line.unit {
            FigureUnit::Minutes => value.minutes(found),
            FigureUnit::Percent => value.percents(found),
        });
        let Some(range) = range else { continue };
        if range.high > Decimal::from(line.most) {
            let unit = if line.unit == FigureUnit::Minutes { "min" } else { "%" };
            fields.outside(line.key, &format!("at most {} {unit}", line.most), "check the number and its unit", found);
            continue;
        }
        figures.push((line.figure, range));
    }
    let labour = Labour { day: day.map(|day| day.likely), crew, machines, floors, liquid_rate, vapour_rate, figures };
    let labour = labour.over(&shared());
    if labour.vapour_rate().0 > labour.liquid_rate().0 {
        let range = "no more than the liquid rate (5 lb/min where `liquid_rate` isn't there)";
        fields.outside("vapour_rate", range, "see the machine's plate", found);
    }
    // Travel and set-up of a day, at their highest, leave at least an hour of it.
    let (day, beside) = (labour.day().0, labour.figure(Figure::Travel).0 + labour.figure(Figure::SetUp).0);
    if found.problems.len() == before && beside.high + Decimal::from(60) > day {
        let range = format!("a day that leaves an hour beside {} min of travel and set-up", beside.high.normalize());
        fields.outside("day", &range, "write the hours that a day at this site has", found);
    }
    labour
}

impl Value<'_> {
    /// A time in minutes, from low over likely to high.
    pub(super) fn minutes(self, found: &mut Findings) -> Option<Range<Decimal>> {
        self.three(MINUTES, found, |number, unit| match unit {
            "min" | "minutes" | "minute" => Some(number),
            "h" | "hours" | "hour" => Some(number * Decimal::from(60)),
            _ => None,
        })
    }

    /// Per cent, from low over likely to high.
    pub(super) fn percents(self, found: &mut Findings) -> Option<Range<Decimal>> {
        self.three(PERCENT, found, |number, unit| (unit == "%").then_some(number))
    }

    /// Money of the file's currency, from low over likely to high.
    pub(super) fn amounts(self, found: &mut Findings) -> Option<Range<Decimal>> {
        let range = self.three(MONEY, found, |number, unit| unit.is_empty().then_some(number))?;
        self.within_money(range, found)
    }

    /// Money for one of something: the amount and what stands behind `per`.
    pub(super) fn amounts_per(self, expected: &'static str, found: &mut Findings) -> Option<(Range<Decimal>, String)> {
        let text = self.text(found)?;
        let Some((amounts, per)) = text.split_once(" per ") else {
            self.problem(Code::BadQuantity, &format!("`{text}` isn't {expected}"), "write what it is for", found);
            return None;
        };
        let range = self.range(amounts, expected, found, |number, unit| unit.is_empty().then_some(number))?;
        Some((self.within_money(range, found)?, per.trim().to_lowercase()))
    }

    /// Money that stays exact in every sum of a quote.
    fn within_money(self, range: Range<Decimal>, found: &mut Findings) -> Option<Range<Decimal>> {
        let most = Decimal::from(1_000_000);
        if range.low.max(range.likely).max(range.high) > most {
            self.problem(Code::OutOfRange, "the amount is over 1000000", "check the number", found);
            return None;
        }
        Some(range)
    }

    /// A weight for a minute.
    fn rate(self, unit: Unit, found: &mut Findings) -> Option<Weight> {
        let text = self.text(found)?;
        let Some(weight) = text.strip_suffix("/min") else {
            self.problem(Code::BadQuantity, &format!("`{text}` isn't {RATE}"), "write it as on the plate", found);
            return None;
        };
        let rate = self.quantity(|_| parse_weight(weight, Some(unit)), found)?;
        if rate < Weight::pounds(Decimal::new(1, 2)) || rate > Weight::pounds(Decimal::from(1_000)) {
            let message = format!("`{text}` isn't within 0.01 to 1,000 lb/min");
            self.problem(Code::OutOfRange, &message, "check the number and its unit", found);
            return None;
        }
        Some(rate)
    }

    fn three(
        self,
        expected: &'static str,
        found: &mut Findings,
        read: impl Fn(Decimal, &str) -> Option<Decimal>,
    ) -> Option<Range<Decimal>> {
        let text = self.text(found)?;
        self.range(&text, expected, found, read)
    }

    /// One figure for all three, or three that don't fall; a unit behind the last counts for all.
    fn range(
        self,
        text: &str,
        expected: &'static str,
        found: &mut Findings,
        read: impl Fn(Decimal, &str) -> Option<Decimal>,
    ) -> Option<Range<Decimal>> {
        let parts: Vec<&str> = text.split("..").collect();
        let last = *parts.last()?;
        let numbers = self.quantity(
            |_| {
                let (_, unit) = parse_amount(last, expected)?;
                let one = |part: &&str| {
                    let (number, own) = parse_amount(part, expected)?;
                    let unit = if own.is_empty() { unit.as_str() } else { own.as_str() };
                    let missing = || QuantityError::NoUnit { found: part.trim().to_owned(), expected };
                    let unknown = || QuantityError::UnknownUnit { unit: unit.to_owned(), expected };
                    read(number, unit).ok_or_else(|| if unit.is_empty() { missing() } else { unknown() })
                };
                parts.iter().map(one).collect::<Result<Vec<Decimal>, QuantityError>>()
            },
            found,
        )?;
        match numbers.as_slice() {
            [one] => Some(Range::exactly(*one)),
            [low, likely, high] if low <= likely && likely <= high => {
                Some(Range { low: *low, likely: *likely, high: *high })
            }
            _ => {
                let message =
                    format!("`{text}` isn't one figure or low..likely..high, each no less than the one before");
                self.problem(Code::BadQuantity, &message, "write one figure, or all three", found);
                None
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_has_its_key() {
        for line in FIGURES {
            let key = SHAPE.key(line.key).unwrap_or_else(|| panic!("{}", line.key));
            let Range { low, likely, high } = line.usual();
            let unit = if line.unit == FigureUnit::Minutes { "min" } else { "%" };
            let usual = format!("; default {low}..{likely}..{high} {unit}.");
            assert!(key.about.ends_with(&usual), "{}: {usual}", line.key);
        }
        assert_eq!(SHAPE.keys.len(), FIGURES.len() + 6);
    }
}
