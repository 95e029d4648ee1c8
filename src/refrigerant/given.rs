//! A refrigerant that a job file brings, because the table lacks it: checked, and taken at the word of its source.

use super::curve::{DensityCurve, PressureCurve};
use super::{LookupError, Origin, Record, Refrigerant, SafetyGroup};
use crate::quantity::{Density, GaugePressure, Temperature};
use std::cmp::Ordering;
use std::fmt;

/// What a job file states of a refrigerant.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenRefrigerant {
    /// A name that the table doesn't have.
    pub name: String,
    /// Its safety group; `None` where it isn't known, and it is then treated as flammable.
    pub group: Option<SafetyGroup>,
    /// Saturated-liquid densities, falling, at rising temperatures; straight lines between them, nothing beyond.
    pub points: Vec<(Temperature, Density)>,
    /// Bubble pressure at 131 °F (55 °C).
    pub pressure_at_131f: GaugePressure,
    /// Bubble pressure at 65 °C (149 °F), for the UN rules.
    pub pressure_at_65c: Option<GaugePressure>,
    /// Critical temperature.
    pub critical: Option<Temperature>,
    /// Where the values were read.
    pub source: String,
}

/// Everything that is wrong with a given refrigerant, in the order of its fields.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenError {
    /// At least one.
    pub problems: Vec<GivenProblem>,
}

impl std::error::Error for GivenError {}

impl fmt::Display for GivenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let texts: Vec<String> = self.problems.iter().map(ToString::to_string).collect();
        f.write_str(&texts.join("; "))
    }
}

/// One thing that is wrong with a given refrigerant.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GivenProblem {
    /// No name, or one of control characters or more than 60 letters.
    #[error("the refrigerant needs a name of at most 60 letters")]
    Name,
    /// The table has it already.
    #[error("`{name}` is {known} of the table, whose values stand: use that, or another name for another refrigerant")]
    InTable {
        /// The name that was given.
        name: String,
        /// What the table calls it.
        known: String,
    },
    /// The name is refused or leaves open what is meant.
    #[error("`{name}` can't be the name of a given refrigerant: {why}")]
    NameTaken {
        /// The name that was given.
        name: String,
        /// The sentence of the lookup.
        why: LookupError,
    },
    /// Fewer than two density points.
    #[error("`liquid_density` needs at least two points, at rising temperatures; found {found}")]
    TooFewPoints {
        /// How many there are.
        found: usize,
    },
    /// Temperatures don't rise.
    #[error("point {number} of `liquid_density` must be at a higher temperature than the one before it")]
    NotRising {
        /// Counted from 1.
        number: usize,
    },
    /// Densities don't fall.
    #[error("point {number} of `liquid_density` must have a lower density than the colder one before it")]
    NotFalling {
        /// Counted from 1.
        number: usize,
    },
    /// A value outside what a refrigerant can have.
    #[error("{what} must be from {low} to {high} {unit}, found {found:.1}")]
    OutOfRange {
        /// Which value.
        what: &'static str,
        /// In this unit.
        unit: &'static str,
        /// At least.
        low: f64,
        /// At most.
        high: f64,
        /// What stands there.
        found: f64,
    },
    /// The pressure at 65 °C isn't above that at 131 °F.
    #[error("the pressure at 65 C must be above that at 131 F (55 C)")]
    PressureNotRising,
    /// A density point at or above the critical temperature.
    #[error("the critical temperature must be above every point of `liquid_density`, and above 131 F (55 C)")]
    CriticalTooLow,
    /// No source.
    #[error("`source` must say where the values were read")]
    NoSource,
}

/// What a value may be. All permitted ranges stand here; the check and its message are made from them.
struct Range {
    what: &'static str,
    unit: &'static str,
    low: f64,
    high: f64,
}

const DENSITY: Range = Range { what: "a liquid density", unit: "kg/m3", low: 200.0, high: 3000.0 };
const POINT: Range = Range { what: "the temperature of a density", unit: "C", low: -60.0, high: 150.0 };
const PRESSURE_131F: Range = Range { what: "the pressure at 131 F", unit: "psig", low: -14.0, high: 1000.0 };
const PRESSURE_65C: Range = Range { what: "the pressure at 65 C", unit: "psig", low: -14.0, high: 1200.0 };
const CRITICAL: Range = Range { what: "the critical temperature", unit: "C", low: 0.0, high: 400.0 };

impl Range {
    /// A problem where the value lies outside, or is no number.
    fn check(&self, found: f64) -> Option<GivenProblem> {
        let &Self { what, unit, low, high } = self;
        (!(low..=high).contains(&found)).then_some(GivenProblem::OutOfRange { what, unit, low, high, found })
    }
}

/// The temperatures at which a job file states pressures.
const AT_131F: Temperature = Temperature::from_celsius(55.0);
const AT_65C: Temperature = Temperature::from_celsius(65.0);

