//! One yard, one truth: what used to go wrong where several jobs, vans and close-outs share a yard, each as it must not be.

use std::fs;
use std::path::PathBuf;
use std::process::Stdio;

use serde_json::Value;

use crate::folder::{Folder, flat};

/// An evacuated nominal 50 of this id: R-22 and R-134a both fit.
fn row(id: &str) -> String {
    format!(
        "  - {{ id: {id}, tare: 28.0, water_capacity: 47.6, gross: 28.0, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }}\n"
    )
}

fn yard(ids: &[&str]) -> String {
    format!("units: lb\ncylinders:\n{}", ids.iter().map(|id| row(id)).collect::<String>())
}

fn job(name: &str, refrigerant: &str, nameplate: &str) -> String {
    format!(
        "job: {name}\ndate: 2026-12-01\nunits: lb\nyard: yard.yaml\nsystems:\n  - {{ name: Unit, refrigerant: {refrigerant}, \
         nameplate: {nameplate}, allowance: 0 % }}\n"
    )
}

/// Two jobs on a yard of these cylinders: 30 lb each, of R-134a the first and of R-22 the second.
fn two_jobs(ids: &[&str]) -> Folder {
    Folder::of(&[
        ("yard.yaml", &yard(ids)),
        ("annex.yaml", &job("Annex", "R-134a", "30 lb")),
        ("bakery.yaml", &job("Bakery", "R-22", "30 lb")),
    ])
}

fn loads(plan: &Value) -> Vec<String> {
    plan["loads"].as_array().unwrap().iter().map(|load| load["cylinder"].as_str().unwrap().to_owned()).collect()
}

/// The codes for which a plan leaves a cylinder out.
fn left_out(plan: &Value, id: &str) -> Vec<String> {
    let all = plan["left_out"].as_array().unwrap();
    let one = all.iter().find(|left| left["cylinder"] == id).unwrap_or_else(|| panic!("{id} isn't left out: {plan}"));
    one["reasons"].as_array().unwrap().iter().map(|reason| reason["code"].as_str().unwrap().to_owned()).collect()
}

fn holds(folder: &Folder, id: &str) -> String {
    folder.json(&["cylinder", "yard.yaml", id])["now"]["holds"].as_str().unwrap().to_owned()
}

#[test]
fn two_jobs_of_a_morning_never_send_two_refrigerants_into_one_cylinder() {
    let folder = two_jobs(&["A-1", "A-2"]);
    let first = folder.json(&["begin", "annex.yaml"]);
    let taken = loads(&first);
    assert_eq!(taken.len(), 1);
    let second = folder.json(&["plan", "bakery.yaml"]);
    assert!(!loads(&second).contains(&taken[0]), "{second}");
    assert_eq!(left_out(&second, &taken[0]), ["bound-elsewhere"]);
    // Before and after something has gone in it is refused at the scale, and said why.
    for _ in 0..2 {
        let said = folder.refused(&["weigh", "bakery.yaml", &taken[0], "40"]);
        assert!(said.contains("[unfit]") && said.contains("bound for Annex"), "{said}");
        folder.done(&["weigh", "annex.yaml", &taken[0], "38"]);
    }
    let over = folder.refused(&["weigh", "bakery.yaml", &taken[0], "48", "--take-over"]);
    assert!(over.contains("is begun by another job with something else in it"), "{over}");
    assert_eq!(holds(&folder, &taken[0]), "R-134a");
    // With both on the yard there is room for both; with one cylinder the second job is told that there isn't.
    let small = two_jobs(&["A-1"]);
    small.done(&["begin", "annex.yaml"]);
    let short = small.run(["plan", "bakery.yaml"]).is(1).out;
    assert!(short.contains("NOT ENOUGH") && flat(&short).contains("A-1: it is bound for Annex"), "{short}");
}

