//! A cell of somebody's list as the value of a yard: as typed, in another form, or refused.

use jiff::civil::Date;

use super::commas::{Commas, with_point};
use crate::printable::is_hidden;
use crate::quantity::{Unit, parse_weight};
use crate::refrigerant::{LookupError, Refrigerant};
use crate::text::after::written;
use crate::text::dates;
use crate::text::row::SHAPE;
use crate::text::shape::Holds;
use crate::text::value::MOST_CHARACTERS;

/// A value for the yard.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Cell {
    /// As YAML.
    pub yaml: String,
    /// Why it isn't as it was typed, where it isn't.
    pub changed: Option<&'static str>,
}

/// What a column is read with.
pub(super) struct ColumnContext {
    /// The unit of the column's bare numbers, as its head or the command says.
    pub unit: Option<&'static str>,
    /// What the commas in the column's numbers are.
    pub commas: Commas,
    /// The unit of the yard's bare numbers.
    pub bare: Unit,
    pub today: Date,
}

fn as_typed(text: &str) -> Cell {
    Cell { yaml: written(&[text.to_owned()]), changed: None }
}

/// The value of a key from what stands in a cell that isn't empty.
///
/// # Errors
/// Why it can't be taken, in words.
pub(super) fn read(key: &str, text: &str, terms: &ColumnContext) -> Result<Cell, String> {
    if text.chars().any(is_hidden) {
        return Err("a character that doesn't show, or more than one line".into());
    }
    if text.chars().count() > MOST_CHARACTERS {
        return Err(format!("more than {MOST_CHARACTERS} characters"));
    }
    match SHAPE.key(key).map(|key| key.holds) {
        Some(Holds::Weight) => weight(text, terms),
        Some(Holds::Pressure) => Ok(as_typed(&with_unit(&with_point(text, terms.commas)?, terms.unit))),
        Some(Holds::Month) => {
            let month = dates::month(text, terms.today.into(), key == "due")?.text();
            let changed = (month != text).then_some("a date as a yard writes it");
            Ok(Cell { changed, ..as_typed(&month) })
        }
        Some(Holds::Flag) => flag(text),
        Some(Holds::NameOr(_)) => holds(text),
        _ => Ok(as_typed(text)),
    }
}

/// A bare number with the unit of its column.
fn with_unit(text: &str, unit: Option<&str>) -> String {
    let bare = text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '-'));
    match unit {
        Some(unit) if bare => format!("{text} {unit}"),
        _ => text.to_owned(),
    }
}

/// Digits stay as typed; a unit is written where it isn't the yard's.
fn weight(text: &str, terms: &ColumnContext) -> Result<Cell, String> {
    let unit = terms.unit.filter(|unit| *unit != Unit::LbOz.name());
    let text = with_point(text, terms.commas)?;
    let full = with_unit(&text, unit);
    parse_weight(&full, None).map_err(|error| format!("typed `{text}`: {error}"))?;
    let bare = full != *text && unit == Some(terms.bare.name());
    Ok(as_typed(if bare { &text } else { &full }))
}

fn flag(text: &str) -> Result<Cell, String> {
    let yaml = match text.to_lowercase().as_str() {
        "true" | "yes" | "y" => "true",
        "false" | "no" | "n" => "false",
        _ => return Err(format!("`{text}` is neither yes nor no")),
    };
    let changed = (text != yaml).then_some("true or false");
    Ok(Cell { yaml: yaml.into(), changed })
}

/// What isn't one of the few words or a refrigerant of the table is unknown; never evacuated.
fn holds(text: &str) -> Result<Cell, String> {
    let unknown = |why| Ok(Cell { yaml: "unknown".into(), changed: Some(why) });
    match text.to_lowercase().as_str() {
        "evacuated" | "nitrogen" | "unknown" | "mixed" => return Ok(as_typed(text)),
        "empty" | "mt" => return unknown("empty may mean evacuated, nitrogen, or the vapour that is left"),
        _ => {}
    }
    match Refrigerant::find(text) {
        Ok(_) => Ok(as_typed(text)),
        Err(error @ LookupError::Refused { .. }) => Err(error.to_string()),
        Err(LookupError::Ambiguous { .. }) => unknown("it doesn't say which refrigerant"),
        Err(LookupError::NotListed { .. }) => unknown("newer than the table of refrigerants, or none"),
        Err(LookupError::Unknown { .. } | LookupError::LeftOut { .. } | LookupError::Damaged { .. }) => {
            unknown("not a refrigerant of the table, and none of the words of a yard")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn cell(key: &str, text: &str, unit: Option<&'static str>) -> Result<(String, bool), String> {
        let terms = ColumnContext { unit, commas: Commas::None, bare: Unit::Lb, today: date(2026, 12, 1) };
        read(key, text, &terms).map(|cell| (cell.yaml, cell.changed.is_some()))
    }

    #[test]
    fn numbers_keep_every_digit_and_get_a_unit_only_where_they_need_one() {
        let ok = |yaml: &str| Ok((yaml.to_owned(), false));
        assert_eq!(cell("tare", "28.50", Some("lb")), ok("28.50"));
        assert_eq!(cell("tare", "12.90", Some("kg")), ok("12.90 kg"));
        assert_eq!(cell("tare", "28.5 lbs", Some("kg")), ok("28.5 lbs"));
        assert_eq!(cell("tare", "28 lb 6 oz", Some("lb-oz")), ok("28 lb 6 oz"));
        assert_eq!(cell("tare", "454", Some("oz")), ok("454 oz"));
        assert_eq!(cell("service_pressure", "400", Some("psig")), ok("400 psig"));
        for (text, unit) in [
            ("28.5", None),
            ("28.5", Some("lb-oz")),
            ("=27.9", Some("lb")),
            ("+27.9", Some("lb")),
            ("-3", Some("lb")),
            ("28?", Some("lb")),
            ("12,9", Some("lb")),
        ] {
            assert!(cell("tare", text, unit).is_err(), "{text}");
        }
    }

    #[test]
    fn contents_are_never_said_to_be_evacuated_by_us() {
        assert_eq!(cell("holds", "Evacuated", None), Ok(("Evacuated".into(), false)));
        assert_eq!(cell("holds", "r22", None), Ok(("r22".into(), false)));
        for text in ["empty", "MT", "vac", "evac?", "R-22 or R-407C", "none", "=R-22", "0"] {
            assert_eq!(cell("holds", text, None), Ok(("unknown".into(), true)), "{text}");
        }
        assert!(cell("holds", "R-611", None).is_err());
    }

    #[test]
    fn what_a_spreadsheet_would_run_is_text() {
        for text in ["=1+1", "+C-1", "@C-1", "-C-1", "true", "a: b", "a \"b\" # c", "- a", "{a}"] {
            let (yaml, _) = cell("id", text, None).unwrap_or_default();
            assert!(yaml.starts_with('"') && yaml.ends_with('"'), "{yaml}");
            assert_eq!(serde_yaml::from_str::<String>(&yaml).ok().as_deref(), Some(text));
        }
        assert!(cell("id", "a\nb", None).is_err());
    }
}
