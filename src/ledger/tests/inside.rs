//! What is in a cylinder by what was poured into it.

use super::*;

/// C-1 as the yard says, after these pours of 10.0 lb each.
fn after(start: CylinderState, pours: Vec<Pour>) -> CylinderNow {
    let base = start.gross;
    let mut hand = Hand::with("C-1", start);
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let mut last = bind.clone();
    for (at, pour) in pours.iter().enumerate() {
        last = hand.read("van", &bind, 0, 100, pour, &[&last]);
        let What::Reading(reading) = &mut hand.entries.last_mut().unwrap().what else { panic!() };
        reading.gross = base + tenths(100 * (at as i64 + 1));
    }
    hand.c1()
}

fn in_condition(condition: Condition) -> Pour {
    Pour { condition, lot: format!("{condition:?}"), ..pour("R-22") }
}

fn kept(job: &str) -> Pour {
    Pour { fate: Fate::Reuse, owner: Some("Pier".into()), kept_for: Some(job.into()), ..pour("R-22") }
}

#[test]
fn one_refrigerant_goes_on_itself_and_makes_a_mixture_of_another() {
    let (r22, r134a) = (pour("R-22"), pour("R-134a"));
    assert_eq!(held(&after(state("evacuated", 0), vec![r22.clone()])), one(100, "R-22"));
    assert_eq!(held(&after(state("R-22", 50), vec![r22.clone(), r22.clone()])), one(250, "R-22"));
    assert_eq!(held(&after(state("R-22", 50), vec![r134a.clone()])), two(150, ["R-22", "R-134a"], true));
    assert_eq!(held(&after(state("evacuated", 0), vec![r22.clone(), r134a])), two(200, ["R-22", "R-134a"], true));
    // The heel is no pour, and counts beside each.
    let now = after(state("R-22", 50), vec![r22.clone()]);
    assert_eq!(*now.inside.pours, [r22]);
}

#[test]
fn what_may_not_be_under_it_makes_danger_of_a_pour() {
    let mixture = CylinderState { may_contain: vec!["R-22".into()], ..state("mixed", 50) };
    let mixed = |fate| Pour { mixed: true, fate, refrigerants: vec!["R-22".into(), "R-32".into()], ..pour("R-22") };
    let of = |condition| CylinderState { condition, ..state("R-22", 50) };
    let kept_for = |job: &str, owner: Option<&str>| CylinderState {
        kept_for: Some(job.into()),
        owner: owner.map(Into::into),
        ..state("R-22", 50)
    };
    let destroyed = |owner: Option<&str>| Pour { fate: Fate::Destroy, owner: owner.map(Into::into), ..pour("R-22") };
    for (start, pour, danger) in [
        (state("nitrogen", 1), pour("R-22"), true),
        (state("unknown", 50), pour("R-22"), true),
        (mixture.clone(), mixed(Fate::Destroy), false),
        (mixture.clone(), mixed(Fate::Reclaim), true),
        (mixture, pour("R-22"), true),
        (state("R-22", 50), mixed(Fate::Destroy), true),
        (of(Condition::Wet), in_condition(Condition::Wet), false),
        (of(Condition::Wet), in_condition(Condition::Clean), true),
        (of(Condition::Clean), in_condition(Condition::Burnout), true),
        (kept_for("Roof", Some("Pier")), kept("Roof"), false),
        (kept_for("Roof", Some("Kiosk")), kept("Roof"), true),
        (kept_for("Roof", None), kept("Roof"), true),
        (kept_for("Annex", Some("Pier")), kept("Roof"), true),
        (kept_for("Roof", Some("Pier")), pour("R-22"), true),
        (state("R-22", 50), kept("Roof"), true),
        (state("R-22", 50), destroyed(Some("Pier")), true),
        (CylinderState { owner: Some("Pier".into()), ..state("R-22", 50) }, destroyed(Some("Pier")), false),
        (state("evacuated", 0), kept("Roof"), false),
    ] {
        assert_eq!(after(start.clone(), vec![pour.clone()]).inside.mixed, danger, "{start:?} {pour:?}");
    }
}

