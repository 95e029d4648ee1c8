//! The table of refrigerants against itself and against the library that made it.
#![allow(clippy::unwrap_used, clippy::panic)]

use chargesplit::quantity::{Density, Temperature};
use chargesplit::refrigerant::{Grade, LiquidFull, PropertyError, Refrigerant};
use rust_decimal::Decimal;

fn all() -> impl Iterator<Item = Refrigerant> {
    Refrigerant::names().map(|name| Refrigerant::find(name).unwrap())
}

/// Check values that the generator wrote, at temperatures between the points of the table: density within 0.01 %,
/// pressure within 0.02 % of CoolProp 8.0.0.
#[test]
fn interpolation_agrees_with_coolprop() {
    let values = include_str!("references/coolprop_check_values.csv");
    let mut checked = 0;
    for line in values.lines().skip(1) {
        let columns: Vec<&str> = line.split(',').collect();
        let number = |column: usize| columns[column].parse::<f64>().unwrap();
        let (refrigerant, at) = (Refrigerant::find(columns[0]).unwrap(), Temperature::from_celsius(number(1)));
        let density = refrigerant.liquid_density(at).unwrap().kg_per_m3() / number(2) - 1.0;
        let pressure = refrigerant.bubble_pressure(at).unwrap().pascal() / (number(3) * 1000.0) - 1.0;
        assert!(density.abs() <= 1e-4 && pressure.abs() <= 2e-4, "{line}: off by {density:.1e}, {pressure:.1e}");
        checked += 1;
    }
    assert!(checked > 1000, "{checked}");
}

#[test]
fn names_are_spelt_so_that_each_is_found_and_none_twice() {
    let mut names: Vec<String> = Refrigerant::names().map(str::to_lowercase).collect();
    let count = names.len();
    assert_eq!(count, 198);
    for refrigerant in all() {
        assert!(refrigerant.name().starts_with("R-"));
        for chemical in refrigerant.chemical_names() {
            assert_eq!(Refrigerant::find(chemical).unwrap().name(), refrigerant.name(), "{chemical}");
        }
    }
    for name in Refrigerant::names() {
        assert_eq!(Refrigerant::find(name).unwrap().name(), name);
    }
    names.sort();
    names.dedup();
    assert_eq!(names.len(), count);
}

#[test]
fn density_falls_and_pressure_rises_with_temperature() {
    for refrigerant in all() {
        let (from, to) = refrigerant.range();
        let mut last: Option<(f64, f64)> = None;
        let mut kelvin = from.kelvin();
        while kelvin <= to.kelvin() {
            let at = Temperature::from_kelvin(kelvin);
            let density = refrigerant.liquid_density(at).unwrap().kg_per_m3();
            let pressure = refrigerant.bubble_pressure(at).unwrap().pascal();
            if let Some((denser, lower)) = last {
                assert!(density < denser && pressure > lower, "{} at {} C", refrigerant.name(), at.celsius());
            }
            last = Some((density, pressure));
            kelvin += 0.37;
        }
    }
}

#[test]
fn compositions_sum_to_100_and_consist_of_rows() {
    for refrigerant in all() {
        let sum: Decimal = refrigerant.composition().iter().map(|part| part.mass_percent).sum();
        assert_eq!(sum, Decimal::ONE_HUNDRED, "{}", refrigerant.name());
        let moles: f64 = refrigerant
            .composition()
            .iter()
            .map(|part| {
                let component = Refrigerant::find(&part.name).unwrap();
                f64::try_from(part.mass_percent).unwrap() / 100.0 / component.molar_mass().unwrap()
            })
            .sum();
        let molar_mass = refrigerant.molar_mass().unwrap();
        assert!((1.0 / moles / molar_mass - 1.0).abs() < 1e-4, "{}: {molar_mass}", refrigerant.name());
    }
}

/// Ideal mixing by volume at 25 °C, 1/ρ = Σ wᵢ/ρᵢ, for the blends all of whose components have liquid there: nine tenths
/// within 2 %, all within 5 % but two with much carbon dioxide close to its critical point (31 °C), whose own density
/// falls steeply there.
#[test]
fn blends_mix_nearly_ideally() {
    let at = Temperature::from_celsius(25.0);
    let mut deviations = Vec::new();
    for blend in all().filter(|refrigerant| refrigerant.composition().len() > 1) {
        let parts = blend.composition().iter().map(|part| {
            let component = Refrigerant::find(&part.name).unwrap();
            let density = component.liquid_density(at).ok()?.kg_per_m3();
            Some(f64::try_from(part.mass_percent).unwrap() / 100.0 / density)
        });
        let (Some(volume), Ok(density)) = (parts.sum::<Option<f64>>(), blend.liquid_density(at)) else {
            continue;
        };
        deviations.push((density.kg_per_m3() * volume - 1.0, blend.name().to_owned()));
    }
    assert!(deviations.len() > 120, "{}", deviations.len());
    let within = deviations.iter().filter(|(off, _)| off.abs() < 0.02).count();
    assert!(within * 10 >= deviations.len() * 9, "{within} of {}", deviations.len());
    let far: Vec<&str> =
        deviations.iter().filter(|(off, _)| off.abs() >= 0.05).map(|(_, name)| name.as_str()).collect();
    assert_eq!(far, ["R-472A", "R-472B"]);
}

