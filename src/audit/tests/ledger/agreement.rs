//! Whatever was written, and in whatever order it arrives: both figure the same.

use std::collections::{BTreeMap, BTreeSet};

use super::writers::{DAY, Writers};
use crate::audit::ledger::{Story, Why};
use crate::ledger::{CylinderNow, Doubt, Entry, Ledger};

/// What the two have to say alike of a cylinder, in words.
fn ledgers(now: &CylinderNow) -> String {
    let inside = &now.inside;
    let state = &inside.state;
    let names: BTreeSet<&str> = match state.holds.as_str() {
        "evacuated" | "nitrogen" | "unknown" => BTreeSet::new(),
        "mixed" => state.may_contain.iter().map(String::as_str).collect(),
        one => BTreeSet::from([one]),
    };
    let kind = match state.holds.as_str() {
        word @ ("evacuated" | "nitrogen" | "unknown" | "mixed") => word,
        _ => "one",
    };
    let pours: BTreeSet<String> = inside.pours.iter().map(|pour| format!("{pour:?}")).collect();
    let doubt = now.doubt.as_ref().map(|doubt| match doubt {
        Doubt::Lost(_) => Why::Lost,
        Doubt::Apart(_) => Why::Apart,
        Doubt::Contested(_) => Why::Contested,
    });
    let bound = now.bound.as_ref().map(|bound| (bound.bind.to_string(), bound.begun));
    format!(
        "{:?} {kind} {names:?} {:?} {} {:?} {:?} {pours:?} danger {} bound {bound:?} out {} {doubt:?} changed {}",
        state.gross,
        state.condition,
        state.cleaned,
        state.owner,
        state.kept_for,
        inside.mixed,
        now.out.is_some(),
        now.changed.is_some(),
    )
}

fn audits(story: &Story, now: &CylinderNow, entries: &[Entry], writers: &Writers) -> String {
    let about: Vec<&Entry> = entries.iter().filter(|entry| entry.on.iter().any(|(id, _)| *id == now.id)).collect();
    let file = writers.rows.iter().find(|(id, _)| *id == now.id).map(|(_, state)| state);
    let found = story.of(&now.id, &about, file);
    let filled = found.filled.expect("somebody said something");
    let kind = match () {
        () if filled.unknown => "unknown",
        () if filled.is_mixed() => "mixed",
        () if !filled.names.is_empty() => "one",
        () if filled.nitrogen => "nitrogen",
        () => "evacuated",
    };
    let names = if filled.unknown { BTreeSet::new() } else { filled.names.clone() };
    let pours: BTreeSet<String> = filled.pours.iter().map(|pour| format!("{pour:?}")).collect();
    let bound = found.holder.map(|(bind, _, begun)| (bind.to_string(), begun));
    format!(
        "{:?} {kind} {names:?} {:?} {} {:?} {:?} {pours:?} danger {} bound {bound:?} out {} {:?} changed {}",
        filled.gross,
        filled.condition,
        filled.cleaned,
        filled.owner,
        filled.kept_for,
        filled.danger,
        found.out,
        found.doubt,
        found.changed,
    )
}

#[test]
fn both_figure_the_same_yard_from_what_several_writers_wrote_in_any_order_of_arrival() {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut cylinders = 0;
    for seed in 0..2_000 {
        let mut writers = Writers::new(seed, 3 + seed as usize % 3, 4, false);
        for _ in 0..writers.rng.usize(5..60) {
            let writer = writers.rng.usize(..3);
            writers.write(writer);
            if writers.rng.usize(..4) == 0 {
                writers.meet();
            }
        }
        writers.spoil();
        let ledger = Ledger::new(writers.entries.clone(), writers.damage.clone());
        let yard = ledger.now(&writers.rows, DAY);
        let mut shuffled = writers.entries.clone();
        writers.rng.shuffle(&mut shuffled);
        let again = Ledger::new(shuffled.clone(), writers.damage.clone()).now(&writers.rows, DAY);
        assert_eq!(format!("{:?}", yard.cylinders), format!("{:?}", again.cylinders), "seed {seed}");
        let story = Story::new(&shuffled, &writers.damage, DAY);
        for now in &yard.cylinders {
            assert_eq!(ledgers(now), audits(&story, now, &shuffled, &writers), "seed {seed}, {}", now.id);
            cylinders += 1;
            let mut count = |what, is: bool| *seen.entry(what).or_insert(0) += usize::from(is);
            count("lost", matches!(now.doubt, Some(Doubt::Lost(_))));
            count("apart", matches!(now.doubt, Some(Doubt::Apart(_))));
            count("contested", matches!(now.doubt, Some(Doubt::Contested(_))));
            count("known", now.doubt.is_none());
            count("danger", now.inside.mixed);
            count("begun", now.bound.as_ref().is_some_and(|bound| bound.begun));
            count("bound", now.bound.as_ref().is_some_and(|bound| !bound.begun));
            count("free", now.bound.is_none());
            count("out", now.out.is_some());
            count("changed", now.changed.is_some());
            count("missing", now.missing);
        }
    }
    assert!(cylinders > 6_000, "{cylinders}");
    for (what, count) in seen {
        assert!(count > 100, "{what}: {count} of {cylinders}");
    }
}
