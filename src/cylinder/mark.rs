//! The mark on a cylinder's shoulder: specification and service pressure, as stamped.

use thiserror::Error;

use crate::quantity::GaugePressure;

/// The specifications whose number is a service pressure, and the two kinds that are told apart from them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Specification {
    /// Seamless steel.
    S3A,
    /// Seamless steel, heat-treated.
    S3AA,
    /// Seamless aluminium.
    S3AL,
    /// Seamless steel, low pressure.
    S3B,
    /// Welded or brazed steel.
    S4B,
    /// Welded or brazed steel of electric-resistance-welded tube, at 240 psi only.
    S4B240ET,
    /// Welded or brazed alloy steel.
    S4BA,
    /// Welded steel with an electric-arc seam.
    S4BW,
    /// Welded aluminium.
    S4E,
    /// Non-refillable: 49 CFR 178.65.
    NonRefillable,
    /// 106A or 110A, or a mark of a tank: its number is a test pressure.
    Tank,
    /// Any other: the mark alone says no service pressure.
    Other,
}

/// A stamped mark.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    text: String,
    specification: Specification,
    service_pressure: Option<GaugePressure>,
}

/// A mark that can't be what is stamped on a cylinder.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MarkError {
    /// No specification in it.
    #[error("`{found}` isn't a mark; expected a specification with its service pressure, such as DOT-4BA400")]
    Malformed {
        /// As typed.
        found: String,
    },
    /// A drum, which is packed and emptied by other rules.
    #[error("`{found}` is the mark of a drum: drums aren't planned")]
    Drum {
        /// As typed.
        found: String,
    },
    /// A pressure that the specification isn't made for.
    #[error("`{found}` can't be stamped: {specification} cylinders are marked {low} to {high} {unit}")]
    Pressure {
        /// As typed.
        found: String,
        /// The specification.
        specification: &'static str,
        /// Smallest service pressure of the specification.
        low: u32,
        /// Largest.
        high: u32,
        /// psi or bar.
        unit: &'static str,
    },
}

/// Specifications that are read, with the service pressures that they are made for in psig
/// (49 CFR 178.36 to 178.68, ranges from memory; where the text names no largest one, 10,000).
const READ: [(&str, Specification, u32, u32); 8] = [
    ("3AA", Specification::S3AA, 150, 10_000),
    ("3AL", Specification::S3AL, 150, 10_000),
    ("3A", Specification::S3A, 150, 10_000),
    ("3B", Specification::S3B, 150, 500),
    ("4BA", Specification::S4BA, 225, 500),
    ("4BW", Specification::S4BW, 225, 500),
    ("4B", Specification::S4B, 150, 500),
    ("4E", Specification::S4E, 225, 500),
];
const PSI_IN_BAR: f64 = 14.503_774;

/// Whether it is the code of a drum (49 CFR 178.504 to 178.509: 1A1, 1A2, 1B1 and so on; from memory), or says so.
fn is_drum(specification: &str) -> bool {
    let code = specification.strip_prefix("UN").unwrap_or(specification);
    let material = code.strip_prefix('1').and_then(|rest| rest.strip_prefix(['A', 'B', 'D', 'G', 'H', 'N']));
    matches!(material, Some("" | "1" | "2")) || code.contains("DRUM")
}

impl Mark {
    /// Reads a mark as stamped: `DOT-4BA400`, `4BW 240`, `TC-4BAM28` (in bar). Of a dual stamp the first counts.
    ///
    /// # Errors
    /// A text without a specification, and a service pressure that the specification isn't made for.
    pub fn parse(text: &str) -> Result<Self, MarkError> {
        let text = text.trim();
        let first = text.split(['/', ',', ';']).next().unwrap_or(text);
        let compact: String =
            first.chars().filter(|c| !matches!(c, ' ' | '-' | '_')).collect::<String>().to_uppercase();
        let (canadian, specification) = match compact.strip_prefix("TC").or_else(|| compact.strip_prefix("CTC")) {
            Some(rest) => (true, rest),
            None => (false, compact.strip_prefix("DOT").or_else(|| compact.strip_prefix("ICC")).unwrap_or(&compact)),
        };
        if is_drum(specification) {
            return Err(MarkError::Drum { found: text.into() });
        }
        let malformed = || MarkError::Malformed { found: text.into() };
        if !specification.chars().any(|c| c.is_ascii_digit()) || !specification.is_ascii() {
            return Err(malformed());
        }
        let of_kind = |specification, service_pressure| Self { text: text.into(), specification, service_pressure };
        if specification.starts_with("39") {
            return Ok(of_kind(Specification::NonRefillable, None));
        }
        if specification.starts_with("106A") || specification.starts_with("110A") {
            return Ok(of_kind(Specification::Tank, None));
        }
        if specification == "4B240ET" {
            return Ok(of_kind(Specification::S4B240ET, Some(GaugePressure::from_psig(240.0))));
        }
        for (name, kind, low, high) in READ {
            let Some(number) = specification.strip_prefix(name) else {
                continue;
            };
            let number = if canadian { number.strip_prefix('M').unwrap_or(number) } else { number };
            let Ok(pressure) = number.parse::<u32>() else { continue };
            return Self::checked(of_kind(kind, None), name, pressure, canadian, (low, high));
        }
        Ok(of_kind(Specification::Other, None))
    }