#[test]
fn what_the_truck_was_packed_for_is_what_the_scale_goes_by() {
    let folder = two_jobs(&["A-1", "A-2", "A-3"]);
    let packed = folder.json(&["pack", "annex.yaml", "bakery.yaml", "-o", "pack.html"]);
    for (stop, job) in packed["stops"].as_array().unwrap().iter().zip(["annex.yaml", "bakery.yaml"]) {
        let fill = &stop["fills"][0];
        let (id, at) = (fill["cylinder"].as_str().unwrap(), fill["stop"].as_f64().unwrap());
        let answer = folder.json(&["weigh", job, id, &format!("{at:.1}")]);
        assert_eq!(
            (&answer["stop"], &answer["to_stop"], &answer["plan"]),
            (&at.into(), &0.0.into(), &Value::Null),
            "{answer}"
        );
        assert_eq!((&answer["planned"], &answer["left"]), (&true.into(), &0.0.into()));
    }
}

#[test]
fn the_plan_on_the_sheet_is_the_plan_at_the_scale() {
    let folder = two_jobs(&["A-1", "A-2"]);
    folder.done(&["sheet", "annex.yaml", "--without", "A-1", "-o", "plan.html"]);
    let page = folder.read("plan.html");
    assert!(page.contains("data-cylinder=\"A-2\"") && !page.contains("data-cylinder=\"A-1\""));
    let status = folder.json(&["status", "annex.yaml"]);
    let stops = status["cylinders"].as_array().unwrap().iter().filter(|one| !one["stop"].is_null());
    assert_eq!(stops.map(|one| one["cylinder"].as_str().unwrap()).collect::<Vec<_>>(), ["A-2"]);
    folder.refused(&["weigh", "annex.yaml", "A-1", "40", "--system", "Nobody"]);
    let answer = folder.json(&["weigh", "annex.yaml", "A-2", "40"]);
    assert_eq!((&answer["planned"], &answer["stop"]), (&true.into(), &58.0.into()));
    // What is left is planned without it, too.
    assert_eq!(loads(&folder.json(&["replan", "annex.yaml", "--left", "10"])), ["A-2"]);
}

/// A second copy of everything, as a van has it that is out of reach, on a machine of its own.
fn copied(folder: &Folder, files: &[&str]) -> Folder {
    let copy = Folder::empty();
    for name in files {
        copy.write(name, folder.bytes(name));
    }
    if folder.at("yard.yaml.ledger").exists() {
        fs::create_dir(copy.at("yard.yaml.ledger")).unwrap();
        for entry in fs::read_dir(folder.at("yard.yaml.ledger")).unwrap() {
            let entry = entry.unwrap();
            fs::copy(entry.path(), copy.at("yard.yaml.ledger").join(entry.file_name())).unwrap();
        }
    }
    copy
}

const BOTH: [&str; 3] = ["yard.yaml", "annex.yaml", "bakery.yaml"];

fn join(here: &Folder, there: &Folder) {
    let other = there.at("yard.yaml.ledger");
    here.run(["yard", "yard.yaml", "--join", other.to_str().unwrap()]).is(0);
}

