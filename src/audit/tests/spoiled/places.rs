//! Spoiled plans: the cylinders that aren't filled.

use super::Spoiled;
use crate::audit::tests::plans::{EVERY, against, left_out, pounds};

pub const PLACES: &[Spoiled] = &[
    (pounds, |p| p.not_needed.clear(), &["cylinder-missing"]),
    (pounds, |p| p.not_needed.push("N-1".into()), &["listed-twice"]),
    (pounds, |p| p.not_needed.extend(["N-1".into(), "N-1".into()]), &["listed-twice"]),
    (pounds, |p| p.not_needed.push("A-1".into()), &["listed-twice"]),
    (pounds, |p| p.not_needed.push("Z-9".into()), &["unknown-cylinder"]),
    (pounds, |p| p.left_out[0].cylinder = "Z-9".into(), &["unknown-cylinder", "cylinder-missing"]),
    (
        pounds,
        |p| {
            p.not_needed.clear();
            p.left_out.push(left_out("N-1", vec![against("damage", &EVERY)]));
        },
        &["left-out-fit", "left-out-fit", "left-out-fit", "left-out-fit", "left-out-fit", "reason-wrong"],
    ),
    (
        pounds,
        |p| {
            p.left_out.remove(0);
            p.not_needed.push("X-1".into());
        },
        &["not-needed-unfit"],
    ),
    (pounds, |p| p.left_out[0].reasons[0].code = "rusty".into(), &["reason-unknown", "reason-missing"]),
    (pounds, |p| p.left_out[0].reasons.push(against("tank", &EVERY)), &["reason-wrong"]),
    // A reason is told of exactly the lots that it stands against.
    (pounds, |p| p.left_out[1].reasons[1].lots.push(EVERY[0].into()), &["reason-wrong"]),
    (pounds, |p| p.left_out[1].reasons[1].lots[0] = "R-13".into(), &["reason-wrong", "reason-missing"]),
    (pounds, |p| p.left_out[1].reasons[1].lots.truncate(3), &["reason-missing"]),
    (pounds, |p| p.left_out[1].reasons[0].lots.clear(), &["reason-wrong", "danger"]),
    (pounds, |p| p.left_out[0].reasons.truncate(1), &["reason-missing"]),
    (pounds, |p| p.left_out[0].reasons.clear(), &["reason-missing", "reason-missing"]),
    // A cylinder over its limit is shown as that, whatever else is wrong with it.
    (
        pounds,
        |p| {
            p.left_out[1].reasons.remove(0);
        },
        &["danger"],
    ),
    (
        pounds,
        |p| {
            p.left_out.remove(1);
            p.not_needed.push("X-2".into());
        },
        &["not-needed-unfit", "danger"],
    ),
    (
        pounds,
        |p| {
            p.left_out.remove(1);
        },
        &["cylinder-missing", "danger"],
    ),
];
