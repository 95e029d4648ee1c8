//! Density and pressure between the points that are known, never beyond them.

use crate::quantity::{AbsolutePressure, Density, Temperature};

/// Points used at a time in the table's interpolation.
const NEAR: usize = 4;

/// Saturated-liquid density over temperature, falling.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct DensityCurve {
    /// kelvin and kg/m³, temperatures rising.
    points: Vec<(f64, f64)>,
    between: Between,
}

/// How density is interpolated.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Between {
    /// Through four neighbouring points, in x = (1 − T/Tc)^(1/3), in which density is nearly straight even close to
    /// the critical point. Error against CoolProp: at most 0.01 % (measured by the generator).
    Cubic { critical: f64 },
    /// Straight lines in temperature. Between the points they lie below the true curve, which is concave: the safe
    /// side.
    Linear,
}

impl DensityCurve {
    /// A curve of the table. `None` with fewer than four points, or where they don't fall.
    pub(super) fn cubic(points: Vec<(f64, f64)>, critical: f64) -> Option<Self> {
        let below_critical = points.last().is_some_and(|&(kelvin, _)| kelvin < critical);
        let usable = points.len() >= NEAR && below_critical && is_falling(&points);
        usable.then_some(Self { points, between: Between::Cubic { critical } })
    }

    /// A curve of a job file. `None` with fewer than two points, or where they don't fall.
    pub(super) fn linear(points: Vec<(f64, f64)>) -> Option<Self> {
        let usable = points.len() >= 2 && is_falling(&points);
        usable.then_some(Self { points, between: Between::Linear })
    }

    /// The lowest and the highest temperature.
    pub(super) fn range(&self) -> (Temperature, Temperature) {
        let end = |point: Option<&(f64, f64)>| Temperature::from_kelvin(point.map_or(f64::NAN, |point| point.0));
        (end(self.points.first()), end(self.points.last()))
    }

    /// The density at a temperature within the range.
    pub(super) fn at(&self, temperature: Temperature) -> Option<Density> {
        let kelvin = clamped(temperature, self.range())?;
        self.value(kelvin).map(Density::from_kg_per_m3)
    }

    /// The temperature in kelvin at which the liquid has this density, in kg/m³; `None` outside the range.
    pub(super) fn temperature_of(&self, density: f64) -> Option<f64> {
        let above =
            self.points.windows(2).find(|pair| matches!(pair, [high, low] if high.1 >= density && density >= low.1))?;
        let (mut low, mut high) = (above.first()?.0, above.last()?.0);
        // Sixty halvings of at most 100 K are far below what a temperature distinguishes.
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if self.value(middle)? > density {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(low)
    }

    fn value(&self, kelvin: f64) -> Option<f64> {
        match self.between {
            Between::Cubic { critical } => {
                let reduced = |t: f64| (1.0 - t / critical).cbrt();
                let near = neighbours(&self.points, kelvin, NEAR)?;
                Some(lagrange(near.iter().map(|&(t, density)| (reduced(t), density)), reduced(kelvin)))
            }
            Between::Linear => {
                let near = neighbours(&self.points, kelvin, 2)?;
                Some(lagrange(near.iter().copied(), kelvin))
            }
        }
    }
}

/// Bubble pressure over temperature, rising.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PressureCurve {
    /// kelvin and the natural logarithm of the absolute pressure in pascals, temperatures rising.
    points: Vec<(f64, f64)>,
    /// Neighbouring points used at a time.
    near: usize,
}

impl PressureCurve {
    /// From kelvin and pascals: through four points at a time where there are as many (the table), through two (what
    /// a job file can state) or one. `None` without any, or where the pressures aren't positive and rising.
    pub(super) fn new(points: &[(f64, f64)]) -> Option<Self> {
        let positive = points.first().is_some_and(|&(_, pascal)| pascal > 0.0);
        let rising = points.windows(2).all(|pair| matches!(pair, [a, b] if a.0 < b.0 && a.1 < b.1));
        let logarithms = points.iter().map(|&(kelvin, pascal)| (kelvin, pascal.ln())).collect();
        (positive && rising).then_some(Self { points: logarithms, near: points.len().min(NEAR) })
    }

    /// The lowest and the highest temperature.
    pub(super) fn range(&self) -> (Temperature, Temperature) {
        let end = |point: Option<&(f64, f64)>| Temperature::from_kelvin(point.map_or(f64::NAN, |point| point.0));
        (end(self.points.first()), end(self.points.last()))
    }

    /// The bubble pressure at a temperature within the range.
    pub(super) fn at(&self, temperature: Temperature) -> Option<AbsolutePressure> {
        let kelvin = clamped(temperature, self.range())?;
        let near = neighbours(&self.points, kelvin, self.near)?;
        Some(AbsolutePressure::from_pascal(lagrange(near.iter().copied(), kelvin).exp()))
    }
}

/// The temperature in kelvin, moved onto an end of the range where it differs from that by less than the tolerance.
fn clamped(temperature: Temperature, (lowest, highest): (Temperature, Temperature)) -> Option<f64> {
    let within = !temperature.is_below(lowest) && !highest.is_below(temperature);
    (within && temperature.kelvin().is_finite())
        .then(|| temperature.kelvin().max(lowest.kelvin()).min(highest.kelvin()))
}

fn is_falling(points: &[(f64, f64)]) -> bool {
    points.windows(2).all(|pair| matches!(pair, [a, b] if a.0 < b.0 && a.1 > b.1))
}

/// `count` points around a temperature: as many below as above, or the outermost ones at an end.
fn neighbours(points: &[(f64, f64)], kelvin: f64, count: usize) -> Option<&[(f64, f64)]> {
    let above = points.partition_point(|point| point.0 < kelvin);
    let first = above.saturating_sub(count / 2).min(points.len().checked_sub(count)?);
    points.get(first..first + count)
}

/// The value at `x` of the polynomial through the points.
fn lagrange(points: impl Iterator<Item = (f64, f64)> + Clone, x: f64) -> f64 {
    points
        .clone()
        .enumerate()
        .map(|(i, (xi, yi))| {
            let others = points.clone().enumerate().filter(|&(j, _)| j != i);
            others.fold(yi, |term, (_, (xj, _))| term * (x - xj) / (xi - xj))
        })
        .sum()
}
