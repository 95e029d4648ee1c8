//! What tests are built from: terms, systems, jobs and cylinders that nothing stands against.

use jiff::civil::date;

use crate::cylinder::{Contents, Cylinder, Facts, Mark, Terms, TestPeriod};
use crate::job::{Job, JobFacts, System, SystemFacts};
use crate::quantity::{Decimal, Density, Division, Percent, Temperature, Unit, Weight};
use crate::refrigerant::{Fluid, Refrigerant};

pub fn decimal(text: &str) -> Decimal {
    text.parse().unwrap()
}

pub fn lb(text: &str) -> Weight {
    Weight::pounds(decimal(text))
}

pub fn kg(text: &str) -> Weight {
    Weight::kilograms(decimal(text))
}

pub fn percent(number: i64) -> Percent {
    Percent::new(Decimal::from(number))
}

pub fn refrigerant(name: &str) -> Refrigerant {
    Refrigerant::find(name).unwrap()
}

pub fn fluid(name: &str) -> Fluid {
    Fluid::One(refrigerant(name))
}

/// 80 % at 130 °F under US rules, no lift limit, an exact scale without end.
pub fn terms(unit: Unit) -> Terms {
    Terms {
        fill: percent(80),
        at: Temperature::from_fahrenheit(130.0),
        ..Terms::usual(unit.default_division(), date(2026, 12, 1))
    }
}

/// A clean system for reclaim with this nameplate charge and no allowance.
pub fn system(name: &str, of: &str, nameplate: Weight) -> SystemFacts {
    SystemFacts::new(name, fluid(of), nameplate)
}

/// A job; its owner is named as it is.
pub fn job(name: &str, terms: Terms, systems: Vec<SystemFacts>) -> JobFacts {
    let systems = systems.into_iter().map(|facts| System::new(facts).unwrap()).collect();
    JobFacts { owner: Some(name.into()), ..JobFacts::new(name, terms, systems) }
}

pub fn valid(job: JobFacts) -> Job {
    Job::new(job).unwrap()
}

/// A clean 400 psi cylinder in date.
pub fn facts(id: &str, tare: Weight, water_capacity: Weight, gross: Weight, contents: Contents) -> Facts {
    Facts {
        mark: Some(Mark::parse("DOT-4BA400").unwrap()),
        test: Some(TestPeriod { since: Some(date(2024, 6, 30)), good_through: date(2029, 6, 30) }),
        ..Facts::new(id, tare, water_capacity, gross, contents)
    }
}

pub fn cylinder(facts: Facts) -> Cylinder {
    Cylinder::new(facts).unwrap()
}

/// Tare + share of the volume × density at 130 °F / 999.017 kg/m³ in divisions, rounded down: the hand calculation of a
/// limit by the fill ceiling, in binary numbers and apart from the audit's code.
pub fn filled(division: Division, tare: Weight, water_capacity: Weight, share: f64, fluid: &Fluid) -> i64 {
    let density = fluid.safe_density(Temperature::from_celsius(490.0 / 9.0)).unwrap();
    let number = |weight: Weight| -> f64 {
        let steps = weight.ratio_to(division.step()).unwrap();
        steps.to_string().parse().unwrap()
    };
    let water = 999.017; // IAPWS-95 at 60 °F
    assert_eq!(Density::WATER.kg_per_m3(), water);
    (number(tare) + number(water_capacity) * share * density.kg_per_m3() / water).floor() as i64
}
