//! Reading quantities as people type them. An error says what was found and what was expected; where it stood, the
//! caller knows.

use rust_decimal::Decimal;
use thiserror::Error;

use super::{AbsolutePressure, Density, GaugePressure, Percent, Temperature, Unit, Weight};

/// Decimals that a weight may be typed with; all arithmetic on it stays exact.
const WEIGHT_DECIMALS: u32 = 4;
/// Decimals that a per cent may be typed with.
const PERCENT_DECIMALS: u32 = 2;
/// The most digits a number may have before its decimal point; no quantity of the trade needs more.
const WHOLE_DIGITS: usize = 9;

/// Why a text isn't the quantity that was expected.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum QuantityError {
    /// Not a number with a unit at all.
    #[error("`{found}` isn't {expected}")]
    Malformed {
        /// As typed.
        found: String,
        /// What would have been read.
        expected: &'static str,
    },
    /// A number where the unit can't be guessed.
    #[error("`{found}` has no unit; expected {expected}")]
    NoUnit {
        /// As typed.
        found: String,
        /// What would have been read.
        expected: &'static str,
    },
    /// A unit of something else.
    #[error("`{unit}` isn't a unit here; expected {expected}")]
    UnknownUnit {
        /// The unit as typed.
        unit: String,
        /// What would have been read.
        expected: &'static str,
    },
    /// A comma in a number: decimal in one country, thousands in the next.
    #[error("`{found}` has a comma; write decimals with a point and thousands without a mark, such as 1250.5")]
    Comma {
        /// As typed.
        found: String,
    },
    /// Less than nothing.
    #[error("`{found}` is negative; expected {expected}, zero or more")]
    Negative {
        /// As typed.
        found: String,
        /// What would have been read.
        expected: &'static str,
    },
    /// A temperature that there isn't.
    #[error("`{found}` is below absolute zero, -459.67 F (-273.15 C)")]
    TooCold {
        /// As typed.
        found: String,
    },
    /// More digits than the arithmetic keeps exact.
    #[error("`{found}` has too many digits; expected at most 9 before the point and {decimals} after it")]
    TooLong {
        /// As typed.
        found: String,
        /// Decimals permitted.
        decimals: u32,
    },
    /// Words before the number.
    #[error("`{found}` has `{words}` before its number; leave that out")]
    Leading {
        /// As typed.
        found: String,
        /// What stands before the number.
        words: String,
    },
    /// Ounces behind pounds that would be a pound more.
    #[error("`{found}` has 16 oz or more behind its pounds; expected under 16 oz there")]
    Ounces {
        /// As typed.
        found: String,
    },
    /// A range whose low end is above its high end.
    #[error("`{found}` runs backwards; expected the lower weight first")]
    Backwards {
        /// As typed.
        found: String,
    },
}

/// What is read as a weight, in words.
pub const A_WEIGHT: &str = "a weight such as 27.9 lb, 28 lb 6 oz, 7 oz, 12.9 kg or 350 g";
/// What is read as a temperature, in words.
pub const A_TEMPERATURE: &str = "a temperature such as 130 F, 54 C or 327.6 K";
/// What is read as a pressure, in words.
pub const A_PRESSURE: &str = "a pressure such as 400 psig, 415 psia, 28 bar or 2800 kPa";
/// What is read as a density, in words.
pub const A_DENSITY: &str = "a density such as 71.2 lb/ft3, 1140 kg/m3 or 1.14 kg/l";
/// What is read as a share, in words.
pub const A_PERCENT: &str = "a share such as 80 %";

/// A pressure with what it is counted from, kept apart until somebody says which is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pressure {
    /// Above the atmosphere.
    Gauge(GaugePressure),
    /// Above vacuum.
    Absolute(AbsolutePressure),
}

impl Pressure {
    /// Above the atmosphere.
    pub fn gauge(self) -> GaugePressure {
        match self {
            Self::Gauge(pressure) => pressure,
            Self::Absolute(pressure) => pressure.gauge(),
        }
    }
}

