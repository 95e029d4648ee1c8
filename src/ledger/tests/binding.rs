//! Who has a cylinder: bound, begun, contested, given back, lapsed.

use super::*;

#[test]
fn a_plan_of_which_nothing_is_begun_lapses_the_day_after_and_one_that_is_begun_does_not() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1", "C-2"], &[]);
    assert_eq!(bound(&hand.c1()), Some((&bind, false)));
    hand.today = NEXT_DAY;
    assert_eq!(bound(&hand.c1()), None);
    let read = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    assert_eq!(bound(&hand.c1()), Some((&bind, true)));
    assert_eq!(bound(&hand.at("C-2")), Some((&bind, false)));
    // Undone, nothing is begun.
    hand.undo("van", &read, &[&read]);
    assert_eq!((bound(&hand.c1()), bound(&hand.at("C-2"))), (None, None));
}

#[test]
fn a_plan_that_stands_in_for_another_keeps_what_is_begun_and_gives_back_the_rest() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1", "C-2"], &[]);
    let read = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let anew = hand.replan("van", "Roof", &[&bind], &["C-1", "C-3"], &["C-1", "C-3"], &[&read]);
    hand.entries.last_mut().unwrap().on[1].1.clear();
    assert_eq!(bound(&hand.c1()), Some((&anew, true)));
    assert_eq!((bound(&hand.at("C-2")), bound(&hand.at("C-3"))), (None, Some((&anew, false))));
    hand.today = NEXT_DAY;
    assert_eq!(bound(&hand.at("C-3")), Some((&anew, false)));
}

#[test]
fn of_two_plans_apart_the_one_whose_job_has_poured_has_it_and_the_other_is_told() {
    let mut hand = Hand::new();
    let start = hand.fact("office", FactKind::Back { cylinder: "C-1".into() }, &[]);
    let roof = hand.bind("a", "Roof", &["C-1"], &[&start]);
    let annex = hand.bind("b", "Annex", &["C-1"], &[&start]);
    let now = hand.c1();
    assert_eq!(now.doubt, Some(Doubt::Contested(ids([&roof, &annex]))));
    hand.read("b", &annex, 100, 100, &pour("R-22"), &[&annex]);
    let now = hand.c1();
    assert_eq!((held(&now), bound(&now), now.doubt.clone()), (one(100, "R-22"), Some((&annex, true)), None));
    assert_eq!(now.lost_by, ids([&roof]));
}

#[test]
fn of_two_plans_that_have_not_poured_each_is_in_doubt_until_one_gives_it_back() {
    let contested = || {
        let mut hand = Hand::new();
        let start = hand.fact("office", FactKind::Back { cylinder: "C-1".into() }, &[]);
        let roof = hand.bind("a", "Roof", &["C-1"], &[&start]);
        let annex = hand.bind("b", "Annex", &["C-1"], &[&start]);
        (hand, roof, annex)
    };
    // By somebody who knows of one plan alone, by somebody who knows of both.
    for knows_both in [false, true] {
        let (mut hand, roof, annex) = contested();
        let heads = if knows_both { vec![&roof, &annex] } else { vec![&roof] };
        hand.release("a", &roof, &heads);
        let now = hand.c1();
        assert_eq!((bound(&now), now.doubt.clone()), (Some((&annex, false)), None), "{knows_both}");
    }
    for knows_both in [false, true] {
        let (mut hand, roof, annex) = contested();
        let heads = if knows_both { vec![&roof, &annex] } else { vec![&annex] };
        let anew = hand.replan("b", "Annex", &[&annex], &["C-1"], &[], &heads);
        let now = hand.c1();
        assert_eq!((bound(&now), now.doubt.clone()), (Some((&roof, false)), None), "{knows_both}");
        assert_eq!(hand.ledger().heads_of(&"C-1".into(), &annex), ids([&anew]));
    }
    // Where one of them has lapsed the other one has it.
    let (mut hand, roof, _) = contested();
    hand.entries.iter_mut().filter(|entry| entry.id == roof).for_each(|entry| {
        let What::Bind(bind) = &mut entry.what else { return };
        bind.day = NEXT_DAY;
    });
    hand.today = NEXT_DAY;
    let now = hand.c1();
    assert_eq!((bound(&now), now.doubt.clone()), (Some((&roof, false)), None));
    // A reading that brings nothing decides nothing.
    let (mut hand, roof, annex) = contested();
    hand.read("a", &roof, 0, 0, &pour("R-22"), &[&roof, &annex]);
    assert_eq!(hand.c1().doubt, Some(Doubt::Contested(ids([&roof, &annex]))));
}

#[test]
fn what_one_gives_back_is_not_taken_back_by_another_entry_that_knew_of_it_before() {
    let mut hand = Hand::new();
    let roof = hand.bind("a", "Roof", &["C-1"], &[]);
    let annex = hand.bind("b", "Annex", &["C-1"], &[]);
    hand.release("a", &roof, &[&roof, &annex]);
    // Beside it somebody weighs the cylinder, with both plans before him.
    hand.weigh("office", 0, Some("evacuated"), &[&roof, &annex]);
    let now = hand.c1();
    assert_eq!((bound(&now), now.doubt.clone()), (Some((&annex, false)), None));
}

