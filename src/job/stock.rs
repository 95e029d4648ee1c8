//! Kinds of cylinder that aren't on hand: a stock to hire from, or the sizes that the trade uses.

use jiff::Span;
use jiff::civil::Date;

use crate::cylinder::{Contents, Cylinder, FactError, Facts, Id, Mark, TestPeriod};
use crate::quantity::{Decimal, GaugePressure, Weight};

/// Nominal size, smallest water capacity and largest tare, in pounds: common practice, no source.
const TRADE_SIZES: [(u32, u32, u32); 6] =
    [(30, 26, 18), (40, 38, 24), (50, 47, 30), (125, 122, 70), (240, 238, 110), (1_000, 1_000, 360)];

/// A kind of cylinder that can be hired or bought: evacuated, in date, of the sizes stated.
#[derive(Debug, Clone, PartialEq)]
pub struct Kind {
    /// What it is called.
    pub name: String,
    /// Its largest tare.
    pub tare: Weight,
    /// Its smallest water capacity.
    pub water_capacity: Weight,
    /// Specification and service pressure, where stated.
    pub mark: Option<Mark>,
    /// Meant for flammable refrigerant.
    pub flammable: bool,
    /// Somebody has read its doubtful numbers off the stamp again.
    pub confirmed: bool,
    /// How many there are; `None` for as many as needed.
    pub count: Option<u32>,
    /// What one likely costs to hire, a day, in the currency of its job; to compare kinds with, not to reckon a cost.
    pub hire: Option<Decimal>,
}

impl Kind {
    /// A cylinder of this kind as it would arrive for that day: evacuated and just tested, and where the kind has no mark,
    /// of pressures that are enough.
    ///
    /// # Errors
    /// Every size that no cylinder has.
    pub fn specimen(&self, id: impl Into<Id>, day: Date) -> Result<Cylinder, Vec<FactError>> {
        let enough = Some(GaugePressure::from_psig(5_000.0));
        let marked = self.mark.as_ref();
        Cylinder::new(Facts {
            mark: self.mark.clone(),
            service_pressure: enough.filter(|_| marked.is_none()),
            test_pressure: enough.filter(|_| marked.is_none_or(|mark| mark.service_pressure().is_none())),
            test: Some(TestPeriod { since: None, good_through: day.saturating_add(Span::new().years(5)) }),
            flammable: self.flammable,
            confirmed: self.confirmed,
            cleaned: true,
            ..Facts::new(id, self.tare, self.water_capacity, self.tare, Contents::Evacuated)
        })
    }
}

/// The sizes that the trade uses, each with the smallest water capacity and the largest tare that it has: common
/// practice, no source. As many as needed of each, of a service pressure that is enough.
pub fn trade_sizes(flammable: bool) -> Vec<Kind> {
    let pounds = |number: u32| Weight::pounds(Decimal::from(number));
    TRADE_SIZES
        .into_iter()
        .map(|(nominal, water_capacity, tare)| Kind {
            name: format!("nominal {nominal} lb"),
            tare: pounds(tare),
            water_capacity: pounds(water_capacity),
            mark: None,
            flammable,
            confirmed: false,
            count: None,
            hire: None,
        })
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::cylinder::doubts;
    use crate::quantity::Unit;

    #[test]
    fn no_trade_size_is_doubted() {
        for kind in trade_sizes(false) {
            assert_eq!(doubts(kind.tare, kind.water_capacity, Unit::Lb), [""; 0], "{}", kind.name);
        }
    }
}
