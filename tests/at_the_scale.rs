//! One day at the scale through the real program, from the plan to the paperwork: the nameplate is wrong, a cylinder is
//! missing, one reading lies over the stop weight, one is a slip of the finger.
//!
//! The job is `scenarios/cold-store.yaml`; its plan is worked out by hand in its comments. By hand from there on:
//! - C-101 27.9 -> 63.7 and C-102 28.2 -> 64.2 (stop 64.1): 35.8 + 36.0 = 71.8 lb of R-448A.
//! - C-106 is missing, and Rack 1 has 120.0 lb left by its level: it held 191.8, not 242.1 lb. R-404A needs C-104, C-105
//!   and C-108 (32.8 + 23.8 + 18.0 = 74.6 for 70.9), so C-103 and C-107 hold 22.1 + 87.7 = 109.8: 10.2 lb are over.
//! - C-201, tare 28.4 and water capacity 48.0, comes: limit 28.4 + 0.8 x 0.94387 x 48.0 = 64.64, room 64.5 - 28.4 = 36.1.
//!   C-107 and C-201 hold 123.8, so these two do. C-107 stays at 150.0; C-201 takes the rest: 28.4 + 120.0 - 87.7 = 60.7.
//! - C-107 gets 87.7 and C-201 21.6, then the rack is dry: 71.8 + 87.7 + 21.6 = 181.1, 61.0 short of 242.1.
//! - Rate: 181.1 - 10.0 between 08:05 and 11:25 is 51.33 lb an hour, 10.7 lb take 12.5 min; 181.1 / 230.5 = 78.5 %.
//! - R-404A: 30.9 + 22.0 + 18.0 = 70.9, as planned.

use std::fs;

use serde_json::Value;

use crate::folder::Folder;

const RACK_1: &str = "Rack 1, medium temperature";

/// The job and its cylinders.
fn packed() -> Folder {
    Folder::of_scenarios(&["cold-store.yaml", "van-3.yaml"])
}

fn weigh(van: &Folder, status: i32, cylinder: &str, gross: &str, at: &str) -> String {
    van.said(status, &["weigh", "cold-store.yaml", cylinder, gross, "--at", &format!("2026-12-01T{at}-05:00")])
}

const SPARE: &str = "# borrowed from van 5\nunits: lb\ncylinders:\n  - id: C-201 # has a dent in its collar\n    tare: 28.4\n    \
                     water_capacity: 48.0\n    gross: 28.4\n    holds: evacuated\n    mark: DOT-4BA400\n    tested: 2024-06\n";

fn first_rack(van: &Folder) {
    let added = ["weigh", "cold-store.yaml", "C-101", "--net", "10", "--at", "2026-12-01T08:05-05:00"];
    assert_eq!(
        van.said(0, &added),
        "- C-101: 10.0 lb net now, 37.9 lb gross; stop at 63.7 lb, limit 63.8 lb.\n- 25.8 lb to the stop weight.\n- C-101 \
         has 25.8 lb to go; then C-106.\n- R-448A: 10.0 lb recovered, 232.1 lb left; counted for Rack 1, medium\n  \
         temperature.\n"
    );
    let at_stop = weigh(van, 0, "C-101", "63.7", "08:45");
    assert!(at_stop.contains("At the stop weight: close the valve."), "{at_stop}");
    assert!(at_stop.contains("C-106 has 85.6 lb to go; then C-102."), "{at_stop}");
    let over = weigh(van, 0, "C-102", "64.2", "09:25");
    assert!(over.contains("WARNING: 0.1 lb over the stop weight. Close the valve."), "{over}");
}

