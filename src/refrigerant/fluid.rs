//! What goes into a cylinder: one refrigerant, or a mixed charge of which only the possible contents are known.

use super::property::{UN_PRESSURE_AT, less_one_bar};
use super::{LiquidFull, PropertyError, Refrigerant, SafetyGroup};
use crate::quantity::{AbsolutePressure, Density, GaugePressure, Temperature};
use rust_decimal::Decimal;

/// What is left of the lowest density of a mixed charge's possible contents: less 3 %. A judgement, no source.
const MIXED_DENSITY: f64 = 0.97;
/// What the highest absolute pressure of the possible contents is raised by: 30 %, because azeotropes such as R-12 with
/// R-134a lie far above either part. A judgement, no source.
const MIXED_PRESSURE: f64 = 1.30;

/// The contents of a cylinder or a charge.
#[derive(Debug, Clone, PartialEq)]
pub enum Fluid {
    /// One refrigerant.
    One(Refrigerant),
    /// A mixed charge: what it may contain. Without any name there are no properties: identify it first.
    Mixed(Vec<Refrigerant>),
}

impl Fluid {
    /// `R-22`, or `mixed R-12 + R-134a`.
    pub fn name(&self) -> String {
        match self {
            Self::One(refrigerant) => refrigerant.name().to_owned(),
            Self::Mixed(contents) if contents.is_empty() => "mixed, not identified".to_owned(),
            Self::Mixed(contents) => {
                let names: Vec<&str> = contents.iter().map(Refrigerant::name).collect();
                format!("mixed {}", names.join(" + "))
            }
        }
    }

    /// The liquid density that limits are computed with. Mixed: the lowest of the contents' safe densities less 3 %.
    ///
    /// # Errors
    /// Where any of the contents has none at this temperature, or nothing is named.
    pub fn safe_density(&self, at: Temperature) -> Result<Density, PropertyError> {
        match self {
            Self::One(refrigerant) => refrigerant.safe_density(at),
            Self::Mixed(contents) => {
                let densities = contents.iter().map(|content| content.safe_density(at));
                let lowest = densities.reduce(|a, b| Ok(a?.min(b?))).ok_or(PropertyError::NothingNamed)??;
                Ok(lowest.scaled(MIXED_DENSITY))
            }
        }
    }

    /// The pressure that a cylinder is judged by. Mixed: the highest of the contents' safe pressures plus 30 %, on the
    /// absolute pressure.
    ///
    /// # Errors
    /// Where any of the contents has none at this temperature, or nothing is named.
    pub fn safe_pressure(&self, at: Temperature) -> Result<AbsolutePressure, PropertyError> {
        match self {
            Self::One(refrigerant) => refrigerant.safe_pressure(at),
            Self::Mixed(contents) => {
                let pressures = contents.iter().map(|content| content.safe_pressure(at));
                let higher = |a: AbsolutePressure, b: AbsolutePressure| if b > a { b } else { a };
                let highest = pressures.reduce(|a, b| Ok(higher(a?, b?))).ok_or(PropertyError::NothingNamed)??;
                Ok(highest.scaled(MIXED_PRESSURE))
            }
        }
    }

    /// The test pressure that a cylinder needs by packing instruction P200 of the UN Model Regulations.
    ///
    /// # Errors
    /// Where no pressure at 65 °C is known; what is listed for a refrigerant by name says nothing of a mixed charge. As [`safe_pressure`](Self::safe_pressure).
    pub fn un_test_pressure(&self) -> Result<GaugePressure, PropertyError> {
        match self {
            Self::One(refrigerant) => refrigerant.un_test_pressure(),
            Self::Mixed(_) => self.safe_pressure(UN_PRESSURE_AT).map(less_one_bar),
        }
    }

    /// The smallest filling ratio that P200 lists among the contents where its formula doesn't decide, as a density.
    pub fn un_listed_density(&self) -> Option<Density> {
        self.contents().iter().filter_map(Refrigerant::un_listed_density).reduce(Density::min)
    }

    /// Whether a cylinder for it must be meant for flammable gas; unknown counts as flammable.
    pub fn is_flammable(&self) -> bool {
        self.contents().is_empty() || self.contents().iter().any(Refrigerant::is_flammable)
    }

    /// The safety group. Mixed: as toxic and as flammable as the worst of the contents; `None` where any is unknown.
    pub fn group(&self) -> Option<SafetyGroup> {
        let groups = self.contents().iter().map(Refrigerant::group);
        groups.reduce(|a, b| Some(a?.worse(b?))).flatten()
    }

    /// The critical temperature. Mixed: the lowest that is known of the contents.
    pub fn critical(&self) -> Option<Temperature> {
        let known = self.contents().iter().filter_map(Refrigerant::critical);
        known.reduce(|a, b| if b.is_below(a) { b } else { a })
    }

    /// The temperature at which liquid of this density on the whole fills the cylinder. Mixed: the lowest that the
    /// contents less 3 % of density allow.
    pub fn liquid_full_temperature(&self, density: Density) -> LiquidFull {
        match self {
            Self::One(refrigerant) => refrigerant.liquid_full_temperature(density),
            Self::Mixed(contents) => {
                let raised = density.scaled(1.0 / MIXED_DENSITY);
                let each = contents.iter().map(|content| content.liquid_full_temperature(raised));
                each.reduce(earlier).unwrap_or(LiquidFull::Below(Temperature::from_celsius(-40.0)))
            }
        }
    }

