//! The cylinders that aren't filled: each stands in one place of the plan, and for a reason that it really has.

use super::fault::{Fault, Kind};
use super::{Case, fitness};
use crate::cylinder::Cylinder;
use crate::plan::LeftOut;

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
            of_cylinder.extend(false_reasons(&broken, left_out));
            of_cylinder.extend(missing_reasons(&broken, left_out));
        }
        of_cylinder.extend(unfit(case, cylinder, &broken));
        of_cylinder.extend(danger(&broken, left_out));
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
        .map(|name| Fault::new(Kind::UnknownCylinder, "a cylinder of the yard", name).of_cylinder(name))
        .collect()
}

/// A cylinder is filled, left out or not needed, one of the three. Filled twice is a fault of the loads.
fn places(case: &Case, cylinder: &Cylinder) -> Option<Fault> {
    let id = &cylinder.id;
    let filled = usize::from(case.plan.loads.iter().any(|load| load.cylinder == *id));
    let left_out = case.plan.left_out.iter().filter(|left| left.cylinder == *id).count();
    let not_needed = case.plan.not_needed.iter().filter(|name| *name == id).count();
    match filled + left_out + not_needed {
        0 => Some(Fault::new(Kind::CylinderMissing, "one place", "none")),
        1 => None,
        _ => {
            let counts = [("loads", filled), ("left out", left_out), ("not needed", not_needed)];
            let got = counts.map(|(place, count)| format!("{place} {count}")).join(", ");
            Some(Fault::new(Kind::ListedTwice, "one place", got))
        }
    }
}

/// What is left out may take no lot.
fn fit(case: &Case, broken: &[Vec<&str>]) -> Vec<Fault> {
    let lots = case.groups.iter().zip(broken).filter(|(_, broken)| broken.is_empty());
    lots.map(|(group, _)| {
        Fault::new(Kind::LeftOutFit, "a rule against every lot", format!("none against {}", group.label()))
    })
    .collect()
}

/// Every reason is a known rule that the cylinder breaks for some lot.
fn false_reasons(broken: &[Vec<&str>], left_out: &LeftOut) -> Vec<Fault> {
    let mut found = Vec::new();
    for code in left_out.reasons.iter().map(|reason| reason.code.as_str()) {
        if !fitness::RULES.iter().any(|(known, _)| *known == code) {
            found.push(Fault::new(Kind::ReasonUnknown, "the code of a rule", code));
        } else if !broken.iter().flatten().any(|broken| *broken == code) {
            found.push(Fault::new(Kind::ReasonWrong, "a rule that it breaks", code));
        }
    }
    found
}

/// Every rule that the cylinder breaks for some lot is among the reasons.
fn missing_reasons(broken: &[Vec<&str>], left_out: &LeftOut) -> Vec<Fault> {
    let codes = fitness::RULES.iter().map(|(code, _)| *code);
    let breaks = codes.filter(|code| broken.iter().flatten().any(|broken| broken == code));
    let told = |code: &str| left_out.reasons.iter().any(|reason| reason.code == code);
    breaks
        .filter(|code| *code != OVER_LIMIT && !told(code))
        .map(|code| Fault::new(Kind::ReasonMissing, code, "not among the reasons"))
        .collect()
}

/// What is not needed could take a lot.
fn unfit(case: &Case, cylinder: &Cylinder, broken: &[Vec<&str>]) -> Option<Fault> {
    let listed = case.plan.not_needed.contains(&cylinder.id);
    let usable = broken.iter().any(Vec::is_empty);
    (listed && !usable).then(|| Fault::new(Kind::NotNeededUnfit, "a lot that it may take", broken.concat().join(", ")))
}

/// A cylinder that no lot may use and that is over its limit is left out with that reason.
fn danger(broken: &[Vec<&str>], left_out: Option<&LeftOut>) -> Option<Fault> {
    let over = broken.iter().flatten().any(|code| *code == OVER_LIMIT);
    let usable = broken.iter().any(Vec::is_empty);
    let shown = left_out.is_some_and(|left| left.reasons.iter().any(|reason| reason.code == OVER_LIMIT));
    (over && !usable && !shown).then(|| Fault::new(Kind::Danger, "left out as over-limit", "not shown as that"))
}