#[test]
fn two_vans_never_get_the_same_cylinder() {
    let folder = two_jobs(&["A-1", "A-2"]);
    let van = |name: &str, job: &str| {
        loads_of_pack(&folder.json(&["pack", job, "-o", &format!("{name}.html"), "--as", name]))
    };
    let (seven, three) = (van("van-7", "annex.yaml"), van("van-3", "bakery.yaml"));
    assert!(seven.len() == 1 && three.len() == 1 && seven != three, "{seven:?} {three:?}");
    // Out of reach of each other they may; as soon as they meet nobody fills it until one of them plans again.
    let office = two_jobs(&["A-1", "A-2"]);
    let away = copied(&office, &BOTH);
    away.set("CHARGESPLIT_AS", "van-3");
    office.done(&["begin", "annex.yaml", "--keep", "A-1"]);
    away.done(&["begin", "bakery.yaml", "--keep", "A-1"]);
    join(&office, &away);
    let doubt = office.json(&["cylinder", "yard.yaml", "A-1"])["now"]["doubt"].clone();
    assert!(doubt.as_str().is_some_and(|doubt| doubt.contains("both plan with it")), "{doubt}");
    for job in ["annex.yaml", "bakery.yaml"] {
        assert!(office.refused(&["weigh", job, "A-1", "40"]).contains("[unfit]"), "{job}");
    }
    office.done(&["replan", "bakery.yaml"]);
    assert!(office.json(&["cylinder", "yard.yaml", "A-1"])["now"]["doubt"].is_null());
    assert!(office.json(&["weigh", "annex.yaml", "A-1", "40"])["planned"].as_bool().unwrap());
    assert_eq!(office.json(&["weigh", "bakery.yaml", "A-2", "40"])["planned"], true);
}

fn loads_of_pack(pack: &Value) -> Vec<String> {
    let fills = pack["stops"].as_array().unwrap().iter().flat_map(|stop| stop["fills"].as_array().unwrap());
    fills.map(|fill| fill["cylinder"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn what_was_taken_out_as_bad_is_filled_by_nobody() {
    let folder = two_jobs(&["A-1", "A-2", "A-3"]);
    folder.done(&["begin", "annex.yaml", "--keep", "A-1"]);
    folder.done(&["weigh", "annex.yaml", "A-1", "38"]);
    folder.done(&["replan", "annex.yaml", "--without", "A-1", "--why", "valve leaks"]);
    // Not by the job that has begun it, not by another, not by a plan of either.
    for job in ["annex.yaml", "bakery.yaml"] {
        let before = folder.ledger("yard.yaml");
        let said = folder.refused(&["weigh", job, "A-1", "45"]);
        assert!(said.contains("[unfit]") || said.contains("[out]"), "{job}: {said}");
        assert!(said.contains("valve leaks"), "{job}: {said}");
        assert_eq!(
            folder.entries("yard.yaml") - before.lines().filter(|line| line.starts_with("{\"id\"")).count(),
            2 * usize::from(job == "bakery.yaml"),
            "a plan that was bound for this reading alone, and its end"
        );
    }
    assert!(!loads(&folder.json(&["replan", "annex.yaml", "--left", "25"])).contains(&"A-1".to_owned()));
    let other = folder.json(&["plan", "bakery.yaml"]);
    assert!(!loads(&other).contains(&"A-1".to_owned()), "{other}");
    // A settled yard says it to whoever reads the file alone.
    folder.run(["yard", "yard.yaml", "--settle"]);
    assert!(folder.read("yard.yaml").contains("damage: valve leaks"), "{}", folder.read("yard.yaml"));
    folder.done(&["cylinder", "yard.yaml", "A-1", "--back", "valve changed"]);
    assert_eq!(folder.json(&["weigh", "annex.yaml", "A-1", "45"])["gained"], 17.0);
}

#[test]
fn no_stop_is_shown_for_what_isnt_inside_or_over_todays_limit() {
    let folder = two_jobs(&["A-1", "A-2"]);
    let two =
        job("Annex", "R-134a", "30 lb") + "  - { name: Old, refrigerant: R-22, nameplate: 20 lb, allowance: 0 % }\n";
    folder.write("annex.yaml", two);
    let plan = folder.json(&["begin", "annex.yaml"]);
    let of = |lot: &str| {
        let load = plan["loads"].as_array().unwrap().iter().find(|load| load["lot"] == lot).unwrap();
        load["cylinder"].as_str().unwrap().to_owned()
    };
    let first = of("R-134a");
    folder.run(["weigh", "annex.yaml", &first, "36", "--system", "Old", "--force"]);
    let stop = |id: &str| {
        let status = folder.json(&["status", "annex.yaml"]);
        let cylinders = status["cylinders"].as_array().unwrap().clone();
        cylinders.into_iter().find(|one| one["cylinder"] == id).unwrap()
    };
    let filled = stop(&first);
    assert_eq!((&filled["holds"], &filled["stop"]), (&"R-22".into(), &Value::Null), "{filled}");
    // A lift limit that was written in after the plan was made: the smaller one counts.
    let other = two_jobs(&["A-1"]);
    other.done(&["begin", "annex.yaml"]);
    let yard = other.read("yard.yaml").replace("tested", "max_gross: 50.0, tested");
    other.write("yard.yaml", yard);
    let status = other.json(&["status", "annex.yaml"]);
    let one = &status["cylinders"][0];
    assert!(one["stop"].is_null() || one["stop"].as_f64() <= Some(50.0), "{one}");
    assert!(
        status["warnings"].as_array().unwrap().iter().any(|warning| warning.as_str().unwrap().contains("A-1")),
        "{status}"
    );
}

#[test]
fn an_edit_during_the_day_moves_no_limit_up_and_renames_nothing() {
    let folder = two_jobs(&["A-1", "A-2"]);
    folder.done(&["begin", "annex.yaml", "--keep", "A-1"]);
    let before = folder.json(&["weigh", "annex.yaml", "A-1", "40"])["limit"].as_f64().unwrap();
    let yard = folder.read("yard.yaml");
    for (water, at_most) in [("60.0", before), ("40.0", before - 1.0)] {
        folder.write("yard.yaml", yard.replacen("47.6", water, 1));
        let status = folder.json(&["status", "annex.yaml"]);
        let one = status["cylinders"].as_array().unwrap().iter().find(|one| one["cylinder"] == "A-1").unwrap().clone();
        assert!(one["limit"].as_f64().unwrap() <= at_most, "{water}: {one}");
        let warned =
            status["warnings"].as_array().unwrap().iter().any(|warning| warning.as_str().unwrap().starts_with("A-1:"));
        assert!(warned, "{status}");
    }
    folder.write("yard.yaml", yard);
    // Another refrigerant under the same `job:` is another job, and is said to be.
    folder.write("annex.yaml", job("Annex", "R-22", "30 lb"));
    for arguments in [&["status", "annex.yaml"][..], &["weigh", "annex.yaml", "A-1", "45"], &["replan", "annex.yaml"]] {
        let said = folder.refused(arguments);
        assert!(said.contains("same-name") && said.contains("refrigerants"), "{arguments:?}: {said}");
    }
    assert_eq!(holds(&folder, "A-1"), "R-134a");
}

/// The one file of the ledger, as its bytes.
fn ledger_file(folder: &Folder) -> PathBuf {
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder.at("yard.yaml.ledger")).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|kind| kind == "jsonl"));
    assert_eq!(files.len(), 1, "{files:?}");
    files.remove(0)
}

