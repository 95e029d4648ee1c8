//! A plan that fills cylinders as somebody else has decided: nothing is looked for, and nothing is proved.

use super::assemble::{Place, bare, put};
use super::hoses::{Decided, pour_on};
use super::pours::{Free, mark_the_last};
use crate::job::Work;
use crate::plan::{Plan, Status, Totals};
use crate::quantity::Marks;
use crate::solver::Fill;

/// The plan that adds so much to each cylinder of the yard, in the order of the yard; the work has one lot, whose charge is
/// their sum. Its pours go on from those that were planned, where any were. Its status is bounded, by nothing.
pub fn laid_out(work: &Work, decided: &[Decided]) -> Plan {
    let places: Vec<Place> = work.yard().iter().map(|cylinder| Place::new(cylinder, work.lots())).collect();
    let fill = |(cylinder, decided): (usize, &Decided)| Fill { cylinder, lot: 0, add: decided.add };
    let fills: Vec<Fill> = decided.iter().enumerate().map(fill).filter(|fill| fill.add > 0).collect();
    let mut plan = bare(work, &places);
    plan.status = Status::Bounded;
    put(work, &places, &fills, (Free::Nothing, &[]), &mut plan);
    let parts = work.lots().iter().flat_map(|lot| &lot.parts);
    let left: Vec<(&str, Marks)> = parts.map(|part| (part.system.as_str(), part.charge)).collect();
    let ids = work.yard().iter().map(|cylinder| &cylinder.id);
    pour_on(&left, &ids.zip(decided).collect::<Vec<_>>(), &mut plan.loads);
    mark_the_last(&mut plan.loads);
    plan.totals = Totals {
        cylinders: plan.loads.len(),
        heaviest: plan.loads.iter().map(|load| load.stop).max().unwrap_or(0),
        carried: plan.loads.iter().map(|load| load.stop).sum(),
        pours: plan.loads.iter().map(|load| load.pours.len()).sum(),
        missing: None,
    };
    plan.bounds = Totals::default();
    plan
}
