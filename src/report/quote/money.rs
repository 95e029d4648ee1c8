//! Amounts as they are read in their currency: thousands apart, a point before the cents.

/// Currencies in which thousands stand apart by a space, in English text too. From memory: the style guide of the European
/// Union's institutions, and common practice.
const BY_SPACE: [&str; 8] = ["EUR", "SEK", "NOK", "DKK", "PLN", "CZK", "HUF", "ZAR"];
/// By an apostrophe: Switzerland, from memory.
const BY_APOSTROPHE: [&str; 1] = ["CHF"];

/// What stands between the thousands of this currency; a comma where nothing else is known of it.
fn between(currency: &str) -> char {
    let is = |list: &[&str]| list.iter().any(|one| one.eq_ignore_ascii_case(currency));
    match currency {
        _ if is(&BY_SPACE) => '\u{a0}',
        _ if is(&BY_APOSTROPHE) => '\'',
        _ => ',',
    }
}

/// An amount as data has it, `-12345.60`, as it is read: `-12,345.60`.
pub(in crate::report) fn grouped(amount: &str, currency: &str) -> String {
    let (whole, cents) = amount.split_once('.').map_or((amount, ""), |(whole, cents)| (whole, cents));
    let digits = whole.trim_start_matches('-');
    if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return amount.to_owned();
    }
    let mut all = String::from(if whole.len() > digits.len() { "-" } else { "" });
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            all.push(between(currency));
        }
        all.push(digit);
    }
    if cents.is_empty() { all } else { format!("{all}.{cents}") }
}

#[cfg(test)]
mod tests {
    use super::grouped;

    #[test]
    fn thousands_stand_apart_as_their_currency_has_it() {
        assert_eq!(grouped("22977.75", "USD"), "22,977.75");
        assert_eq!(grouped("1234567.00", "eur"), "1\u{a0}234\u{a0}567.00");
        assert_eq!(grouped("-1320.00", "CHF"), "-1'320.00");
        assert_eq!(grouped("999.99", "USD"), "999.99");
        assert_eq!(grouped("100000", "crowns"), "100,000");
        assert_eq!((grouped("-", "USD"), grouped("", "USD")), ("-".into(), String::new()));
    }
}
