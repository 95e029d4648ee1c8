//! Why a plan is as it is, in sentences with figures that can be added up by hand.

use super::assemble::Place;
use crate::cylinder::beside_guideline;
use crate::job::{Lot, Work};
use crate::plan::{Plan, Status};
use crate::quantity::Marks;
use crate::solver::Options;

/// Why so many cylinders, and why such a heaviest lift, for a plan in which every charge is placed; nothing for others.
pub fn explain(work: &Work, options: &Options, plan: &Plan) -> Vec<String> {
    if !matches!(plan.status, Status::Proved | Status::Bounded) {
        return Vec::new();
    }
    let places: Vec<Place> = work.yard().iter().map(|cylinder| Place::new(cylinder, work.lots())).collect();
    let mut said = Vec::new();
    let mut fewest_in_all = 0;
    for (index, lot) in work.lots().iter().enumerate() {
        let rooms = largest_first(&places, index, Marks::MAX);
        let fewest = fewest(&rooms, lot.charge);
        fewest_in_all += fewest;
        said.push(format!(
            "{}: {}.",
            lot.name,
            too_few(work, &rooms, fewest, lot.charge)
                .unwrap_or_else(|| "one cylinder is the least there can be".into())
        ));
    }
    said.push(count(plan, work.lots().len(), fewest_in_all, options.insist()));
    said.push(lift(work, plan, &places));
    said.extend(work.lots().iter().filter_map(|lot| pours(lot, plan)));
    said.push(ties(plan));
    said.extend(fills(work, plan));
    said
}

/// Why a lot of several systems takes so many hose connections.
fn pours(lot: &Lot, plan: &Plan) -> Option<String> {
    let systems = lot.parts.iter().filter(|part| part.charge > 0).count();
    let loads = plan.loads.iter().filter(|load| load.lot == lot.name);
    let (cylinders, pours) = loads.fold((0, 0), |(count, pours), load| (count + 1, pours + load.pours.len()));
    let groups = (systems + cylinders).checked_sub(pours).filter(|_| systems > 1)?;
    let sharing = if groups == 1 { "all share with one another".to_owned() } else { format!("{groups} groups share") };
    let proof = if plan.totals.pours == plan.bounds.pours {
        "with these cylinders and lifts there are no more groups"
    } else {
        "more groups aren't disproved"
    };
    Some(format!(
        "{}: {systems} systems and {cylinders} cylinders, where {sharing}, take {systems} + {cylinders} - {groups} = {pours} hose \
         connections; {proof}.",
        lot.name
    ))
}

/// Of each lot the first cylinder's fill beside what 80 % of cold liquid would be.
fn fills(work: &Work, plan: &Plan) -> Vec<String> {
    let of_lot = |lot: &Lot| {
        let load = plan.loads.iter().find(|load| load.lot == lot.name)?;
        let cylinder = work.yard().iter().find(|cylinder| cylinder.id == load.cylinder)?;
        let said = beside_guideline(cylinder.water_capacity, &lot.intake.with(cylinder), &lot.intake.terms)?;
        Some(format!("{} in {}: {said}.", lot.name, cylinder.id))
    };
    work.lots().iter().filter_map(of_lot).collect()
}

/// The rooms for a lot at a heaviest lift, the largest first.
fn largest_first(places: &[Place], lot: usize, lift: Marks) -> Vec<Marks> {
    let room = |place: &Place| place.room(lot).map(|room| (room.top.min(lift) - room.base).max(0));
    let mut rooms: Vec<Marks> = places.iter().filter_map(room).filter(|room| *room > 0).collect();
    rooms.sort_unstable_by(|a, b| b.cmp(a));
    rooms
}

/// How many of the largest rooms hold the charge: no fewer cylinders do, even if the lot had the first choice.
fn fewest(rooms: &[Marks], charge: Marks) -> usize {
    let mut held = 0;
    rooms
        .iter()
        .take_while(|room| {
            let open = held < charge;
            held += **room;
            open
        })
        .count()
}

/// That one cylinder fewer doesn't hold the charge.
fn too_few(work: &Work, rooms: &[Marks], fewest: usize, charge: Marks) -> Option<String> {
    let fewer = fewest.checked_sub(1).filter(|fewer| *fewer > 0)?;
    let held: Marks = rooms.iter().take(fewer).sum();
    let division = work.division();
    let roomiest = if fewer == 1 { "roomiest holds".to_owned() } else { format!("{fewer} roomiest hold") };
    Some(format!(
        "the {roomiest} at most {} of the {}, so it takes {fewest}",
        division.text(held),
        division.text(charge)
    ))
}

fn count(plan: &Plan, lots: usize, fewest_in_all: usize, insist: bool) -> String {
    let (number, bound) = (plan.totals.cylinders, plan.bounds.cylinders);
    if lots > 1 && number == fewest_in_all {
        return format!("Together that is {number} cylinders, which the plan takes.");
    }
    if number == fewest_in_all {
        return format!("The plan takes {number}.");
    }
    if insist {
        return format!(
            "Each refrigerant by itself would take {fewest_in_all} in all; as it was asked for, the plan takes {number}."
        );
    }
    let proof = if number == bound { "no plan serves all with fewer" } else { "fewer isn't disproved" };
    format!(
        "Each refrigerant by itself would take {fewest_in_all} in all, but they want the same cylinders; the plan takes \
         {number}, and {proof} (at least {bound})."
    )
}

/// What keeps the heaviest lift from being a division lighter.
fn lift(work: &Work, plan: &Plan, places: &[Place]) -> String {
    let division = work.division();
    let heaviest = plan.totals.heaviest;
    let lighter = heaviest - 1;
    let names: Vec<&str> =
        plan.loads.iter().filter(|load| load.stop == heaviest).map(|load| load.cylinder.as_str()).collect();
    let names = names.join(", ");
    for (index, lot) in work.lots().iter().enumerate() {
        let number = plan.loads.iter().filter(|load| load.lot == lot.name).count();
        let held: Marks = largest_first(places, index, lighter).iter().take(number).sum();
        if held < lot.charge {
            let hold = if number == 1 { "no cylinder holds".into() } else { format!("no {number} cylinders hold") };
            return format!(
                "The heaviest lift, {} ({names}), can't be lighter: with every lift at most {}, {hold} more than {} of \
                 the {} of {}.",
                division.text(heaviest),
                division.text(lighter),
                division.text(held),
                division.text(lot.charge),
                lot.name
            );
        }
    }
    if heaviest == plan.bounds.heaviest {
        format!(
            "The heaviest lift, {} ({names}), can't be lighter with so few cylinders: not all refrigerants can \
             have the ones that would do it.",
            division.text(heaviest)
        )
    } else {
        format!(
            "The heaviest lift is {} ({names}); lighter than {} is disproved, between them it is open.",
            division.text(heaviest),
            division.text(plan.bounds.heaviest)
        )
    }
}

/// What decided between plans that are equal in all three.
fn ties(plan: &Plan) -> String {
    let unused = if plan.not_needed.is_empty() { "no fit cylinder is left" } else { "others of the yard were fit" };
    format!(
        "Among plans equal in cylinders, heaviest and carried: cylinders that hold the refrigerant already before \
         evacuated ones, then the order of the yard ({unused})."
    )
}