/// A weight that is known only to lie between two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// The least it may be.
    pub low: Weight,
    /// The most it may be, which is what is planned for.
    pub high: Weight,
}

/// Reads a weight; a bare number is counted in `bare`, where that is a single unit.
///
/// # Errors
/// Anything but a number, zero or more, with a unit of weight; see [`QuantityError`].
pub fn parse_weight(text: &str, bare: Option<Unit>) -> Result<Weight, QuantityError> {
    let mut rest = text.trim();
    if let Some((words, _)) = rest.split_once(is_number_character).filter(|_| rest.starts_with(char::is_alphabetic)) {
        return Err(QuantityError::Leading { found: rest.into(), words: words.trim().into() });
    }
    let mut total = Weight::ZERO;
    let mut last_rank = 0;
    loop {
        let part = Measure::split(rest, A_WEIGHT, WEIGHT_DECIMALS)?;
        let (rank, weight) = match (part.unit.as_str(), bare) {
            ("", Some(Unit::Lb)) => (9, Weight::pounds(part.number)),
            ("", Some(Unit::Kg)) => (9, Weight::kilograms(part.number)),
            ("", Some(Unit::LbOz) | None) => {
                return Err(QuantityError::NoUnit { found: text.trim().into(), expected: A_WEIGHT });
            }
            ("lb" | "lbs" | "pound" | "pounds" | "#", _) => (1, Weight::pounds(part.number)),
            ("oz" | "ounce" | "ounces", _) => (2, Weight::ounces(part.number)),
            ("kg", _) => (9, Weight::kilograms(part.number)),
            ("g", _) => (9, Weight::grams(part.number)),
            _ => {
                return Err(QuantityError::UnknownUnit { unit: part.unit, expected: A_WEIGHT });
            }
        };
        // Only ounces may follow, and only pounds may be followed: `28 lb 6 oz`.
        let fits = if last_rank == 0 { true } else { last_rank == 1 && rank == 2 };
        if !fits || part.number.is_sign_negative() {
            return Err(malformed_or_negative(text, part.number, A_WEIGHT));
        }
        if last_rank == 1 && part.number >= Decimal::from(16) {
            return Err(QuantityError::Ounces { found: text.trim().into() });
        }
        total = total + weight;
        last_rank = rank;
        rest = part.rest;
        if rest.is_empty() {
            return Ok(total);
        }
    }
}

/// Reads `180..230 lb`, or a single weight as a range of no width.
///
/// # Errors
/// As [`parse_weight`], and where the first weight is above the second.
pub fn parse_span(text: &str, bare: Option<Unit>) -> Result<Span, QuantityError> {
    let Some((low, high)) = text.split_once("..") else {
        let weight = parse_weight(text, bare)?;
        return Ok(Span { low: weight, high: weight });
    };
    let unit = high.trim().trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let low = low.trim();
    let is_bare = low.ends_with(is_number_character);
    let low = if is_bare { format!("{low}{unit}") } else { low.to_owned() };
    let (low, high) = (parse_weight(&low, bare)?, parse_weight(high, bare)?);
    if low > high {
        return Err(QuantityError::Backwards { found: text.trim().into() });
    }
    Ok(Span { low, high })
}

/// Reads a temperature. Its unit must be given: a bare 54 may be either scale.
///
/// # Errors
/// Anything but a number with F, C or K.
pub fn parse_temperature(text: &str) -> Result<Temperature, QuantityError> {
    let (number, unit) = single(text, A_TEMPERATURE)?;
    let read = match unit.trim_start_matches('°') {
        "f" => Temperature::from_fahrenheit(number),
        "c" => Temperature::from_celsius(number),
        "k" => Temperature::from_kelvin(number),
        _ => return Err(QuantityError::UnknownUnit { unit, expected: A_TEMPERATURE }),
    };
    if read.is_below(Temperature::from_kelvin(0.0)) {
        return Err(QuantityError::TooCold { found: text.trim().to_owned() });
    }
    Ok(read)
}