fn refusals(van: &Folder) {
    let before = van.ledger("van-3.yaml");
    let refused = |more: &[&str]| van.refused(&[&["weigh", "cold-store.yaml"], more].concat());
    for (arguments, code) in [
        (&["C-102", "20"][..], "[under-tare]"),
        (&["C-102", "50"], "[lower]"),
        (&["C-102", "642"], "[too-much]"),
        (&["C-101", "63.8", "--system", "Rack 2, low temperature"], "[other-lot]"),
        (&["C-104", "35", "--system", RACK_1], "[planned-otherwise]"),
        (&["C-109", "20", "--system", RACK_1], "[unfit]"),
        (&["C-102", "64.2", "--at", "2026-12-01T07:00-05:00"], "[earlier]"),
        (&["C-1O1", "64.2"], "did you mean C-1"),
        (&["C-103", "50"], "[which-system]"),
        (&["C-103", "50", "--system", "Rack 3"], "its systems are"),
        (&["C-102", "64,2"], "write decimals with a point"),
    ] {
        let said = refused(arguments);
        assert!(said.contains(code), "{arguments:?}: {said}");
    }
    let danger = refused(&["C-102", "642"]);
    assert!(danger.starts_with("DANGER if this is true"), "danger stands first: {danger}");
    assert_eq!(van.ledger("van-3.yaml"), before, "nothing was added");
}

fn plan_again(van: &Folder) {
    let left = format!("{RACK_1}=120 lb");
    let short =
        van.said(1, &["replan", "cold-store.yaml", "--without", "C-106", "--why", "not on the van", "--left", &left]);
    assert!(short.contains("NOT ENOUGH. 10.2 lb of R-448A would be left in the system."), "{short}");
    van.write("spare.yaml", SPARE);
    let planned = van.said(0, &["replan", "cold-store.yaml", "--with", "spare.yaml"]);
    let expected = "\
Enough, with 0 cylinders begun already and 5 further ones. Proved: no plan needs
fewer further cylinders.

Loading plan for what is left, in lb
#  cylinder  refrigerant   now   add  STOP AT  limit
-----------------------------------------------------
1  C-107     R-448A       62.3  87.7    150.0  155.0
2  C-201     R-448A       28.4  32.3     60.7   64.6
3  C-105     R-404A       36.9  22.0     58.9   60.8
4  C-108     R-404A       16.4  18.0     34.4   34.5
5  C-104     R-404A       28.0  30.9     58.9   60.9

What changed
- added: C-201
- C-201: new in the plan, stop at 60.7 lb
- C-103: not needed any more
";
    assert!(planned.contains(expected), "{planned}");
    assert!(!planned.contains("C-106"), "{planned}");
}

fn the_rest(van: &Folder) {
    weigh(van, 0, "C-107", "150", "11:05");
    let dry = weigh(van, 0, "C-201", "50", "11:25");
    assert!(dry.contains("C-201 has 10.7 lb to go"), "{dry}");
    weigh(van, 0, "C-104", "58.9", "12:00");
    weigh(van, 0, "C-105", "58.9", "12:20");
    let slip = weigh(van, 1, "C-108", "43.4", "12:40");
    assert!(slip.starts_with("!! DANGER: C-108: it weighs 43.4 lb, over 49 CFR 173.304(b)"), "{slip}");
    assert!(van.said(1, &["status", "cold-store.yaml"]).starts_with("!! DANGER: C-108"));
    let undone = van.said(0, &["weigh", "cold-store.yaml", "--undo"]);
    assert_eq!(undone, "Taken back: C-108 at 43.4 lb (2026-12-01T12:40:00-05:00).\n");
    weigh(van, 0, "C-108", "34.4", "12:41");
}

