//! What the row of the yard file says, and what it is known to have said.

use super::*;

/// Bound, 10.0 lb of R-22 in it, and the yard settled: the row was evacuated and says R-22 then.
fn settled() -> (Hand, EntryId, EntryId) {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let read = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let settling = settle(&mut hand, "office", 100, &[&read]);
    (hand, bind, settling)
}

/// The row of C-1 is about to say so much R-22.
fn settle(hand: &mut Hand, by: &str, net: i64, from: &[&EntryId]) -> EntryId {
    let before = hand.file(&"C-1".into());
    let change = Change { cylinder: "C-1".into(), before, after: state("R-22", net) };
    hand.entry(by, None, &["C-1"], from, What::Settling { changes: vec![change] })
}

#[test]
fn a_row_that_was_changed_by_hand_after_an_entry_of_its_cylinder_is_said_with_what_it_says() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    assert_eq!(hand.c1().changed, None);
    hand.say("C-1", state("R-134a", 80));
    let now = hand.c1();
    assert_eq!((held(&now), now.changed), (one(0, "evacuated"), Some(state("R-134a", 80))));
    // The file's word is taken.
    let told = hand.fact("office", FactKind::AsFile { cylinder: "C-1".into() }, &[&bind]);
    let now = hand.c1();
    assert_eq!((held(&now), now.changed, now.doubt), (one(80, "R-134a"), None, None));
    assert_eq!(now.inside.by, Some(told));
    // And no other.
    hand.say("C-1", state("evacuated", 0));
    assert_eq!(hand.c1().changed, Some(state("evacuated", 0)));
}

#[test]
fn before_and_after_a_settling_are_known_whatever_has_been_written() {
    let (mut hand, _, settling) = settled();
    let row = |hand: &mut Hand, state: CylinderState| {
        hand.say("C-1", state);
        let now = hand.c1();
        assert_eq!(held(&now), one(100, "R-22"));
        (now.changed.is_some(), now.put_back)
    };
    assert_eq!(row(&mut hand, state("evacuated", 0)), (false, false));
    assert_eq!(row(&mut hand, state("R-22", 100)), (false, false));
    assert_eq!(row(&mut hand, state("R-22", 90)), (true, false));
    let done = hand.entry("office", None, &["C-1"], &[&settling], What::Settled { of: settling.clone() });
    // A backup of the file, or a sync folder that is behind.
    assert_eq!(row(&mut hand, state("evacuated", 0)), (false, true));
    assert_eq!(row(&mut hand, state("R-22", 100)), (false, false));
    assert_eq!(row(&mut hand, state("R-22", 90)), (true, false));
    // The next settling forgets what was before the last.
    let bind = hand.entries[0].id.clone();
    hand.say("C-1", state("R-22", 100));
    let read = hand.read("van", &bind, 150, 50, &pour("R-22"), &[&done]);
    settle(&mut hand, "office", 150, &[&read]);
    hand.say("C-1", state("R-22", 150));
    assert_eq!((held(&hand.c1()), hand.c1().changed), (one(150, "R-22"), None));
    hand.say("C-1", state("evacuated", 0));
    assert_eq!(hand.c1().changed, Some(state("evacuated", 0)));
}

#[test]
fn what_happens_beside_a_settling_applies_on_top_of_it() {
    let (mut hand, bind, _) = settled();
    let read = hand.entries[1].id.clone();
    hand.read("van", &bind, 150, 50, &pour("R-22"), &[&read]);
    hand.say("C-1", state("R-22", 100));
    let now = hand.c1();
    assert_eq!((held(&now), now.changed, now.doubt), (one(150, "R-22"), None, None));
}

#[test]
fn of_two_settlings_apart_each_row_is_known_and_nobody_says_which_was_written_last() {
    let (mut hand, bind, one_settling) = settled();
    let read = hand.entries[1].id.clone();
    let done = hand.entry("office", None, &["C-1"], &[&one_settling], What::Settled { of: one_settling.clone() });
    let next = hand.read("van", &bind, 150, 50, &pour("R-22"), &[&read]);
    let other = settle(&mut hand, "van", 150, &[&next]);
    hand.entry("van", None, &["C-1"], &[&other], What::Settled { of: other.clone() });
    for net in [100, 150] {
        hand.say("C-1", state("R-22", net));
        let now = hand.c1();
        assert_eq!((held(&now), now.changed, now.put_back), (one(150, "R-22"), None, false), "{net}");
    }
    assert!(hand.c1().heads.contains(&done));
}

#[test]
fn an_id_that_is_gone_from_the_yard_is_missing_and_stays_bound() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let read = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    hand.rows.remove(0);
    let now = hand.c1();
    assert!(now.missing && now.changed.is_none());
    assert_eq!((held(&now), bound(&now)), (one(100, "R-22"), Some((&bind, true))));
    // The last row that an entry has of it, along the chain and not by the names of writers.
    assert_eq!(now.row.map(|row| row.state), Some(state("evacuated", 0)));
    hand.rows.push(("C-1".into(), state("R-134a", 10)));
    hand.fact("a", FactKind::AsFile { cylinder: "C-1".into() }, &[&read]);
    hand.rows.pop();
    assert_eq!(hand.c1().row.map(|row| row.state), Some(state("R-134a", 10)));
}

#[test]
fn a_row_of_another_list_is_one_of_the_yard_and_never_missing_from_its_file() {
    let mut hand = Hand::new();
    hand.rows.push(("H-9".into(), state("evacuated", 0)));
    let fact = Fact { what: FactKind::Added { cylinder: "H-9".into() }, why: None };
    hand.entry("office", None, &["H-9"], &[], What::Cylinder(fact));
    hand.rows.pop();
    let now = hand.at("H-9");
    assert!(!now.missing);
    assert_eq!((held(&now), now.row.map(|row| row.id)), (one(0, "evacuated"), Some("H-9".into())));
    // It may come into the file in any state later.
    hand.rows.push(("H-9".into(), state("evacuated", 1)));
    assert_eq!(hand.at("H-9").changed, None);
}
