//! A plan that fills cylinders as somebody else has decided: nothing is looked for, and nothing is proved.

use super::assemble::{Place, bare, put};
use super::pours::{Free, mark_the_last};
use crate::job::Work;
use crate::plan::{Load, Plan, Pour, Share, Status, Totals};
use crate::quantity::Marks;
use crate::solver::Fill;

/// The plan that adds so much to each cylinder of the yard, in the order of the yard; the work has one lot, whose charge is
/// their sum. Where it is said which systems a cylinder takes, it takes those first, as far as they go; what is open then goes
/// from one system after the other. Its status is bounded, by nothing.
pub fn laid_out(work: &Work, adds: &[(Marks, Vec<Share>)]) -> Plan {
    let places: Vec<Place> = work.yard().iter().map(|cylinder| Place::new(cylinder, work.lots())).collect();
    let fill = |(cylinder, (add, _)): (usize, &(Marks, Vec<Share>))| Fill { cylinder, lot: 0, add: *add };
    let fills: Vec<Fill> = adds.iter().enumerate().map(fill).filter(|fill| fill.add > 0).collect();
    let mut plan = bare(work, &places);
    plan.status = Status::Bounded;
    put(work, &places, &fills, (Free::Nothing, &[]), &mut plan);
    if adds.iter().any(|(_, wanted)| !wanted.is_empty()) {
        let wanted: Vec<&[Share]> = fills.iter().map(|fill| adds[fill.cylinder].1.as_slice()).collect();
        pour(work, &wanted, &mut plan.loads);
    }
    plan.totals = Totals {
        cylinders: plan.loads.len(),
        heaviest: plan.loads.iter().map(|load| load.stop).max().unwrap_or(0),
        carried: plan.loads.iter().map(|load| load.stop).sum(),
        pours: plan.loads.iter().map(|load| load.pours.len()).sum(),
    };
    plan.bounds = Totals::default();
    plan
}

/// Pours the lot as it is wanted, and the rest of it in the order of systems and cylinders.
fn pour(work: &Work, wanted: &[&[Share]], loads: &mut [Load]) {
    let parts = work.lots().iter().flat_map(|lot| &lot.parts);
    let mut left: Vec<(&str, Marks)> = parts.map(|part| (part.system.as_str(), part.charge)).collect();
    let mut shares: Vec<Vec<Share>> = Vec::new();
    for (load, wanted) in loads.iter().zip(wanted) {
        let mut open = load.add;
        let mut taken: Vec<Share> = Vec::new();
        for share in *wanted {
            let Some((_, left)) = left.iter_mut().find(|(system, _)| *system == share.system) else { continue };
            let add = share.add.min(*left).min(open);
            give(&mut taken, &share.system, add);
            (*left, open) = (*left - add, open - add);
        }
        shares.push(taken);
    }
    for (load, taken) in loads.iter_mut().zip(&mut shares) {
        let mut open = load.add - taken.iter().map(|share| share.add).sum::<Marks>();
        // What is in it already goes on before another is connected.
        let connected = |system: &str| taken.iter().any(|share| share.system == system);
        let (first, rest): (Vec<_>, Vec<_>) = left.iter_mut().partition(|(system, _)| connected(system));
        for (system, left) in first.into_iter().chain(rest) {
            let add = open.min(*left);
            give(taken, system, add);
            (*left, open) = (*left - add, open - add);
        }
        let mut from = load.now;
        let pour = |share: Share| {
            let to = from + share.add;
            let from = std::mem::replace(&mut from, to);
            Pour { system: share.system, from, to, add: share.add, vapour_last: false }
        };
        load.pours = std::mem::take(taken).into_iter().map(pour).collect();
    }
    mark_the_last(loads);
}

fn give(to: &mut Vec<Share>, system: &str, add: Marks) {
    match to.iter_mut().find(|share| share.system == system) {
        Some(share) => share.add += add,
        None if add > 0 => to.push(Share { system: system.to_owned(), add }),
        None => {}
    }
}