/// Reads a pressure. `bar` and `kPa` without more are gauge pressures, as marks on cylinders are; `psi` alone is
/// refused.
///
/// # Errors
/// Anything but a number with a unit of pressure.
pub fn parse_pressure(text: &str) -> Result<Pressure, QuantityError> {
    let (number, unit) = single(text, A_PRESSURE)?;
    match unit.as_str() {
        "psig" => Ok(Pressure::Gauge(GaugePressure::from_psig(number))),
        "psia" => Ok(Pressure::Absolute(AbsolutePressure::from_psia(number))),
        "bar" | "barg" | "bar gauge" => Ok(Pressure::Gauge(GaugePressure::from_bar(number))),
        "bara" | "bar abs" | "bar absolute" => Ok(Pressure::Absolute(AbsolutePressure::from_bar(number))),
        "kpa" | "kpag" | "kpa gauge" => Ok(Pressure::Gauge(GaugePressure::from_bar(number / 100.0))),
        "kpaa" | "kpa abs" | "kpa absolute" => Ok(Pressure::Absolute(AbsolutePressure::from_bar(number / 100.0))),
        _ => Err(QuantityError::UnknownUnit { unit, expected: A_PRESSURE }),
    }
}

/// Reads a density.
///
/// # Errors
/// Anything but a number, zero or more, with a unit of density.
pub fn parse_density(text: &str) -> Result<Density, QuantityError> {
    let (number, unit) = single(text, A_DENSITY)?;
    if number < 0.0 {
        return Err(QuantityError::Negative { found: text.trim().into(), expected: A_DENSITY });
    }
    match unit.as_str() {
        "lb/ft3" | "lb/ft³" => Ok(Density::from_lb_per_ft3(number)),
        "kg/m3" | "kg/m³" | "g/l" => Ok(Density::from_kg_per_m3(number)),
        "kg/l" | "g/cm3" | "g/cm³" => Ok(Density::from_kg_per_m3(number * 1000.0)),
        _ => Err(QuantityError::UnknownUnit { unit, expected: A_DENSITY }),
    }
}

/// Reads a share in per cent. The sign must be there: a bare 0.8 may be meant as 80 %.
///
/// # Errors
/// Anything but a number, zero or more, with `%`.
pub fn parse_percent(text: &str) -> Result<Percent, QuantityError> {
    let part = Measure::whole(text, A_PERCENT, PERCENT_DECIMALS)?;
    match part.unit.as_str() {
        "%" | "percent" | "per cent" if !part.number.is_sign_negative() => Ok(Percent::new(part.number)),
        "%" | "percent" | "per cent" => Err(malformed_or_negative(text, part.number, A_PERCENT)),
        "" => Err(QuantityError::NoUnit { found: text.trim().into(), expected: A_PERCENT }),
        _ => Err(QuantityError::UnknownUnit { unit: part.unit, expected: A_PERCENT }),
    }
}

/// Reads a number, zero or more, with at most four decimals, and whatever stands behind it, in lower case: for kinds of
/// quantity that this room doesn't know, such as money for a weight.
///
/// # Errors
/// Anything but a number of at most 9 digits and 4 decimals, or one below zero.
pub fn parse_amount(text: &str, expected: &'static str) -> Result<(Decimal, String), QuantityError> {
    let part = Measure::whole(text, expected, 4)?;
    if part.number.is_sign_negative() {
        return Err(malformed_or_negative(text, part.number, expected));
    }
    Ok((part.number, part.unit))
}

fn malformed_or_negative(text: &str, number: Decimal, expected: &'static str) -> QuantityError {
    let found = text.trim().to_owned();
    if number.is_sign_negative() {
        QuantityError::Negative { found, expected }
    } else {
        QuantityError::Malformed { found, expected }
    }
}

