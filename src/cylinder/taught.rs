//! What is taught and written elsewhere, held against our fill: tare + 0.8 × water capacity, and 80 % of the volume at
//! 77 °F. Nothing here sets a limit; it says what those would do.

use super::{CeilingKind, Terms, ceilings};
use crate::quantity::{Decimal, Density, Percent, Temperature, Weight};
use crate::refrigerant::{Fluid, Refrigerant};

/// The share of the water capacity that is taught as the net weight of every refrigerant: common practice, no source.
const TAUGHT: Percent = Percent::new(Decimal::from_parts(80, 0, 0, false, 0));
/// The temperature at which AHRI Guideline K takes 80 % of the volume, 77 °F: from memory.
const COLD: Temperature = Temperature::from_fahrenheit(77.0);

/// What tare + 0.8 × water capacity would do with a refrigerant that isn't heavy enough for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RuleOfThumb {
    /// The cylinder is liquid-full by 131 °F.
    LiquidFull,
    /// It gets fuller than the fill allows, and isn't liquid-full by 131 °F.
    OverFill,
}

impl RuleOfThumb {
    /// What it would do with this fluid under these terms; `None` where it keeps to the fill, or nothing is known.
    pub fn of(fluid: &Fluid, terms: &Terms) -> Option<Self> {
        let taught = taught_density();
        if fluid.safe_density(Terms::US_FULL_TEMPERATURE).ok()? < taught {
            return Some(Self::LiquidFull);
        }
        let fill = f64::try_from(terms.fill.fraction()).ok()?;
        let ours = fluid.safe_density(terms.fill_temperature()).ok()?.scaled(fill);
        (ours < taught).then_some(Self::OverFill)
    }

    /// What to keep to, behind the names of the refrigerants.
    pub fn says(self, terms: &Terms) -> String {
        let full = terms.scale.temperature(Terms::US_FULL_TEMPERATURE);
        match self {
            Self::LiquidFull => format!(
                "never by tare + 0.8 x water capacity: by {full} that liquid would fill the whole cylinder, and burst it"
            ),
            Self::OverFill => format!(
                "not by tare + 0.8 x water capacity: over {} of the volume at {}, though not liquid-full by {full}",
                terms.fill,
                terms.scale.temperature(terms.fill_temperature())
            ),
        }
    }
}

/// The mean density in a cylinder that holds 0.8 of its water capacity.
fn taught_density() -> Density {
    Density::WATER.scaled(0.8)
}

/// What 80 % at 77 °F would let into a cylinder of this water capacity, and why our fill lets in less; `None` where it
/// doesn't, where the density at 77 °F isn't known, and of mixed charges, which that guideline doesn't speak of.
pub fn beside_guideline(water_capacity: Weight, fluid: &Fluid, terms: &Terms) -> Option<String> {
    let Fluid::One(refrigerant) = fluid else { return None };
    let ours = ceilings(water_capacity, None, fluid, terms).ok()?;
    let ours = ours.into_iter().find(|ceiling| ceiling.kind == CeilingKind::Fill)?.net;
    let theirs = refrigerant.liquid_density(COLD).ok()?;
    let ratio = Decimal::from_f64_retain(theirs.relative_to_water())?.trunc_with_scale(9);
    let theirs = TAUGHT.of(water_capacity.times(ratio));
    if ours >= theirs {
        return None;
    }
    let division = terms.scale.division;
    let [theirs_said, ours_said] = [theirs, ours].map(|net| division.text(division.floor(net)));
    let share = ours.ratio_to(theirs)?.round_dp(2);
    Some(format!(
        "80 % at {} (AHRI Guideline K, from memory) would be {theirs_said}; our fill is {ours_said}, {share} of that: {}",
        terms.scale.temperature(COLD),
        why_less(refrigerant, terms)?.join("; ")
    ))
}

