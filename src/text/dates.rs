//! Months as people write them, in a yard and in somebody's list. What could be two months is none.

use jiff::ToSpan;
use jiff::civil::{Date, date};

use super::today::Latest;

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];
/// How many years a due date may lie ahead.
const AHEAD: i16 = 15;
/// Years back that two digits may mean: no cylinder of this trade is older.
const BACK: i16 = 60;

/// What may part year, month and day. Anything else, such as a question mark, is a doubt.
const BETWEEN: [char; 7] = ['-', '/', '.', ',', ' ', '\'', '\u{2013}'];

/// In which order year, month and day may stand.
const ORDERS: [&str; 5] = ["ym", "my", "ymd", "mdy", "dmy"];

/// The day from which a spreadsheet counts days, from March 1900 on: common practice, no source.
const DAY_ZERO: Date = date(1899, 12, 30);
/// The days of a spreadsheet that are dates here, 1 January 2000 to 31 December 2099: fewer could be another number.
pub(super) const SERIALS: std::ops::RangeInclusive<u32> = 36_526..=73_050;

/// What is read as a month, in words.
pub(super) const A_MONTH: &str = "a month with its year such as 2024-06, 06/2024, Jun-24 or June 2024, or a day such as \
                                  2024-06-15";

/// A month, or a day in one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Month {
    /// The month as a whole, by its first day.
    Whole(Date),
    /// A day.
    Day(Date),
}

impl Month {
    /// The day itself, or the last one of the month.
    pub fn last_day(self) -> Date {
        match self {
            Self::Whole(first) => first.last_of_month(),
            Self::Day(day) => day,
        }
    }

    /// As a yard writes it.
    pub fn text(self) -> String {
        match self {
            Self::Whole(first) => first.strftime("%Y-%m").to_string(),
            Self::Day(day) => day.to_string(),
        }
    }
}

/// The one month, or day, that a text can mean; `ahead` for a date that may lie in the future. A bare number is a day as
/// a spreadsheet counts them.
///
/// `Jun-24` is the June of 2024, as spreadsheets write a month so. `6-24` is none: they show a day so too, and keep its
/// year to themselves.
///
/// # Errors
/// Why it is none, with every reading that it may have.
pub(super) fn month(text: &str, latest: Latest, ahead: bool) -> Result<Month, String> {
    let text = text.trim();
    if let Some(day) = serial(text) {
        return Ok(Month::Day(day));
    }
    let none = || format!("`{text}` isn't a date; expected {A_MONTH}");
    let whole = |c: char| c.is_alphanumeric() || BETWEEN.contains(&c);
    let ends = text.starts_with(BETWEEN) || text.ends_with(BETWEEN);
    if ends || !text.chars().all(whole) {
        return Err(none());
    }
    let parts: Vec<&str> = text.split(BETWEEN).filter(|part| !part.is_empty()).collect();
    let latest = || latest.day().year() + if ahead { AHEAD } else { 0 };
    let mut found: Vec<Month> = Vec::new();
    for order in ORDERS.iter().filter(|order| order.len() == parts.len()) {
        let typed = |what: char| order.find(what).and_then(|at| parts.get(at));
        let Some(month) = typed('m').and_then(|part| month_of(part)) else { continue };
        let day = typed('d').map(|part| number(part));
        // The year comes last: two digits of one ask for today.
        let year = if day == Some(None) { None } else { typed('y').and_then(|part| year(part, latest)) };
        let Some(year) = year else { continue };
        let date = match day.flatten() {
            None => Date::new(year, month, 1).map(Month::Whole),
            Some(day) => Date::new(year, month, day).map(Month::Day),
        };
        found.extend(date.ok().filter(|date| !found.contains(date)));
    }
    let days = if is_named(text, &parts) { Vec::new() } else { days(&parts) };
    match (found.as_slice(), days.as_slice()) {
        ([one], []) => Ok(*one),
        ([], _) => Err(none()),
        (some, days) => {
            let mut readings: Vec<String> = some.iter().map(|month| month.text()).collect();
            readings.extend(days.iter().map(|day| format!("{day} of a year that it doesn't say")));
            Err(format!("`{text}` may be {}; write the year first, as in 2025-03", readings.join(" or ")))
        }
    }
}

/// A spreadsheet's number of a day.
fn serial(text: &str) -> Option<Date> {
    let digits = text.len() == 5 && text.bytes().all(|byte| byte.is_ascii_digit());
    let days = text.parse::<u32>().ok().filter(|days| digits && SERIALS.contains(days))?;
    DAY_ZERO.checked_add(i64::from(days).days()).ok()
}

/// A month by its name, a hyphen and two digits: `Jun-24`. A day is written the other way round, `24-Jun`.
fn is_named(text: &str, parts: &[&str]) -> bool {
    match parts {
        [name, year] => number(name).is_none() && year.len() == 2 && text.split('-').eq([*name, *year]),
        _ => false,
    }
}

/// The days without a year that two parts may mean: `24 June`.
fn days(parts: &[&str]) -> Vec<String> {
    /// Any year that has a 29th of February.
    const LEAP: i16 = 2024;
    let [one, two] = parts else { return Vec::new() };
    let mut found = Vec::new();
    for (month, day) in [(one, two), (two, one)] {
        let (Some(month), Some(day)) = (month_of(month), number(day)) else { continue };
        if let Ok(date) = Date::new(LEAP, month, day) {
            let day = date.strftime("%-d %B").to_string();
            if !found.contains(&day) {
                found.push(day);
            }
        }
    }
    found
}

