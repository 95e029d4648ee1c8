//! Weights as exact decimals, and the scale's division: the only place that rounds a weight.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Sub};

use rust_decimal::Decimal;
use thiserror::Error;

/// Grams in one pound: 453.59237, exact by definition.
const GRAMS_PER_POUND: Decimal = Decimal::from_parts(45_359_237, 0, 0, false, 5);
/// Grams in one ounce, a sixteenth of a pound: 28.349523125.
const GRAMS_PER_OUNCE: Decimal = Decimal::from_parts(2_579_719_349, 6, 0, false, 9);
const GRAMS_PER_KILOGRAM: Decimal = Decimal::ONE_THOUSAND;

/// A whole number of scale divisions.
pub type Marks = i64;

/// An exact weight. Differences may be negative; what a file states never is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Weight {
    grams: Decimal,
}

impl Weight {
    /// Nothing.
    pub const ZERO: Self = Self { grams: Decimal::ZERO };

    /// So many pounds, exactly.
    pub fn pounds(pounds: Decimal) -> Self {
        Self { grams: pounds * GRAMS_PER_POUND }
    }

    /// So many ounces, exactly.
    pub fn ounces(ounces: Decimal) -> Self {
        Self { grams: ounces * GRAMS_PER_OUNCE }
    }

    /// So many kilograms, exactly.
    pub fn kilograms(kilograms: Decimal) -> Self {
        Self { grams: kilograms * GRAMS_PER_KILOGRAM }
    }

    /// So many grams, exactly.
    pub fn grams(grams: Decimal) -> Self {
        Self { grams }
    }

    /// This weight times a factor without unit.
    pub fn times(self, factor: Decimal) -> Self {
        Self { grams: self.grams * factor }
    }

    /// The number of `other` in this weight, for comparing two weights; `None` where `other` is zero.
    pub fn ratio_to(self, other: Self) -> Option<Decimal> {
        self.grams.checked_div(other.grams)
    }

    /// Whether this is more than nothing.
    pub fn is_positive(self) -> bool {
        self.grams > Decimal::ZERO
    }

    /// Whether this is less than nothing.
    pub fn is_negative(self) -> bool {
        self.grams < Decimal::ZERO
    }
}

impl Add for Weight {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { grams: self.grams + other.grams }
    }
}

impl Sub for Weight {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { grams: self.grams - other.grams }
    }
}

impl Sum for Weight {
    fn sum<I: Iterator<Item = Self>>(weights: I) -> Self {
        weights.fold(Self::ZERO, Add::add)
    }
}

/// A share in per cent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Percent {
    percent: Decimal,
}

impl Percent {
    /// From a number of per cent: 80 for 80 %.
    pub const fn new(percent: Decimal) -> Self {
        Self { percent }
    }

    /// The number of per cent.
    pub const fn number(self) -> Decimal {
        self.percent
    }

    /// The share as a fraction of one.
    pub fn fraction(self) -> Decimal {
        self.percent / Decimal::ONE_HUNDRED
    }

    /// This share of a weight.
    pub fn of(self, weight: Weight) -> Weight {
        weight.times(self.fraction())
    }
}

impl fmt::Display for Percent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} %", self.percent.normalize())
    }
}

/// What the weights of a job are typed and printed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Decimal pounds.
    Lb,
    /// Decimal kilograms.
    Kg,
    /// Pounds and ounces.
    LbOz,
}

impl Unit {
    /// Every unit, in the order in which messages name them.
    pub const ALL: [Self; 3] = [Self::Lb, Self::Kg, Self::LbOz];

