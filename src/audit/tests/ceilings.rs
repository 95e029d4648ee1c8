//! Every ceiling of the design's table against the same sum in binary numbers.

use super::bench::*;
use crate::audit::fullness::Fullness;
use crate::audit::sameness::groups;
use crate::cylinder::{Contents, Rules, Terms};
use crate::quantity::{Decimal, Temperature, Unit, Weight};

/// The bounds by name, in pounds.
fn bounds(name: &str, terms: Terms, max_gross: Option<Weight>) -> Vec<(&'static str, f64)> {
    let jobs = [valid(job("Pier", terms, vec![system("Unit", name, lb("10"))]))];
    let groups = groups(&jobs, terms.scale.division, jobs.len() > 1);
    let mut facts = facts("T-1", lb("27.9"), lb("47.5"), lb("27.9"), Contents::Evacuated);
    facts.max_gross = max_gross;
    let fullness = Fullness::of(&cylinder(facts), groups[0].fluid, &groups[0].strictest).unwrap();
    let pounds = |weight: Weight| -> f64 {
        let number = weight.ratio_to(Weight::pounds(Decimal::ONE)).unwrap();
        number.to_string().parse().unwrap()
    };
    fullness.bounds().iter().map(|(name, weight)| (*name, pounds(*weight))).collect()
}

/// The gross weight of the cylinder filled with this density, in pounds.
fn gross(density: f64) -> f64 {
    27.9 + 47.5 * density / 999.017
}

#[test]
fn every_ceiling_is_the_sum_in_the_design() {
    for name in ["R-22", "R-134a", "R-410A"] {
        let density = |celsius| fluid(name).safe_density(Temperature::from_celsius(celsius)).unwrap().kg_per_m3();
        for (rules, fahrenheit) in [(Rules::Us, 130.0), (Rules::Un, 130.0), (Rules::Both, 130.0), (Rules::Us, 77.0)] {
            let mut terms = terms(Unit::Lb);
            terms.rules = rules;
            terms.at = Temperature::from_fahrenheit(fahrenheit);
            terms.lift_limit = Some(lb("75"));
            terms.scale.capacity = Some(lb("220"));
            terms.scale.accuracy = lb("0.1");
            let mut expected = vec![("fill", gross(0.8 * density((fahrenheit - 32.0) / 1.8)) - 0.1)];
            if rules != Rules::Un {
                expected.push(("us-liquid-full", gross(density(55.0)) - 0.1));
                // Filling densities stand in 49 CFR 173.304a(a)(2) for R-22, not for the other two.
                if let ("R-22", Some(_)) = (name, fluid(name).us_filling_density()) {
                    expected.push(("us-table", 27.9 + 47.5 * 1.05 - 0.1));
                }
            }
            if rules != Rules::Us || fahrenheit < 130.0 {
                expected.push(("un-p200", gross((0.95 * density(50.0)).min(density(60.0))) - 0.1));
            }
            expected.extend([("label", 71.9), ("lift", 75.0), ("scale", 220.0)]);
            let found = bounds(name, terms, Some(lb("72")));
            let names = |list: &[(&'static str, f64)]| list.iter().map(|(name, _)| *name).collect::<Vec<_>>();
            assert_eq!(names(&found), names(&expected), "{name} {rules:?} {fahrenheit}");
            for ((ceiling, found), (_, expected)) in found.iter().zip(&expected) {
                // Rounded down in the ninth decimal of a ratio: less by at most 47.5 billionths.
                let less = expected - found;
                assert!((-1e-9..1e-6).contains(&less), "{name} {ceiling}: {expected} less {found}");
            }
        }
    }
}
