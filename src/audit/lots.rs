//! The lots: which systems share cylinders, what has to be placed of them and what is.

use super::fault::{Fault, FaultKind};
use super::fullness::{Fullness, together};
use super::loads::{differs, sum};
use super::sameness::Group;
use super::{Case, Named, fitness};
use crate::cylinder::Id;
use crate::plan::{Load, LotLine, Status};
use crate::quantity::{Division, Marks};

pub(super) fn faults(case: &Case) -> Vec<Fault> {
    let division = case.work.division();
    let lines = &case.plan.lots;
    let mut found = Vec::new();
    for (index, line) in lines.iter().enumerate() {
        let loads: Vec<&Load> = case.plan.loads.iter().filter(|load| load.lot == line.lot).collect();
        let mut of_lot = Vec::new();
        of_lot.extend(twice(&lines[..index], line));
        of_lot.extend(systems(&case.named[index], line));
        of_lot.extend(mixes(case, index, line));
        match case.group_of(index) {
            None => of_lot.push(Fault::new(FaultKind::LotEmpty, "a system", line.systems.join(", "))),
            Some(group) => {
                of_lot.extend(refrigerant(group, line));
                of_lot.extend(differs(FaultKind::LotCharge, division, group.charge, line.charge));
                of_lot.extend(room(case, group, &loads, line));
                of_lot.extend(spare(division, line));
                of_lot.extend(placed(case, group, &loads, line));
                of_lot.extend(parts_placed(case, group, &loads, line));
                of_lot.extend(short_room(case, group, line));
            }
        }
        found.extend(of_lot.into_iter().map(|fault| fault.of_lot(&line.lot)));
    }
    found.extend(splits(case));
    found.extend(missing_systems(case));
    found
}

/// No two lots have one name.
fn twice(earlier: &[LotLine], line: &LotLine) -> Option<Fault> {
    let again = earlier.iter().any(|other| other.lot == line.lot);
    again.then(|| Fault::new(FaultKind::LotTwice, "a name of its own", &line.lot))
}

/// Every name is that of a system, and none stands twice.
fn systems(named: &[Named], line: &LotLine) -> Vec<Fault> {
    let mut found = Vec::new();
    for (named, name) in named.iter().zip(&line.systems) {
        let fault = match named {
            Named::System { .. } => continue,
            Named::Again => Fault::new(FaultKind::SystemTwice, "one place", name),
            Named::Unknown => Fault::new(FaultKind::UnknownSystem, "a system of these jobs", name),
        };
        found.push(fault.of_system(name));
    }
    found
}

/// All systems of a lot may share cylinders with its first.
fn mixes(case: &Case, index: usize, line: &LotLine) -> Vec<Fault> {
    let mut first: Option<(usize, &str)> = None;
    let mut found = Vec::new();
    for (named, name) in case.named[index].iter().zip(&line.systems) {
        let Named::System { group, .. } = named else { continue };
        match first {
            None => first = Some((*group, name)),
            Some((of_first, _)) if of_first == *group => {}
            Some((_, first)) => {
                let expected = format!("a lot apart from {first}");
                found.push(Fault::new(FaultKind::LotMixes, expected, format!("{first} and {name}")).of_system(name));
            }
        }
    }
    found
}

/// Systems that may share cylinders stand in one lot.
fn splits(case: &Case) -> Vec<Fault> {
    let mut found = Vec::new();
    for (index, group) in case.groups.iter().enumerate() {
        let holds = |named: &Vec<Named>| {
            let mut named = named.iter();
            named.any(|named| matches!(named, Named::System { group, .. } if *group == index))
        };
        let lines = case.plan.lots.iter().zip(&case.named);
        let names: Vec<&str> = lines.filter(|(_, named)| holds(named)).map(|(line, _)| line.lot.as_str()).collect();
        if names.len() > 1 {
            let expected = format!("one lot for {}", group.label());
            found.push(Fault::new(FaultKind::LotSplit, expected, names.join(" and ")).of_lot(names[0]));
        }
    }
    found
}

/// Every system stands in a lot.
fn missing_systems(case: &Case) -> Vec<Fault> {
    let mut found = Vec::new();
    for (group, parts) in case.groups.iter().map(|group| &group.parts).enumerate() {
        for (part, system) in parts.iter().enumerate() {
            let wanted = Named::System { group, part };
            if !case.named.iter().any(|named| named.contains(&wanted)) {
                found.push(Fault::new(FaultKind::SystemMissing, "a lot", "none").of_system(&system.label));
            }
        }
    }
    found
}

