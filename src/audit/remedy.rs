//! What is said to be done about a shortage: what is to be evacuated may be, and takes a lot then.

use super::Case;
use super::fault::{Fault, FaultKind};
use super::fitness;
use super::loads::sum;
use crate::plan::{Leftover, Remedy};
use crate::quantity::Marks;

pub(super) fn faults(case: &Case) -> Vec<Fault> {
    let Some(remedy) = &case.plan.remedy else { return Vec::new() };
    let mut found = Vec::new();
    if case.plan.short.is_empty() {
        found.push(Fault::new(FaultKind::Remedy, "something missing", "nothing missing"));
    }
    found.extend(missing(case, remedy));
    for (index, id) in remedy.evacuate.iter().enumerate() {
        let again = remedy.evacuate[..index].contains(id);
        let cylinder = case.work.yard().iter().find(|cylinder| cylinder.id == *id);
        let why = match cylinder {
            None => Some("not in the yard"),
            Some(_) if again => Some("named twice"),
            Some(cylinder) if case.groups.iter().any(|group| fitness::evacuating_helps(cylinder, group)) => None,
            Some(_) => Some("unfit for every lot"),
        };
        found.extend(why.map(|why| Fault::new(FaultKind::Evacuate, "fit once evacuated", why).of_cylinder(id)));
    }
    found
}

/// With nothing to evacuate the same is left over; else less in all, and of the lots of the plan.
fn missing(case: &Case, remedy: &Remedy) -> Vec<Fault> {
    let division = case.work.division();
    let before: Marks = sum(case.plan.short.iter().map(|short| short.missing));
    let after: Marks = sum(remedy.missing.iter().map(|left| left.missing));
    let mut found = Vec::new();
    let same = if remedy.evacuate.is_empty() { after == before } else { after < before };
    if !same {
        let most = if remedy.evacuate.is_empty() { "" } else { "less than " };
        let expected = format!("{most}{}", division.text(before));
        found.push(Fault::new(FaultKind::RemedyMissing, expected, division.text(after)));
    }
    for Leftover { lot, missing } in &remedy.missing {
        let charge = case.group_named(lot).map_or(0, |group| group.charge);
        if *missing < 1 || *missing > charge {
            let expected = format!("{} to {}", division.text(1), division.text(charge));
            found.push(Fault::new(FaultKind::RemedyMissing, expected, division.text(*missing)).of_lot(lot));
        }
    }
    found
}
