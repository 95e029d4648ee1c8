//! Single values: from the text as typed to what it means, or a problem that says what was expected.

use jiff::civil::Date;

use super::dates;
use super::fields::{Findings, Value, nearest};
use super::today::Latest;
use super::tree::Typed;
use crate::cylinder;
use crate::printable::{in_words, is_hidden};
use crate::problem::Code;
use crate::quantity::{
    Density, GaugePressure, Percent, QuantityError, Span, Temperature, Unit, Weight, parse_density, parse_percent,
    parse_pressure, parse_span, parse_temperature, parse_weight,
};

/// Characters of a name or any other short text.
pub(super) const MOST_CHARACTERS: usize = 300;
/// Characters of a sentence in a plan file.
pub(super) const MOST_SENTENCE: usize = 4_000;

const UNIT_HINT: &str = "write the unit behind the number; in CSV it may stand in the head of the column: `tare [lb]`";

impl Value<'_> {
    /// Adds a problem of this value.
    pub fn problem(&self, code: Code, message: &str, hint: &str, found: &mut Findings) {
        found.add(code, self.leaf.mark, &format!("{}: {message}", self.key), hint);
    }

    /// A text: not empty, not too long, every character to be seen.
    pub fn text(self, found: &mut Findings) -> Option<String> {
        self.text_up_to(MOST_CHARACTERS, found)
    }

    /// A text of at most so many characters.
    pub fn text_up_to(self, most: usize, found: &mut Findings) -> Option<String> {
        let text = self.text_or_nothing(most, found)?;
        if text.is_empty() {
            self.problem(Code::BadText, "the text is empty", "write it out, or leave the key away", found);
            return None;
        }
        Some(text)
    }

    /// A text that may be empty.
    pub fn text_or_nothing(self, most: usize, found: &mut Findings) -> Option<String> {
        let text = self.leaf.text.trim();
        let count = text.chars().count();
        if count > most {
            let message = format!("the text has {count} characters; expected at most {most}");
            self.problem(Code::BadText, &message, "shorten it", found);
            return None;
        }
        if let Some((at, hidden)) = text.char_indices().find(|(_, c)| is_hidden(*c)) {
            let before = if at == 0 { "at its beginning".into() } else { format!("behind `{}`", &text[..at]) };
            let message = format!("the text holds a character that can't be seen, {}, {before}", in_words(hidden));
            self.problem(Code::BadText, &message, "type the text again, on one line", found);
            return None;
        }
        Some(text.to_owned())
    }

    /// A text, or nothing where it is empty: it stands where the key is kept to be filled in.
    pub fn text_if_any(self, found: &mut Findings) -> Option<String> {
        self.text_or_nothing(MOST_CHARACTERS, found).filter(|text| !text.is_empty())
    }

    /// What somebody has written, of any length that a sentence has; nothing where it is empty.
    pub fn remark(self, found: &mut Findings) -> Option<String> {
        self.text_or_nothing(MOST_SENTENCE, found).filter(|text| !text.is_empty())
    }

    /// The text with the unit from the head of its column, where it has none of its own.
    pub(super) fn quantity<T>(
        self,
        parse: impl FnOnce(&str) -> Result<T, QuantityError>,
        found: &mut Findings,
    ) -> Option<T> {
        let mut text = self.text(found)?;
        // A comma is the better thing to say than a unit that it is taken for.
        if let Some(unit) = self.leaf.unit.as_deref().filter(|unit| *unit != Unit::LbOz.name()) {
            let bare = text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+' | ' '));
            if bare {
                text = format!("{text} {unit}");
            }
        }
        match parse(&text) {
            Ok(quantity) => Some(quantity),
            Err(error) => {
                let (code, hint) = match error {
                    QuantityError::NoUnit { .. } => (Code::MissingUnit, UNIT_HINT),
                    QuantityError::Comma { .. } => (Code::Comma, "write 12.9, not 12,9"),
                    QuantityError::Negative { .. } => (Code::Negative, "check the sign"),
                    QuantityError::TooCold { .. } | QuantityError::TooLong { .. } => {
                        (Code::OutOfRange, "check the number")
                    }
                    QuantityError::Leading { .. } => (Code::BadQuantity, "write the number and its unit alone"),
                    QuantityError::Ounces { .. } => (Code::BadQuantity, "write the pounds and ounces again"),
                    QuantityError::Malformed { .. }
                    | QuantityError::UnknownUnit { .. }
                    | QuantityError::Backwards { .. } => (Code::BadQuantity, "check the number and its unit"),
                };
                self.problem(code, &error.to_string(), hint, found);
                None
            }
        }
    }

    /// A weight; a bare number counts in `bare`.
    pub fn weight(self, bare: Option<Unit>, found: &mut Findings) -> Option<Weight> {
        let bare = if self.ends_in_number_sign(found) { Some(Unit::Lb) } else { bare };
        self.quantity(|text| parse_weight(text, bare), found)
    }

    /// Whether `#` stands alone behind it on its line: YAML takes that for a comment, whoever wrote it for pounds.
    fn ends_in_number_sign(&self, found: &Findings) -> bool {
        let from = self.leaf.mark.and_then(|mark| found.source.byte(mark));
        let rest = from.and_then(|from| found.source.text.get(from..)).and_then(|rest| rest.lines().next());
        let behind = rest.and_then(|rest| rest.strip_prefix(self.leaf.text.as_str()));
        behind.is_some_and(|behind| behind.trim() == "#")
    }

    /// A range of weights.
    pub fn span(self, bare: Option<Unit>, found: &mut Findings) -> Option<Span> {
        let bare = if self.ends_in_number_sign(found) { Some(Unit::Lb) } else { bare };
        self.quantity(|text| parse_span(text, bare), found)
    }

    /// A share in per cent.
    pub fn percent(self, found: &mut Findings) -> Option<Percent> {
        self.quantity(parse_percent, found)
    }

    /// A temperature, not below absolute zero.
    pub fn temperature(self, found: &mut Findings) -> Option<Temperature> {
        let temperature = self.quantity(parse_temperature, found)?;
        if temperature.kelvin() < 0.0 {
            let message = format!("{} lies below absolute zero", self.leaf.text.trim());
            self.problem(Code::OutOfRange, &message, "check the number and its scale", found);
            return None;
        }
        Some(temperature)
    }

    /// A gauge pressure.
    pub fn pressure(self, found: &mut Findings) -> Option<GaugePressure> {
        self.quantity(parse_pressure, found).map(|pressure| pressure.gauge())
    }

    /// A density.
    pub fn density(self, found: &mut Findings) -> Option<Density> {
        self.quantity(parse_density, found)
    }

    /// One of a few words.
    pub fn word<T: Copy>(self, words: &[(T, &'static str)], found: &mut Findings) -> Option<T> {
        let text = self.text(found)?;
        let word = words.iter().find(|(_, word)| word.eq_ignore_ascii_case(&text));
        if word.is_none() {
            let known = words.iter().map(|(_, word)| *word);
            let expected: Vec<&str> = known.clone().collect();
            let message = format!("`{text}` isn't known here; expected {}", expected.join(", "));
            let hint = nearest(&text, known)
                .map_or_else(|| "write one of these words".into(), |near| format!("did you mean `{near}`?"));
            self.problem(Code::BadWord, &message, &hint, found);
        }
        word.map(|(value, _)| *value)
    }

    /// `true` or `false`.
    pub fn flag(self, found: &mut Findings) -> Option<bool> {
        self.word(&[(true, "true"), (false, "false")], found)
    }

    /// A unit of weight that a whole file is typed in, one of [`unit_words`].
    pub fn unit(self, found: &mut Findings) -> Option<Unit> {
        self.word(&Unit::ALL.map(|unit| (unit, unit.name())), found)
    }

    /// A whole number.
    pub fn count(self, most: u32, found: &mut Findings) -> Option<u32> {
        let text = self.text(found)?;
        let digits = text.bytes().all(|byte| byte.is_ascii_digit());
        let count = text.parse::<u32>().ok().filter(|count| digits && *count <= most);
        if count.is_none() {
            let message = format!("`{text}` isn't a whole number from 0 to {most}");
            self.problem(Code::OutOfRange, &message, "write it in digits", found);
        }
        count
    }

    /// A stamped mark.
    pub fn stamp(self, found: &mut Findings) -> Option<cylinder::Mark> {
        let text = self.text(found)?;
        match cylinder::Mark::parse(&text) {
            Ok(mark) => Some(mark),
            Err(error) => {
                let hint = match error {
                    cylinder::MarkError::Drum { .. } => "take it out of the yard",
                    cylinder::MarkError::Malformed { .. } | cylinder::MarkError::Pressure { .. } => {
                        "read it off the cylinder again"
                    }
                };
                self.problem(Code::BadMark, &error.to_string(), hint, found);
                None
            }
        }
    }

    /// A day, as YYYY-MM-DD.
    pub fn day(self, found: &mut Findings) -> Option<Date> {
        let text = self.text(found)?;
        let day = parts(&text).and_then(|(year, month, day)| Date::new(year, month, day).ok());
        if day.is_none() {
            let message =
                format!("`{text}` isn't a date; expected a day that there is, as YYYY-MM-DD, from 1900 to 2199");
            self.problem(Code::BadDate, &message, "write the year first, such as 2026-12-01", found);
        }
        day
    }

    /// A month, or a day in it, as people write them: the day itself, or the last one of the month; `ahead` for a date
    /// that may lie in the future.
    pub fn month(self, latest: Latest, ahead: bool, found: &mut Findings) -> Option<Date> {
        let text = self.text(found)?;
        match dates::month(&text, latest, ahead) {
            Ok(month) => Some(month.last_day()),
            Err(message) => {
                self.problem(Code::BadDate, &message, "read it off the cylinder again", found);
                None
            }
        }
    }

    /// Whether it was typed as a bare number.
    pub fn is_number(self) -> bool {
        self.leaf.typed == Typed::Number
    }
}

/// The units of weight that a whole file may be typed in.
pub(super) fn unit_words() -> Vec<&'static str> {
    Unit::ALL.map(Unit::name).to_vec()
}