    /// As files write it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Lb => "lb",
            Self::Kg => "kg",
            Self::LbOz => "lb-oz",
        }
    }

    /// The unit of a plain number, as data carries it: `lb-oz` is counted in ounces.
    pub const fn number_name(self) -> &'static str {
        match self {
            Self::Lb => "lb",
            Self::Kg => "kg",
            Self::LbOz => "oz",
        }
    }

    const fn grams(self) -> Decimal {
        match self {
            Self::Lb => GRAMS_PER_POUND,
            Self::Kg => GRAMS_PER_KILOGRAM,
            Self::LbOz => GRAMS_PER_OUNCE,
        }
    }

    /// The weight of `number` of this unit (ounces for `lb-oz`).
    pub fn weight(self, number: Decimal) -> Weight {
        Weight { grams: number * self.grams() }
    }

    /// The number of this unit in a weight (ounces for `lb-oz`), to 28 digits.
    pub fn number(self, weight: Weight) -> Decimal {
        weight.grams / self.grams()
    }

    /// A weight in this unit for a sentence, to two decimals at the most: `27.93 lb`, `27 lb 14.9 oz`.
    pub fn text(self, weight: Weight) -> String {
        match self {
            Self::Lb | Self::Kg => format!("{} {}", self.number(weight).round_dp(2).normalize(), self.name()),
            Self::LbOz => pounds_and_ounces(self.number(weight).round_dp(1).normalize()),
        }
    }

    /// The division of a scale of which the file says nothing: 0.1 lb, 0.05 kg, 1 oz.
    pub fn default_division(self) -> Division {
        let step = match self {
            Self::Lb => Decimal::new(1, 1),
            Self::Kg => Decimal::new(5, 2),
            Self::LbOz => Decimal::ONE,
        };
        Division { unit: self, step_number: step, step: self.weight(step) }
    }
}

/// Why a step can't be the division of a job's scale.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DivisionError {
    /// Outside 1 g to 10 kg.
    #[error("a scale's division lies between 1 g and 10 kg")]
    OutOfRange,
    /// A reading could not be written in the job's unit with four decimals.
    #[error("a division in another unit than the job's can't be read off the scale in {unit}", unit = .unit.name())]
    NotInUnit {
        /// The job's unit.
        unit: Unit,
    },
}

/// The smallest step of a scale, with the unit in which it is read.
///
/// Everything that has to be rounded is rounded here: what may be reached, down; what is there, up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Division {
    unit: Unit,
    step_number: Decimal,
    step: Weight,
}

impl Division {
    /// A division of `step`, read in `unit`.
    ///
    /// # Errors
    /// A step under 1 g or over 10 kg, or one that isn't a number of `unit` with at most four decimals.
    pub fn new(unit: Unit, step: Weight) -> Result<Self, DivisionError> {
        if step < Weight::grams(Decimal::ONE) || step > Weight::kilograms(Decimal::TEN) {
            return Err(DivisionError::OutOfRange);
        }
        let step_number = unit.number(step).round_dp(4).normalize();
        if unit.weight(step_number) != step {
            return Err(DivisionError::NotInUnit { unit });
        }
        Ok(Self { unit, step_number, step })
    }

    /// The unit in which the scale is read.
    pub const fn unit(self) -> Unit {
        self.unit
    }

    /// The smallest step.
    pub const fn step(self) -> Weight {
        self.step
    }

    /// The whole divisions that fit into `weight`: for what may be reached. A weight beyond all scales counts as the
    /// largest number of marks.
    pub fn floor(self, weight: Weight) -> Marks {
        let whole = (weight.grams / self.step.grams).floor();
        // The quotient is rounded to 28 digits; the products below are exact.
        let whole = if whole * self.step.grams > weight.grams {
            whole - Decimal::ONE
        } else if (whole + Decimal::ONE) * self.step.grams <= weight.grams {
            whole + Decimal::ONE
        } else {
            whole
        };
        Marks::try_from(whole).unwrap_or(Marks::MAX)
    }

    /// The whole divisions that `weight` needs: for what is there, or has to be placed.
    pub fn ceil(self, weight: Weight) -> Marks {
        let floor = self.floor(weight);
        if self.weight(floor) < weight { floor.saturating_add(1) } else { floor }
    }

