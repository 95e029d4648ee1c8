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
