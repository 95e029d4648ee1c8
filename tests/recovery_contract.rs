//! The JSON of the commands at the scale, written a second time: exactly these keys, of exactly these kinds.
#![allow(dead_code)] // what is only there to be counted on

use serde::Deserialize;

use crate::contract::{Alarm, LeftOut, Reason, Remedy, Share};
use crate::folder::Folder;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Weigh {
    plan: Option<serde_json::Value>,
    format: String,
    unit: String,
    cylinder: String,
    lot: String,
    system: String,
    parts: Vec<Gained>,
    hose: Option<Hose>,
    gross: f64,
    net: f64,
    gained: f64,
    stop: f64,
    planned: bool,
    to_stop: f64,
    limit: Option<f64>,
    to_limit: Option<f64>,
    over_stop: bool,
    danger: bool,
    mixed: bool,
    next: Vec<Next>,
    recovered: f64,
    left: f64,
    nameplate_reached: bool,
    forced: Vec<String>,
    warnings: Vec<String>,
    dangers: Vec<String>,
    over_fill: Vec<String>,
    alarms: Vec<Alarm>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Next {
    cylinder: String,
    to_go: f64,
    from: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Gained {
    system: String,
    weight: f64,
    assumed: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Hose {
    at: f64,
    from: String,
    to: String,
    empty: bool,
    into: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Status {
    format: String,
    job: String,
    unit: String,
    readings: usize,
    last_reading: Option<String>,
    lots: Vec<LotSoFar>,
    cylinders: Vec<CylinderSoFar>,
    in_force: Option<InForce>,
    warnings: Vec<String>,
    dangers: Vec<String>,
    over_fill: Vec<String>,
    alarms: Vec<Alarm>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct InForce {
    bind: String,
    by: String,
    at: String,
    jobs: Vec<String>,
    same: bool,
    beside: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LotSoFar {
    lot: String,
    charge: f64,
    recovered: f64,
    left: f64,
    percent_of_nameplate: Option<f64>,
    nameplate_reached: bool,
    per_hour: Option<f64>,
    minutes_to_go: Option<i64>,
    systems: Vec<SystemSoFar>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SystemSoFar {
    system: String,
    charge: f64,
    recovered: f64,
    left: f64,
    dry: bool,
    more: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CylinderSoFar {
    cylinder: String,
    lot: String,
    start: f64,
    now: f64,
    gained: f64,
    ease_off: Option<f64>,
    stop: Option<f64>,
    limit: Option<f64>,
    danger: bool,
    over_fill: bool,
    mixed: bool,
    taken_out: bool,
    holds: String,
    marks: Vec<String>,
    pours: Vec<Pour>,
    hose: Option<Hose>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Pour {
    system: String,
    from: f64,
    to: f64,
    add: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Replan {
    format: String,
    job: String,
    unit: String,
    status: String,
    changed: Vec<String>,
    changes: Vec<Changed>,
    unchanged: Vec<String>,
    more: Vec<More>,
    failed: Vec<Failed>,
    loads: Vec<Load>,
    short: Vec<Short>,
    remedy: Option<Remedy>,
    left_out: Vec<LeftOut>,
    warnings: Vec<Reason>,
    about_files: Vec<String>,
    dangers: Vec<String>,
    over_fill: Vec<String>,
    alarms: Vec<Alarm>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Changed {
    cylinder: String,
    change: String,
    stop: Option<f64>,
    before: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct More {
    system: String,
    lot: String,
    next: Option<Takes>,
    takes: f64,
    places: Vec<Takes>,
    bring: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Takes {
    cylinder: String,
    takes: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Failed {
    cylinder: String,
    holds: String,
    net: f64,
    into: Option<Takes>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Load {
    order: usize,
    cylinder: String,
    lot: String,
    refrigerant: String,
    marks: Vec<String>,
    begun: bool,
    from: Vec<Share>,
    pours: Vec<Pour>,
    now: f64,
    add: f64,
    stop: f64,
    limit: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Short {
    lot: String,
    missing: f64,
    suggest: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Closeout {
    format: String,
    job: String,
    unit: String,
    recovered: f64,
    lots: Vec<LotClosed>,
    cylinders: Vec<Label>,
    files: Vec<String>,
    warnings: Vec<String>,
    dangers: Vec<String>,
    over_fill: Vec<String>,
    alarms: Vec<Alarm>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LotClosed {
    lot: String,
    refrigerant: String,
    charge: f64,
    recovered: f64,
    difference: f64,
    systems: Vec<SystemClosed>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SystemClosed {
    system: String,
    charge: f64,
    recovered: f64,
    difference: f64,
    reasons: Vec<String>,
    pressure_class: String,
    evacuate_to: String,
    evacuate_row: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Label {
    cylinder: String,
    refrigerant: String,
    condition: String,
    net: f64,
    gross: f64,
    tare: f64,
    date: String,
    un_number: Option<u16>,
    un_entry: Option<String>,
    kept_for: Option<String>,
    marks: Vec<String>,
    label: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Record {
    format: String,
    job: String,
    place: String,
    owner: Option<String>,
    certificate: Option<String>,
    company: Option<String>,
    recipient: Option<String>,
    transferred: Option<String>,
    first: String,
    closed: bool,
    rows: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    date: String,
    system: String,
    refrigerant: String,
    condition: String,
    amount: String,
    cylinder: String,
    fate: String,
    #[serde(default)]
    assumed: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Month {
    format: String,
    month: String,
    jobs: Vec<String>,
    totals: Vec<Total>,
    not_closed_out: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Total {
    refrigerant: String,
    fate: String,
    amount: String,
    cylinders: usize,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Undo {
    format: String,
    unit: String,
    reading: Option<TakenBack>,
    replan: bool,
    dangers: Vec<String>,
    over_fill: Vec<String>,
    alarms: Vec<Alarm>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TakenBack {
    cylinder: String,
    gross: f64,
    at: String,
}

#[test]
fn what_is_taken_back_is_said_as_data() {
    let folder = Folder::of_scenarios(&["part-way.yaml", "part-way.yaml.ledger"]);
    let undo: Undo = folder.data(&["weigh", "part-way.yaml", "--undo"]);
    let reading = undo.reading.unwrap();
    assert_eq!((undo.format.as_str(), undo.unit.as_str()), ("chargesplit-undo/1", "lb"));
    assert_eq!((reading.cylinder.as_str(), reading.gross, undo.replan), ("T-2", 36.4, false));
    let _: serde_json::Value = folder.data(&["replan", "part-way.yaml"]);
    let undo: Undo = folder.data(&["weigh", "part-way.yaml", "--undo"]);
    assert_eq!((undo.reading.unwrap().gross, undo.replan), (59.6, true), "the plan was made with it");
    let before: Status = folder.data(&["status", "part-way.yaml"]);
    let undo: Undo = folder.data(&["replan", "part-way.yaml", "--undo"]);
    assert_eq!((undo.reading.is_none(), undo.replan), (true, false));
    let after: Status = folder.data(&["status", "part-way.yaml"]);
    let stops = |status: &Status| status.cylinders.iter().map(|one| one.stop).collect::<Vec<_>>();
    assert_eq!((stops(&before), stops(&after)), (vec![Some(59.4), None], vec![Some(59.5), Some(59.5)]));
}

#[test]
fn the_commands_at_the_scale_show_these_keys() {
    let folder = Folder::of_scenarios(&["part-way.yaml", "part-way.yaml.ledger"]);
    let at = ["--at", "2026-12-01T09:30:00-05:00"];
    let weigh: Weigh = folder.data(&[&["weigh", "part-way.yaml", "T-2", "59.6"][..], &at].concat());
    assert_eq!((weigh.format.as_str(), weigh.unit.as_str()), ("chargesplit-weigh/1", "lb"));
    assert_eq!((weigh.gross, weigh.to_stop, weigh.over_stop, weigh.danger), (59.6, -0.1, true, false));
    assert_eq!((weigh.limit, weigh.to_limit, weigh.net, weigh.left), (Some(68.4), Some(8.8), 31.6, 0.0));
    assert!(weigh.dangers.is_empty() && weigh.over_fill.is_empty() && weigh.plan.is_none());
    let status: Status = folder.data(&["status", "part-way.yaml"]);
    assert_eq!((status.format.as_str(), status.readings), ("chargesplit-status/1", 4));
    assert_eq!((status.lots[0].recovered, status.lots[0].percent_of_nameplate), (63.2, Some(105.3)));
    let in_force = status.in_force.unwrap();
    let first = in_force.bind.clone();
    assert!(first.ends_with("/1"), "{first}");
    assert_eq!((in_force.by.as_str(), in_force.same), ("office", true));
    assert_eq!((in_force.jobs.as_slice(), in_force.beside.len()), (&["Bakery roof, unit 2".to_owned()][..], 0));
    // Another 8.0 lb: T-2 has 8.8 below its limit, so one cylinder takes it.
    let replan: Replan = folder.data(&["replan", "part-way.yaml", "--left", "8"]);
    assert_eq!((replan.format.as_str(), replan.status.as_str()), ("chargesplit-replan/1", "proved"));
    assert_eq!((replan.loads.len(), replan.loads[0].begun, replan.loads[0].add), (1, true, 8.0));
    let change = &replan.changes[0];
    assert_eq!((change.cylinder.as_str(), change.change.as_str(), change.stop), ("T-1", "again", Some(67.6)));
    assert_eq!((replan.changes.len(), replan.unchanged.len(), replan.more.len(), replan.failed.len()), (1, 0, 0, 0));
    let closeout: Closeout = folder.data(&["closeout", "part-way.yaml", "--write", "--certificate", "T-0815"]);
    assert_eq!((closeout.format.as_str(), closeout.recovered), ("chargesplit-closeout/1", 63.2));
    assert_eq!((closeout.lots[0].difference, closeout.cylinders[1].un_number), (0.2, Some(1018)));
    let record: Record = serde_json::from_str(&folder.read("part-way.record.json")).unwrap();
    assert_eq!((record.format.as_str(), record.rows.len()), ("chargesplit-record/1", 2));
    assert_eq!((record.first.as_str(), record.closed), (first.as_str(), true));
    assert_eq!((record.certificate.as_deref(), record.rows[0].amount.as_str()), (Some("T-0815"), "31.6 lb"));
    let month: Month = folder.data(&["closeout", "--month", "2026-12", "."]);
    assert_eq!((month.format.as_str(), month.totals[0].amount.as_str()), ("chargesplit-month/1", "63.2 lb"));
    assert_eq!((month.totals[0].cylinders, month.not_closed_out.len()), (2, 0));
}

/// R-22 has 1.06111 of water at 130 F (CoolProp 8.0.0), so that a 47.6 at 28.0 takes 40.4 lb.
const THREE: &str = "\
job: Bakery roof, unit 3
date: 2026-12-01
units: lb
systems:
  - { name: Unit 3, refrigerant: R-22, nameplate: 80 lb, allowance: 0 % }
cylinders:
  - { id: T-1, tare: 28.0, water_capacity: 47.6, gross: 28.0, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }
  - { id: T-2, tare: 28.0, water_capacity: 47.6, gross: 28.0, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }
  - { id: T-3, tare: 28.0, water_capacity: 47.6, gross: 28.0, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }
  - { id: T-4, tare: 28.0, water_capacity: 47.6, gross: 28.2, holds: nitrogen, mark: DOT-4BA400, tested: 2024-06 }
";

#[test]
fn what_is_left_to_spare_is_judged_for_all_cylinders_of_a_lot_together() {
    let folder = Folder::of(&[("job.yaml", THREE)]);
    let weigh = |cylinder: &str, gross: &str| -> Weigh { folder.data(&["weigh", "job.yaml", cylinder, gross]) };
    let thin = |more: &[&str]| -> Vec<String> {
        let replan: Replan = folder.data(&[&["replan", "job.yaml"], more].concat());
        let warnings = replan.warnings.into_iter().filter(|warning| warning.code == "thin-spare");
        warnings.map(|warning| warning.text).collect()
    };
    let said = "R-22: only 0.8 lb to spare for 80.0 lb, and systems often hold more than is written; bring one more: T-3, which \
                takes 40.4 lb more";
    // 20.0 of 80.0 lb are in T-1, which takes 20.4 more and is full then; T-2 takes 39.6 of its 40.4.
    let first = weigh("T-1", "48.0");
    let plan = first.plan.expect("the first reading binds, and shows what");
    assert_eq!((&plan["format"], plan["loads"].as_array().unwrap().len()), (&"chargesplit-plan/1".into(), 2));
    assert_eq!(thin(&[]), [said]);
    // 22.0 lb are in both, which take 58.0 of the 58.8 that they have room for.
    weigh("T-2", "30.0");
    assert_eq!(thin(&[]), [said]);
    // It held 79.0 lb: 1.8 lb are more than 2 % of that, 1.58 lb.
    assert_eq!(thin(&["--left", "57 lb"]), Vec::<String>::new());
}

#[test]
fn at_the_scale_what_is_missing_is_added_and_no_cylinder_has_to_change_its_state() {
    let folder = Folder::of(&[("job.yaml", THREE)]);
    let _: Weigh = folder.data(&["weigh", "job.yaml", "T-1", "48.0"]);
    // 20.4 + 40.4 + 40.4 = 101.2 lb of room for 110.0 lb; a nominal 30, 0.8 x 1.06111 x 26 = 22.0 lb, does it.
    let replan: Replan = folder.data(&["replan", "job.yaml", "--left", "110 lb"]);
    let remedy = replan.remedy.expect("it is short");
    assert_eq!((replan.status.as_str(), replan.short[0].missing), ("short", 8.8));
    assert!(remedy.evacuate.is_empty(), "the ledger knows T-4 with its nitrogen");
    assert_eq!((remedy.missing[0].lot.as_str(), remedy.missing[0].missing), ("R-22", 8.8));
    assert!(remedy.add.len() == 1 && remedy.add[0].count == 1 && remedy.add[0].kind.starts_with("nominal 30 lb ("));
}

/// R-22 in a 47.6: 40.4 lb. Three hold 121.2 lb for 110.0 lb, so that two finished ones and 29.2 lb in T-3 are all of it.
#[test]
fn what_was_found_of_systems_and_what_is_in_a_bad_cylinder_is_said_and_kept() {
    let job = THREE.replace("nameplate: 80 lb", "nameplate: 60 lb");
    let more = "  - { name: Unit 4, refrigerant: R-22, nameplate: 15 lb, allowance: 0 % }\n";
    let job = job.replace("cylinders:\n", &format!("{more}cylinders:\n"));
    let folder = Folder::of(&[("job.yaml", &job)]);
    // Two hold 80.8 lb for 75.0 lb: 37.5 lb each, at 65.5.
    let _: Weigh = folder.data(&["weigh", "job.yaml", "T-1", "65.5"]);
    let empty: Replan = folder.data(&["replan", "job.yaml", "--dry", "unit 4"]);
    assert_eq!((empty.loads.len(), empty.loads[0].stop, empty.status.as_str()), (1, 50.5, "proved"));
    assert_eq!(empty.changed[0], "Unit 4: empty, so that it held 0.0 lb; the job file makes it 15.0 lb");
    let status: Status = folder.data(&["status", "job.yaml"]);
    assert!(status.lots[0].systems[1].dry && !status.lots[0].systems[0].dry);
    assert_eq!((status.lots[0].systems[1].left, status.lots[0].left), (0.0, 22.5));
    let _: Weigh = folder.data(&["weigh", "job.yaml", "T-2", "50.5"]);
    // T-3 takes 40.4, T-2 the 68.4 - 50.5 = 17.9 and T-1 the 2.9 that are free in them.
    let more: Replan = folder.data(&["replan", "job.yaml", "--more", "Unit 3"]);
    let next = more.more[0].next.as_ref().unwrap();
    assert_eq!((next.cylinder.as_str(), next.takes, more.more[0].takes), ("T-3", 40.4, 61.2));
    assert_eq!((more.loads.len(), more.loads[0].stop), (1, 68.4));
    let text = folder.done(&["status", "job.yaml"]);
    assert!(text.contains("Unit 3 had pressure at its last stop") && text.contains("Unit 4 was found empty"), "{text}");
    // 37.5 lb are in it, which T-3 takes no more: that is to be filled. In T-2 there is room for 17.9 of them.
    let out = folder.said(0, &["replan", "job.yaml", "--without", "T-1", "--why", "leaks"]);
    let out = crate::folder::flat(&out);
    assert!(out.contains("T-1 is out with 37.5 lb of R-22 in it, counted as recovered."), "{out}");
    assert!(out.contains("into T-2 as far as it goes, 17.9 lb; then read both, T-1 with `--moved` first."), "{out}");
    let status: Status = folder.data(&["status", "job.yaml"]);
    assert_eq!(status.lots[0].recovered, 60.0, "what is in a bad cylinder has come out all the same");
    // Nothing is known to be left once it is told so.
    let _: Replan = folder.data(&["replan", "job.yaml", "--left", "Unit 3=0"]);
    let status: Status = folder.data(&["status", "job.yaml"]);
    assert_eq!((status.lots[0].systems[0].more, status.lots[0].left), (false, 0.0));
    assert!(
        folder
            .refused(&["replan", "job.yaml", "--dry", "Unit 3", "--more", "unit 3"])
            .contains("--more: something was said")
    );
}

/// With every cylinder full to its limit there is no next one, and the answer is no.
#[test]
fn where_nothing_takes_more_that_is_the_answer() {
    let folder = Folder::of(&[("job.yaml", &THREE.replace("nameplate: 80 lb", "nameplate: 121.2 lb"))]);
    for cylinder in ["T-1", "T-2", "T-3"] {
        let _: Weigh = folder.data(&["weigh", "job.yaml", cylinder, "68.4"]);
    }
    let said = crate::folder::flat(&folder.said(1, &["replan", "job.yaml", "--more", "Unit 3"]));
    assert!(said.contains("NOT ENOUGH. Unit 3: still pressure, and nothing on this van takes more of R-22"), "{said}");
    assert!(said.contains("bring a nominal "), "{said}");
}