/// Year, month and day.
fn parts(text: &str) -> Option<(i16, i8, i8)> {
    let mut parts = text.split('-');
    let mut next = |digits: usize| {
        let part = parts.next()?;
        let fits = part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit());
        fits.then(|| part.parse::<i16>().ok()).flatten()
    };
    let year = next(4).filter(|year| (1900..2200).contains(year))?;
    let month = i8::try_from(next(2)?).ok()?;
    let day = i8::try_from(next(2)?).ok()?;
    parts.next().is_none().then_some((year, month, day))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::text::source::{Mark, Source};
    use crate::text::tree::Leaf;

    /// What a reading makes of a text, and the code of the problem where there is one.
    fn read<T>(
        text: &str,
        unit: Option<&str>,
        read: impl FnOnce(Value, &mut Findings) -> Option<T>,
    ) -> Result<T, Code> {
        let source = Source::from_bytes(std::path::Path::new("t"), b"t".to_vec()).unwrap();
        let mut found = Findings::new(&source);
        let leaf =
            Leaf { text: text.into(), typed: Typed::Text, mark: Some(Mark::new(1, 1)), unit: unit.map(str::to_owned) };
        let value = Value { key: "key", leaf: &leaf };
        read(value, &mut found).ok_or_else(|| found.problems[0].code)
    }

    #[test]
    fn dates_are_strict() {
        let day = |text| read(text, None, |value, found| value.day(found));
        let month =
            |text| read(text, None, |value, found| value.month(Date::constant(2026, 12, 1).into(), true, found));
        assert_eq!(day("2028-02-29"), Date::new(2028, 2, 29).map_err(|_| Code::BadDate));
        assert_eq!(month("2028-02"), Date::new(2028, 2, 29).map_err(|_| Code::BadDate));
        assert_eq!(month("2028-02-03"), Date::new(2028, 2, 3).map_err(|_| Code::BadDate));
        for text in ["2026-02-29", "2026-2-3", "26-02-03", "1899-01-01", "2200-01-01", "2026-12-01T00:00", "2026-13"] {
            assert_eq!(day(text), Err(Code::BadDate), "{text}");
        }
        for text in ["2026", "2026-00", "2026-12-", "2026-12-011", "+026-12", "12/26", "2026-12-32", "36525"] {
            assert_eq!(month(text), Err(Code::BadDate), "{text}");
        }
    }

    #[test]
    fn a_unit_from_the_head_of_a_column_is_for_bare_numbers() {
        let weight = |text, unit| read(text, unit, |value, found| value.weight(None, found));
        assert_eq!(weight("28", Some("lb")), parse_weight("28 lb", None).map_err(|_| Code::BadQuantity));
        assert_eq!(weight("28 kg", Some("lb")), parse_weight("28 kg", None).map_err(|_| Code::BadQuantity));
        assert_eq!(weight("28 lb 6 oz", Some("lb-oz")), parse_weight("454 oz", None).map_err(|_| Code::BadQuantity));
        assert_eq!(weight("28", Some("lb-oz")), Err(Code::MissingUnit));
        assert_eq!(weight("28,5", Some("lb")), Err(Code::Comma));
        assert_eq!(weight("-28", Some("lb")), Err(Code::Negative));
        assert_eq!(weight("28.123456", Some("lb")), Err(Code::OutOfRange));
    }

    #[test]
    fn texts_are_short_and_show_every_character() {
        let text = |text: &str| read(text, None, |value, found| value.text(found));
        assert_eq!(text("  Kühlhaus 7 "), Ok("Kühlhaus 7".into()));
        for bad in ["", "a\nb", "C-1\u{200b}", "\u{ad}", "a\u{2060}b", "a\u{202e}b", "a\u{7f}", &"x".repeat(301)] {
            assert_eq!(text(bad), Err(Code::BadText), "{bad:?}");
        }
    }

    #[test]
    fn words_counts_and_flags_are_closed_lists() {
        assert_eq!(read("TRUE", None, |value, found| value.flag(found)), Ok(true));
        assert_eq!(read("yes", None, |value, found| value.flag(found)), Err(Code::BadWord));
        let count = |text| read(text, None, |value, found| value.count(9, found));
        assert_eq!((count("7"), count("10"), count("+7")), (Ok(7), Err(Code::OutOfRange), Err(Code::OutOfRange)));
        assert_eq!(read("-1 K", None, |value, found| value.temperature(found)), Err(Code::OutOfRange));
    }
}