    fn checked(
        mark: Self,
        specification: &'static str,
        pressure: u32,
        in_bar: bool,
        (low, high): (u32, u32),
    ) -> Result<Self, MarkError> {
        let in_unit = |psi: u32| {
            if in_bar { (f64::from(psi) / PSI_IN_BAR).floor() as u32 } else { psi }
        };
        let (low, high, unit) = (in_unit(low), in_unit(high) + u32::from(in_bar), if in_bar { "bar" } else { "psi" });
        if !(low..=high).contains(&pressure) {
            return Err(MarkError::Pressure { found: mark.text, specification, low, high, unit });
        }
        let pressure = f64::from(pressure);
        let pressure = if in_bar { GaugePressure::from_bar(pressure) } else { GaugePressure::from_psig(pressure) };
        Ok(Self { service_pressure: Some(pressure), ..mark })
    }

    /// As stamped.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The specification.
    pub fn specification(&self) -> Specification {
        self.specification
    }

    /// The marked service pressure, where the specification's number is one.
    pub fn service_pressure(&self) -> Option<GaugePressure> {
        self.service_pressure
    }

    /// 4B, 4BA and 4BW: tested at twice the service pressure (49 CFR 180.209(a) table 1).
    pub fn is_tested_at_twice_service_pressure(&self) -> bool {
        matches!(self.specification, Specification::S4B | Specification::S4BA | Specification::S4BW)
    }

    /// The specifications that 49 CFR 173.304a(a)(2) lists in the row of R-22, all at 240 psi: 3A, 3AA, 3AL, 3B, 4B, 4BA,
    /// 4BW, 4B240ET and 4E.
    pub fn is_listed_for_r22(&self) -> bool {
        match self.specification {
            Specification::S3A
            | Specification::S3AA
            | Specification::S3AL
            | Specification::S3B
            | Specification::S4B
            | Specification::S4B240ET
            | Specification::S4BA
            | Specification::S4BW
            | Specification::S4E => true,
            Specification::NonRefillable | Specification::Tank | Specification::Other => false,
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn service_pressures_are_read_from_the_named_specifications_only() {
        for (stamp, specification, psig) in [
            ("DOT-4BA400", Specification::S4BA, Some(400.0)),
            ("4BW 240", Specification::S4BW, Some(240.0)),
            ("dot 4b-300", Specification::S4B, Some(300.0)),
            ("DOT-4B240ET", Specification::S4B240ET, Some(240.0)),
            ("4B-240 ET", Specification::S4B240ET, Some(240.0)),
            ("DOT-4E240", Specification::S4E, Some(240.0)),
            ("DOT-3AA2015", Specification::S3AA, Some(2015.0)),
            ("DOT-4BA400/TC-4BAM28", Specification::S4BA, Some(400.0)),
            ("TC-4BAM28/DOT-4BA400", Specification::S4BA, Some(28.0 * PSI_IN_BAR)),
            ("DOT-39 NRC 260/325", Specification::NonRefillable, None),
            ("110A500W", Specification::Tank, None),
            ("4L200", Specification::Other, None),
            ("4BA400X", Specification::Other, None),
            ("4B300ET", Specification::Other, None),
            ("UN ISO 4706", Specification::Other, None),
        ] {
            let mark = Mark::parse(stamp).unwrap();
            assert_eq!(mark.specification(), specification, "{stamp}");
            let found = mark.service_pressure().map(GaugePressure::psig);
            assert_eq!(found.map(|p| (p * 10.0).round()), psig.map(|p: f64| (p * 10.0).round()), "{stamp}");
        }
    }

    #[test]
    fn a_slip_of_the_finger_is_no_service_pressure() {
        assert!(matches!(Mark::parse("DOT-4BA4000"), Err(MarkError::Pressure { high: 500, .. })));
        assert!(matches!(Mark::parse("TC-4BWM400"), Err(MarkError::Pressure { unit: "bar", .. })));
        for drum in ["drum", "1A1", "UN 1A2/X1.4/250", "1h1", "steel drum"] {
            assert!(matches!(Mark::parse(drum), Err(MarkError::Drum { .. })), "{drum}");
        }
        assert!(matches!(Mark::parse("steel"), Err(MarkError::Malformed { .. })));
        assert!(matches!(Mark::parse(""), Err(MarkError::Malformed { .. })));
    }
}
