//! Cylinders as a ledger has them, spoiled one fact at a time.

use jiff::civil::date;

use super::super::bench::{cylinder, facts, job, lb, refrigerant, system, terms, valid};
use super::writers::{DAY, state, tenths};
use crate::audit::{Fault, Raw, ledger_faults};
use crate::cylinder::{ByLedger, Condition, Contents, Facts, Fate, Id};
use crate::job::Work;
use crate::ledger::{
    Bind, BoundJob, CylinderState, Damage, Entry, EntryId, Fact, FactKind, Gained, JobId, Moment, Pour, Reading, Row,
    What,
};
use crate::quantity::Unit;

/// A yard, what happened to it, and its cylinders as that makes them.
struct SpoiledYard {
    yard: Vec<Facts>,
    rows: Vec<(Id, CylinderState)>,
    entries: Vec<Entry>,
    damage: Vec<Damage>,
    ours: Vec<JobId>,
}

fn id(number: u64) -> EntryId {
    EntryId { tag: "office".into(), number }
}

fn roof() -> JobId {
    JobId { name: "Roof".into(), first: id(1) }
}

fn entry(number: u64, job: Option<JobId>, on: &[(&str, &[u64])], what: What) -> Entry {
    let on: Vec<(Id, Vec<EntryId>)> =
        on.iter().map(|(cylinder, from)| (Id::from(*cylinder), from.iter().map(|from| id(*from)).collect())).collect();
    let begins = on.iter().filter(|(_, from)| from.is_empty());
    let rows =
        begins.map(|(id, _)| Row { id: id.clone(), stamped: Vec::new(), state: state("evacuated", 0) }).collect();
    let at = Moment::parse("2026-12-01T08:00:00-05:00").unwrap();
    Entry { id: id(number), at, by: "office".into(), job, on, rows, what }
}

fn reading(cylinder: &str, net: i64, gained: i64, refrigerant: &str) -> What {
    What::Reading(Reading {
        cylinder: cylinder.into(),
        bind: id(1),
        gross: tenths(279 + net),
        net: None,
        parts: vec![Gained { system: "RTU-1".into(), weight: tenths(gained), assumed: false }],
        pour: Pour {
            lot: refrigerant.into(),
            refrigerants: vec![refrigerant.into()],
            mixed: false,
            condition: Condition::Wet,
            fate: Fate::Reclaim,
            owner: None,
            kept_for: None,
        },
        emptied: false,
        moved: false,
        morning: false,
        forced: Vec::new(),
        note: None,
        via: None,
    })
}

/// The roof has B-1 to fill, has 10.0 lb of wet R-22 in B-2, and has mixed R-22 and R-134a in B-3; B-4 is out, B-5 has a
/// line that can't be read, the row of B-6 was changed by hand, nothing was ever said of B-7.
fn case() -> SpoiledYard {
    let bound = ["B-1", "B-2", "B-3", "B-6"];
    let bind = What::Bind(Bind {
        jobs: vec![BoundJob { name: "Roof".into(), first: id(1), text: String::new() }],
        follows: Vec::new(),
        day: DAY,
        van: None,
        options: Vec::new(),
        cylinders: bound.iter().map(|id| Id::from(*id)).collect(),
        systems: Vec::new(),
        steps: Vec::new(),
        short: Vec::new(),
        dry: Vec::new(),
        more: Vec::new(),
    });
    let out = What::Cylinder(Fact { what: FactKind::Out { cylinder: "B-4".into() }, why: Some("valve leaks".into()) });
    let entries = vec![
        entry(1, None, &bound.map(|id| (id, &[][..])), bind),
        entry(2, Some(roof()), &[("B-2", &[1])], reading("B-2", 100, 100, "R-22")),
        entry(3, Some(roof()), &[("B-3", &[1])], reading("B-3", 50, 50, "R-22")),
        entry(4, Some(roof()), &[("B-3", &[3])], reading("B-3", 80, 30, "R-134a")),
        entry(5, None, &[("B-4", &[])], out),
    ];
    let named = ["B-1", "B-2", "B-3", "B-4", "B-5", "B-6", "B-7"];
    let mut rows: Vec<(Id, CylinderState)> = named.iter().map(|id| (Id::from(*id), state("evacuated", 0))).collect();
    rows[5].1 = state("R-22", 40);
    let said = |words: &str| Some(words.to_owned());
    let ledger = |change: fn(&mut ByLedger)| {
        let mut ledger = ByLedger::default();
        change(&mut ledger);
        ledger
    };
    let plain = |id: &str| facts(id, lb("27.9"), lb("47.5"), lb("27.9"), Contents::Evacuated);
    let mut yard: Vec<Facts> = named.iter().map(|id| plain(id)).collect();
    for at in [0, 1, 2, 5] {
        yard[at].ledger.bound = said("Roof");
    }
    yard[1].contents = Contents::Holds(refrigerant("R-22"));
    (yard[1].gross, yard[1].condition, yard[1].ledger.ours) = (lb("37.9"), Condition::Wet, true);
    yard[2].contents = Contents::Mixed(vec![refrigerant("R-22"), refrigerant("R-134a")]);
    (yard[2].gross, yard[2].condition) = (lb("35.9"), Condition::Wet);
    (yard[2].ledger.ours, yard[2].ledger.mixed) = (true, true);
    yard[3].ledger = ledger(|ledger| ledger.out = Some("valve leaks".into()));
    yard[4].ledger = ledger(|ledger| ledger.doubt = Some("a line can't be read".into()));
    yard[5].ledger.changed = said("the file says R-22");
    let damage = vec![Damage { entry: Some(id(6)), cylinders: vec!["B-5".into()], why: "its sum is another".into() }];
    SpoiledYard { yard, rows, entries, damage, ours: Vec::new() }
}