impl Refrigerant {
    /// A refrigerant that a job file brings. It carries no allowance: its source is reported.
    ///
    /// # Errors
    /// All problems together: a name that the table has, fewer than two density points, temperatures that don't
    /// rise, densities that don't fall, values outside the ranges above, an empty source.
    pub fn given(stated: GivenRefrigerant) -> Result<Self, GivenError> {
        let mut problems: Vec<GivenProblem> = name_problem(&stated.name).into_iter().collect();
        problems.extend(point_problems(&stated.points));
        problems.extend(PRESSURE_131F.check(stated.pressure_at_131f.psig()));
        problems.extend(hot_pressure_problem(&stated));
        problems.extend(critical_problem(&stated));
        if stated.source.trim().is_empty() {
            problems.push(GivenProblem::NoSource);
        }
        let densities = stated.points.iter().map(|(at, density)| (at.kelvin(), density.kg_per_m3())).collect();
        let pressures: Vec<(f64, f64)> = [(AT_131F, Some(stated.pressure_at_131f)), (AT_65C, stated.pressure_at_65c)]
            .into_iter()
            .filter_map(|(at, pressure)| Some((at.kelvin(), pressure?.absolute().pascal())))
            .collect();
        let curves = DensityCurve::linear(densities).zip(PressureCurve::new(&pressures));
        match curves {
            Some((density, pressure)) if problems.is_empty() => Ok(Self::from(Record {
                name: stated.name.trim().to_owned(),
                group: stated.group,
                critical: stated.critical,
                density,
                pressure,
                origin: Origin::File(stated.source.trim().to_owned()),
            })),
            _ => Err(GivenError { problems }),
        }
    }
}

fn name_problem(name: &str) -> Option<GivenProblem> {
    if name.trim().is_empty() || name.chars().count() > 60 || name.chars().any(char::is_control) {
        return Some(GivenProblem::Name);
    }
    let given = name.to_owned();
    match Refrigerant::find(name) {
        Ok(known) => Some(GivenProblem::InTable { name: given, known: known.name().to_owned() }),
        Err(
            LookupError::Unknown { .. }
            | LookupError::NotListed { .. }
            | LookupError::LeftOut { may_be_given: true, .. },
        ) => None,
        Err(
            why @ (LookupError::Ambiguous { .. }
            | LookupError::LeftOut { may_be_given: false, .. }
            | LookupError::Refused { .. }
            | LookupError::Damaged { .. }),
        ) => Some(GivenProblem::NameTaken { name: given, why }),
    }
}

fn point_problems(points: &[(Temperature, Density)]) -> Vec<GivenProblem> {
    let mut problems = Vec::new();
    if points.len() < 2 {
        problems.push(GivenProblem::TooFewPoints { found: points.len() });
    }
    for (at, density) in points {
        problems.extend(POINT.check(at.celsius()));
        problems.extend(DENSITY.check(density.kg_per_m3()));
    }
    for (number, pair) in (2..).zip(points.windows(2)) {
        let [colder, warmer] = pair else { continue };
        if !colder.0.is_below(warmer.0) {
            problems.push(GivenProblem::NotRising { number });
        }
        if warmer.1.partial_cmp(&colder.1) != Some(Ordering::Less) {
            problems.push(GivenProblem::NotFalling { number });
        }
    }
    problems
}

fn hot_pressure_problem(stated: &GivenRefrigerant) -> Option<GivenProblem> {
    let hot = stated.pressure_at_65c?;
    let falls = hot.partial_cmp(&stated.pressure_at_131f) != Some(Ordering::Greater);
    PRESSURE_65C.check(hot.psig()).or(falls.then_some(GivenProblem::PressureNotRising))
}

