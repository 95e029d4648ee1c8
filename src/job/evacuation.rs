//! The evacuation level that the federal table asks for: a reminder to confirm, not a ruling.

use crate::quantity::{AbsolutePressure, Decimal, Temperature, Weight};
use crate::refrigerant::Fluid;

/// The class of an appliance by its refrigerant's saturation pressure at 104 °F: 40 CFR 82.152, from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PressureClass {
    /// Below 45 psia: boils above about 50 °F.
    Low,
    /// 45 to 170 psia.
    Medium,
    /// 170 to 355 psia.
    High,
    /// Over 355 psia, or critical below 104 °F.
    VeryHigh,
}

impl PressureClass {
    /// In words.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Low => "low pressure",
            Self::Medium => "medium pressure",
            Self::High => "high pressure",
            Self::VeryHigh => "very high pressure",
        }
    }

    /// By the bubble pressure at 104 °F, the best value that is known. What can't be told is taken as low pressure,
    /// which asks for the deepest vacuum; of a mixture the part that asks for the deepest counts.
    fn of(fluid: &Fluid) -> Self {
        let at = Temperature::from_fahrenheit(104.0);
        let one = |refrigerant: &crate::refrigerant::Refrigerant| {
            if refrigerant.critical().is_some_and(|critical| critical.is_below(at)) {
                return Self::VeryHigh;
            }
            refrigerant.bubble_pressure(at).map_or(Self::Low, Self::at)
        };
        let classes: Vec<Self> = fluid.contents().iter().map(one).collect();
        [Self::Low, Self::Medium, Self::High, Self::VeryHigh]
            .into_iter()
            .find(|class| classes.contains(class))
            .unwrap_or(Self::Low)
    }

    fn at(pressure: AbsolutePressure) -> Self {
        let under = |psia: f64| pressure < AbsolutePressure::from_psia(psia);
        if under(45.0) {
            Self::Low
        } else if under(170.0) {
            Self::Medium
        } else if under(355.0) {
            Self::High
        } else {
            Self::VeryHigh
        }
    }
}

/// What the table asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Evacuation {
    /// The class.
    pub class: PressureClass,
    /// The level in words.
    pub level: &'static str,
    /// Which of the two rows by charge it is, in words.
    pub charge: &'static str,
}

impl Evacuation {
    /// The level for an appliance of this charge: 40 CFR 82.156 table 1, recovery machines made on or after 15 November
    /// 1993. Small appliances and what isn't opened to the atmosphere are not of this table.
    pub(super) fn of(fluid: &Fluid, charge: Weight) -> Self {
        let class = PressureClass::of(fluid);
        let large = charge >= Weight::pounds(Decimal::from(200));
        let by_charge = if large { "200 lb or more" } else { "under 200 lb" };
        let (level, charge) = match (class, large) {
            (PressureClass::VeryHigh, _) => ("0 in. Hg vacuum", "any charge"),
            (PressureClass::High, false) => ("0 in. Hg vacuum", by_charge),
            (PressureClass::High, true) | (PressureClass::Medium, false) => ("10 in. Hg vacuum", by_charge),
            (PressureClass::Medium, true) => ("15 in. Hg vacuum", by_charge),
            (PressureClass::Low, _) => ("25 mm Hg absolute", "any charge"),
        };
        Self { class, level, charge }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::refrigerant::Refrigerant;

    #[test]
    fn the_levels_of_the_table() {
        let level = |name: &str, pounds: i64| {
            let fluid = Fluid::One(Refrigerant::find(name).unwrap());
            let found = Evacuation::of(&fluid, Weight::pounds(Decimal::from(pounds)));
            (found.class, found.level)
        };
        // Levels: 40 CFR 82.156 table 1. Classes of these: EPA's lists for technicians, from memory.
        assert_eq!(level("R-22", 199), (PressureClass::High, "0 in. Hg vacuum"));
        assert_eq!(level("R-22", 200), (PressureClass::High, "10 in. Hg vacuum"));
        assert_eq!(level("R-410A", 250), (PressureClass::High, "10 in. Hg vacuum"));
        assert_eq!(level("R-134a", 199), (PressureClass::Medium, "10 in. Hg vacuum"));
        assert_eq!(level("R-134a", 200), (PressureClass::Medium, "15 in. Hg vacuum"));
        assert_eq!(level("R-123", 20), (PressureClass::Low, "25 mm Hg absolute"));
    }

    #[test]
    fn what_cant_be_told_asks_for_the_deepest() {
        let nothing = Evacuation::of(&Fluid::Mixed(Vec::new()), Weight::ZERO);
        assert_eq!(nothing.class, PressureClass::Low);
        let parts = ["R-22", "R-134a"].map(|name| Refrigerant::find(name).unwrap());
        assert_eq!(Evacuation::of(&Fluid::Mixed(parts.to_vec()), Weight::ZERO).class, PressureClass::Medium);
    }
}
