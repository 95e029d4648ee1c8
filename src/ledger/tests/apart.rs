//! Order comes from what entries continue from; two that continue from the same one put the cylinder in doubt.

use super::*;

#[test]
fn a_chain_goes_by_what_its_entries_continue_from_and_never_by_a_clock() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let first = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let second = hand.read("van", &bind, 150, 50, &pour("R-22"), &[&first]);
    // The van's clock ran back by three hours in between, and the office's is a day ahead.
    let at = |text: &str| Moment::parse(text).unwrap();
    for (id, at) in [
        (&bind, at("2026-12-02T08:00:00-05:00")),
        (&first, at("2026-12-01T12:00:00-05:00")),
        (&second, at("2026-12-01T09:00:00-05:00")),
    ] {
        hand.entries.iter_mut().find(|entry| entry.id == *id).unwrap().at = at;
    }
    let now = hand.c1();
    assert_eq!(held(&now), one(150, "R-22"));
    assert_eq!((now.heads, now.doubt), (ids([&second]), None));
}

#[test]
fn two_readings_that_do_not_know_of_each_other_are_doubt_with_the_heavier_weight_and_what_is_in_either() {
    let mut hand = Hand::new();
    let start = hand.bind("office", "Roof", &["C-1"], &[]);
    let one_van = hand.read("a", &start, 100, 100, &pour("R-22"), &[&start]);
    let other = hand.read("b", &start, 50, 50, &pour("R-134a"), &[&start]);
    let now = hand.c1();
    assert_eq!(held(&now), two(100, ["R-22", "R-134a"], true));
    assert_eq!(*now.inside.pours, [pour("R-22"), pour("R-134a")]);
    assert_eq!(now.doubt, Some(Doubt::Apart(ids([&one_van, &other]))));
    assert_eq!(now.heads, ids([&one_van, &other]));
    // The next reading of one of them says nothing of the other.
    let later = hand.read("a", &start, 120, 20, &pour("R-22"), &[&one_van]);
    let now = hand.c1();
    assert_eq!(held(&now), two(120, ["R-22", "R-134a"], true));
    assert_eq!(now.doubt, Some(Doubt::Apart(ids([&later, &other]))));
}

#[test]
fn the_next_reading_that_continues_from_both_ends_the_doubt_and_keeps_what_went_in() {
    let mut hand = Hand::new();
    let start = hand.bind("office", "Roof", &["C-1"], &[]);
    let one_van = hand.read("a", &start, 100, 100, &pour("R-22"), &[&start]);
    let other = hand.read("b", &start, 50, 50, &pour("R-22"), &[&start]);
    assert_eq!(held(&hand.c1()), one(100, "R-22"));
    hand.read("a", &start, 150, 0, &pour("R-22"), &[&one_van, &other]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (one(150, "R-22"), None));
    // Of two refrigerants a mixture stays, in no doubt.
    let mut hand = Hand::new();
    let start = hand.bind("office", "Roof", &["C-1"], &[]);
    let one_van = hand.read("a", &start, 100, 100, &pour("R-22"), &[&start]);
    let other = hand.read("b", &start, 50, 50, &pour("R-134a"), &[&start]);
    hand.read("a", &start, 150, 0, &pour("R-22"), &[&one_van, &other]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (two(150, ["R-22", "R-134a"], true), None));
}

#[test]
fn what_somebody_weighs_and_says_ends_the_doubt_only_for_what_he_knew() {
    let mut hand = Hand::new();
    let start = hand.bind("office", "Roof", &["C-1"], &[]);
    let one_van = hand.read("a", &start, 100, 100, &pour("R-22"), &[&start]);
    let other = hand.read("b", &start, 50, 50, &pour("R-22"), &[&start]);
    let mut half =
        Hand { entries: hand.entries.clone(), jobs: hand.jobs.clone(), numbers: hand.numbers.clone(), ..Hand::new() };
    let told = half.weigh("office", 150, Some("R-22"), &[&one_van]);
    assert_eq!(half.c1().doubt, Some(Doubt::Apart(ids([&other, &told]))));
    hand.weigh("office", 150, Some("R-22"), &[&one_van, &other]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (one(150, "R-22"), None));
    assert_eq!(*now.inside.pours, []);
}