#[test]
fn an_answered_reading_counts_when_an_editor_strips_the_last_newline() {
    let folder = two_jobs(&["A-1"]);
    let danger = folder.run(["weigh", "bakery.yaml", "A-1", "80"]).is(1);
    assert!(danger.out.contains("!! DANGER: A-1"), "{}", danger.out);
    let file = ledger_file(&folder);
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.trim_end()).unwrap();
    let status = folder.run(["status", "bakery.yaml"]).is(1);
    assert!(status.out.starts_with("!! DANGER: A-1") && status.out.contains("1 reading"), "{}", status.out);
    // And the next one stands on a line of its own behind it.
    folder.run(["weigh", "bakery.yaml", "A-1", "60", "--moved"]).is(0);
    assert_eq!(folder.json(&["status", "bakery.yaml"])["readings"], 2);
    assert!(fs::read_to_string(&file).unwrap().starts_with(&text));
}

#[test]
fn readings_deleted_at_the_end_dont_pass_unseen() {
    let folder = two_jobs(&["A-1", "A-2"]);
    folder.done(&["weigh", "annex.yaml", "A-1", "38"]);
    folder.done(&["weigh", "annex.yaml", "A-1", "45"]);
    let file = ledger_file(&folder);
    let text = fs::read_to_string(&file).unwrap();
    let shorter: String = text.lines().take(text.lines().count() - 1).map(|line| format!("{line}\n")).collect();
    fs::write(&file, &shorter).unwrap();
    // On this machine the last line is remembered: nothing is lost, and it is said.
    let status = folder.json(&["status", "annex.yaml"]);
    assert_eq!(status["readings"], 2, "{status}");
    for arguments in [&["status", "annex.yaml"][..], &["yard", "yard.yaml"], &["plan", "bakery.yaml"]] {
        let json = folder.json(arguments);
        assert!(json["of_ledger"].as_array().is_some_and(|lines| !lines.is_empty()), "{arguments:?}: {json}");
    }
    // Two lines are more than is remembered: what they spoke of is in doubt, and nothing else is.
    let shorter: String = text.lines().take(text.lines().count() - 2).map(|line| format!("{line}\n")).collect();
    fs::write(&file, &shorter).unwrap();
    let now = |id: &str| folder.json(&["cylinder", "yard.yaml", id])["now"]["doubt"].clone();
    assert!(now("A-1").is_string() && now("A-2").is_null(), "{} {}", now("A-1"), now("A-2"));
    assert!(!loads(&folder.json(&["plan", "bakery.yaml"])).contains(&"A-1".to_owned()));
}