#[test]
fn where_both_have_poured_it_is_mixed_or_carried_on_and_in_doubt_until_somebody_weighs() {
    for (other, danger) in [("R-134a", true), ("R-22", false)] {
        let mut hand = Hand::new();
        let roof = hand.bind("a", "Roof", &["C-1"], &[]);
        let annex = hand.bind("b", "Annex", &["C-1"], &[]);
        let one_van = hand.read("a", &roof, 100, 100, &pour("R-22"), &[&roof]);
        let two_van = hand.read("b", &annex, 50, 50, &pour(other), &[&annex]);
        let now = hand.c1();
        assert_eq!((now.inside.mixed, now.doubt), (danger, Some(Doubt::Apart(ids([&one_van, &two_van])))));
        hand.weigh("office", 150, Some("R-22"), &[&one_van, &two_van]);
        let now = hand.c1();
        assert_eq!((held(&now), now.doubt.clone()), (one(150, "R-22"), None));
        assert_eq!((bound(&now), &now.lost_by), (Some((&roof, true)), &ids([&annex])));
    }
}

#[test]
fn what_is_begun_is_given_back_by_the_end_of_its_job_alone() {
    let mut hand = Hand::new();
    let roof = hand.bind("a", "Roof", &["C-1"], &[]);
    let read = hand.read("a", &roof, 100, 100, &pour("R-22"), &[&roof]);
    let released = hand.release("a", &roof, &[&read]);
    assert_eq!(bound(&hand.c1()), Some((&roof, true)));
    hand.close("a", &roof, &[&released]);
    let now = hand.c1();
    assert_eq!((bound(&now), held(&now)), (None, one(100, "R-22")));
}

#[test]
fn the_end_of_a_job_leaves_a_cylinder_with_the_job_that_carried_it_on() {
    let mut hand = Hand::new();
    let roof = hand.bind("a", "Roof", &["C-1"], &[]);
    let annex = hand.bind("a", "Annex", &["C-2"], &[]);
    let first = hand.read("a", &roof, 100, 100, &pour("R-22"), &[&roof]);
    let second = hand.read("a", &annex, 150, 50, &pour("R-22"), &[&first]);
    let now = hand.c1();
    assert_eq!((held(&now), bound(&now), now.doubt.clone()), (one(150, "R-22"), Some((&annex, true)), None));
    let closed = hand.close("a", &roof, &[&second]);
    assert_eq!(bound(&hand.c1()), Some((&annex, true)));
    hand.close("a", &annex, &[&closed]);
    assert_eq!(bound(&hand.c1()), None);
}

#[test]
fn a_van_is_the_plans_until_the_cylinder_is_put_on_another_and_again_with_the_next_plan() {
    let van = |hand: &Hand| hand.c1().bound.and_then(|bound| bound.van);
    let mut hand = Hand::new();
    let bind = hand.bind("a", "Roof", &["C-1"], &[]);
    assert_eq!(van(&hand).as_deref(), Some("van of Roof"));
    let moved = hand.fact("a", FactKind::ToVan { cylinder: "C-1".into(), van: "Van 9".into() }, &[&bind]);
    let read = hand.read("a", &bind, 100, 100, &pour("R-22"), &[&moved]);
    assert_eq!(van(&hand).as_deref(), Some("Van 9"));
    hand.replan("a", "Roof", &[&bind], &["C-1"], &["C-1"], &[&read]);
    assert_eq!(van(&hand).as_deref(), Some("van of Roof"));
    // To put it on a van doesn't decide whose it is.
    let mut hand = Hand::new();
    let roof = hand.bind("a", "Roof", &["C-1"], &[]);
    let annex = hand.bind("b", "Annex", &["C-1"], &[]);
    hand.fact("a", FactKind::ToVan { cylinder: "C-1".into(), van: "Van 9".into() }, &[&roof, &annex]);
    assert_eq!(hand.c1().doubt, Some(Doubt::Contested(ids([&roof, &annex]))));
}

#[test]
fn a_plan_made_anew_beside_a_reading_of_the_one_before_is_that_jobs_and_loses_nothing() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let anew = hand.replan("office", "Roof", &[&bind], &["C-1"], &["C-1"], &[&bind]);
    let now = hand.c1();
    assert_eq!((bound(&now), now.doubt.clone(), now.lost_by.len()), (Some((&anew, true)), None, 0));
}

#[test]
fn a_joint_plan_is_begun_for_all_its_jobs_and_over_with_the_one_that_fills_it() {
    let mut hand = Hand::new();
    let bind = hand.bind("a", "Roof", &["C-1"], &[]);
    let annex = JobId { name: "Annex".into(), first: bind.clone() };
    let What::Bind(plan) = &mut hand.entries[0].what else { panic!() };
    plan.jobs.push(BoundJob { name: annex.name.clone(), first: annex.first.clone(), text: String::new() });
    let read = hand.read("a", &bind, 100, 100, &pour("R-22"), &[&bind]);
    hand.entries.last_mut().unwrap().job = Some(annex.clone());
    // The roof is done: what the annex has begun stays bound.
    let closed = hand.close("a", &bind, &[&read]);
    assert_eq!(bound(&hand.c1()), Some((&bind, true)));
    hand.entry("a", Some(annex), &["C-1"], &[&closed], What::Closed(Closed::default()));
    assert_eq!(bound(&hand.c1()), None);
}
