//! A good plan, spoiled one number or name at a time: each spoiled plan shows the faults that are named beside it.

mod loads;
mod lots;
mod places;
mod whole;

use super::{Fault, codes, faults};
use crate::audit::FAULTS;
use crate::audit::tests::plans::ends;
use crate::job::Work;
use crate::plan::{Load, Plan};
use crate::quantity::Marks;

/// Every list of spoiled plans.
const LISTS: [(&str, &[Spoiled]); 6] = [
    ("whole", whole::WHOLE),
    ("remedy", whole::REMEDY),
    ("short", whole::SHORT),
    ("lots", lots::LOTS),
    ("loads", loads::LOADS),
    ("places", places::PLACES),
];

/// A good plan, what is done to it, and the codes that follow, in order.
type Spoiled = (fn() -> (Work, Plan), fn(&mut Plan), &'static [&'static str]);

/// Adds to a load and keeps its own sums right.
fn grow(plan: &mut Plan, load: usize, by: Marks) {
    let load = &mut plan.loads[load];
    load.pours[0].add += by;
    load.add += by;
    load.stop += by;
}

/// Lets each pour begin where the one before ends.
fn chain(load: &mut Load) {
    let mut at = load.now;
    for pour in &mut load.pours {
        pour.from = at;
        at += pour.add;
        pour.to = at;
    }
    load.ease_off = load.now;
}

/// Brings the totals and bounds into line with the loads, so that only the loads are wrong.
fn total(plan: &mut Plan) {
    plan.totals.cylinders = plan.loads.len();
    plan.totals.heaviest = plan.loads.iter().map(|load| load.stop).max().unwrap();
    plan.totals.carried = plan.loads.iter().map(|load| load.stop).sum();
    plan.totals.pours = plan.loads.iter().map(|load| load.pours.len()).sum();
    plan.loads.iter_mut().for_each(chain);
    ends(&mut plan.loads);
    plan.bounds = plan.totals;
}

#[test]
fn each_spoiled_plan_shows_its_faults() {
    let mut wrong = Vec::new();
    for (list, cases) in LISTS {
        for (index, (good, spoil, expected)) in cases.iter().enumerate() {
            let (work, mut plan) = good();
            spoil(&mut plan);
            let found = faults(&work, plan);
            let codes: Vec<_> = found.iter().map(|fault| fault.code).collect();
            if codes != *expected {
                wrong.push(format!("{list} {index}: expected {expected:?}, got {codes:?}\n{}", told(&found)));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn told(faults: &[Fault]) -> String {
    faults.iter().map(|fault| format!("    {fault}\n")).collect()
}

#[test]
fn every_fault_of_the_catalogue_is_produced_by_a_spoiled_plan() {
    let cases = LISTS.iter().flat_map(|(_, cases)| *cases);
    let of_the_ledger = super::ledger::codes();
    let produced: Vec<&str> = cases
        .flat_map(|(good, spoil, _)| {
            let (work, mut plan) = good();
            spoil(&mut plan);
            codes(&work, plan)
        })
        .chain(of_the_ledger)
        .collect();
    for (code, _) in FAULTS {
        assert!(produced.contains(code), "no spoiled plan shows `{code}`");
    }
    for (index, (code, sentence)) in FAULTS.iter().enumerate() {
        let again = FAULTS[..index].iter().any(|(other, words)| other == code || words == sentence);
        assert!(!again, "`{code}` or its sentence stands twice");
    }
}
