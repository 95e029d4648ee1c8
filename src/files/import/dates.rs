//! Months as people write them. What could be two months is none.

use jiff::civil::Date;

const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
/// How many years a due date may lie ahead.
const AHEAD: i16 = 15;
/// Years back that two digits may mean: no cylinder of this trade is older.
const BACK: i16 = 60;

/// In which order year, month and day may stand.
const ORDERS: [&str; 5] = ["ym", "my", "ymd", "mdy", "dmy"];

/// The one month, or day, that a text can mean, as a yard writes it; `ahead` for a date that may lie in the future.
///
/// `6-24` is none: a spreadsheet shows a day so too, and keeps its year to itself.
pub(super) fn month(text: &str, today: Date, ahead: bool) -> Result<String, String> {
    let parts: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).filter(|part| !part.is_empty()).collect();
    let latest = today.year() + if ahead { AHEAD } else { 0 };
    let mut found: Vec<String> = Vec::new();
    let mut may_be_a_day = false;
    for order in ORDERS.iter().filter(|order| order.len() == parts.len()) {
        let typed = |what: char| order.find(what).map(|at| parts[at]);
        let year = typed('y').and_then(|part| year(part, latest));
        let (Some(year), Some(month)) = (year, typed('m').and_then(month_of)) else { continue };
        let date = match typed('d').map(|part| part.parse::<i8>()) {
            None => Date::new(year, month, 1).map(|date| date.strftime("%Y-%m").to_string()),
            Some(Ok(day)) => Date::new(year, month, day).map(|date| date.to_string()),
            Some(Err(_)) => continue,
        };
        let Ok(date) = date else { continue };
        may_be_a_day |=
            parts.len() == 2 && typed('y').and_then(|part| part.parse().ok()).is_some_and(|day: u32| day < 32);
        if !found.contains(&date) {
            found.push(date);
        }
    }
    match found.as_slice() {
        [one] if !may_be_a_day => Ok(one.clone()),
        [] => Err(format!("`{text}` isn't a month with its year; expected one such as 2024-06 or 06/2024")),
        some => {
            let day = if may_be_a_day { " or a day without its year" } else { "" };
            Err(format!("`{text}` may be {}{day}; write the year first, as in 2025-03", some.join(" or ")))
        }
    }
}

/// Four digits; or fewer, of the latest such year that can be.
fn year(part: &str, latest: i16) -> Option<i16> {
    let number: i16 = part.parse().ok().filter(|_| part.bytes().all(|byte| byte.is_ascii_digit()))?;
    match part.len() {
        4 => (1900..2200).contains(&number).then_some(number),
        1 | 2 => {
            let years = [0, 100].map(|back| latest / 100 * 100 - back + number);
            years.into_iter().find(|year| *year <= latest).filter(|year| *year >= latest - BACK)
        }
        _ => None,
    }
}

fn month_of(part: &str) -> Option<i8> {
    let name = part.to_lowercase();
    let named = MONTHS.iter().position(|month| {
        name.len() >= 3 && FULL.iter().any(|full| full.starts_with(&name) && full.starts_with(month))
    });
    match named {
        Some(index) => i8::try_from(index + 1).ok(),
        None => part.parse().ok().filter(|month| part.len() <= 2 && (1..=12).contains(month)),
    }
}

const FULL: [&str; 13] = [
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
    "sept",
];

#[cfg(test)]
#[allow(clippy::expect_used)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_month_that_can_be_one_only() {
        let today = date(2026, 12, 1);
        for (text, expected) in [
            ("2024-06", "2024-06"),
            ("06/2024", "2024-06"),
            ("6/2024", "2024-06"),
            ("2024-06-15", "2024-06-15"),
            ("6-98", "1998-06"),
            ("Jun-98", "1998-06"),
            ("6/15/24", "2024-06-15"),
            ("june 2024", "2024-06"),
            ("15 Jun 2024", "2024-06-15"),
            ("Jun 15, 2024", "2024-06-15"),
            ("6/15/2024", "2024-06-15"),
            ("15.06.2024", "2024-06-15"),
            ("6/6/2024", "2024-06-06"),
        ] {
            assert_eq!(month(text, today, false), Ok(expected.to_owned()), "{text}");
        }
        assert_eq!(month("2/15/29", today, true), Ok("2029-02-15".to_owned()));
    }

    #[test]
    fn a_month_that_can_be_two_is_none() {
        let today = date(2026, 12, 1);
        for text in
            ["6-24", "6-12", "06-07", "6/7/2024", "01-02-03", "24-6", "15-Jun", "Jun-24", "Jun 5", "24-06-15", "6-2"]
        {
            let refused = month(text, today, false).expect_err(text);
            assert!(refused.contains(" may be "), "{refused}");
        }
        for text in [
            "2024",
            "June",
            "13/2024",
            "2024-13",
            "2/30/2024",
            "soon",
            "6-29",
            "6/2024?/x",
            "ju 2024",
            "2024-06-15-1",
            "-",
            "",
        ] {
            let refused = month(text, today, false).expect_err(text);
            assert!(refused.contains("isn't a month"), "{refused}");
        }
    }
}