/// A number with one unit, for quantities that are floating-point.
fn single(text: &str, expected: &'static str) -> Result<(f64, String), QuantityError> {
    let part = Measure::whole(text, expected, 6)?;
    if part.unit.is_empty() {
        return Err(QuantityError::NoUnit { found: text.trim().into(), expected });
    }
    let number =
        f64::try_from(part.number).map_err(|_| QuantityError::Malformed { found: text.trim().into(), expected })?;
    Ok((number, part.unit))
}

/// A number, the unit behind it in lower case, and what follows.
struct Measure<'a> {
    number: Decimal,
    unit: String,
    rest: &'a str,
}

impl<'a> Measure<'a> {
    /// Takes one number and its unit off the front: the unit ends where the next number begins.
    fn split(text: &'a str, expected: &'static str, decimals: u32) -> Result<Self, QuantityError> {
        let after_number = text.trim_start_matches(is_number_character);
        let next_number = after_number.find(is_number_character).unwrap_or(after_number.len());
        let (first, rest) = text.split_at(text.len() - after_number.len() + next_number);
        let whole = Self::whole(first, expected, decimals)?;
        Ok(Self { rest, ..whole })
    }

    /// Reads the text as one number and one unit.
    fn whole(text: &'a str, expected: &'static str, decimals: u32) -> Result<Self, QuantityError> {
        let text = text.trim();
        let after_number = text.trim_start_matches(is_number_character);
        let digits = &text[..text.len() - after_number.len()];
        let malformed = || QuantityError::Malformed { found: text.into(), expected };
        if digits.contains(',') {
            return Err(QuantityError::Comma { found: text.into() });
        }
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
        let unsigned = whole.trim_start_matches(['-', '+']);
        if unsigned.len() > WHOLE_DIGITS || fraction.trim_end_matches('0').len() > decimals as usize {
            return Err(QuantityError::TooLong { found: text.chars().take(40).collect(), decimals });
        }
        let only_digits = |part: &str| part.chars().all(|c| c.is_ascii_digit());
        let one_sign = whole.len() - unsigned.len() <= 1;
        if unsigned.is_empty() || !only_digits(unsigned) || !only_digits(fraction) || !one_sign || digits.ends_with('.')
        {
            return Err(malformed());
        }
        // Zeros behind the last permitted decimal say nothing and would cost exactness.
        let fraction = &fraction[..fraction.len().min(decimals as usize)];
        let number = format!("{whole}.{fraction}0").parse::<Decimal>().map_err(|_| malformed())?.normalize();
        Ok(Self { number, unit: after_number.trim().to_lowercase(), rest: "" })
    }
}

