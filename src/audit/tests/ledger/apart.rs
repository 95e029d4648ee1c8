//! Three writers apart for a day: joined in any order they make one yard, their contradictions are named and nothing is lost.

use super::writers::{DAY, Writers};
use crate::ledger::{CylinderNow, Doubt, Entry, EntryId, Fact, FactKind, Ledger, Pour, Reading, What};
use crate::quantity::Weight;

const ORDERS: [[usize; 3]; 6] = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]];

/// What an entry says of what is in a cylinder: its weight.
fn says(entry: &Entry) -> Option<Weight> {
    match &entry.what {
        What::Reading(Reading { gross, .. }) => Some(*gross),
        What::Cylinder(Fact { what: FactKind::Weighed { gross, .. } | FactKind::Emptied { gross, .. }, .. }) => {
            Some(*gross)
        }
        _ => None,
    }
}

/// Whether it says that, whatever was before.
fn says_anew(entry: &Entry) -> bool {
    match &entry.what {
        What::Cylinder(Fact { what: FactKind::Weighed { holds, .. }, .. }) => holds.is_some(),
        What::Cylinder(Fact { what: FactKind::Emptied { .. }, .. }) => true,
        _ => false,
    }
}

/// What these entries have put in since somebody said last what is in it.
fn poured<'a>(entries: &[&'a Entry]) -> Vec<&'a Pour> {
    let last = entries.iter().rposition(|entry| says_anew(entry)).map_or(0, |last| last + 1);
    let readings = entries[last..].iter().filter_map(|entry| match &entry.what {
        What::Reading(reading) => Some(reading),
        _ => None,
    });
    readings
        .filter(|reading| reading.parts.iter().any(|part| part.weight.is_positive()))
        .map(|reading| &reading.pour)
        .collect()
}

/// Of one cylinder: that what each writer said last is named where several did, and all that is in it is in it.
fn holds(now: &CylinderNow, writers: &Writers, before: usize) -> bool {
    let about = |entry: &&Entry| entry.on.iter().any(|(id, _)| *id == now.id);
    let shared: Vec<&Entry> = writers.entries[..before].iter().filter(about).collect();
    let apart: Vec<Vec<&Entry>> = (0..3)
        .map(|writer| writers.of(writer).into_iter().filter(about).filter(|entry| !shared.contains(entry)).collect())
        .collect();
    let said: Vec<&Vec<&Entry>> =
        apart.iter().filter(|entries| entries.iter().any(|entry| says(entry).is_some())).collect();
    let mut last: Vec<(EntryId, Weight)> = Vec::new();
    for entries in &said {
        let entry = entries.iter().rev().find(|entry| says(entry).is_some()).unwrap();
        last.push((entry.id.clone(), says(entry).unwrap()));
        let all = [shared.as_slice(), entries.as_slice()].concat();
        for pour in poured(&all) {
            assert!(now.inside.pours.contains(pour), "{}: {pour:?} is lost", now.id);
            for name in &pour.refrigerants {
                let state = &now.inside.state;
                let has = state.holds == *name || state.holds == "unknown" || state.may_contain.contains(name);
                assert!(has, "{}: {name} is lost", now.id);
            }
        }
    }
    if let Some(heaviest) = last.iter().map(|(_, gross)| *gross).max() {
        assert_eq!(now.inside.state.gross, heaviest, "{}", now.id);
    }
    let mut named: Vec<EntryId> = last.into_iter().map(|(id, _)| id).collect();
    named.sort();
    let contradict = named.len() > 1;
    if contradict {
        assert_eq!(now.doubt, Some(Doubt::Apart(named)), "{}", now.id);
    } else {
        assert!(!matches!(now.doubt, Some(Doubt::Apart(_) | Doubt::Lost(_))), "{}: {:?}", now.id, now.doubt);
    }
    contradict
}

#[test]
fn three_writers_apart_for_a_day_of_60_entries_make_one_yard_in_whatever_order_they_are_joined() {
    let (mut contradictions, mut agreements) = (0, 0);
    for seed in 0..40 {
        let mut writers = Writers::new(seed, 3, 12, true);
        for at in 0..12 {
            writers.write(at % 3);
            writers.meet_all();
        }
        let before = writers.entries.len();
        while writers.entries.len() < before + 60 {
            let writer = writers.rng.usize(..3);
            writers.write(writer);
        }
        let files: Vec<Vec<&Entry>> = (0..3).map(|writer| writers.of(writer)).collect();
        let yard = Ledger::new(writers.entries.clone(), Vec::new()).now(&writers.rows, DAY);
        let words = format!("{:?}", yard.cylinders);
        for order in ORDERS {
            // One behind the other, and a copy of the first once more; then the last lines first.
            let mut joined: Vec<Entry> =
                order.iter().flat_map(|file| &files[*file]).map(|entry| Entry::clone(entry)).collect();
            joined.extend(files[order[0]].iter().copied().cloned());
            for _ in 0..2 {
                let again = Ledger::new(joined.clone(), Vec::new()).now(&writers.rows, DAY);
                assert_eq!(format!("{:?}", again.cylinders), words, "seed {seed}, {order:?}");
                joined.reverse();
            }
        }
        for now in &yard.cylinders {
            if holds(now, &writers, before) { contradictions += 1 } else { agreements += 1 }
        }
    }
    assert!(contradictions > 200 && agreements > 50, "{contradictions} and {agreements}");
}