    /// The smallest maximum filling density of 49 CFR 173.304a(a)(2) among the contents, in per cent of the water weight.
    pub fn us_filling_density(&self) -> Option<Decimal> {
        self.contents().iter().filter_map(Refrigerant::us_filling_density).min()
    }

    /// What of it isn't taken into refillable recovery cylinders at all, by name, and why.
    pub fn refused(&self) -> impl Iterator<Item = (&str, &'static str)> {
        self.contents().iter().filter_map(|gas| Some((gas.name(), gas.refused()?)))
    }

    /// The refrigerant, or what the mixed charge may contain.
    pub fn contents(&self) -> &[Refrigerant] {
        match self {
            Self::One(refrigerant) => std::slice::from_ref(refrigerant),
            Self::Mixed(contents) => contents,
        }
    }
}

/// The one of two liquid-full temperatures that may come first as it gets warmer.
fn earlier(a: LiquidFull, b: LiquidFull) -> LiquidFull {
    match (a, b) {
        (LiquidFull::Below(x), LiquidFull::Below(y)) => LiquidFull::Below(x.max(y)),
        (LiquidFull::Below(_), _) => a,
        (_, LiquidFull::Below(_)) => b,
        (LiquidFull::At(x) | LiquidFull::Beyond(x), LiquidFull::At(y) | LiquidFull::Beyond(y)) => {
            if y.is_below(x) {
                b
            } else {
                a
            }
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::*;

    fn mixed(names: &[&str]) -> Fluid {
        Fluid::Mixed(names.iter().map(|name| Refrigerant::find(name).unwrap()).collect())
    }

    #[test]
    fn a_mixed_charge_takes_the_worst_of_its_contents() {
        let at = Temperature::from_celsius(55.0);
        let [r12, r134a] = ["R-12", "R-134a"].map(|name| Refrigerant::find(name).unwrap());
        let both = mixed(&["R-12", "R-134a"]);
        assert_eq!(both.name(), "mixed R-12 + R-134a");
        let lowest = r134a.safe_density(at).unwrap().kg_per_m3();
        assert!((both.safe_density(at).unwrap().kg_per_m3() - 0.97 * lowest).abs() < 1e-9);
        let highest = [r12, r134a].map(|content| content.safe_pressure(at).unwrap().pascal());
        let highest = highest[0].max(highest[1]);
        assert!((both.safe_pressure(at).unwrap().pascal() - 1.3 * highest).abs() < 1e-6);
        assert_eq!(both.us_filling_density(), Some(Decimal::from(119)));
        assert_eq!(both.group(), Some(SafetyGroup::A1));
        assert!(!both.is_flammable());
        assert!(mixed(&["R-12", "R-290"]).is_flammable());
        assert_eq!(mixed(&["R-123", "R-290"]).group(), Some(SafetyGroup::B3));
        assert_eq!(mixed(&["R-12", "R-141b"]).group(), None);
        assert!(mixed(&["R-12", "R-141b"]).is_flammable());
        assert_eq!(mixed(&["R-12", "R-410A"]).critical(), Refrigerant::find("R-410A").unwrap().critical());
    }

    #[test]
    fn a_mixed_charge_is_liquid_full_where_its_safe_density_is_reached() {
        let at = Temperature::from_celsius(50.0);
        let both = mixed(&["R-12", "R-410A"]);
        let LiquidFull::At(found) = both.liquid_full_temperature(both.safe_density(at).unwrap()) else { panic!() };
        assert!((found.celsius() - 50.0).abs() < 1e-6, "{found}");
        // R-410A is known to 66.34 C only, so a mean density that it may not reach there is only known to be reached
        // beyond that, although R-12 would reach it at a higher temperature.
        let light = both.liquid_full_temperature(Density::from_kg_per_m3(600.0));
        assert_eq!(light, LiquidFull::Beyond(Refrigerant::find("R-410A").unwrap().range().1));
    }

    #[test]
    fn nothing_named_has_no_properties() {
        let none = Fluid::Mixed(Vec::new());
        let at = Temperature::from_celsius(20.0);
        assert_eq!(none.safe_density(at), Err(PropertyError::NothingNamed));
        assert_eq!(none.safe_pressure(at), Err(PropertyError::NothingNamed));
        assert!(none.is_flammable());
        assert_eq!((none.group(), none.critical(), none.us_filling_density()), (None, None, None));
        assert!(matches!(none.liquid_full_temperature(Density::from_kg_per_m3(500.0)), LiquidFull::Below(_)));
    }

    #[test]
    fn one_content_without_liquid_leaves_the_mixture_without_a_limit() {
        let at = Temperature::from_celsius(55.0);
        assert!(matches!(mixed(&["R-12", "R-23"]).safe_density(at), Err(PropertyError::NoLiquid { .. })));
        assert!(matches!(mixed(&["R-23", "R-12"]).safe_pressure(at), Err(PropertyError::NoLiquid { .. })));
    }
}
