//! Spoiled plans: the plan as a whole, its totals, its status and what is missing.

use super::{Spoiled, grow, total};
use crate::audit::tests::plans::{kilograms, nitrogen, pounds, too_much, undecided};
use crate::job::Work;
use crate::plan::{Plan, Remedy, Status};
use crate::quantity::Unit;

pub const WHOLE: &[Spoiled] = &[
    (pounds, |p| p.jobs.truncate(1), &["jobs"]),
    (pounds, |p| p.jobs.reverse(), &["jobs"]),
    (pounds, |p| p.division = Unit::Kg.default_division(), &["division"]),
    (kilograms, |p| p.division = Unit::Lb.default_division(), &["division"]),
    (pounds, |p| p.totals.cylinders += 1, &["total-cylinders", "proof"]),
    (pounds, |p| p.totals.cylinders -= 1, &["total-cylinders", "bound-cylinders"]),
    (pounds, |p| p.totals.heaviest += 1, &["total-heaviest", "proof"]),
    (pounds, |p| p.totals.carried += 1, &["total-carried", "proof"]),
    (pounds, |p| p.totals.pours += 1, &["total-pours"]),
    (pounds, |p| p.bounds.pours += 1, &["bound-pours"]),
    (pounds, |p| p.bounds.cylinders += 1, &["bound-cylinders"]),
    (pounds, |p| p.bounds.heaviest += 1, &["bound-heaviest"]),
    (pounds, |p| p.bounds.carried += 1, &["bound-carried"]),
    (pounds, |p| p.bounds.cylinders -= 1, &["proof"]),
    (pounds, |p| p.bounds.heaviest -= 1, &["proof"]),
    (pounds, |p| p.bounds.carried -= 1, &["proof"]),
    (too_much, |p| p.totals.missing = Some(p.short[0].missing - 1), &["total-missing"]),
    (too_much, |p| p.totals.missing = Some(p.short[0].missing + 1), &["total-missing"]),
    (too_much, |p| p.bounds.missing = Some(p.short[0].missing + 1), &["bound-missing"]),
    (pounds, |p| p.bounds.missing = Some(1), &["bound-missing"]),
    (pounds, |p| p.status = Status::Short, &["status-short"]),
    (too_much, |p| p.status = Status::Bounded, &["status-short"]),
    (
        undecided,
        |p| p.status = Status::Short,
        &[
            "lot-placed",
            "system-placed",
            "system-placed",
            "system-placed",
            "system-placed",
            "lot-placed",
            "system-placed",
            "lot-placed",
            "system-placed",
            "lot-placed",
            "system-placed",
            "lot-placed",
            "system-placed",
            "status-short",
        ],
    ),
    (
        kilograms,
        |p| p.status = Status::Undecided,
        &["lot-placed", "system-placed", "system-placed", "system-placed", "status-undecided"],
    ),
];

fn evacuating() -> (Work, Plan) {
    nitrogen(|_| {})
}

fn remedy(plan: &mut Plan) -> &mut Remedy {
    plan.remedy.as_mut().unwrap()
}

pub const REMEDY: &[Spoiled] = &[
    (pounds, |p| p.remedy = Some(Remedy::default()), &["remedy"]),
    (too_much, |p| p.remedy = Some(Remedy::default()), &["remedy-missing"]),
    (evacuating, |p| remedy(p).evacuate.clear(), &["remedy-missing"]),
    (evacuating, |p| remedy(p).missing[0].missing = p.short[0].missing, &["remedy-missing"]),
    (evacuating, |p| remedy(p).missing[0].missing = 0, &["remedy-missing"]),
    (evacuating, |p| remedy(p).missing[0].lot = "R-999".into(), &["remedy-missing"]),
    (evacuating, |p| remedy(p).evacuate.push("E-1".into()), &["evacuate"]),
    (evacuating, |p| remedy(p).evacuate.push("Z-9".into()), &["evacuate"]),
    // One that isn't fit, one that holds its lot's refrigerant, one that is empty as it is.
    (evacuating, |p| remedy(p).evacuate[0] = "X-1".into(), &["evacuate"]),
    (evacuating, |p| remedy(p).evacuate[0] = "A-2".into(), &["evacuate"]),
    (evacuating, |p| remedy(p).evacuate[0] = "N-1".into(), &["evacuate"]),
];

pub const SHORT: &[Spoiled] = &[
    (too_much, |p| p.short[0].missing += 1, &["lot-placed"]),
    (too_much, |p| p.short[0].missing = 0, &["lot-placed", "system-placed", "missing"]),
    (too_much, |p| p.short[0].missing = 10_001, &["lot-placed", "missing"]),
    (too_much, |p| p.short.clear(), &["lot-placed", "system-placed", "status-short"]),
    (too_much, |p| p.short[0].lot = "R-999".into(), &["lot-placed", "system-placed", "unknown-lot"]),
    (too_much, |p| p.short.extend(p.short.clone()), &["lot-placed", "short-twice"]),
    (
        too_much,
        |p| p.short.extend([p.short.clone(), p.short.clone()].concat()),
        &["lot-placed", "short-twice", "short-twice"],
    ),
    // A division less in a cylinder, honestly told, is still a division that would have gone in.
    (
        too_much,
        |p| {
            grow(p, 7, -1);
            p.short[0].missing += 1;
            total(p);
        },
        &["short-room"],
    ),
    (
        too_much,
        |p| {
            let load = p.loads.pop().unwrap();
            p.short[0].missing += load.add;
            p.lots[4].room -= load.add;
            p.not_needed.push(load.cylinder);
            total(p);
        },
        &["short-room"],
    ),
    // More from a system than it holds, where its lot is short.
    (too_much, |p| p.loads[7].pours[0].add = 10_001 - p.loads[6].add, &["system-placed", "share-sum", "pour-add"]),
];
