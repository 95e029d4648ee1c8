//! The cylinders that aren't filled: each stands in one place of the plan, and for a reason that it really has.

use super::fault::{Fault, FaultKind};
use super::sameness::Group;
use super::{Case, fitness};
use crate::cylinder::Cylinder;
use crate::plan::{Against, LeftOut};

/// The code of the fitness rule that is danger.
const OVER_LIMIT: &str = "over-limit";

pub(super) fn faults(case: &Case) -> Vec<Fault> {
    let mut found = unknown(case);
    for cylinder in case.work.yard() {
        // For each lot, the rules against this cylinder taking it.
        let broken: Vec<Vec<&str>> = case.groups.iter().map(|group| fitness::broken(cylinder, group)).collect();
        let left_out = case.plan.left_out.iter().find(|left| left.cylinder == cylinder.id);
        let mut of_cylinder = Vec::new();
        of_cylinder.extend(places(case, cylinder));
        if let Some(left_out) = left_out {
            of_cylinder.extend(fit(case, &broken));
            of_cylinder.extend(false_reasons(case, &broken, left_out));
            of_cylinder.extend(missing_reasons(case, &broken, left_out));
        }
        of_cylinder.extend(unfit(case, cylinder, &broken));
        of_cylinder.extend(danger(case, &broken, left_out));
        found.extend(of_cylinder.into_iter().map(|fault| fault.of_cylinder(&cylinder.id)));
    }
    found
}

/// What isn't filled are cylinders of the yard.
fn unknown(case: &Case) -> Vec<Fault> {
    let left_out = case.plan.left_out.iter().map(|left| &left.cylinder);
    let names = left_out.chain(&case.plan.not_needed);
    names
        .filter(|name| !case.work.yard().iter().any(|cylinder| cylinder.id == **name))
        .map(|name| Fault::new(FaultKind::UnknownCylinder, "a cylinder of the yard", name).of_cylinder(name))
        .collect()
}

/// A cylinder is filled, left out or not needed, one of the three. Filled twice is a fault of the loads.
fn places(case: &Case, cylinder: &Cylinder) -> Option<Fault> {
    let id = &cylinder.id;
    let filled = usize::from(case.plan.loads.iter().any(|load| load.cylinder == *id));
    let left_out = case.plan.left_out.iter().filter(|left| left.cylinder == *id).count();
    let not_needed = case.plan.not_needed.iter().filter(|name| *name == id).count();
    match filled + left_out + not_needed {
        0 => Some(Fault::new(FaultKind::CylinderMissing, "one place", "none")),
        1 => None,
        _ => {
            let counts = [("loads", filled), ("left out", left_out), ("not needed", not_needed)];
            let got = counts.map(|(place, count)| format!("{place} {count}")).join(", ");
            Some(Fault::new(FaultKind::ListedTwice, "one place", got))
        }
    }
}

/// What is left out may take no lot.
fn fit(case: &Case, broken: &[Vec<&str>]) -> Vec<Fault> {
    let lots = case.groups.iter().zip(broken).filter(|(_, broken)| broken.is_empty());
    lots.map(|(group, _)| {
        Fault::new(FaultKind::LeftOutFit, "a rule against every lot", format!("none against {}", group.label()))
    })
    .collect()
}

/// Every reason is a known rule that the cylinder breaks for each lot that it is told of, and it is told of some.
fn false_reasons(case: &Case, broken: &[Vec<&str>], left_out: &LeftOut) -> Vec<Fault> {
    let mut found = Vec::new();
    for Against { code, lots, .. } in &left_out.reasons {
        let breaks = |lot: &String| {
            let position = case.group_named(lot).and_then(|group| position(case, group));
            position.and_then(|lot| broken.get(lot)).is_some_and(|codes| codes.contains(&code.as_str()))
        };
        let breaks_some = broken.iter().flatten().any(|broken| broken == code);
        let told_right = !lots.is_empty() && lots.iter().all(breaks);
        if !fitness::RULES.iter().any(|(known, _)| known == code) {
            found.push(Fault::new(FaultKind::ReasonUnknown, "the code of a rule", code));
        } else if !breaks_some || (lots_are_clear(case) && !told_right) {
            found.push(Fault::new(FaultKind::ReasonWrong, "a rule that it breaks for each of its lots", code));
        }
    }
    found
}

/// Every rule that the cylinder breaks for a lot is told of that lot; danger is a fault of its own.
fn missing_reasons(case: &Case, broken: &[Vec<&str>], left_out: &LeftOut) -> Vec<Fault> {
    let codes = fitness::RULES.iter().map(|(code, _)| *code);
    let missing = codes.filter(|code| *code != OVER_LIMIT && !is_told(case, broken, left_out, code));
    missing.map(|code| Fault::new(FaultKind::ReasonMissing, code, "not among the reasons")).collect()
}

/// Whether this code is told of every lot for which it is broken.
fn is_told(case: &Case, broken: &[Vec<&str>], left_out: &LeftOut, code: &str) -> bool {
    let mut told = left_out.reasons.iter().filter(|reason| reason.code == code);
    let mut breaking =
        case.groups.iter().zip(broken).filter(|(_, codes)| codes.contains(&code)).map(|(group, _)| group);
    if !lots_are_clear(case) {
        return breaking.next().is_none() || told.next().is_some();
    }
    let lots: Vec<Option<usize>> =
        told.flat_map(|reason| &reason.lots).map(|lot| position(case, case.group_named(lot)?)).collect();
    breaking.all(|group| lots.contains(&position(case, group)))
}

/// Whether every lot of the plan stands for one of the work: where not, what is said of lots by name has no meaning,
/// and that is a fault of the lots.
fn lots_are_clear(case: &Case) -> bool {
    let lines: Vec<Option<usize>> =
        (0..case.plan.lots.len()).map(|line| position(case, case.group_of(line)?)).collect();
    lines.len() == case.groups.len() && (0..lines.len()).all(|group| lines.contains(&Some(group)))
}

fn position(case: &Case, group: &Group) -> Option<usize> {
    case.groups.iter().position(|other| std::ptr::eq(other, group))
}

/// What is not needed could take a lot.
fn unfit(case: &Case, cylinder: &Cylinder, broken: &[Vec<&str>]) -> Option<Fault> {
    let listed = case.plan.not_needed.contains(&cylinder.id);
    let usable = broken.iter().any(Vec::is_empty);
    (listed && !usable)
        .then(|| Fault::new(FaultKind::NotNeededUnfit, "a lot that it may take", broken.concat().join(", ")))
}

/// A cylinder that no lot may use and that is over its limit is left out with that reason.
fn danger(case: &Case, broken: &[Vec<&str>], left_out: Option<&LeftOut>) -> Option<Fault> {
    let over = broken.iter().flatten().any(|code| *code == OVER_LIMIT);
    let usable = broken.iter().any(Vec::is_empty);
    let shown = left_out.is_some_and(|left| is_told(case, broken, left, OVER_LIMIT));
    (over && !usable && !shown).then(|| Fault::new(FaultKind::Danger, "left out as over-limit", "not shown as that"))
}
