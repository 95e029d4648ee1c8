//! Spoiled plans: the loads.

use super::{Spoiled, grow, total};
use crate::audit::tests::plans::{kilograms, pounds};
use crate::cylinder::Tag;
use crate::plan::{Plan, Pour};
use crate::quantity::Marks;

pub const LOADS: &[Spoiled] = &[
    (pounds, |p| p.loads[1].order = 3, &["order"]),
    (pounds, |p| p.loads.swap(0, 1), &["order", "vapour-last", "order", "vapour-last"]),
    (pounds, |p| p.loads[0].cylinder = "Z-9".into(), &["lot-room", "unknown-cylinder", "cylinder-missing"]),
    (pounds, |p| p.loads[0].cylinder = "N-1".into(), &["cylinder-missing", "listed-twice"]),
    // Filled a second and a third time with nothing else wrong: the lot's room and what is placed of it tell it too.
    (
        pounds,
        |p| {
            again(p, 6);
            total(p);
        },
        &["lot-room", "lot-placed", "system-placed", "cylinder-twice"],
    ),
    (
        pounds,
        |p| {
            again(p, 6);
            again(p, 6);
            total(p);
        },
        &["lot-room", "lot-placed", "system-placed", "cylinder-twice", "cylinder-twice"],
    ),
    // One cylinder in two lots: its refrigerant is another one's.
    (
        pounds,
        |p| {
            p.loads[6].cylinder = "A-2".into();
            p.loads[6].now = 343;
            p.loads[6].stop = 463;
            total(p);
        },
        &["lot-room", "cylinder-twice", "unfit", "cylinder-missing"],
    ),
    (pounds, |p| p.loads[5].lot = "nowhere".into(), &["lot-room", "lot-placed", "system-placed", "unknown-lot"]),
    (pounds, |p| p.loads[3].refrigerant = "R-448A".into(), &["refrigerant"]),
    // A burnt charge without its mark, one with another's, two marks in the wrong order, a mark too many.
    (pounds, |p| p.loads[3].tags.clear(), &["marks"]),
    (pounds, |p| p.loads[3].tags = vec![Tag::Wet], &["marks"]),
    (pounds, |p| p.loads[4].tags.reverse(), &["marks"]),
    (pounds, |p| p.loads[5].tags.clear(), &["marks"]),
    (kilograms, |p| p.loads[0].tags.push(Tag::Flammable), &["marks"]),
    (
        pounds,
        |p| {
            p.loads[1].now -= 1;
            p.loads[1].stop -= 1;
            total(p);
        },
        &["now"],
    ),
    (
        kilograms,
        |p| {
            p.loads[1].now -= 1;
            p.loads[1].stop -= 1;
            total(p);
        },
        &["now"],
    ),
    (
        kilograms,
        |p| {
            p.loads[1].now += 1;
            p.loads[1].stop += 1;
            total(p);
        },
        &["now"],
    ),
    (pounds, |p| p.loads[4].pours[0].add += 1, &["system-placed", "share-sum", "pour-add"]),
    (
        pounds,
        |p| {
            p.loads[4].stop += 1;
            total(p);
        },
        &["stop", "pour-chain"],
    ),
    (
        pounds,
        |p| {
            p.loads[4].stop -= 1;
            total(p);
        },
        &["stop", "pour-chain"],
    ),
    // K-2 takes Unit 2 and then Unit 3.
    (kilograms, |p| p.loads[1].pours[1].from -= 1, &["pour-chain", "pour-add"]),
    (kilograms, |p| p.loads[1].pours.swap(0, 1), &["pour-chain"]),
    (
        kilograms,
        |p| {
            let pours = &mut p.loads[1].pours;
            pours[1].add -= 1;
            let rest = Pour { add: 1, ..pours[1].clone() };
            pours.push(rest);
            total(p);
        },
        &["pour-twice"],
    ),
    (kilograms, |p| p.loads[1].pours[0].vapour_last = false, &["vapour-last"]),
    (kilograms, |p| p.loads[0].ease_off += 1, &["ease-off"]),
    (pounds, |p| p.loads[0].ease_off = p.loads[0].stop - 29, &["ease-off"]),
    (pounds, |p| p.loads[0].ease_off = p.loads[0].stop - 30, &[]),
    (pounds, |p| p.loads[0].limit += 1, &["limit-over"]),
    (pounds, |p| p.loads[0].limit -= 1, &["limit-under"]),
    (kilograms, |p| p.loads[1].limit += 1, &["limit-over"]),
    (pounds, |p| p.loads[0].ceiling = "lift".into(), &["ceiling"]),
    (pounds, |p| p.loads[2].ceiling = "fill".into(), &["ceiling"]),
    (pounds, |p| p.loads[4].ceiling = "us-liquid-full".into(), &["ceiling"]),
    (kilograms, |p| p.loads[0].ceiling = "".into(), &["ceiling"]),
    // An empty cylinder in the plan, with a share of nothing and with none.
    (
        pounds,
        |p| {
            idle(p, true);
            total(p);
        },
        &["lot-room", "add", "share-size"],
    ),
    (
        pounds,
        |p| {
            idle(p, false);
            total(p);
        },
        &["lot-room", "add"],
    ),
    (kilograms, |p| p.loads[0].pours[0].system = "Unit 9".into(), &["system-placed", "share-system"]),
    (pounds, |p| p.loads[0].pours[0].system = "North pier / Freezer".into(), &["system-placed", "share-system"]),
    // From one cylinder into another of the lot, sums kept: up to the cap is allowed, but for the temperature that
    // follows; a division more isn't.
    (
        pounds,
        |p| {
            to_the_cap(p, 0, 2);
            total(p);
        },
        &["liquid-full"],
    ),
    (
        pounds,
        |p| {
            to_the_cap(p, 0, 2);
            shift(p, 2, 0, 1);
            total(p);
        },
        &["stop-over-limit"],
    ),
    (
        pounds,
        |p| {
            shift(p, 0, 2, 81);
            total(p);
        },
        &[],
    ),
    (
        pounds,
        |p| {
            shift(p, 0, 2, 82);
            total(p);
        },
        &["stop-over-lift"],
    ),
    (
        kilograms,
        |p| {
            shift(p, 1, 0, 100);
            total(p);
        },
        &[],
    ),
    (
        kilograms,
        |p| {
            grow(p, 0, 101);
            total(p);
        },
        &["lot-placed", "system-placed", "stop-over-scale"],
    ),
    (
        pounds,
        |p| {
            grow(p, 4, 120);
            total(p);
        },
        &["lot-placed", "system-placed"],
    ),
    (
        pounds,
        |p| {
            grow(p, 4, 121);
            total(p);
        },
        &["lot-placed", "system-placed", "stop-over-limit"],
    ),
];

