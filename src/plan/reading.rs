//! Figures that are a number in data and a scale reading in text, from one value.

use std::fmt;

use serde::{Serialize, Serializer};

use crate::quantity::{Decimal, Division, Marks};

/// A decimal as a JSON number: it has few digits, so that the nearest binary number prints as it was typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Number(pub Decimal);

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match f64::try_from(self.0) {
            Ok(number) => serializer.serialize_f64(number),
            Err(error) => Err(serde::ser::Error::custom(error)),
        }
    }
}

/// A weight as the scale shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reading {
    division: Division,
    marks: Marks,
}

impl Reading {
    /// So many divisions of this scale.
    pub fn new(division: Division, marks: Marks) -> Self {
        Self { division, marks }
    }

    /// The same on another scale, rounded down: what may be reached.
    #[must_use]
    pub fn down(self, to: Division) -> Self {
        Self::new(to, to.floor(self.division.weight(self.marks)))
    }

    /// The same on another scale, rounded up: what is there, or has to be placed.
    #[must_use]
    pub fn up(self, to: Division) -> Self {
        Self::new(to, to.ceil(self.division.weight(self.marks)))
    }

    /// Whether it is nothing.
    pub const fn is_zero(self) -> bool {
        self.marks == 0
    }

    /// Whether it is less than nothing.
    pub const fn is_negative(self) -> bool {
        self.marks < 0
    }

    /// The same without its sign.
    pub const fn abs(self) -> Self {
        Self { marks: self.marks.saturating_abs(), ..self }
    }

    /// The smaller of two on one scale.
    pub const fn least(self, other: Self) -> Self {
        if other.marks < self.marks { other } else { self }
    }

    /// The whole divisions, for a place on a plot.
    pub fn marks(self) -> Marks {
        self.marks
    }

    /// Without the unit, for a column that names it.
    pub fn bare(self) -> String {
        self.division.reading(self.marks)
    }
}

/// Readings of one scale by their weight; of two scales there is none that is the larger.
impl PartialOrd for Reading {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        (self.division == other.division).then(|| self.marks.cmp(&other.marks))
    }
}

impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.division.text(self.marks))
    }
}

impl Serialize for Reading {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        Number(self.division.number(self.marks)).serialize(serializer)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::quantity::{Unit, Weight};

    #[test]
    fn on_another_scale_nothing_is_more_than_may_be_reached_or_less_than_is_there() {
        let steps = [
            ("0.1", Unit::Lb),
            ("0.2", Unit::Lb),
            ("0.05", Unit::Kg),
            ("0.02", Unit::Kg),
            ("1", Unit::LbOz),
            ("0.5", Unit::LbOz),
        ];
        let divisions = steps.map(|(step, unit)| Division::new(unit, unit.weight(step.parse().unwrap())).unwrap());
        let mut rng = fastrand::Rng::with_seed(7);
        for _ in 0..20_000 {
            let (from, to) = (rng.choice(divisions).unwrap(), rng.choice(divisions).unwrap());
            let reading = Reading::new(from, rng.i64(-100..20_000));
            let (down, up, exact) = (weight_of(reading.down(to)), weight_of(reading.up(to)), weight_of(reading));
            assert!(down <= exact && exact - down < to.step(), "{reading} became {}", reading.down(to));
            assert!(up >= exact && up - exact < to.step(), "{reading} became {}", reading.up(to));
            if from == to {
                assert_eq!((down, up), (exact, exact));
            }
        }
        let nothing = Reading::new(divisions[0], 0);
        assert_eq!(
            (weight_of(nothing.down(divisions[2])), weight_of(nothing.up(divisions[2]))),
            (Weight::ZERO, Weight::ZERO)
        );
    }

    fn weight_of(reading: Reading) -> Weight {
        reading.division.weight(reading.marks)
    }
}
