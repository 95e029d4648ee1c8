//! Spoiled plans: the cylinders that aren't filled.

use super::Spoiled;
use crate::audit::tests::plans::pounds;
use crate::plan::{LeftOut, Reason};

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
            p.left_out.push(left_out("N-1", "damage"));
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
    (pounds, |p| p.left_out[0].reasons.push(reason("tank")), &["reason-wrong"]),
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

fn reason(code: &str) -> Reason {
    Reason { code: code.into(), text: String::new() }
}

fn left_out(cylinder: &str, code: &str) -> LeftOut {
    LeftOut { cylinder: cylinder.into(), reasons: vec![reason(code)] }
}
