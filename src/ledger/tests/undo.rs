//! An undo is an entry, of a cylinder's last reading.

use super::*;
use crate::ledger::chain::Chain;

#[test]
fn what_is_undone_step_by_step_stands_as_before_each() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let first = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let second = hand.read("van", &bind, 150, 50, &pour("R-22"), &[&first]);
    let undone = hand.undo("van", &second, &[&second]);
    let now = hand.c1();
    assert_eq!((held(&now), bound(&now)), (one(100, "R-22"), Some((&bind, true))));
    assert_eq!(now.inside.by, Some(first.clone()));
    hand.undo("van", &first, &[&undone]);
    let now = hand.c1();
    assert_eq!((held(&now), bound(&now), now.doubt.clone()), (one(0, "evacuated"), Some((&bind, false)), None));
    assert_eq!((now.inside.least, now.inside.pours.len()), (tenths(279), 0));
}

#[test]
fn what_is_not_the_last_reading_can_not_be_undone_and_is_doubt() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let first = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let second = hand.read("van", &bind, 150, 50, &pour("R-22"), &[&first]);
    let undone = hand.undo("van", &first, &[&second]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (one(150, "R-22"), Some(Doubt::Lost(ids([&undone])))));
    // A fact is no reading.
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let told = hand.weigh("van", 100, Some("R-22"), &[&bind]);
    let undone = hand.undo("van", &told, &[&told]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (one(100, "R-22"), Some(Doubt::Lost(ids([&undone])))));
}

#[test]
fn an_undo_beside_the_next_reading_is_doubt() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let first = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let undone = hand.undo("office", &first, &[&first]);
    let second = hand.read("van", &bind, 150, 50, &pour("R-22"), &[&first]);
    let now = hand.c1();
    assert_eq!((held(&now), bound(&now)), (one(150, "R-22"), Some((&bind, true))));
    // What stands by the undo was said by the row that the bind has.
    assert_eq!(now.doubt, Some(Doubt::Apart(ids([&bind, &second]))));
    assert_eq!(now.heads, ids([&undone, &second]));
}

#[test]
fn of_two_readings_apart_the_undo_of_one_leaves_the_other() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let wrong = hand.read("a", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let right = hand.read("b", &bind, 50, 50, &pour("R-134a"), &[&bind]);
    hand.undo("a", &wrong, &[&wrong, &right]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt.clone()), (one(50, "R-134a"), None));
    assert_eq!(bound(&now), Some((&bind, true)));
    // The same by somebody who didn't know of the other one.
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let wrong = hand.read("a", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let right = hand.read("b", &bind, 50, 50, &pour("R-134a"), &[&bind]);
    hand.undo("a", &wrong, &[&wrong]);
    let now = hand.c1();
    // Evacuated, or 5.0 lb: nobody knows whether he who took his back knew of them.
    assert_eq!(held(&now), one(50, "R-134a"));
    assert_eq!(now.doubt, Some(Doubt::Apart(ids([&right, &bind]))));
}

#[test]
fn one_reading_undone_by_two_is_undone_once_and_nobody_doubts_it() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let first = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let second = hand.read("van", &bind, 150, 50, &pour("R-22"), &[&first]);
    let one_undo = hand.undo("a", &second, &[&second]);
    let other = hand.undo("b", &second, &[&second]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (one(100, "R-22"), None));
    hand.undo("a", &first, &[&one_undo, &other]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (one(0, "evacuated"), None));
}

#[test]
fn what_was_planned_anew_in_between_stays_planned_so() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let read = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let anew = hand.replan("office", "Roof", &[&bind], &["C-1"], &["C-1"], &[&read]);
    assert_eq!(bound(&hand.c1()), Some((&anew, true)));
    hand.undo("van", &read, &[&anew]);
    let now = hand.c1();
    assert_eq!((held(&now), bound(&now)), (one(0, "evacuated"), Some((&anew, false))));
}

#[test]
fn a_cylinder_that_was_taken_over_by_a_reading_goes_back_with_its_undo() {
    let mut hand = Hand::new();
    let roof = hand.bind("office", "Roof", &["C-1"], &[]);
    let annex = hand.bind("van", "Annex", &["C-2"], &[]);
    let read = hand.read("van", &annex, 100, 100, &pour("R-22"), &[&roof]);
    let now = hand.c1();
    assert_eq!((bound(&now), &now.lost_by), (Some((&annex, true)), &ids([&roof])));
    hand.undo("van", &read, &[&read]);
    let now = hand.c1();
    assert_eq!((bound(&now), now.lost_by.len()), (Some((&roof, false)), 0));
}

#[test]
fn an_undo_leaves_begun_what_the_job_has_begun_before() {
    let mut hand = Hand::new();
    let roof = hand.bind("office", "Roof", &["C-1"], &[]);
    let annex = hand.bind("office", "Annex", &["C-2"], &[]);
    let first = hand.read("a", &roof, 100, 100, &pour("R-22"), &[&roof]);
    let second = hand.read("a", &roof, 150, 50, &pour("R-22"), &[&first]);
    // Beside it another job tops it off from the first reading.
    let other = hand.read("b", &annex, 120, 20, &pour("R-22"), &[&first]);
    hand.undo("a", &second, &[&second, &other]);
    let now = hand.c1();
    assert_eq!((held(&now), bound(&now)), (one(120, "R-22"), Some((&annex, true))));
    hand.undo("b", &other, &[&hand.entries.last().unwrap().id.clone()]);
    let now = hand.c1();
    assert_eq!((held(&now), bound(&now)), (one(100, "R-22"), Some((&roof, true))));
}

#[test]
fn an_undo_brings_back_no_plan_that_another_has_replaced_meanwhile() {
    let mut hand = Hand::new();
    let roof = hand.bind("office", "Roof", &["C-1"], &[]);
    let annex = hand.bind("van", "Annex", &["C-2"], &[]);
    let read = hand.read("van", &annex, 100, 100, &pour("R-22"), &[&roof]);
    let anew = hand.replan("office", "Roof", &[&roof], &["C-1"], &["C-1"], &[&roof]);
    hand.undo("van", &read, &[&read, &anew]);
    let chain = Chain::of(
        &"C-1".into(),
        hand.entries[..].iter().filter(|one| one.continues(&"C-1".into()).is_some()).collect(),
        None,
    );
    let held: Vec<&EntryId> = chain.standing.held.values().map(|held| &held.bind).collect();
    assert_eq!(held, [&anew]);
    assert_eq!((bound(&hand.c1()), hand.c1().doubt), (Some((&anew, false)), None));
}