fn found(case: &SpoiledYard) -> Vec<Fault> {
    let annex = valid(job("Annex", terms(Unit::Lb), vec![system("RTU-2", "R-22", lb("10"))]));
    let yard = case.yard.iter().cloned().map(cylinder).collect();
    let work = Work::new(vec![annex], yard).unwrap();
    let raw = Raw { rows: &case.rows, entries: &case.entries, damage: &case.damage, ours: &case.ours, today: DAY };
    ledger_faults(work.yard(), work.division().unit(), raw)
}

/// What is changed, and the faults that follow: code and cylinder.
type Spoiling = (fn(&mut SpoiledYard), &'static [(&'static str, &'static str)]);

/// Each fact of a cylinder that the ledger decides, changed in the yard or taken from under it.
const SPOILED: &[Spoiling] = &[
    (|_| (), &[]),
    (|case| case.yard[1].gross = lb("37.8"), &[("ledger-weight", "B-2")]),
    (|case| case.yard[6].gross = lb("28"), &[("ledger-weight", "B-7")]),
    (|case| case.yard[1].contents = Contents::Holds(refrigerant("R-134a")), &[("ledger-contents", "B-2")]),
    (|case| case.yard[1].contents = Contents::Evacuated, &[("ledger-contents", "B-2")]),
    (|case| case.yard[1].condition = Condition::Clean, &[("ledger-contents", "B-2")]),
    (|case| case.yard[1].kept_for = Some("Roof".into()), &[("ledger-contents", "B-2")]),
    (|case| case.yard[2].contents = Contents::Mixed(vec![refrigerant("R-22")]), &[("ledger-contents", "B-3")]),
    (|case| case.yard[0].ledger.bound = None, &[("ledger-bound", "B-1")]),
    (|case| case.yard[1].ledger.bound = None, &[("ledger-bound", "B-2")]),
    (|case| case.yard[6].ledger.bound = Some("Roof".into()), &[("ledger-bound", "B-7")]),
    (|case| case.yard[4].ledger.doubt = None, &[("ledger-doubt", "B-5")]),
    (|case| case.yard[0].ledger.doubt = Some("two plans".into()), &[("ledger-doubt", "B-1")]),
    (|case| case.yard[3].ledger.out = None, &[("ledger-out", "B-4")]),
    (|case| case.yard[5].ledger.changed = None, &[("ledger-changed", "B-6")]),
    (|case| case.yard[2].ledger.mixed = false, &[("ledger-mixed", "B-3")]),
    (|case| case.yard[1].ledger.mixed = true, &[("ledger-mixed", "B-2")]),
    (|case| case.yard[1].ledger.ours = false, &[("ledger-ours", "B-2")]),
    // The roof is ours: then nothing of it is elsewhere.
    (
        |case| case.ours.push(roof()),
        &[("ledger-bound", "B-1"), ("ledger-bound", "B-2"), ("ledger-bound", "B-3"), ("ledger-bound", "B-6")],
    ),
    // Of a plan of yesterday's only what is begun is kept; a job of which anything is begun keeps all.
    (
        |case| {
            let What::Bind(bind) = &mut case.entries[0].what else { return };
            bind.day = date(2026, 11, 30);
        },
        &[],
    ),
    (|case| drop(case.entries.remove(4)), &[("ledger-out", "B-4")]),
    // A reading that isn't there.
    (
        |case| drop(case.entries.remove(2)),
        &[("ledger-contents", "B-3"), ("ledger-doubt", "B-3"), ("ledger-mixed", "B-3")],
    ),
    (|case| case.damage.clear(), &[("ledger-doubt", "B-5")]),
    (|case| case.rows[5].1 = state("evacuated", 0), &[("ledger-changed", "B-6")]),
    // What weighs nothing is no cylinder's weight: it has to be in doubt.
    (
        |case| {
            let What::Reading(reading) = &mut case.entries[1].what else { return };
            reading.gross = tenths(0);
        },
        &[("ledger-weight", "B-2"), ("ledger-doubt", "B-2")],
    ),
];

/// The codes that all of them show.
pub fn codes() -> Vec<&'static str> {
    let found = SPOILED.iter().flat_map(|(spoil, _)| {
        let mut case = case();
        spoil(&mut case);
        found(&case)
    });
    found.map(|fault| fault.code).collect()
}

#[test]
fn each_fact_that_the_ledger_decides_is_held_to_the_raw_entries() {
    for (at, (spoil, expected)) in SPOILED.iter().enumerate() {
        let mut case = case();
        spoil(&mut case);
        let found = found(&case);
        let codes: Vec<(&str, &str)> =
            found.iter().map(|fault| (fault.code, fault.cylinder.as_ref().unwrap().as_str())).collect();
        assert_eq!(codes, *expected, "case {at}");
    }
}

#[test]
fn a_fault_says_what_the_entries_come_to_and_what_the_yard_says() {
    let mut case = case();
    (case.yard[1].gross, case.yard[0].ledger.bound) = (lb("37.8"), None);
    let said: Vec<String> = found(&case).iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "cylinder B-1: whether another job has the cylinder isn't what the ledger's entries come to: expected bound by \
             office/1, got no other job's",
            "cylinder B-2: a cylinder doesn't weigh what the ledger's entries come to: expected 37.9 lb, got 37.8 lb",
        ]
    );
}