    /// The weight of so many divisions.
    pub fn weight(self, marks: Marks) -> Weight {
        self.step.times(Decimal::from(marks))
    }

    /// So many divisions as a number of [`Unit::number_name`].
    pub fn number(self, marks: Marks) -> Decimal {
        let mut number = self.step_number * Decimal::from(marks);
        number.rescale(self.step_number.scale());
        number
    }

    /// The divisions in `number` of [`Unit::number_name`], where it is a whole count of them.
    pub fn marks(self, number: Decimal) -> Option<Marks> {
        let marks = number.checked_div(self.step_number)?.round();
        (marks * self.step_number == number).then(|| Marks::try_from(marks).ok()).flatten()
    }

    /// So many divisions as the scale shows them, without the unit where that is one word: `27.9`, `27 lb 14 oz`.
    pub fn reading(self, marks: Marks) -> String {
        let number = self.number(marks);
        match self.unit {
            Unit::Lb | Unit::Kg => number.to_string(),
            Unit::LbOz => pounds_and_ounces(number),
        }
    }

    /// So many divisions with their unit: `27.9 lb`, `27 lb 14 oz`.
    pub fn text(self, marks: Marks) -> String {
        match self.unit {
            Unit::Lb | Unit::Kg => format!("{} {}", self.reading(marks), self.unit.name()),
            Unit::LbOz => self.reading(marks),
        }
    }
}

fn pounds_and_ounces(ounces: Decimal) -> String {
    let sixteen = Decimal::from(16);
    let (sign, ounces) = (if ounces.is_sign_negative() { "-" } else { "" }, ounces.abs());
    let pounds = (ounces / sixteen).floor();
    format!("{sign}{pounds} lb {} oz", ounces - pounds * sixteen)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn decimal(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    #[test]
    fn an_ounce_is_a_sixteenth_of_a_pound() {
        assert_eq!(Weight::ounces(Decimal::from(16)), Weight::pounds(Decimal::ONE));
        assert_eq!(Weight::grams(decimal("453.59237")), Weight::pounds(Decimal::ONE));
    }

    #[test]
    fn every_weight_on_the_grid_stays_on_its_mark() {
        let division = Unit::Lb.default_division();
        for marks in 0..20_000 {
            let weight = Weight::pounds(Decimal::new(marks, 1));
            assert_eq!((division.floor(weight), division.ceil(weight)), (marks, marks));
            assert_eq!(division.marks(division.number(marks)), Some(marks));
        }
    }

    #[test]
    fn off_the_grid_down_for_limits_and_up_for_loads() {
        let division = Unit::Kg.default_division();
        let weight = Weight::kilograms(decimal("12.9001"));
        assert_eq!((division.floor(weight), division.ceil(weight)), (258, 259));
        assert_eq!(division.floor(Weight::ZERO - Weight::grams(Decimal::ONE)), -1);
        assert_eq!(division.ceil(Weight::ZERO - Weight::grams(Decimal::ONE)), 0);
    }

    #[test]
    fn readings_carry_the_decimals_of_the_division() {
        let tenth = Unit::Lb.default_division();
        assert_eq!((tenth.reading(280), tenth.text(280)), ("28.0".into(), "28.0 lb".into()));
        let ounce = Unit::LbOz.default_division();
        assert_eq!(ounce.text(16 * 28 + 6), "28 lb 6 oz");
        let fiftieth = Unit::Kg.default_division();
        assert_eq!(fiftieth.text(259), "12.95 kg");
    }

    #[test]
    fn a_division_has_to_be_readable_in_the_unit() {
        let ounce = Weight::ounces(Decimal::ONE);
        assert!(Division::new(Unit::Lb, ounce).is_ok(), "an ounce is 0.0625 lb");
        assert_eq!(Division::new(Unit::Kg, ounce), Err(DivisionError::NotInUnit { unit: Unit::Kg }));
        assert_eq!(Division::new(Unit::Kg, Weight::ZERO), Err(DivisionError::OutOfRange));
    }
}
