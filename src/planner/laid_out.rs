//! A plan that fills cylinders as somebody else has decided: nothing is looked for, and nothing is proved.

use super::assemble::{Place, bare, put};
use crate::job::Work;
use crate::plan::{Plan, Status, Totals};
use crate::quantity::Marks;
use crate::solver::Fill;

/// The plan that adds so much to each cylinder of the yard, in the order of the yard; the work has one lot, whose charge is
/// their sum. Its status is bounded, by nothing.
pub fn laid_out(work: &Work, adds: &[Marks]) -> Plan {
    let places: Vec<Place> = work.yard().iter().map(|cylinder| Place::new(cylinder, work.lots())).collect();
    let fill = |(cylinder, add): (usize, &Marks)| Fill { cylinder, lot: 0, add: *add };
    let fills: Vec<Fill> = adds.iter().enumerate().map(fill).filter(|fill| fill.add > 0).collect();
    let mut plan = bare(work, &places);
    plan.status = Status::Bounded;
    put(work, &places, &fills, &mut plan);
    plan.totals = Totals {
        cylinders: plan.loads.len(),
        heaviest: plan.loads.iter().map(|load| load.stop).max().unwrap_or(0),
        carried: plan.loads.iter().map(|load| load.stop).sum(),
        ..plan.totals
    };
    plan
}
