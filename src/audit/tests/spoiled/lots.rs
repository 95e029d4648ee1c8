//! Spoiled plans: lots and what is placed of them.

use super::{Spoiled, grow, total};
use crate::audit::tests::plans::{kilograms, pounds};
use crate::plan::Plan;

pub const LOTS: &[Spoiled] = &[
    (
        pounds,
        |p| {
            let line = p.lots[3].clone();
            p.lots.push(line);
        },
        &["lot-twice", "system-twice", "lot-empty"],
    ),
    (
        pounds,
        |p| p.lots.extend([p.lots[3].clone(), p.lots[3].clone()]),
        &["lot-twice", "system-twice", "lot-empty", "lot-twice", "system-twice", "lot-empty"],
    ),
    (pounds, |p| p.lots[3].systems.clear(), &["lot-empty", "system-missing"]),
    (pounds, |p| p.lots[0].systems[1] = "Rack 9".into(), &["unknown-system", "system-missing"]),
    (pounds, |p| p.lots[0].systems.push("North pier / Rack 1".into()), &["system-twice"]),
    (pounds, |p| p.lots[0].systems.truncate(3), &["system-missing"]),
    (
        pounds,
        |p| {
            let moved = p.lots[1].systems.remove(0);
            p.lots[0].systems.push(moved);
        },
        &["lot-mixes", "lot-empty"],
    ),
    // Three that may not share with the first: another condition, another system's reuse, another refrigerant.
    (
        pounds,
        |p| {
            for lot in [1, 2, 4] {
                let moved = p.lots[lot].systems.remove(0);
                p.lots[0].systems.push(moved);
            }
        },
        &["lot-mixes", "lot-mixes", "lot-mixes", "lot-empty", "lot-empty", "lot-empty"],
    ),
    // One of the lot's four systems in a lot of its own, that nothing is loaded for; then two of them.
    (
        pounds,
        |p| split(p, 1),
        &["lot-charge", "lot-placed", "system-placed", "system-placed", "system-placed", "system-placed", "lot-split"],
    ),
    (
        pounds,
        |p| {
            split(p, 1);
            split(p, 1);
        },
        &[
            "lot-charge",
            "lot-placed",
            "system-placed",
            "system-placed",
            "system-placed",
            "system-placed",
            "lot-charge",
            "lot-placed",
            "system-placed",
            "system-placed",
            "system-placed",
            "system-placed",
            "lot-split",
        ],
    ),
    (pounds, |p| p.lots[1].refrigerant = "R-448A".into(), &["lot-refrigerant"]),
    (
        pounds,
        |p| {
            p.lots[1].charge += 1;
            p.lots[1].spare -= 1;
        },
        &["lot-charge"],
    ),
    (
        pounds,
        |p| {
            p.lots[1].room += 1;
            p.lots[1].spare += 1;
        },
        &["lot-room"],
    ),
    (
        kilograms,
        |p| {
            p.lots[0].room -= 1;
            p.lots[0].spare -= 1;
        },
        &["lot-room"],
    ),
    (pounds, |p| p.lots[1].spare += 1, &["lot-spare"]),
    (
        pounds,
        |p| {
            grow(p, 3, 1);
            total(p);
        },
        &["lot-placed", "system-placed"],
    ),
    (
        pounds,
        |p| {
            grow(p, 3, -1);
            total(p);
        },
        &["lot-placed", "system-placed"],
    ),
    (
        kilograms,
        |p| {
            p.loads[1].pours[0].add += 1;
            p.loads[1].pours[1].add -= 1;
            p.loads[1].pours[0].to += 1;
            p.loads[1].pours[1].from += 1;
        },
        &["system-placed", "system-placed"],
    ),
];

/// Takes the system at this position out of the first lot into one of its own.
fn split(plan: &mut Plan, system: usize) {
    let mut line = plan.lots[0].clone();
    line.systems = vec![plan.lots[0].systems.remove(system)];
    line.lot = format!("R-448A, {}", plan.lots.len());
    (line.charge, line.room, line.spare) = (0, 0, 0);
    plan.lots.push(line);
}