/// A number of one or two digits.
fn number(part: &str) -> Option<i8> {
    part.parse().ok().filter(|_| part.len() <= 2 && part.bytes().all(|byte| byte.is_ascii_digit()))
}

/// Four digits; or fewer, of the latest such year that can be.
fn year(part: &str, latest: impl Fn() -> i16) -> Option<i16> {
    let number: i16 = part.parse().ok().filter(|_| part.bytes().all(|byte| byte.is_ascii_digit()))?;
    match part.len() {
        4 => (1900..2200).contains(&number).then_some(number),
        1 | 2 => {
            let latest = latest();
            let years = [0, 100].map(|back| latest / 100 * 100 - back + number);
            years.into_iter().find(|year| *year <= latest).filter(|year| *year >= latest - BACK)
        }
        _ => None,
    }
}

/// A month by its number or its name, of which three letters are enough.
fn month_of(part: &str) -> Option<i8> {
    let name = part.to_lowercase();
    let named = MONTHS
        .iter()
        .position(|month| name == "sept" && *month == "september" || name.len() >= 3 && month.starts_with(&name));
    match named {
        Some(index) => i8::try_from(index + 1).ok(),
        None => number(part).filter(|month| (1..=12).contains(month)),
    }
}

#[cfg(test)]
#[allow(clippy::expect_used)]
mod tests {
    use super::*;

    const TODAY: Date = date(2026, 12, 1);

    fn read(text: &str, ahead: bool) -> Result<String, String> {
        month(text, TODAY.into(), ahead).map(Month::text)
    }

    #[test]
    fn a_month_that_can_be_one_only() {
        for (text, expected) in [
            ("2024-06", "2024-06"),
            ("2024-6", "2024-06"),
            ("2024/06", "2024-06"),
            ("06/2024", "2024-06"),
            ("6/2024", "2024-06"),
            ("06.2024", "2024-06"),
            ("2024-06-15", "2024-06-15"),
            ("6-98", "1998-06"),
            ("6-00", "2000-06"),
            ("Jun-98", "1998-06"),
            ("Jun-24", "2024-06"),
            ("JUNE-24", "2024-06"),
            ("Sept-24", "2024-09"),
            ("Jun-2024", "2024-06"),
            ("6/15/24", "2024-06-15"),
            ("june 2024", "2024-06"),
            ("Jun. 2024", "2024-06"),
            ("15 Jun 2024", "2024-06-15"),
            ("Jun 15, 2024", "2024-06-15"),
            ("6/15/2024", "2024-06-15"),
            ("15.06.2024", "2024-06-15"),
            ("6/6/2024", "2024-06-06"),
            // Days as a spreadsheet counts them: 45,457 days from 30 December 1899 to 14 June 2024, by Python's datetime.
            ("45457", "2024-06-14"),
            ("36526", "2000-01-01"),
        ] {
            assert_eq!(read(text, false), Ok(expected.to_owned()), "{text}");
        }
        assert_eq!(read("2/15/29", true), Ok("2029-02-15".to_owned()));
        assert_eq!(read("Jun-29", true), Ok("2029-06".to_owned()));
        assert_eq!(read("73050", true), Ok("2099-12-31".to_owned()));
    }

    #[test]
    fn a_month_that_can_be_two_is_none_and_every_reading_is_named() {
        for (text, readings) in [
            ("6-24", "2024-06 or 24 June of a year that it doesn't say; write the year first, as in 2025-03"),
            ("06/24", "2024-06 or 24 June of a year that it doesn't say; write the year first, as in 2025-03"),
            ("24-Jun", "2024-06 or 24 June of a year that it doesn't say; write the year first, as in 2025-03"),
            ("15-Jun", "2015-06 or 15 June of a year that it doesn't say; write the year first, as in 2025-03"),
            ("Jun 24", "2024-06 or 24 June of a year that it doesn't say; write the year first, as in 2025-03"),
            ("6/7/2024", "2024-06-07 or 2024-07-06; write the year first, as in 2025-03"),
            (
                "06-07",
                "2006-07 or 2007-06 or 7 June of a year that it doesn't say or 6 July of a year that it doesn't say; \
                 write the year first, as in 2025-03",
            ),
        ] {
            assert_eq!(read(text, false), Err(format!("`{text}` may be {readings}")));
        }
        for text in ["6-12", "01-02-03", "24-6", "Jun 5", "Jun-5", "24-06-15", "6-2", "Jun/24", "Jun '24"] {
            let refused = read(text, false).expect_err(text);
            assert!(refused.contains(" may be "), "{refused}");
        }
    }

    #[test]
    fn what_is_no_month_is_none() {
        for text in [
            "2024",
            "June",
            "13/2024",
            "2024-13",
            "2/30/2024",
            "soon",
            "6-29",
            "Jun-30",
            "6/2024?/x",
            "06/2024?",
            "~2024-06",
            "2024-06-",
            "-2024-06",
            "ju 2024",
            "2024-06-15-1",
            "2024-06-15T00:00",
            "36525",
            "73051",
            "045457",
            "45457.5",
            "-45457",
            "-",
            "",
        ] {
            let refused = read(text, false).expect_err(text);
            assert!(refused.contains("isn't a date"), "{refused}");
        }
    }
}
