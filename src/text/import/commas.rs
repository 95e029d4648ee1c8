//! Commas in the numbers of a list. One is decimal in one country and parts thousands in the next: a column tells which
//! where all of its numbers have one.

use std::borrow::Cow;

use super::table::{Line, Table, as_typed};
use super::{is_pressure, is_weight};

/// What the commas in the numbers of a column are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Commas {
    /// There are none.
    #[default]
    None,
    /// Decimal: every number has one, and they can't all part thousands.
    Decimal,
    /// Some numbers have one, or all may part thousands: a number that has one isn't read.
    Doubtful,
}

/// Looks through the numbers of each column.
pub(super) fn settle(table: &mut Table) {
    for index in 0..table.columns.len() {
        let key = table.columns[index].key;
        if is_weight(key) || is_pressure(key) {
            let lines = table.lines.iter().filter(|line| table.fits(line));
            let commas = of_column(lines.filter_map(|line| number_of(line, index)));
            table.columns[index].commas = commas;
        }
    }
}

fn number_of(line: &Line, index: usize) -> Option<&str> {
    line.cells.get(index).map(|cell| as_typed(cell)).filter(|cell| cell.contains(|c: char| c.is_ascii_digit()))
}

fn of_column<'c>(numbers: impl Iterator<Item = &'c str>) -> Commas {
    let (mut some, mut all, mut sure) = (false, true, false);
    for number in numbers {
        some |= number.contains(',');
        all &= number.matches(',').count() == 1;
        sure |= parts(number).is_some_and(|parts| !may_part_thousands(parts));
    }
    match (some, all && sure) {
        (false, _) => Commas::None,
        (true, true) => Commas::Decimal,
        (true, false) => Commas::Doubtful,
    }
}

/// The digits before a number's only comma and behind it.
fn parts(number: &str) -> Option<(&str, &str)> {
    let (before, behind) = number.split_once(',')?;
    let before = before.rsplit(|c: char| !c.is_ascii_digit()).next()?;
    let behind = behind.split(|c: char| !c.is_ascii_digit()).next()?;
    (!before.is_empty() && !behind.is_empty() && !number.contains('.')).then_some((before, behind))
}

/// `1,234` may be a thousand and more; `12,7`, `0,125` and `1234,567` may not.
fn may_part_thousands((before, behind): (&str, &str)) -> bool {
    behind.len() == 3 && before.len() <= 3 && !before.starts_with('0')
}

/// The number of a cell with a decimal point.
///
/// # Errors
/// Why it isn't sure which number it is.
pub(super) fn with_point(text: &str, commas: Commas) -> Result<Cow<'_, str>, String> {
    match (commas, parts(text)) {
        (Commas::None, _) => Ok(text.into()),
        (Commas::Decimal, Some(_)) => Ok(text.replace(',', ".").into()),
        (Commas::Decimal, None) => Err(format!("`{text}` isn't a number with a decimal comma, as the column has them")),
        (Commas::Doubtful, Some((before, behind))) if may_part_thousands((before, behind)) => {
            Err(format!("`{text}` may be {before}.{behind} or {before}{behind}; write it without a comma"))
        }
        (Commas::Doubtful, _) if text.contains(',') || has_three_decimals(text) => Err(format!(
            "`{text}`: only some numbers of the column have a comma, so it isn't sure what it is; write all with a point"
        )),
        (Commas::Doubtful, _) => Ok(text.into()),
    }
}

/// `1.234`, where commas are decimal elsewhere, may be a thousand and more.
fn has_three_decimals(text: &str) -> bool {
    text.split_once('.').is_some_and(|(_, behind)| behind.chars().take_while(char::is_ascii_digit).count() == 3)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commas_are_decimal_where_every_number_has_one_and_they_cannot_all_part_thousands() {
        for (numbers, expected) in [
            (&["12.7", "21", "n/a"][..], Commas::None),
            (&["12,7", "21,0", "", "n/a"], Commas::Decimal),
            (&["12,7 kg", "1,234"], Commas::Decimal),
            (&["0,125"], Commas::Decimal),
            (&["1234,567"], Commas::Decimal),
            (&["28 lb 6,5 oz"], Commas::Decimal),
            (&["1,234", "2,345"], Commas::Doubtful),
            (&["12,7", "21"], Commas::Doubtful),
            (&["12,7", "21.0"], Commas::Doubtful),
            (&["12,7", "1,234,567"], Commas::Doubtful),
            (&["12,", "5"], Commas::Doubtful),
        ] {
            assert_eq!(
                of_column(numbers.iter().copied().filter(|cell| cell.contains(char::is_numeric))),
                expected,
                "{numbers:?}"
            );
        }
    }

    #[test]
    fn a_number_is_read_where_it_can_be_one_only() {
        let read = |text, commas| with_point(text, commas).map(Cow::into_owned).map_err(|_| ());
        assert_eq!(read("12,7 kg", Commas::Decimal), Ok("12.7 kg".into()));
        assert_eq!(read("1,234", Commas::Decimal), Ok("1.234".into()));
        assert_eq!(read("28 lb 6,5 oz", Commas::Decimal), Ok("28 lb 6.5 oz".into()));
        for text in ["1.234,5", "12,", ",5", "1,2.5"] {
            assert_eq!(read(text, Commas::Decimal), Err(()), "{text}");
        }
        for text in ["12,7", "1,234", "1.234", "1.234 kg", "12,"] {
            assert_eq!(read(text, Commas::Doubtful), Err(()), "{text}");
        }
        for text in ["12.7", "28", "28.50"] {
            assert_eq!(read(text, Commas::Doubtful), Ok(text.into()));
        }
    }
}