fn critical_problem(stated: &GivenRefrigerant) -> Option<GivenProblem> {
    let critical = stated.critical?;
    let reached = |at: Temperature| !at.is_below(critical);
    let too_low = reached(AT_131F) || stated.points.iter().any(|&(at, _)| reached(at));
    CRITICAL.check(critical.celsius()).or(too_low.then_some(GivenProblem::CriticalTooLow))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::*;
    use crate::refrigerant::{LiquidFull, PropertyError};

    fn stated() -> GivenRefrigerant {
        GivenRefrigerant {
            name: "Trial blend 7".to_owned(),
            group: Some(SafetyGroup::A1),
            points: vec![
                (Temperature::from_fahrenheit(77.0), Density::from_lb_per_ft3(71.2)),
                (Temperature::from_fahrenheit(140.0), Density::from_lb_per_ft3(61.1)),
            ],
            pressure_at_131f: GaugePressure::from_psig(290.0),
            pressure_at_65c: None,
            critical: None,
            source: "maker's data sheet, revision 3".to_owned(),
        }
    }

    fn problems(change: impl FnOnce(&mut GivenRefrigerant)) -> Vec<GivenProblem> {
        let mut changed = stated();
        change(&mut changed);
        Refrigerant::given(changed).map_or_else(|error| error.problems, |_| Vec::new())
    }

    #[test]
    fn density_lies_on_the_line_and_never_beyond() {
        let given = Refrigerant::given(stated()).unwrap();
        let at = Temperature::from_fahrenheit(108.5);
        // By hand: half way between 71.2 and 61.1 lb/ft³ is 66.15.
        let expected = Density::from_lb_per_ft3(66.15).kg_per_m3();
        assert!((given.safe_density(at).unwrap().kg_per_m3() - expected).abs() < 1e-9);
        for fahrenheit in [76.9, 140.1] {
            let error = given.liquid_density(Temperature::from_fahrenheit(fahrenheit)).unwrap_err();
            assert!(error.to_string().contains("from 77 F to 140 F"), "{error}");
        }
        let full = given.liquid_full_temperature(Density::from_lb_per_ft3(66.15));
        let LiquidFull::At(found) = full else { panic!("{full:?}") };
        assert!((found.fahrenheit() - 108.5).abs() < 1e-6);
        assert_eq!(given.source(), "maker's data sheet, revision 3");
        assert_eq!((given.grade(), given.un_number(), given.composition().len()), (None, None, 0));
    }

    #[test]
    fn pressure_is_the_stated_one_and_bounds_what_is_colder() {
        let given = Refrigerant::given(stated()).unwrap();
        let at_131f = given.bubble_pressure(Temperature::from_fahrenheit(131.0)).unwrap();
        assert!((at_131f.gauge().psig() - 290.0).abs() < 1e-9);
        let colder = Temperature::from_fahrenheit(70.0);
        assert!(matches!(given.bubble_pressure(colder), Err(PropertyError::Outside { .. })));
        assert_eq!(given.safe_pressure(colder).unwrap(), at_131f);
        assert!(given.safe_pressure(Temperature::from_celsius(65.0)).is_err());
        let mut hotter = stated();
        hotter.pressure_at_65c = Some(GaugePressure::from_psig(370.0));
        let given = Refrigerant::given(hotter).unwrap();
        let at_65c = given.safe_pressure(Temperature::from_celsius(65.0)).unwrap();
        assert!((at_65c.gauge().psig() - 370.0).abs() < 1e-9);
    }

    #[test]
    fn a_stated_critical_temperature_is_kept_clear_of() {
        let mut near = stated();
        near.critical = Some(Temperature::from_celsius(62.0));
        let given = Refrigerant::given(near).unwrap();
        let error = given.safe_density(Temperature::from_celsius(58.0)).unwrap_err();
        assert!(matches!(error, PropertyError::NearCritical { .. }), "{error}");
    }

    #[test]
    fn each_fault_is_named() {
        assert_eq!(problems(|_| ()), []);
        assert_eq!(problems(|given| given.name = " ".to_owned()), [GivenProblem::Name]);
        assert_eq!(problems(|given| given.source = " ".to_owned()), [GivenProblem::NoSource]);
        assert_eq!(problems(|given| given.points.truncate(1)), [GivenProblem::TooFewPoints { found: 1 }]);
        let turned = [GivenProblem::NotRising { number: 2 }, GivenProblem::NotFalling { number: 2 }];
        assert_eq!(problems(|given| given.points.reverse()), turned);
        for name in ["r404a", "HFC-134a", "propane"] {
            let found = problems(|given| given.name = name.to_owned());
            assert!(matches!(found.as_slice(), [GivenProblem::InTable { .. }]), "{name}: {found:?}");
        }
        for name in ["R-30", "1234ze", "R-14"] {
            let found = problems(|given| given.name = name.to_owned());
            assert!(matches!(found.as_slice(), [GivenProblem::NameTaken { .. }]), "{name}: {found:?}");
        }
        assert_eq!(problems(|given| given.name = "R-514A".to_owned()), [], "what is left out may be given");
        let cold = problems(|given| given.critical = Some(Temperature::from_celsius(55.0)));
        assert_eq!(cold, [GivenProblem::CriticalTooLow]);
        let falling = problems(|given| given.pressure_at_65c = Some(GaugePressure::from_psig(290.0)));
        assert_eq!(falling, [GivenProblem::PressureNotRising]);
    }

    #[test]
    fn values_out_of_range_and_no_numbers_are_refused() {
        for density in [199.9, 3000.1, f64::NAN, f64::INFINITY, -1.0] {
            let found = problems(|given| given.points[1].1 = Density::from_kg_per_m3(density));
            assert!(found.iter().any(|fault| matches!(fault, GivenProblem::OutOfRange { .. })), "{density}");
        }
        for celsius in [f64::NAN, f64::NEG_INFINITY, -61.0] {
            let found = problems(|given| given.points[0].0 = Temperature::from_celsius(celsius));
            assert!(found.iter().any(|fault| matches!(fault, GivenProblem::OutOfRange { .. })), "{celsius}");
        }
        for psig in [f64::NAN, -14.1, 1000.1] {
            let found = problems(|given| given.pressure_at_131f = GaugePressure::from_psig(psig));
            assert!(matches!(found.as_slice(), [GivenProblem::OutOfRange { .. }]), "{psig}: {found:?}");
        }
        let all = problems(|given| {
            given.name = String::new();
            given.points.clear();
            given.pressure_at_131f = GaugePressure::from_psig(f64::NAN);
            given.source = String::new();
        });
        assert_eq!(all.len(), 4, "{all:?}");
    }
}
