//! Entries that aren't there or can't be believed: the cylinders concerned are in doubt, everything else goes on.

use super::*;

/// An entry that can't be read and spoke of these cylinders.
fn damaged(entry: Option<&EntryId>, cylinders: &[&str]) -> Damage {
    Damage {
        entry: entry.cloned(),
        cylinders: cylinders.iter().map(|id| Id::from(*id)).collect(),
        why: "van-k3.jsonl, line 7: its sum is another".into(),
    }
}

/// Bound, 10.0 lb in it, then 15.0 lb; the reading in between is lost.
fn with_a_gap() -> (Hand, EntryId, EntryId) {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1", "C-2"], &[]);
    let lost = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let last = hand.read("van", &bind, 150, 50, &pour("R-22"), &[&lost]);
    hand.lose(&lost);
    (hand, lost, last)
}

#[test]
fn what_something_continues_from_and_is_not_there_puts_that_cylinder_in_doubt_and_no_other() {
    let (hand, lost, last) = with_a_gap();
    let now = hand.c1();
    assert_eq!(now.doubt, Some(Doubt::Lost(ids([&lost]))));
    assert_eq!((held(&now), now.suspects, now.heads.contains(&last)), (one(150, "R-22"), ids([&lost]), true));
    assert_eq!(hand.at("C-2").doubt, None);
}

#[test]
fn only_what_says_what_is_in_it_ends_that_doubt_and_only_if_it_knows_of_the_gap() {
    let (mut hand, lost, last) = with_a_gap();
    let weight = hand.weigh("office", 150, None, &[&last]);
    assert_eq!(hand.c1().doubt, Some(Doubt::Lost(ids([&lost]))));
    let bind = hand.entries[0].id.clone();
    let read = hand.read("van", &bind, 160, 10, &pour("R-22"), &[&weight]);
    assert_eq!(hand.c1().doubt, Some(Doubt::Lost(ids([&lost]))));
    hand.damage.push(damaged(Some(&lost), &["C-1"]));
    hand.weigh("office", 160, Some("R-22"), &[&bind, &read, &lost]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (one(160, "R-22"), None));
    // The damaged line came back to nobody's mind: said by somebody who didn't know of it, it stays.
    let (mut hand, lost, last) = with_a_gap();
    hand.damage.push(damaged(Some(&EntryId { tag: "van".into(), number: 9 }), &["C-1"]));
    hand.weigh("office", 160, Some("R-22"), &[&last, &lost]);
    let nine = EntryId { tag: "van".into(), number: 9 };
    assert_eq!(hand.c1().doubt, Some(Doubt::Lost(ids([&nine]))));
}

#[test]
fn what_was_settled_stays_settled_beside_an_entry_that_came_before_it() {
    let (mut hand, lost, last) = with_a_gap();
    let bind = hand.entries[0].id.clone();
    hand.weigh("office", 150, Some("R-22"), &[&bind, &last, &lost]);
    hand.fact("b", FactKind::ToVan { cylinder: "C-1".into(), van: "Van 9".into() }, &[&last]);
    assert_eq!(hand.c1().doubt, None);
}

#[test]
fn an_entry_that_is_given_up_holds_nobody_up() {
    let (mut hand, lost, last) = with_a_gap();
    hand.damage.push(damaged(Some(&lost), &["C-1", "C-3"]));
    assert_eq!(hand.at("C-3").doubt, Some(Doubt::Lost(ids([&lost]))));
    hand.fact("office", FactKind::GivenUp { entry: lost.clone() }, &[&last]);
    assert_eq!((hand.c1().doubt, hand.at("C-3").doubt), (None, None));
    let yard = hand.ledger().now(&hand.rows, DAY);
    assert_eq!(yard.damage, []);
    // Given up, and there after all: it counts.
    let (mut hand, lost, last) = with_a_gap();
    hand.fact("office", FactKind::GivenUp { entry: lost.clone() }, &[&last]);
    let bind = hand.entries[0].id.clone();
    let back = hand.read("x", &bind, 100, 100, &pour("R-134a"), &[&bind]);
    hand.entries.iter_mut().filter(|entry| entry.id == back).for_each(|entry| entry.id = lost.clone());
    assert_eq!(held(&hand.c1()), two(150, ["R-134a", "R-22"], true));
}

#[test]
fn a_line_without_a_name_puts_in_doubt_whatever_it_may_have_spoken_of() {
    let (mut hand, ..) = with_a_gap();
    hand.damage.push(damaged(None, &["C-2", "C-3"]));
    assert_eq!(hand.at("C-2").doubt, Some(Doubt::Lost(Vec::new())));
    let now = hand.at("C-3");
    assert_eq!((now.doubt.clone(), held(&now)), (Some(Doubt::Lost(Vec::new())), one(0, "evacuated")));
    let yard = hand.ledger().now(&hand.rows, DAY);
    assert_eq!(yard.damage.len(), 1);
}

#[test]
fn two_entries_of_one_name_that_differ_are_both_not_believed_and_alike_they_are_one() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1", "C-2"], &[]);
    let read = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let again = hand.entries.last().unwrap().clone();
    hand.entries.push(again.clone());
    assert_eq!((held(&hand.c1()), hand.ledger().entries.len()), (one(100, "R-22"), 2));
    hand.entries.push(Entry { by: "another".into(), ..again });
    let now = hand.c1();
    assert_eq!(now.doubt, Some(Doubt::Lost(ids([&read]))));
    assert_eq!((hand.at("C-2").doubt, hand.ledger().entries.len()), (None, 1));
}

#[test]
fn what_goes_round_in_a_circle_is_doubt_until_it_is_given_up() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    let round = hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let about = hand.read("van", &bind, 150, 50, &pour("R-22"), &[&round]);
    hand.entries[1].on[0].1 = ids([&about]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt), (one(0, "evacuated"), Some(Doubt::Lost(ids([&round, &about])))));
    for entry in [&round, &about] {
        hand.fact("office", FactKind::GivenUp { entry: entry.clone() }, &[&bind]);
    }
    assert_eq!(hand.c1().doubt, None);
}

#[test]
fn a_chain_that_nobody_says_the_beginning_of_is_doubt_and_unknown() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1"], &[]);
    hand.entries[0].rows.clear();
    // The row of the yard says it, where there is one.
    assert_eq!((held(&hand.c1()), hand.c1().doubt), (one(0, "evacuated"), None));
    hand.rows.remove(0);
    let now = hand.c1();
    assert_eq!((now.inside.state.holds.as_str(), now.doubt), ("unknown", Some(Doubt::Lost(ids([&bind])))));
    hand.weigh("office", 150, Some("R-22"), &[&bind]);
    assert_eq!((held(&hand.c1()), hand.c1().doubt), (one(150, "R-22"), None));
}

#[test]
fn a_cylinder_named_twice_in_one_entry_is_in_one_chain_once() {
    let mut hand = Hand::new();
    let bind = hand.bind("office", "Roof", &["C-1", "c-1"], &[]);
    hand.read("van", &bind, 100, 100, &pour("R-22"), &[&bind]);
    let now = hand.c1();
    assert_eq!((held(&now), now.doubt, now.heads.len()), (one(100, "R-22"), None, 1));
}
