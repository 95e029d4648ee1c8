//! What the rules say of refrigerants by name: filling densities, the cylinders named for R-22, and what isn't taken
//! into refillable recovery cylinders at all.

use super::Refrigerant;
use crate::quantity::{Density, GaugePressure};
use rust_decimal::Decimal;

/// Maximum filling density in per cent of the water weight, 49 CFR 173.304a(a)(2). Where a value was seen in a text that
/// restates the rule, or not seen, that stands beside it; the others were read in the rule. R-13B1 (124) and carbon
/// dioxide (68, in the 1,800 psig class) are left out: the one has no properties here, the other is refused.
const US_FILLING_DENSITY: [(&str, u32); 9] = [
    ("R-12", 119),
    ("R-22", 105),
    ("R-115", 110),
    ("R-142b", 100),
    ("R-13", 100),
    ("R-717", 54),
    ("R-152a", 79), // restated
    ("R-764", 125), // restated
    ("R-40", 84),   // restated
];

/// What packing instruction P200 of the UN Model Regulations asks for where the pressure at 65 °C can't be had because the
/// critical point is nearer than 5 K: test pressure in bar, and the filling ratio in kg/m³ that it is listed with.
const UN_NEAR_CRITICAL: [(&str, f64, Option<f64>); 2] = [
    // Listed, from memory: 36 bar with 0.87 kg/l. 49 bar with 0.95 kg/l stand there too; that ratio is never planned,
    // because it is liquid-full under 60 °C.
    ("R-125", 36.0, Some(870.0)),
    // Not listed. ln p over 1/T, carried on to 65 °C from the table's last two points: 34.25 bar absolute, 2 % for grade B,
    // less 1 bar (computed; a test does it again).
    ("R-428A", 34.0, None),
];

/// Refrigerants that aren't taken into refillable recovery cylinders, and why. Common practice, no source.
const REFUSED: [(&str, &str); 7] = [
    ("R-717", "ammonia is toxic and attacks copper and brass: it needs equipment and cylinders made for ammonia"),
    (
        "R-744",
        "carbon dioxide has no liquid above 88 F and a pressure far above what recovery cylinders are marked for",
    ),
    ("R-40", "methyl chloride is toxic and flammable, and with aluminum it forms compounds that ignite in air"),
    ("R-764", "sulfur dioxide is toxic, and with moisture it forms an acid"),
    ("R-30", "methylene chloride is toxic and a solvent for seals: it is handled as a liquid chemical"),
    ("R-611", "methyl formate is toxic and flammable: it is handled as a liquid chemical"),
    ("R-31", "chlorofluoromethane is toxic and may cause cancer"),
];

impl Refrigerant {
    /// The maximum filling density of 49 CFR 173.304a(a)(2), in per cent of the weight of water that the cylinder
    /// holds; `None` where the rule has no number for it, and the cylinder must not be liquid-full at 131 °F.
    pub fn us_filling_density(&self) -> Option<Decimal> {
        let row = US_FILLING_DENSITY.iter().find(|(name, _)| self.is_of_table(name));
        row.map(|&(_, percent)| Decimal::from(percent))
    }

    /// Whether 49 CFR 173.304a(a)(2) names cylinders of 240 psi service pressure for it, although its pressure at 131 °F
    /// 300.8 psig) is above 5/4 of that. Only R-22, and only for cylinders of the specifications in its row.
    pub fn is_named_for_240_psi(&self) -> bool {
        self.is_of_table("R-22")
    }

    /// The test pressure that P200 asks for where the pressure at 65 °C can't be had; `None` for all but a few.
    pub(super) fn un_named_test_pressure(&self) -> Option<GaugePressure> {
        self.un_near_critical().map(|(bar, _)| GaugePressure::from_bar(bar))
    }

    /// The filling ratio that P200 lists with that test pressure; `None` where its formula decides.
    pub fn un_listed_density(&self) -> Option<Density> {
        self.un_near_critical().and_then(|(_, ratio)| ratio).map(Density::from_kg_per_m3)
    }

    fn un_near_critical(&self) -> Option<(f64, Option<f64>)> {
        let row = UN_NEAR_CRITICAL.iter().find(|(name, ..)| self.is_of_table(name));
        row.map(|&(_, bar, ratio)| (bar, ratio))
    }

    /// Why it isn't taken into refillable recovery cylinders at all; `None` where it may be.
    pub fn refused(&self) -> Option<&'static str> {
        REFUSED.iter().find(|(name, _)| self.is_of_table(name)).map(|&(_, why)| why)
    }

    fn is_of_table(&self, name: &str) -> bool {
        !self.is_given() && self.record.name == name
    }
}

/// All refrigerants that are refused, with the reason.
pub(super) fn refused() -> impl Iterator<Item = (&'static str, &'static str)> {
    REFUSED.into_iter()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_filling_density_belongs_to_a_row() {
        for (name, percent) in US_FILLING_DENSITY {
            let refrigerant = Refrigerant::find(name).unwrap();
            assert_eq!(refrigerant.name(), name);
            assert_eq!(refrigerant.us_filling_density(), Some(Decimal::from(percent)));
        }
        assert_eq!(Refrigerant::find("R-500").unwrap().us_filling_density(), None);
        assert_eq!(Refrigerant::find("R-134a").unwrap().us_filling_density(), None);
    }
}
