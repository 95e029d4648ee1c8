//! The plan as a whole: its totals, its bounds, its status and what is missing.

use super::Case;
use super::fault::{Fault, FaultKind};
use super::loads::{differs, sum};
use crate::plan::Status;
use crate::quantity::Marks;

pub(super) fn faults(case: &Case) -> Vec<Fault> {
    let mut found = Vec::new();
    found.extend(cylinders(case));
    found.extend(heaviest(case));
    found.extend(carried(case));
    found.extend(pours(case));
    found.extend(missing(case));
    found.extend(bounds(case));
    found.extend(proof(case));
    found.extend(short(case));
    found.extend(undecided(case));
    found.extend(shortages(case));
    found
}

/// As many cylinders as there are loads.
fn cylinders(case: &Case) -> Option<Fault> {
    let (count, stated) = (case.plan.loads.len(), case.plan.totals.cylinders);
    (count != stated).then(|| Fault::new(FaultKind::TotalCylinders, count, stated))
}

/// The heaviest lift is the largest stop weight.
fn heaviest(case: &Case) -> Option<Fault> {
    let heaviest = case.plan.loads.iter().map(|load| load.stop).max().unwrap_or(0);
    differs(FaultKind::TotalHeaviest, case.work.division(), heaviest, case.plan.totals.heaviest)
}

/// What is carried is the sum of the stop weights.
fn carried(case: &Case) -> Option<Fault> {
    let carried = sum(case.plan.loads.iter().map(|load| load.stop));
    differs(FaultKind::TotalCarried, case.work.division(), carried, case.plan.totals.carried)
}

/// As many pours as the loads have.
fn pours(case: &Case) -> Option<Fault> {
    let (count, stated) = (case.plan.loads.iter().map(|load| load.pours.len()).sum(), case.plan.totals.pours);
    let count: usize = count;
    (count != stated).then(|| Fault::new(FaultKind::TotalPours, count, stated))
}

/// What stays, where that is said, is what is missing of the lots together.
fn missing(case: &Case) -> Option<Fault> {
    let stays = sum(case.plan.short.iter().map(|short| short.missing));
    differs(FaultKind::TotalMissing, case.work.division(), stays, case.plan.totals.missing.unwrap_or(stays))
}

/// No total lies below its lower bound.
fn bounds(case: &Case) -> Vec<Fault> {
    let (bounds, totals) = (case.plan.bounds, case.plan.totals);
    let division = case.work.division();
    let mut found = Vec::new();
    let counts = [
        (FaultKind::BoundCylinders, bounds.cylinders, totals.cylinders),
        (FaultKind::BoundPours, bounds.pours, totals.pours),
    ];
    for (kind, bound, total) in counts {
        if total < bound {
            found.push(Fault::new(kind, format!("a bound of at most {total}"), bound));
        }
    }
    let stays = sum(case.plan.short.iter().map(|short| short.missing));
    let weights: [(FaultKind, Marks, Marks); 3] = [
        (FaultKind::BoundHeaviest, bounds.heaviest, totals.heaviest),
        (FaultKind::BoundCarried, bounds.carried, totals.carried),
        (FaultKind::BoundMissing, bounds.missing.unwrap_or(0), stays),
    ];
    for (kind, bound, total) in weights {
        if total < bound {
            let expected = format!("a bound of at most {}", division.text(total));
            found.push(Fault::new(kind, expected, division.text(bound)));
        }
    }
    found
}

/// What is proved meets all three of its bounds.
fn proof(case: &Case) -> Option<Fault> {
    let (bounds, totals) = (case.plan.bounds, case.plan.totals);
    let open =
        bounds.cylinders < totals.cylinders || bounds.heaviest < totals.heaviest || bounds.carried < totals.carried;
    (open && case.plan.status == Status::Proved)
        .then(|| Fault::new(FaultKind::Proof, Status::Bounded.name(), Status::Proved.name()))
}

/// A plan is short exactly where something is missing.
fn short(case: &Case) -> Option<Fault> {
    let (status, missing) = (case.plan.status, !case.plan.short.is_empty());
    let got = if missing { "something missing" } else { "nothing missing" };
    let got = format!("{}, {got}", status.name());
    (missing != (status == Status::Short))
        .then(|| Fault::new(FaultKind::StatusShort, "short where something is missing, and only there", got))
}

/// An undecided plan fills nothing.
fn undecided(case: &Case) -> Option<Fault> {
    let count = case.plan.loads.len();
    (case.plan.status == Status::Undecided && count > 0)
        .then(|| Fault::new(FaultKind::StatusUndecided, "no loads", format!("{count} loads")))
}

/// What is missing is a part of the charge of a lot, stated once.
fn shortages(case: &Case) -> Vec<Fault> {
    let division = case.work.division();
    let mut found = Vec::new();
    for (index, short) in case.plan.short.iter().enumerate() {
        if case.plan.short[..index].iter().any(|earlier| earlier.lot == short.lot) {
            found.push(Fault::new(FaultKind::ShortTwice, "one amount", &short.lot).of_lot(&short.lot));
        }
        let Some(group) = case.group_named(&short.lot) else {
            found.push(Fault::new(FaultKind::UnknownLot, "a lot of the plan", &short.lot).of_lot(&short.lot));
            continue;
        };
        if short.missing < 1 || short.missing > group.charge {
            let expected = format!("{} to {}", division.text(1), division.text(group.charge));
            found.push(Fault::new(FaultKind::Missing, expected, division.text(short.missing)).of_lot(&short.lot));
        }
    }
    found
}