#[test]
fn pours_go_together_in_kind_condition_and_fate_and_what_is_for_reuse_stays_in_its_lot() {
    let reclaim = |lot: &str| Pour { lot: lot.into(), ..pour("R-22") };
    for (first, second, danger) in [
        (reclaim("Roof"), reclaim("Annex"), false),
        (kept("Roof"), kept("Roof"), false),
        (kept("Roof"), kept("Annex"), true),
        (kept("Roof"), pour("R-22"), true),
        (in_condition(Condition::Clean), in_condition(Condition::Burnout), true),
        (pour("R-22"), Pour { fate: Fate::Destroy, ..pour("R-22") }, true),
    ] {
        let now = after(state("evacuated", 0), vec![first.clone(), second.clone()]);
        assert_eq!(now.inside.mixed, danger, "{first:?} {second:?}");
        // Once mixed it stays so, whatever comes in later.
        let now = after(state("evacuated", 0), vec![first, second.clone(), second]);
        assert_eq!(now.inside.mixed, danger);
    }
}

#[test]
fn the_worst_condition_stays_and_acid_stays_behind_in_an_empty_cylinder() {
    let evacuated = |condition, cleaned| CylinderState { condition, cleaned, ..state("evacuated", 0) };
    for (start, pour, condition) in [
        (evacuated(Condition::Wet, false), Condition::Clean, Condition::Clean),
        (evacuated(Condition::Burnout, false), Condition::Clean, Condition::Burnout),
        (evacuated(Condition::Burnout, true), Condition::Clean, Condition::Clean),
        (evacuated(Condition::Clean, true), Condition::Wet, Condition::Wet),
        (CylinderState { condition: Condition::Burnout, ..state("R-22", 5) }, Condition::Wet, Condition::Burnout),
    ] {
        let now = after(start, vec![in_condition(pour)]);
        assert_eq!((now.inside.state.condition, now.inside.state.cleaned), (condition, false));
    }
}

#[test]
fn an_emptied_cylinder_has_nothing_in_it_and_keeps_what_stays_behind() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let burnt = hand.read("van", &bind, 100, 100, &in_condition(Condition::Burnout), &[&bind]);
    let mixed = hand.read("van", &bind, 150, 50, &pour("R-134a"), &[&burnt]);
    assert_eq!(held(&hand.c1()), two(150, ["R-22", "R-134a"], true));
    let empty = hand.fact("van", FactKind::Emptied { cylinder: "C-1".into(), gross: tenths(278) }, &[&mixed]);
    let now = hand.c1();
    assert_eq!((held(&now), now.inside.state.condition), (one(-1, "evacuated"), Condition::Burnout));
    assert_eq!((now.inside.pours.len(), now.inside.least), (0, tenths(278)));
    // The least that it ever weighed stays known.
    hand.read("van", &bind, 30, 30, &pour("R-22"), &[&empty]);
    assert_eq!(hand.c1().inside.least, tenths(278));
}

#[test]
fn a_weight_alone_changes_no_contents_and_what_is_said_with_it_does() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let read = hand.read("van", &bind, 100, 100, &kept("Roof"), &[&bind]);
    let weight = hand.weigh("office", 98, None, &[&read]);
    let now = hand.c1();
    assert_eq!((held(&now), &*now.inside.pours), (one(98, "R-22"), &vec![kept("Roof")]));
    assert_eq!(now.inside.state.kept_for.as_deref(), Some("Roof"));
    hand.weigh("office", 98, Some("R-134a"), &[&weight]);
    let now = hand.c1();
    assert_eq!((held(&now), now.inside.pours.len()), (one(98, "R-134a"), 0));
    assert_eq!(now.inside.state.kept_for, None);
}

#[test]
fn a_reading_that_brings_nothing_puts_nothing_in() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let read = hand.read("van", &bind, 1, 0, &pour("R-22"), &[&bind]);
    hand.read("van", &bind, 0, -1, &pour("R-22"), &[&read]);
    let now = hand.c1();
    assert_eq!((held(&now), bound(&now)), (one(0, "evacuated"), Some((&bind, false))));
}