fn why_less(refrigerant: &Refrigerant, terms: &Terms) -> Option<Vec<String>> {
    let at = terms.fill_temperature();
    let mut reasons = Vec::new();
    if COLD.is_below(at) {
        let [cold, warm] = [COLD, at].map(|at| refrigerant.liquid_density(at).map(Density::kg_per_m3));
        let share = 80.0 * cold.ok()? / warm.ok()?;
        let at = terms.scale.temperature(at);
        reasons.push(if share < 100.0 {
            format!("warm liquid takes more room, at {at} that would be {share:.1} % of the volume")
        } else {
            format!("warm liquid takes more room, more than there is before it has {at}")
        });
    }
    if terms.fill < TAUGHT {
        reasons.push(format!("the job asks for {}", terms.fill));
    }
    reasons.push(match refrigerant.grade() {
        Some(grade) if grade.density_allowance() > 0.0 => {
            format!("{} % are taken off for estimated data (grade {grade})", grade.density_allowance() * 100.0)
        }
        Some(grade) => format!("nothing is taken off for the data (grade {grade})"),
        None => "nothing is taken off for the data, which the file gives".into(),
    });
    Some(reasons)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::quantity::Unit;

    fn terms(fill: i64, fahrenheit: f64) -> Terms {
        let division = Unit::Lb.default_division();
        Terms {
            fill: Percent::new(fill.into()),
            at: Temperature::from_fahrenheit(fahrenheit),
            ..Terms::usual(division, jiff::civil::date(2026, 12, 1))
        }
    }

    fn one(name: &str) -> Fluid {
        Fluid::One(Refrigerant::find(name).unwrap())
    }

    /// Computed with CoolProp 8.0.0 and our allowances: of 198 refrigerants, 0.8 × water capacity is liquid-full by 131 °F
    /// with 29 by the best value of the density, and with R-504 besides by the safe one. Of the others 80 would be more
    /// than 80 % full at 130 °F.
    #[test]
    fn the_rule_of_thumb_fills_thirty_whole_and_passes_the_fill_of_eighty_more() {
        let (mut full, mut over) = (Vec::new(), 0);
        for name in Refrigerant::names() {
            match RuleOfThumb::of(&one(name), &terms(80, 130.0)) {
                Some(RuleOfThumb::LiquidFull) => full.push(name),
                Some(RuleOfThumb::OverFill) => over += 1,
                None => {}
            }
        }
        let best = |name: &&str| {
            Refrigerant::find(name).unwrap().liquid_density(Terms::US_FULL_TEMPERATURE).unwrap() < taught_density()
        };
        assert_eq!((full.len(), full.iter().filter(|name| best(name)).count(), over), (30, 29, 80));
        assert_eq!(full.iter().find(|name| !best(name)), Some(&"R-504"));
        for name in ["R-290", "R-600a", "R-1270", "R-E170", "R-717", "R-143a", "R-161"] {
            assert!(full.contains(&name), "{name}");
        }
        // R-32 comes to 99 % of the volume at 131 °F.
        assert_eq!(RuleOfThumb::of(&one("R-32"), &terms(80, 130.0)), Some(RuleOfThumb::OverFill));
        assert_eq!(RuleOfThumb::of(&one("R-22"), &terms(80, 130.0)), None);
        // A lower fill is passed by more of them, a fill of cold liquid by fewer.
        assert_eq!(RuleOfThumb::of(&one("R-22"), &terms(70, 130.0)), Some(RuleOfThumb::OverFill));
        assert_eq!(RuleOfThumb::of(&one("R-404A"), &terms(80, 77.0)), None);
        assert_eq!(RuleOfThumb::of(&one("R-290"), &terms(80, 77.0)), Some(RuleOfThumb::LiquidFull));
    }

    #[test]
    fn our_fill_stands_beside_the_guideline_with_the_reason() {
        let water = Weight::pounds(100.into());
        let said = |name: &str, terms: &Terms| beside_guideline(water, &one(name), terms);
        // R-404A: 1043.9 / 864.4 kg/m³ (CoolProp 8.0.0): 0.8 x 104.49 = 83.6 lb, 0.8 x 86.52 = 69.2 lb, 0.828.
        let of_404a = said("R-404A", &terms(80, 130.0)).unwrap();
        assert!(of_404a.contains("would be 83.6 lb; our fill is 69.2 lb, 0.83 of that"), "{of_404a}");
        assert!(of_404a.contains("at 130 F that would be 96.6 % of the volume; nothing is taken off"), "{of_404a}");
        assert!(said("R-401A", &terms(80, 130.0)).unwrap().contains("3 % are taken off for estimated data (grade C)"));
        assert!(said("R-22", &terms(70, 130.0)).unwrap().contains("; the job asks for 70 %;"));
        assert!(said("R-22", &terms(70, 77.0)).unwrap().contains("0.88 of that: the job asks for 70 %;"));
        assert!(said("R-410A", &terms(80, 150.0)).unwrap().contains("more than there is before it has 150 F"));
        assert_eq!((said("R-22", &terms(80, 77.0)), said("R-22", &terms(80, 60.0))), (None, None));
    }
}