/// The refrigerant is that of the systems.
fn refrigerant(group: &Group, line: &LotLine) -> Option<Fault> {
    let ours = group.fluid.name();
    (line.refrigerant != ours).then(|| Fault::new(FaultKind::LotRefrigerant, ours, &line.refrigerant))
}

/// The room of this cylinder for the group: none where it isn't in the yard or has no limit.
fn room_in(case: &Case, group: &Group, id: &Id) -> Marks {
    let Some(cylinder) = case.work.yard().iter().find(|cylinder| cylinder.id == *id) else {
        return 0;
    };
    Fullness::of(cylinder, &together(cylinder, group), &group.strictest)
        .map_or(0, |fullness| fullness.room(cylinder, &group.strictest))
}

/// The room is the sum over the lot's cylinders.
fn room(case: &Case, group: &Group, loads: &[&Load], line: &LotLine) -> Option<Fault> {
    let rooms = loads.iter().map(|load| room_in(case, group, &load.cylinder));
    differs(FaultKind::LotRoom, case.work.division(), sum(rooms), line.room)
}

/// The spare room is the room beyond the charge; none where the charge doesn't fit.
fn spare(division: Division, line: &LotLine) -> Option<Fault> {
    let spare = line.room.saturating_sub(line.charge).max(0);
    differs(FaultKind::LotSpare, division, spare, line.spare)
}

/// The lot's cylinders take its charge, less what is said to be missing.
fn placed(case: &Case, group: &Group, loads: &[&Load], line: &LotLine) -> Option<Fault> {
    let placed = sum(loads.iter().map(|load| load.add));
    let due = match case.plan.status {
        Status::Undecided => 0,
        Status::Proved | Status::Bounded | Status::Short => group.charge.saturating_sub(missing(case, &line.lot)),
    };
    differs(FaultKind::LotPlaced, case.work.division(), due, placed)
}

/// Each system gives its part of the charge; where something of the lot is missing, not more than that.
fn parts_placed(case: &Case, group: &Group, loads: &[&Load], line: &LotLine) -> Vec<Fault> {
    let division = case.work.division();
    let undecided = case.plan.status == Status::Undecided;
    let short = missing(case, &line.lot) > 0;
    let mut found = Vec::new();
    for (index, part) in group.parts.iter().enumerate() {
        let label = part.label.as_str();
        // Systems of one name can't be told apart in the loads; they are counted together, once.
        if group.parts[..index].iter().any(|earlier| earlier.label == label) {
            continue;
        }
        let parts = group.parts.iter().filter(|part| part.label == label);
        let due = sum(parts.map(|part| part.charge));
        let shares = loads.iter().flat_map(|load| &load.pours);
        let given = sum(shares.filter(|share| share.system == label).map(|share| share.add));
        let fault = match (undecided, short) {
            (true, _) => differs(FaultKind::SystemPlaced, division, 0, given),
            (false, false) => differs(FaultKind::SystemPlaced, division, due, given),
            (false, true) if given > due => {
                let expected = format!("at most {}", division.text(due));
                Some(Fault::new(FaultKind::SystemPlaced, expected, division.text(given)))
            }
            (false, true) => None,
        };
        found.extend(fault.map(|fault| fault.of_system(label)));
    }
    found
}

/// Where something of the lot is missing, its cylinders are filled to their caps, and none that may take it is unused.
fn short_room(case: &Case, group: &Group, line: &LotLine) -> Vec<Fault> {
    if missing(case, &line.lot) < 1 {
        return Vec::new();
    }
    let division = case.work.division();
    let loads = case.plan.loads.iter().filter(|load| load.lot == line.lot);
    let begun = loads.map(|load| (&load.cylinder, load.add));
    let unused = case.plan.not_needed.iter().map(|id| (id, 0));
    let may_take = |id: &Id| {
        let cylinder = case.work.yard().iter().find(|cylinder| cylinder.id == *id);
        cylinder.is_some_and(|cylinder| fitness::broken(cylinder, group).is_empty())
    };
    let mut found = Vec::new();
    for (id, add) in begun.chain(unused).filter(|(id, _)| may_take(id)) {
        let room = room_in(case, group, id);
        if add < room {
            let fault = Fault::new(FaultKind::ShortRoom, division.text(room), division.text(add));
            found.push(fault.of_cylinder(id));
        }
    }
    found
}

/// What the plan says is missing of a lot.
fn missing(case: &Case, lot: &str) -> Marks {
    let short = case.plan.short.iter().filter(|short| short.lot == lot);
    sum(short.map(|short| short.missing))
}