#[test]
fn entries_that_speak_of_different_things_contradict_nothing() {
    let mut hand = Hand::new();
    let start = hand.bind("office", "Roof", &["C-1"], &[]);
    hand.read("a", &start, 100, 100, &pour("R-22"), &[&start]);
    hand.fact("b", FactKind::Out { cylinder: "C-1".into() }, &[&start]);
    hand.fact("c", FactKind::ToVan { cylinder: "C-1".into(), van: "Van 9".into() }, &[&start]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt.clone()), (one(100, "R-22"), None));
    assert_eq!(now.out.as_deref(), Some("b says so"));
    assert_eq!(now.bound, Some(Binding { bind: start, begun: true, van: Some("Van 9".into()) }));
}

#[test]
fn out_beside_back_is_out_and_back_behind_out_is_back() {
    let mut hand = Hand::new();
    let (out, back) = (FactKind::Out { cylinder: "C-1".into() }, FactKind::Back { cylinder: "C-1".into() });
    let first = hand.fact("a", out.clone(), &[]);
    assert_eq!(hand.c1().out.as_deref(), Some("a says so"));
    let again = hand.fact("b", back.clone(), &[&first]);
    assert_eq!(hand.c1().out, None);
    // Somebody who hadn't heard of that says that it leaks.
    let leaks = hand.fact("c", out, &[&first]);
    assert_eq!(hand.c1().out.as_deref(), Some("c says so"));
    hand.fact("a", back, &[&again, &leaks]);
    assert_eq!(hand.c1().out, None);
}

#[test]
fn two_that_begin_a_chain_apart_from_one_row_are_one_chain_and_from_two_rows_are_doubt() {
    let mut hand = Hand::new();
    let roof = hand.bind("office", "Roof", &["C-1"], &[]);
    let read = hand.read("office", &roof, 100, 100, &pour("R-22"), &[&roof]);
    let out = hand.fact("van", FactKind::Out { cylinder: "C-1".into() }, &[]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (one(100, "R-22"), None));
    assert_eq!(now.heads, ids([&read, &out]));
    // The van's copy of the yard says that 20.0 lb of R-134a are in it.
    let mut hand = Hand::new();
    let roof = hand.bind("office", "Roof", &["C-1"], &[]);
    let read = hand.read("office", &roof, 100, 100, &pour("R-22"), &[&roof]);
    hand.say("C-1", state("R-134a", 200));
    let out = hand.fact("van", FactKind::Out { cylinder: "C-1".into() }, &[]);
    let now = hand.c1();
    assert_eq!((now.inside.state.gross, now.inside.state.holds.as_str()), (tenths(479), "mixed"));
    assert_eq!(now.doubt, Some(Doubt::Apart(ids([&read, &out]))));
}

#[test]
fn of_evacuated_and_nitrogen_apart_the_worse_counts() {
    for turned in [false, true] {
        let mut hand = Hand::new();
        let said = if turned { ["nitrogen", "evacuated"] } else { ["evacuated", "nitrogen"] };
        let start = hand.bind("office", "Roof", &["C-1"], &[]);
        hand.weigh("a", 0, Some(said[0]), &[&start]);
        hand.weigh("b", 0, Some(said[1]), &[&start]);
        assert_eq!(held(&hand.c1()), one(0, "nitrogen"));
    }
}

#[test]
fn a_pour_on_what_two_said_of_it_has_to_go_with_either() {
    // One pours R-22 into the evacuated cylinder, beside him one says that it holds R-134a: R-22 on both of that is danger.
    let mut hand = Hand::new();
    let start = hand.bind("office", "Roof", &["C-1"], &[]);
    let read = hand.read("a", &start, 100, 100, &pour("R-22"), &[&start]);
    let told = hand.weigh("b", 50, Some("R-134a"), &[&start]);
    assert_eq!(held(&hand.c1()), two(100, ["R-22", "R-134a"], false));
    hand.read("a", &start, 150, 50, &pour("R-22"), &[&read, &told]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (two(150, ["R-22", "R-134a"], true), None));
    // What one keeps for a job and the other doesn't is nobody's to add to.
    let mut hand = Hand::new();
    let start = hand.bind("office", "Roof", &["C-1"], &[]);
    let kept = CylinderState { owner: Some("Pier".into()), kept_for: Some("Roof".into()), ..state("R-22", 50) };
    let weighed = |holds| FactKind::Weighed { cylinder: "C-1".into(), gross: tenths(329), holds: Some(holds) };
    let one_says = hand.fact("a", weighed(kept.clone()), &[&start]);
    let other = hand.fact("b", weighed(state("R-22", 50)), &[&start]);
    let now = hand.c1();
    assert_eq!((now.inside.state.owner, now.inside.state.kept_for.as_deref()), (None, Some("Roof")));
    hand.read("a", &start, 60, 10, &pour("R-22"), &[&one_says, &other]);
    assert!(hand.c1().inside.mixed);
}
