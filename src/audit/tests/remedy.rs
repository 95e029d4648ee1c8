//! Which cylinder with nitrogen may be told to be evacuated.

use super::bench::lb;
use super::codes;
use super::plans::nitrogen;
use crate::cylinder::{Condition, Facts, Mark};
use crate::job::Work;
use crate::plan::Plan;

/// A change to a cylinder with 0.5 lb of nitrogen, and whether it may still be evacuated and filled.
type ChangedFacts = (fn(&mut Facts), bool);

const CASES: &[ChangedFacts] = &[
    (|_| {}, true),
    // 47.5 lb of water, 1.25 g/L for each of 1 + 400 / 14.696 atmospheres: 1.68 lb of nitrogen at 400 psig; 0.5 lb besides.
    (|f| f.gross = lb("30.0"), true),
    (|f| f.gross = lb("30.1"), false),
    (|f| f.gross = lb("33.0"), false),
    (|f| f.gross = lb("27.8"), true),
    (|f| f.gross = lb("27.0"), false),
    (|f| f.damage = Some("dent".into()), false),
    (|f| f.test = None, false),
    // For the burnt freezer's lot, and no other: a cylinder that burnout was in is fit for burnout.
    (|f| f.condition = Condition::Burnout, true),
    (
        |f| {
            f.condition = Condition::Burnout;
            f.mark = Some(Mark::parse("DOT-4BA225").unwrap());
        },
        false,
    ),
    (|f| f.mark = Some(Mark::parse("DOT-39").unwrap()), false),
    (|f| f.water_capacity = lb("50"), false),
    (|f| f.tare = lb("28.4"), true),
];

fn is_told(change: fn(&mut Facts)) -> bool {
    let (work, plan): (Work, Plan) = nitrogen(change);
    codes(&work, plan).contains(&"evacuate")
}

#[test]
fn only_what_nitrogen_alone_keeps_from_a_lot_may_be_evacuated_for_it() {
    for (index, (change, may)) in CASES.iter().enumerate() {
        assert_eq!(is_told(*change), !may, "case {index}");
    }
    assert!(codes(&nitrogen(|_| {}).0, nitrogen(|_| {}).1).is_empty(), "nothing else is wrong with it");
}
