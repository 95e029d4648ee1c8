//! The loads: one function for each rule that a filled cylinder has to keep.

use super::fault::{Fault, FaultKind};
use super::fullness::{Fullness, tare, together};
use super::sameness::Group;
use super::{Case, fitness, pours};
use crate::cylinder::{Condition, Contents, Cylinder, Fate, Tag};
use crate::job::Work;
use crate::plan::Load;
use crate::quantity::{Density, Division, Marks};
use crate::refrigerant::Fluid;

pub(super) fn faults(case: &Case) -> Vec<Fault> {
    let loads = &case.plan.loads;
    let mut found = Vec::new();
    for (index, load) in loads.iter().enumerate() {
        let division = case.work.division();
        let cylinder = case.work.yard().iter().find(|cylinder| cylinder.id == load.cylinder);
        let group = case.group_named(&load.lot);
        let mut of_load = Vec::new();
        of_load.extend(order(index, load));
        of_load.extend(twice(&loads[..index], load));
        of_load.extend(known(cylinder, load));
        of_load.extend(lot(case, load));
        of_load.extend(add(division, load));
        of_load.extend(stop(division, load));
        of_load.extend(share_sum(division, load));
        of_load.extend(share_size(division, load));
        of_load.extend(pours::faults(division, loads, index));
        if let Some(cylinder) = cylinder {
            of_load.extend(now(division, cylinder, load));
        }
        if let Some(group) = group {
            of_load.extend(share_systems(group, load));
        }
        if let (Some(cylinder), Some(group)) = (cylinder, group) {
            of_load.extend(refrigerant(cylinder, group, load));
            of_load.extend(marks(cylinder, group, load));
            of_load.extend(unfit(cylinder, group, load));
            // Without a density there is no limit, and the cylinder is unfit for that.
            if let Ok(fullness) = Fullness::of(cylinder, &together(cylinder, group), &group.strictest) {
                of_load.extend(limit(&fullness, division, load));
                of_load.extend(passed(&fullness, division, load));
                of_load.extend(ceiling(&fullness, load));
            }
            // It follows from the stop weight: a fault there is enough to say.
            if of_load.is_empty() {
                of_load.extend(liquid_full(case, cylinder, group, load));
            }
        }
        found.extend(of_load.into_iter().map(|fault| fault.of_cylinder(&load.cylinder)));
    }
    found
}

/// The loads are numbered from 1 in the order in which they stand.
fn order(index: usize, load: &Load) -> Option<Fault> {
    (load.order != index + 1).then(|| Fault::new(FaultKind::Order, index + 1, load.order))
}

/// No cylinder is filled twice.
fn twice(earlier: &[Load], load: &Load) -> Option<Fault> {
    let first = earlier.iter().find(|other| other.cylinder == load.cylinder)?;
    let got = format!("load {} and load {}", first.order, load.order);
    Some(Fault::new(FaultKind::CylinderTwice, "one load", got))
}

/// The cylinder is in the yard.
fn known(cylinder: Option<&Cylinder>, load: &Load) -> Option<Fault> {
    let missing = cylinder.is_none();
    missing.then(|| Fault::new(FaultKind::UnknownCylinder, "a cylinder of the yard", &load.cylinder))
}

/// The lot is one of the plan's.
fn lot(case: &Case, load: &Load) -> Option<Fault> {
    let known = case.plan.lots.iter().any(|line| line.lot == load.lot);
    (!known).then(|| Fault::new(FaultKind::UnknownLot, "a lot of the plan", &load.lot))
}

/// Something is added.
fn add(division: Division, load: &Load) -> Option<Fault> {
    (load.add < 1).then(|| {
        let least = format!("at least {}", division.text(1));
        Fault::new(FaultKind::Add, least, division.text(load.add))
    })
}

/// The stop weight is now + add.
fn stop(division: Division, load: &Load) -> Option<Fault> {
    let sum = load.now.saturating_add(load.add);
    differs(FaultKind::Stop, division, sum, load.stop)
}

/// The shares of the systems add up to the load.
fn share_sum(division: Division, load: &Load) -> Option<Fault> {
    let sum = sum(load.pours.iter().map(|share| share.add));
    differs(FaultKind::ShareSum, division, load.add, sum)
}

/// Every share is something.
fn share_size(division: Division, load: &Load) -> Vec<Fault> {
    let least = format!("at least {}", division.text(1));
    let empty = load.pours.iter().filter(|share| share.add < 1);
    empty
        .map(|share| Fault::new(FaultKind::ShareSize, &least, division.text(share.add)).of_system(&share.system))
        .collect()
}

/// Every share comes from a system of the lot.
fn share_systems(group: &Group, load: &Load) -> Vec<Fault> {
    let ours: Vec<&str> = group.parts.iter().map(|part| part.label.as_str()).collect();
    let strange = load.pours.iter().filter(|share| !ours.contains(&share.system.as_str()));
    strange.map(|share| Fault::new(FaultKind::ShareSystem, ours.join(", "), &share.system).of_lot(&load.lot)).collect()
}

/// What the scale shows before is the gross weight, rounded up to a mark.
fn now(division: Division, cylinder: &Cylinder, load: &Load) -> Option<Fault> {
    differs(FaultKind::Now, division, division.ceil(cylinder.gross), load.now)
}

/// The refrigerant is the lot's; of a mixed charge on a mixed heel the lists of both may stand.
fn refrigerant(cylinder: &Cylinder, group: &Group, load: &Load) -> Option<Fault> {
    let of_lot = group.fluid.name();
    let named = load.refrigerant == of_lot || load.refrigerant == together(cylinder, group).name();
    (!named).then(|| Fault::new(FaultKind::Refrigerant, of_lot, &load.refrigerant).of_lot(&load.lot))
}