#[test]
fn a_job_file_that_was_moved_goes_on_with_its_job() {
    let folder = two_jobs(&["A-1", "A-2"]);
    folder.done(&["weigh", "annex.yaml", "A-1", "38"]);
    fs::create_dir(folder.at("week-49")).unwrap();
    let moved = folder.read("annex.yaml").replace("yard: yard.yaml", "yard: ../yard.yaml");
    folder.write("week-49/tuesday.yaml", moved);
    fs::remove_file(folder.at("annex.yaml")).unwrap();
    let answer = folder.json(&["weigh", "week-49/tuesday.yaml", "A-1", "45"]);
    assert_eq!((&answer["gained"], &answer["recovered"], &answer["plan"]), (&17.0.into(), &17.0.into(), &Value::Null));
    // A yard that was renamed or copied without its ledger is told, not begun again.
    fs::copy(folder.at("yard.yaml"), folder.at("copy.yaml")).unwrap();
    assert!(folder.done(&["yard", "copy.yaml"]).contains("copied-yard"));
    assert!(folder.refused(&["cylinder", "copy.yaml", "A-1", "--emptied"]).contains("copied-yard"));
    folder.write("copied.yaml", folder.read("week-49/tuesday.yaml").replace("../yard.yaml", "copy.yaml"));
    assert!(flat(&folder.refused(&["plan", "copied.yaml"])).contains("rename the folder as well"));
}

#[test]
fn a_log_of_an_earlier_version_is_refused_with_what_to_weigh_again() {
    let folder = two_jobs(&["A-1", "A-2"]);
    folder.write("annex.log.jsonl", "{\"no\":2,\"reading\":{\"cylinder\":\"A-1\",\"gross\":\"38 lb\"}}\n");
    for arguments in [&["weigh", "annex.yaml", "A-1", "40"][..], &["status", "annex.yaml"], &["plan", "annex.yaml"]] {
        let said = folder.refused(arguments);
        assert!(said.contains("Weigh again what it speaks of (A-1)"), "{arguments:?}: {said}");
    }
}