fn how_far(van: &Folder) {
    assert_eq!(
        van.said(0, &["status", "cold-store.yaml"]),
        "\
North pier cold store, rack change-out
8 readings, the last at 2026-12-01T12:41:00-05:00. Weights in lb.

In force: the plan that office made at 2026-12-01T12:00:00+00:00.

refrigerant  recovered  left  % of nameplate  per hour   to go
---------------------------------------------------------------
R-448A           181.1  10.7            78.5      51.3  0 h 13
R-404A            70.9   0.0           105.0      58.5  0 h 00

cylinder  refrigerant    now  STOP AT
-----------------------------------------------------------------------------
C-107     R-448A       150.0    150.0  [##############]  at its stop
C-201     R-448A        50.0     60.7  [#########.....]  10.7 lb to go
C-105     R-404A        58.9     58.9  [##############]  at its stop
C-108     R-404A        34.4     34.4  [##############]  at its stop
C-104     R-404A        58.9     58.9  [##############]  at its stop
C-101     R-448A        63.7        -  [#############.]  0.1 lb to its limit
C-102     R-448A        64.2        -  [##############]  0.0 lb to its limit
"
    );
}

fn paperwork(van: &Folder) {
    let yard_before = van.read("van-3.yaml");
    let report =
        van.said(0, &["closeout", "cold-store.yaml", "--write", "--certificate", "T-0815", "--place", "Pier 4"]);
    for line in [
        "252.0 lb recovered in all.",
        "R-448A  Rack 1, medium temperature   242.1      181.1       -61.0",
        "R-404A  Rack 2, low temperature       70.9       70.9         0.0",
        "Rack 1, medium temperature: 61.0 lb short of the charge: the nameplate",
        "- Rack 1, medium temperature: 10 in. Hg vacuum (high pressure, 200 lb or more)",
        "- C-201: R-448A; recovered; net 21.6 lb, gross 50.0 lb, tare 28.4 lb; 2026-12-01;",
    ] {
        // Lines are broken where the width ends.
        let on_one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(on_one_line(&report).contains(&on_one_line(line)), "{line}\n{report}");
    }
    // The record: 8 rows, place and certificate on each, and the sum of all.
    let record = van.read("cold-store.record.csv");
    assert_eq!(record.lines().count(), 8, "{record}");
    assert!(record.lines().skip(1).all(|line| line.starts_with("Pier 4,") && line.ends_with(",T-0815,,,")), "{record}");
    let row = "North pier,2026-12-01,\"Rack 1, medium temperature\",R-448A,clean,87.7,lb,C-107,reclaim";
    assert!(record.contains(row), "{record}");
    let data: Value = serde_json::from_str(&van.read("cold-store.record.json")).unwrap();
    let amounts = data["rows"].as_array().unwrap().iter().map(|row| row["amount"].as_str().unwrap());
    let tenths: i64 =
        amounts.map(|amount| amount.trim_end_matches(" lb").replace('.', "").parse::<i64>().unwrap()).sum();
    assert_eq!(tenths, 2520);
    // The yard: only the cylinders that were read have changed, and only gross and contents.
    let expected = yard_before
        .replace(
            "gross: 27.9, holds: evacuated, mark: DOT-4BA400, tested: 2024-06",
            "gross: 63.7 lb, holds: R-448A, mark: DOT-4BA400, tested: 2024-06",
        )
        .replace("gross: 28.2, holds: evacuated", "gross: 64.2 lb, holds: R-448A")
        .replace("gross: 28.0, holds: evacuated", "gross: 58.9 lb, holds: R-404A")
        .replace("gross: 36.9, holds: R-404A", "gross: 58.9 lb, holds: R-404A")
        .replace("gross: 61.5, holds: evacuated", "gross: 61.5, holds: evacuated, damage: not on the van")
        .replace("gross: 62.3, holds: evacuated", "gross: 150.0 lb, holds: R-448A")
        .replace("gross: 16.4, holds: evacuated", "gross: 34.4 lb, holds: R-404A");
    assert_eq!(van.read("van-3.yaml"), expected);
    assert_eq!(van.read("van-3.before-cold-store.yaml"), yard_before, "the old one is kept");
    // The list of another house is as it was; what it had of ours is the yard's by the ledger.
    assert_eq!(van.read("spare.yaml"), SPARE);
    let yard = van.json(&["yard", "van-3.yaml"]);
    let spare = yard["cylinders"].as_array().unwrap().iter().find(|one| one["cylinder"] == "C-201").unwrap();
    assert_eq!((&spare["now"], &spare["holds"]), (&50.0.into(), &"R-448A".into()));
    // With the yard written over, the ledger still knows what was before: the same again, record and yard too.
    let files = ["cold-store.record.csv", "cold-store.record.json", "van-3.yaml"].map(|file| van.read(file));
    let again = van.json(&["closeout", "cold-store.yaml", "--write"]);
    assert_eq!((&again["recovered"], again["warnings"].as_array().unwrap().len()), (&252.0.into(), 0), "{again}");
    assert_eq!(["cold-store.record.csv", "cold-store.record.json", "van-3.yaml"].map(|file| van.read(file)), files);
    let month = van.said(0, &["closeout", "--month", "2026-12", "."]);
    assert!(month.contains("R-404A       reclaim    70.9 lb          3"), "{month}");
    assert!(month.contains("R-448A       reclaim   181.1 lb          4"), "{month}");
    assert!(van.said(0, &["closeout", "--month", "2026-11", "."]).contains("No record has anything of this month."));
    weigh(van, 0, "C-201", "50.1", "13:00");
    let open = van.said(0, &["closeout", "--month", "2026-12", "."]);
    assert!(open.contains("NOT IN HERE: North pier cold store, rack change-out isn't closed out"), "{open}");
}

#[test]
fn a_day_from_plan_to_close_out() {
    let van = packed();
    van.set("CHARGESPLIT_NOW", "2026-12-01T12:00:00+00:00");
    van.said(0, &["begin", "cold-store.yaml"]);
    first_rack(&van);
    refusals(&van);
    plan_again(&van);
    the_rest(&van);
    how_far(&van);
    paperwork(&van);
}

#[test]
fn the_plan_that_is_followed_can_be_another_than_the_best() {
    let van = packed();
    let begun = van.said(0, &["begin", "cold-store.yaml", "--keep", "C-103"]);
    let planned = van.said(0, &["plan", "cold-store.yaml"]);
    let table = |text: &str| text[text.find("#  cylinder").unwrap()..].to_owned();
    assert_eq!(table(&planned), table(&begun), "what was begun with an option is shown with it");
    van.write("plan.json", van.said(0, &["plan", "cold-store.yaml", "--json"]));
    assert!(van.read("plan.json").contains("\"in_force\""));
    van.said(0, &["audit", "cold-store.yaml", "plan.json"]);
    van.write("plan.json", van.read("plan.json").replacen("\"stop\": 6", "\"stop\": 7", 1));
    assert!(van.said(1, &["audit", "cold-store.yaml", "plan.json"]).contains("stop: "));
    let followed = van.json(&["weigh", "cold-store.yaml", "C-103", "41.2"]);
    assert_eq!((&followed["stop"], &followed["plan"]), (&63.3.into(), &Value::Null), "{followed}");
    assert!(van.refused(&["begin", "cold-store.yaml"]).contains("is begun and its plan is in force"));
    // What is left is planned by the same options, where nothing else is said.
    let other = packed();
    other.said(0, &["begin", "cold-store.yaml", "--lift-limit", "140 lb"]);
    weigh(&other, 0, "C-101", "40", "08:00");
    for load in other.json(&["replan", "cold-store.yaml"])["loads"].as_array().unwrap() {
        assert!(load["stop"].as_f64().unwrap() <= 140.0, "{load}");
    }
}

#[test]
fn what_moved_isnt_counted_twice_and_what_left_stays_recovered() {
    let van = packed();
    let recovered = || van.json(&["status", "cold-store.yaml"])["lots"][0]["recovered"].as_f64().unwrap();
    van.set("CHARGESPLIT_NOW", "2026-12-01T14:00:00+00:00");
    weigh(&van, 1, "C-101", "64.3", "08:00");
    assert_eq!(recovered(), 36.4);
    let arguments = |more: [&'static str; 3]| [&["weigh", "cold-store.yaml"][..], &more[..]].concat();
    van.said(0, &arguments(["C-101", "63.3", "--moved"]));
    assert_eq!(recovered(), 35.4, "1.0 lb has left C-101");
    weigh(&van, 0, "C-102", "29.2", "08:10");
    assert_eq!(recovered(), 36.4, "and is in C-102 now");
    van.said(0, &arguments(["C-101", "28.4", "--emptied"]));
    assert_eq!(recovered(), 36.4, "what was handed over stays recovered");
    weigh(&van, 0, "C-101", "30.4", "09:00");
    assert_eq!(recovered(), 38.4);
}

#[test]
fn a_yard_that_is_added_may_hold_what_only_the_job_describes() {
    let van = packed();
    van.write("ounces.yaml", fs::read("scenarios/ounces.yaml").unwrap());
    let yard = "units: lb\ncylinders:\n  - { id: T-9, tare: 16.4, water_capacity: 26.2, gross: 19.4, holds: Trial blend 7, \
                mark: DOT-4BA400, tested: 2024-06 }\n";
    van.write("more.yaml", yard);
    van.said(0, &["weigh", "ounces.yaml", "T-1", "17 lb"]);
    let planned = van.said(0, &["replan", "ounces.yaml", "--with", "more.yaml", "--without", "T-2"]);
    assert!(planned.contains("- added: T-9\n") && planned.contains("T-9 "), "{planned}");
    assert!(van.said(0, &["status", "ounces.yaml"]).contains("T-9"), "the ledger is read with it too");
}

#[test]
fn an_earlier_plan_comes_back_into_force_and_an_added_yard_stays_readable() {
    let van = packed();
    weigh(&van, 0, "C-101", "40", "08:00");
    van.write("spare.yaml", SPARE);
    van.said(0, &["replan", "cold-store.yaml", "--with", "spare.yaml", "--without", "C-102"]);
    van.said(0, &["weigh", "cold-store.yaml", "c-201", "30.4"]);
    let undone = van.said(0, &["replan", "cold-store.yaml", "--undo"]);
    assert_eq!(undone, "Taken back: the last replan. The plan before it is in force again.\n");
    let status = van.json(&["status", "cold-store.yaml"]);
    let ids: Vec<&str> =
        status["cylinders"].as_array().unwrap().iter().map(|one| one["cylinder"].as_str().unwrap()).collect();
    assert!(ids.contains(&"C-102") && ids.contains(&"C-201"), "{ids:?}");
    assert_eq!(status["lots"][0]["recovered"], 14.1, "12.1 in C-101 and 2.0 in C-201");
    // What it took out is back with it.
    assert!(van.json(&["cylinder", "van-3.yaml", "C-102"])["out"].is_null());
    assert!(van.refused(&["replan", "cold-store.yaml", "--undo"]).contains("there is no replan to take back"));
}

#[test]
fn before_anything_is_begun_there_is_nothing_to_say() {
    let van = packed();
    assert!(van.refused(&["replan", "cold-store.yaml"]).contains("nobody follows a plan of this job yet"));
    assert!(van.refused(&["replan", "cold-store.yaml", "--undo"]).contains("nobody follows a plan of this job yet"));
    assert!(van.refused(&["release", "cold-store.yaml"]).contains("nobody follows a plan of this job yet"));
    assert!(van.refused(&["closeout", "cold-store.yaml"]).contains("nothing was weighed"));
    assert!(van.refused(&["weigh", "cold-store.yaml", "--undo"]).contains("no reading to take back"));
    assert!(van.said(0, &["status", "cold-store.yaml"]).contains("0 readings"));
    assert!(!van.at("van-3.yaml.ledger").exists(), "looking makes no ledger");
}

/// 42 lb were planned into two cylinders, and all of them are in the first: the second has no way to go.
#[test]
fn where_nothing_is_left_no_cylinder_has_a_way_to_go() {
    let van = Folder::empty();
    let row = |id: &str| {
        format!(
            "  - {{ id: {id}, tare: 27.9, water_capacity: 47.6, gross: 27.9, holds: evacuated, mark: DOT-4BA400, tested: \
             2025-06 }}\n"
        )
    };
    van.write(
        "job.yaml",
        format!(
            "job: Roof\ndate: 2026-12-01\nunits: lb\nsystems: [{{ name: A, refrigerant: R-134a, nameplate: 42 }}]\n\
             cylinders:\n{}{}",
            row("C-1"),
            row("C-2")
        ),
    );
    let half = van.said(0, &["weigh", "job.yaml", "C-1", "48.9"]);
    assert!(half.contains("- C-2 has 21.0 lb to go, the last of R-134a."), "{half}");
    // 72.0 - 27.9 = 44.1 lb; over our fill, 27.9 + 41.2 = 69.1 lb.
    let all = van.said(1, &["weigh", "job.yaml", "C-1", "72"]);
    assert!(all.contains("- R-134a is all out by what was planned.") && !all.contains("to go"), "{all}");
}