/// Cylinders by service pressure in psig under the 5/4 rule of 49 CFR 173.301a(d): the rows that the best pressure would
/// let in and the safe one keeps out. A change of data or grade shows here.
#[test]
fn rows_whose_allowance_changes_the_verdict_on_a_pressure_class() {
    let at = Temperature::from_celsius(55.0);
    let mut changed = Vec::new();
    for refrigerant in all() {
        let (Ok(best), Ok(safe)) = (refrigerant.bubble_pressure(at), refrigerant.safe_pressure(at)) else {
            continue;
        };
        for class in [225.0, 240.0, 260.0, 300.0, 350.0, 400.0] {
            let allows = |pressure: f64| pressure <= 1.25 * class;
            if allows(best.gauge().psig()) != allows(safe.gauge().psig()) {
                changed.push(format!("{} {class}", refrigerant.name()));
            }
        }
    }
    let expected = [
        "R-402A 300",
        "R-402B 300",
        "R-403A 300",
        "R-403B 300",
        "R-419A 260",
        "R-419B 225",
        "R-419B 240",
        "R-422A 300",
        "R-427C 300",
        "R-431A 240",
        "R-431A 260",
        "R-432A 240",
        "R-432A 260",
        "R-433C 225",
        "R-438A 260",
        "R-445A 240",
        "R-446A 350",
        "R-458A 240",
        "R-461A 260",
        "R-464A 300",
        "R-465A 300",
        "R-501 240",
        "R-502 260",
        "R-509A 300",
    ];
    assert_eq!(changed, expected);
}

#[test]
fn near_the_critical_temperature_there_is_no_limit() {
    for refrigerant in all() {
        let critical = refrigerant.critical().unwrap();
        let name = refrigerant.name();
        let near = refrigerant.liquid_density(critical.plus_kelvin(-4.9));
        assert!(matches!(near, Err(PropertyError::NearCritical { .. })), "{name}: {near:?}");
        let none = refrigerant.bubble_pressure(critical.plus_kelvin(0.1));
        assert!(matches!(none, Err(PropertyError::NoLiquid { .. })), "{name}: {none:?}");
        let end = critical.kelvin() - 5.0;
        if end < 383.15 {
            assert!(refrigerant.safe_density(Temperature::from_kelvin(end)).is_ok(), "{name}");
        } else {
            let beyond = refrigerant.liquid_density(Temperature::from_celsius(110.1));
            assert!(matches!(beyond, Err(PropertyError::Outside { .. })), "{name}: {beyond:?}");
        }
        let colder = refrigerant.liquid_density(Temperature::from_celsius(-40.1));
        assert!(matches!(colder, Err(PropertyError::Outside { .. })), "{name}: {colder:?}");
    }
}

/// At 130 °F these have no liquid, or are too near their critical temperature, so that no fill rule can be set.
#[test]
fn refrigerants_without_a_liquid_fill_rule_at_130_f() {
    let at = Temperature::from_fahrenheit(130.0);
    let without: Vec<&str> = Refrigerant::names()
        .filter(|name| {
            let found = Refrigerant::find(name).unwrap().safe_density(at);
            matches!(found, Err(PropertyError::NoLiquid { .. } | PropertyError::NearCritical { .. }))
        })
        .collect();
    let expected = [
        "R-13", "R-23", "R-41", "R-116", "R-170", "R-744", "R-744A", "R-846", "R-1123", "R-1150", "R-469A", "R-472A",
        "R-472B", "R-503", "R-508A", "R-508B",
    ];
    assert_eq!(without, expected);
}

#[test]
fn the_liquid_full_temperature_is_where_the_safe_density_is_the_mean_density() {
    for refrigerant in all() {
        let (from, to) = refrigerant.range();
        let (name, middle) = (refrigerant.name(), (from.kelvin() + 2.0 * to.kelvin()) / 3.0);
        let mean = refrigerant.safe_density(Temperature::from_kelvin(middle)).unwrap();
        let LiquidFull::At(found) = refrigerant.liquid_full_temperature(mean) else { panic!("{name}") };
        assert!((found.kelvin() - middle).abs() < 1e-6, "{name}");
        let light = Density::from_kg_per_m3(100.0);
        assert_eq!(refrigerant.liquid_full_temperature(light), LiquidFull::Beyond(to), "{name}");
        let heavy = Density::from_kg_per_m3(4000.0);
        assert_eq!(refrigerant.liquid_full_temperature(heavy), LiquidFull::Below(from), "{name}");
        let none = Density::from_kg_per_m3(f64::NAN);
        assert_eq!(refrigerant.liquid_full_temperature(none), LiquidFull::Below(from), "{name}");
    }
}

#[test]
fn the_allowance_of_the_grade_lies_on_the_safe_side() {
    let at = Temperature::from_celsius(20.0);
    for (name, grade, lighter, higher) in
        [("R-134a", Grade::A, 0.0, 0.0), ("R-422D", Grade::B, 0.01, 0.02), ("R-409A", Grade::C, 0.03, 0.10)]
    {
        let refrigerant = Refrigerant::find(name).unwrap();
        assert_eq!(refrigerant.grade(), Some(grade), "{name}");
        let [best, safe] =
            [refrigerant.liquid_density(at), refrigerant.safe_density(at)].map(|found| found.unwrap().kg_per_m3());
        assert!((1.0 - safe / best - lighter).abs() < 1e-12, "{name}");
        let [best, safe] =
            [refrigerant.bubble_pressure(at), refrigerant.safe_pressure(at)].map(|found| found.unwrap().pascal());
        assert!((safe / best - 1.0 - higher).abs() < 1e-12, "{name}");
    }
}