#[test]
fn two_close_outs_at_once_lose_no_cylinder() {
    for _ in 0..if cfg!(debug_assertions) { 4 } else { 150 } {
        let folder = two_jobs(&["A-1", "A-2"]);
        folder.done(&["begin", "annex.yaml", "--keep", "A-1"]);
        folder.done(&["weigh", "annex.yaml", "A-1", "58"]);
        folder.done(&["weigh", "bakery.yaml", "A-2", "58"]);
        let both = ["annex.yaml", "bakery.yaml"].map(|job| {
            folder.command(["closeout", job, "--write"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
        });
        for one in both {
            let output = one.wait_with_output().unwrap();
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        }
        let yard = folder.read("yard.yaml");
        for row in [
            "id: A-1, tare: 28.0, water_capacity: 47.6, gross: 58.0 lb, holds: R-134a",
            "id: A-2, tare: 28.0, water_capacity: 47.6, gross: 58.0 lb, holds: R-22",
        ] {
            assert!(yard.contains(row), "{row}: {yard}");
        }
        assert!(folder.at("annex.record.json").exists() && folder.at("bakery.record.json").exists());
    }
}

/// Annex is over: 30 lb in A-1, closed out with a certificate.
fn closed() -> Folder {
    let folder = two_jobs(&["A-1", "A-2"]);
    folder.done(&["begin", "annex.yaml", "--keep", "A-1"]);
    folder.done(&["weigh", "annex.yaml", "A-1", "58"]);
    folder.done(&["closeout", "annex.yaml", "--write", "--certificate", "T-0815"]);
    folder
}

#[test]
fn a_second_close_out_sets_nothing_back_and_drops_nothing() {
    let folder = closed();
    let row = |holds: &str, gross: &str| format!("gross: {gross}, holds: {holds}");
    assert!(folder.read("yard.yaml").contains(&row("R-134a", "58.0 lb")));
    folder.done(&["cylinder", "yard.yaml", "A-1", "--emptied"]);
    folder.done(&["yard", "yard.yaml", "--settle"]);
    let emptied = folder.read("yard.yaml");
    assert!(
        emptied.contains("id: A-1, tare: 28.0, water_capacity: 47.6, gross: 28.0 lb, holds: evacuated"),
        "{emptied}"
    );
    let again = folder.done(&["closeout", "annex.yaml", "--write"]);
    assert!(again.contains("30.0 lb recovered in all"), "{again}");
    assert_eq!(folder.read("yard.yaml"), emptied);
    let record: Value = serde_json::from_str(&folder.read("annex.record.json")).unwrap();
    assert_eq!((&record["certificate"], record["rows"].as_array().unwrap().len()), (&"T-0815".into(), 1), "{record}");
    // Emptied by hand in the file: what the ledger thinks doesn't go over it.
    let hand = closed();
    let written = hand.read("yard.yaml").replace("58.0 lb, holds: R-134a", "28.0, holds: evacuated");
    hand.write("yard.yaml", &written);
    let said = hand.done(&["closeout", "annex.yaml", "--write"]);
    assert!(flat(&said).contains("A-1: its row stays as it is"), "{said}");
    assert_eq!(hand.read("yard.yaml"), written);
    let plan = hand.json(&["plan", "bakery.yaml"]);
    assert_eq!(loads(&plan), ["A-2"], "until that is cleared up it counts as full of R-134a");
    assert!(
        plan["of_ledger"][0].as_str().is_some_and(|said| said.starts_with("A-1: its row stands as it did")),
        "{plan}"
    );
    hand.done(&["cylinder", "yard.yaml", "A-1", "--as-file"]);
    assert_eq!(holds(&hand, "A-1"), "evacuated");
}

#[test]
fn a_close_out_that_isnt_done_doesnt_count_as_done() {
    let folder = two_jobs(&["A-1", "A-2"]);
    folder.set("CHARGESPLIT_NOW", "2026-12-01T09:00:00+00:00");
    folder.done(&["weigh", "annex.yaml", "A-1", "58"]);
    let month = || folder.json(&["closeout", "--month", "2026-12", "."]);
    // Looked at only; ended half-way; done.
    folder.done(&["closeout", "annex.yaml"]);
    assert_eq!(month()["not_closed_out"], serde_json::json!(["Annex"]), "{}", month());
    fs::remove_file(folder.at("annex.record.csv")).unwrap();
    fs::create_dir(folder.at("annex.record.csv")).unwrap();
    let yard = folder.read("yard.yaml");
    folder.refused(&["closeout", "annex.yaml", "--write"]);
    assert_eq!((folder.read("yard.yaml"), &month()["not_closed_out"]), (yard, &serde_json::json!(["Annex"])));
    fs::remove_dir(folder.at("annex.record.csv")).unwrap();
    folder.done(&["closeout", "annex.yaml", "--write"]);
    assert_eq!(month()["not_closed_out"], serde_json::json!([]), "{}", month());
    assert_eq!(month()["totals"][0]["amount"], "30 lb");
    // A copy of the record is the same job.
    fs::copy(folder.at("annex.record.json"), folder.at("annex (2).record.json")).unwrap();
    assert_eq!(month()["totals"][0]["amount"], "30 lb", "{}", month());
    assert_eq!(month()["jobs"], serde_json::json!(["Annex"]));
}

#[test]
fn an_import_that_stopped_in_the_middle_goes_on() {
    let folder = two_jobs(&["A-1", "A-2"]);
    folder.done(&["begin", "annex.yaml", "--keep", "A-1"]);
    let line = |gross: &str, minute: u32| {
        format!("{{\"cylinder\":\"A-1\",\"gross\":\"{gross} lb\",\"at\":\"2026-12-01T08:{minute:02}:00-05:00\"}}\n")
    };
    folder.write("readings.txt", line("35", 10) + &line("20", 20) + &line("45", 30));
    let import = ["weigh", "annex.yaml", "--import", "readings.txt"];
    let stopped = folder.run(import).is(2);
    assert!(stopped.err.contains("reading 2, A-1"), "{}", stopped.err);
    let readings = || folder.json(&["status", "annex.yaml"])["readings"].clone();
    assert_eq!(readings(), 1);
    // Put right, the rest comes, and the first isn't taken twice.
    folder.write("readings.txt", line("35", 10) + &line("40", 20) + &line("45", 30));
    assert!(folder.run(import).is(0).err.contains("kept already"));
    assert_eq!(readings(), 3);
    folder.run(import).is(0);
    assert_eq!(readings(), 3);
}

#[cfg(unix)]
#[test]
fn nobody_who_only_looks_waits_for_a_lock_and_no_writer_for_ever() {
    let folder = two_jobs(&["A-1", "A-2"]);
    let state = folder.at("state");
    folder.set("CHARGESPLIT_STATE", state.to_str().unwrap());
    folder.done(&["weigh", "annex.yaml", "A-1", "38"]);
    let (mut locks, mut folders) = (Vec::new(), vec![state]);
    while let Some(inner) = folders.pop() {
        for entry in fs::read_dir(inner).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => folders.push(path),
                false if path.file_name().is_some_and(|name| name.to_string_lossy().contains("lock")) => {
                    locks.push(path)
                }
                false => {}
            }
        }
    }
    assert!(!locks.is_empty(), "there is a lock");
    let held: Vec<fs::File> = locks.iter().map(|lock| fs::File::options().write(true).open(lock).unwrap()).collect();
    held.iter().for_each(|lock| lock.lock().unwrap());
    for arguments in
        [&["status", "annex.yaml"][..], &["plan", "bakery.yaml"], &["yard", "yard.yaml"], &["closeout", "annex.yaml"]]
    {
        folder.run(arguments).is(0);
    }
    let said = folder.refused(&["weigh", "annex.yaml", "A-1", "45"]);
    assert!(said.contains("is writing here") && said.contains("nothing was written"), "{said}");
    drop(held);
    folder.done(&["weigh", "annex.yaml", "A-1", "45"]);
}