/// The marks are those of the lot and of the heel together: what burns, a mixture, burnout, water, what goes back to its
/// owner. Of an evacuated cylinder that carried burnout the acid counts until it is cleaned.
fn marks(cylinder: &Cylinder, group: &Group, load: &Load) -> Option<Fault> {
    let heel = !matches!(cylinder.contents, Contents::Evacuated | Contents::Nitrogen);
    let (held, burnt) = (cylinder.condition, cylinder.condition == Condition::Burnout);
    let burning = match &cylinder.contents {
        Contents::Unknown => true,
        Contents::Mixed(parts) => Fluid::Mixed(parts.clone()).is_flammable(),
        Contents::Holds(refrigerant) => refrigerant.is_flammable(),
        Contents::Evacuated | Contents::Nitrogen => false,
    };
    let mixed = matches!(group.fluid, Fluid::Mixed(_)) || matches!(cylinder.contents, Contents::Mixed(_));
    let acid = burnt && (heel || !cylinder.cleaned);
    let wet = group.condition == Condition::Wet || (heel && held == Condition::Wet);
    let kept = group.fate == Fate::Reuse || (heel && cylinder.kept_for.is_some());
    let expected: Vec<Tag> = [
        (group.fluid.is_flammable() || burning, Tag::Flammable),
        (mixed, Tag::Mixed),
        (group.condition == Condition::Burnout || acid, Tag::Burnout),
        (wet, Tag::Wet),
        (kept, Tag::Reuse),
    ]
    .into_iter()
    .filter_map(|(is_so, tag)| is_so.then_some(tag))
    .collect();
    let words = |tags: &[Tag]| match tags {
        [] => "none".to_owned(),
        tags => tags.iter().map(|tag| tag.word()).collect::<Vec<_>>().join(" "),
    };
    (load.tags != expected).then(|| Fault::new(FaultKind::Marks, words(&expected), words(&load.tags)).of_lot(&load.lot))
}

/// Every fitness rule is kept.
fn unfit(cylinder: &Cylinder, group: &Group, load: &Load) -> Vec<Fault> {
    let broken = fitness::broken(cylinder, group);
    broken.into_iter().map(|code| Fault::new(FaultKind::Unfit, "no rule against it", code).of_lot(&load.lot)).collect()
}

/// The limit is working tare + the smallest ceiling, rounded down to a mark.
fn limit(fullness: &Fullness, division: Division, load: &Load) -> Option<Fault> {
    let limit = division.floor(fullness.limit());
    let kind = if load.limit > limit { FaultKind::LimitOver } else { FaultKind::LimitUnder };
    differs(kind, division, limit, load.limit)
}

/// The stop weight passes neither the limit less the scale's accuracy, nor the lift limit, nor the scale's capacity.
fn passed(fullness: &Fullness, division: Division, load: &Load) -> Vec<Fault> {
    let mut found: Vec<Fault> = Vec::new();
    let mut bounds = fullness.bounds().to_vec();
    // The least first: of several ceilings that are passed it is the one to name.
    bounds.sort_by_key(|(_, weight)| *weight);
    for (name, weight) in bounds {
        let most = division.floor(weight);
        let kind = match name {
            "lift" => FaultKind::StopOverLift,
            "scale" => FaultKind::StopOverScale,
            _ => FaultKind::StopOverLimit,
        };
        let fault = Fault::new(kind, format!("at most {}", division.text(most)), division.text(load.stop));
        if load.stop > most && !found.iter().any(|earlier| earlier.code == fault.code) {
            found.push(fault);
        }
    }
    found
}

/// What is named is what bounds the cylinder most; of two level ones, either.
fn ceiling(fullness: &Fullness, load: &Load) -> Option<Fault> {
    let binding = fullness.binding();
    let named = binding.contains(&load.ceiling.as_str());
    (!named).then(|| Fault::new(FaultKind::Ceiling, binding.join(" or "), &load.ceiling))
}

/// The temperature at which the net weight over the volume is the density of the liquid, in the words of the scale.
fn liquid_full(case: &Case, cylinder: &Cylinder, group: &Group, load: &Load) -> Option<Fault> {
    let words = liquid_full_words(case.work, cylinder, group, load.stop);
    (load.liquid_full != words).then(|| Fault::new(FaultKind::LiquidFull, words, &load.liquid_full))
}

pub(super) fn liquid_full_words(work: &Work, cylinder: &Cylinder, group: &Group, stop: Marks) -> String {
    let net = work.division().weight(stop) - tare(cylinder);
    let share = net.ratio_to(cylinder.water_capacity).and_then(|share| f64::try_from(share).ok());
    let density = Density::WATER.scaled(share.unwrap_or(f64::MAX));
    let scale = work.jobs().first().map(|job| job.terms.scale);
    scale
        .map_or_else(String::new, |scale| scale.liquid_full(together(cylinder, group).liquid_full_temperature(density)))
}

/// A fault of this kind where the two counts of divisions differ.
pub(super) fn differs(kind: FaultKind, division: Division, expected: Marks, got: Marks) -> Option<Fault> {
    (expected != got).then(|| Fault::new(kind, division.text(expected), division.text(got)))
}

/// A sum that stays at the largest count that there is: a plan file may hold any number.
pub(super) fn sum(marks: impl Iterator<Item = Marks>) -> Marks {
    marks.fold(0, Marks::saturating_add)
}