fn is_number_character(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn pounds(text: &str) -> Weight {
        Weight::pounds(text.parse().unwrap())
    }

    #[test]
    fn weights_as_people_type_them() {
        for (typed, expected) in [
            ("27.9 lb", "27.9"),
            ("27.9lb", "27.9"),
            (" 28 lb 6 oz ", "28.375"),
            ("28lb 6oz", "28.375"),
            ("7 oz", "0.4375"),
            ("28 lb 15.9 oz", "28.99375"),
            ("28.5 #", "28.5"),
            ("28#", "28"),
            ("28# 6 oz", "28.375"),
            ("30 oz", "1.875"),
            ("28.0000000", "28"),
            ("+3", "3"),
        ] {
            assert_eq!(parse_weight(typed, Some(Unit::Lb)), Ok(pounds(expected)), "{typed}");
        }
        assert_eq!(parse_weight("12.9", Some(Unit::Kg)), parse_weight("12900 g", None));
    }

    #[test]
    fn weights_that_are_refused() {
        let refused = |typed: &str| parse_weight(typed, Some(Unit::Lb)).unwrap_err();
        assert!(matches!(refused("-3 lb"), QuantityError::Negative { .. }));
        assert!(matches!(refused("12,9 kg"), QuantityError::Comma { .. }));
        for typed in ["3 F", "1e3"] {
            assert!(matches!(refused(typed), QuantityError::UnknownUnit { .. }), "{typed}");
        }
        assert!(matches!(refused("3.00001 lb"), QuantityError::TooLong { .. }));
        assert!(matches!(refused("9999999999 lb"), QuantityError::TooLong { .. }));
        for typed in ["", "NaN", "inf", ".nan", "lb", "6 oz 2 lb", "3 lb 4", "1.", "--2", "3 lb 2 oz 1 oz", "½ lb"] {
            assert!(matches!(refused(typed), QuantityError::Malformed { .. }), "{typed}: {:?}", refused(typed));
        }
        for typed in ["30 lb 30 oz", "1 lb 16 oz", "28# 16.0 oz"] {
            assert!(matches!(refused(typed), QuantityError::Ounces { .. }), "{typed}");
        }
        for (typed, before) in [("WC 123.0", "WC"), ("TW 27.9 lb", "TW"), ("tare: 27.9", "tare:")] {
            assert!(matches!(refused(typed), QuantityError::Leading { words, .. } if words == before), "{typed}");
        }
        assert!(matches!(parse_weight("28", Some(Unit::LbOz)), Err(QuantityError::NoUnit { .. })));
        assert!(matches!(parse_weight("28", None), Err(QuantityError::NoUnit { .. })));
    }

    #[test]
    fn ranges_take_the_unit_from_the_end() {
        let span = parse_span("180..230 lb", None).unwrap();
        assert_eq!((span.low, span.high), (pounds("180"), pounds("230")));
        assert_eq!(parse_span("180 lb .. 230 lb", None).unwrap(), span);
        assert_eq!(parse_span("180..230", Some(Unit::Lb)).unwrap(), span);
        assert_eq!(parse_span("28 lb 6 oz..30 lb", None).unwrap().low, pounds("28.375"));
        assert_eq!(parse_span("180#..230 #", None).unwrap(), span);
        assert_eq!(parse_span("180..230#", None).unwrap(), span);
        assert!(matches!(parse_span("230..180 lb", None), Err(QuantityError::Backwards { .. })));
    }

    #[test]
    fn temperatures_need_their_scale() {
        assert!((parse_temperature("130 F").unwrap().celsius() - 54.444_444_444).abs() < 1e-6);
        assert!((parse_temperature("-40°C").unwrap().fahrenheit() + 40.0).abs() < 1e-9);
        assert!((parse_temperature("300 K").unwrap().kelvin() - 300.0).abs() < 1e-12);
        assert!(matches!(parse_temperature("-1 K"), Err(QuantityError::TooCold { .. })));
        assert!(matches!(parse_temperature("-459.7 F"), Err(QuantityError::TooCold { .. })));
        assert!(matches!(parse_temperature("54"), Err(QuantityError::NoUnit { .. })));
    }

    #[test]
    fn gauge_and_absolute_pressures_differ_by_the_atmosphere() {
        let gauge = parse_pressure("400 psig").unwrap();
        // 14.696 psi: the standard atmosphere, ISO 2533, from memory.
        assert!((gauge.gauge().absolute().pascal() / 6_894.757_293 - 414.696).abs() < 1e-3);
        assert_eq!(parse_pressure("28 bar").unwrap(), parse_pressure("2800 kPa").unwrap());
        assert!(matches!(parse_pressure("28 bara").unwrap(), Pressure::Absolute(_)));
        assert!(matches!(parse_pressure("400 psi"), Err(QuantityError::UnknownUnit { .. })));
    }

    #[test]
    fn densities_and_shares() {
        // Water at 62.428 lb/ft³ is 1000 kg/m³, from memory.
        assert!((parse_density("62.428 lb/ft3").unwrap().kg_per_m3() - 1000.0).abs() < 0.01);
        assert_eq!(parse_density("1.14 kg/l").unwrap(), parse_density("1140 kg/m3").unwrap());
        assert_eq!(parse_percent("80%").unwrap().to_string(), "80 %");
        assert!(matches!(parse_percent("0.8"), Err(QuantityError::NoUnit { .. })));
        assert!(matches!(parse_percent("-5 %"), Err(QuantityError::Negative { .. })));
    }
}
