//! What tests of the library are built from: terms, systems, jobs and cylinders that nothing stands against, each fact
//! written once. A test changes what it is about: `Facts { owner, ..specimens::cylinder(…) }`.

use chargesplit::cylinder::{Contents, Cylinder, Facts, Mark, Terms, TestPeriod};
use chargesplit::job::{Job, JobFacts, System, SystemFacts};
use chargesplit::quantity::{Decimal, Percent, Unit, Weight};
use chargesplit::refrigerant::{Fluid, Refrigerant};
use fastrand::Rng;
use jiff::civil::{Date, date};

/// The day of every job here.
pub const DAY: Date = date(2026, 12, 1);

/// Tenths of a pound.
pub fn tenths(tenths: i64) -> Weight {
    Weight::pounds(Decimal::new(tenths, 1))
}

pub fn percent(number: i64) -> Percent {
    Percent::new(Decimal::from(number))
}

pub fn refrigerant(name: &str) -> Refrigerant {
    Refrigerant::find(name).unwrap()
}

/// 80 % at 130 °F under US rules, no lift limit, an exact scale without end in the unit's usual division.
pub fn terms(unit: Unit) -> Terms {
    Terms::usual(unit.default_division(), DAY)
}

/// A clean system for reclaim with this nameplate charge, in tenths of a pound, and no allowance.
pub fn system(name: &str, of: &str, nameplate: i64) -> SystemFacts {
    SystemFacts::new(name, Fluid::One(refrigerant(of)), tenths(nameplate))
}

pub fn job(facts: JobFacts) -> Job {
    Job::new(facts).unwrap()
}

pub fn systems(facts: impl IntoIterator<Item = SystemFacts>) -> Vec<System> {
    facts.into_iter().map(|facts| System::new(facts).unwrap()).collect()
}

/// A clean 400 psi cylinder in date, in tenths of a pound; evacuated, or with a heel of this refrigerant.
pub fn cylinder(id: &str, water: i64, tare: i64, held: Option<(&str, i64)>) -> Facts {
    let contents = held.map_or(Contents::Evacuated, |(name, _)| Contents::Holds(refrigerant(name)));
    let gross = tare + held.map_or(0, |(_, heel)| heel);
    Facts {
        mark: Some(Mark::parse("DOT-4BA400").unwrap()),
        test: Some(TestPeriod { since: None, good_through: date(2029, 6, 30) }),
        ..Facts::new(id, tenths(tare), tenths(water), tenths(gross), contents)
    }
}

/// Cylinders of three sizes, evacuated, no two quite alike; they hold some 36 lb on the average.
pub fn three_sizes(rng: &mut Rng, cylinders: usize) -> Vec<Cylinder> {
    let one = |number: usize| {
        let (water, tare) = [(262, 165), (380, 215), (476, 280)][number % 3];
        let (water, tare) = (water + rng.i64(-3..=3), tare + rng.i64(-8..=8));
        Cylinder::new(cylinder(&format!("C-{number}"), water, tare, None)).unwrap()
    };
    (0..cylinders).map(one).collect()
}