/// Moves so much from one load to another of the same lot, from its largest share.
fn shift(plan: &mut Plan, from: usize, to: usize, by: Marks) {
    let largest = plan.loads[from].pours.iter_mut().max_by_key(|share| share.add).unwrap();
    largest.add -= by;
    let system = largest.system.clone();
    let into = &mut plan.loads[to].pours;
    match into.iter_mut().find(|share| share.system == system) {
        Some(share) => share.add += by,
        None => into.push(Pour { system, add: by, from: 0, to: 0, vapour_last: false }),
    }
    for (load, by) in [(from, -by), (to, by)] {
        plan.loads[load].add += by;
        plan.loads[load].stop += by;
    }
}

/// Fills a load up to its limit less 2 marks, the accuracy of the lot's scales.
fn to_the_cap(plan: &mut Plan, load: usize, from: usize) {
    let by = plan.loads[load].limit - 2 - plan.loads[load].stop;
    shift(plan, from, load, by);
}

/// Loads the cylinder of this load once more.
fn again(plan: &mut Plan, load: usize) {
    let mut load = plan.loads[load].clone();
    load.order = plan.loads.len() + 1;
    plan.loads.push(load);
}

/// Plans N-1 for the heat pump and puts nothing into it.
fn idle(plan: &mut Plan, share: bool) {
    again(plan, 6);
    let load = plan.loads.last_mut().unwrap();
    load.cylinder = "N-1".into();
    (load.add, load.stop) = (0, load.now);
    load.pours[0].add = 0;
    if !share {
        load.pours.clear();
    }
    plan.not_needed.clear();
}
