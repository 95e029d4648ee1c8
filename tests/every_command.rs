//! Every command with a yard in which a cylinder is bound elsewhere, one is in doubt, one in danger, one out, and of one the
//! row was changed by hand: none of them gets anything, by no command, and each command that speaks of them says why.

use std::collections::BTreeSet;
use std::fs;

use serde_json::Value;

use crate::folder::{Folder, flat, run};

/// What stands against each, by the code for which a plan leaves it out; they weigh less than the three that are free, so
/// that any plan that could would take them.
const AGAINST: [(&str, &str); 5] =
    [("BOUND", "bound-elsewhere"), ("DOUBT", "in-doubt"), ("HEAVY", "full"), ("OUT", "out"), ("ROW", "row-changed")];

fn row(id: &str, tare: &str) -> String {
    format!(
        "  - {{ id: {id}, tare: {tare}, water_capacity: 47.6, gross: {tare}, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }}\n"
    )
}

fn job(name: &str, nameplate: &str) -> String {
    format!(
        "job: {name}\ndate: 2026-12-01\nunits: lb\nyard: yard.yaml\nsystems:\n  - {{ name: Unit, refrigerant: R-22, nameplate: \
         {nameplate}, allowance: 0 % }}\n"
    )
}

/// The yard, and what has happened on it.
fn troubled() -> Folder {
    let rows: String = AGAINST.iter().map(|(id, _)| row(id, "26.0")).collect();
    let free: String = ["F-1", "F-2", "F-3"].iter().map(|id| row(id, "28.0")).collect();
    let folder = Folder::of(&[
        ("yard.yaml", &format!("units: lb\ncylinders:\n{rows}{free}")),
        ("other.yaml", &job("Other", "20 lb")),
        ("ours.yaml", &job("Ours", "60 lb")),
    ]);
    // Two that didn't know of each other have weighed it.
    let away = Folder::of(&[("yard.yaml", &folder.read("yard.yaml"))]);
    away.set("CHARGESPLIT_AS", "van-3");
    away.done(&["cylinder", "yard.yaml", "DOUBT", "--weighed", "30", "--holds", "R-134a"]);
    folder.done(&["cylinder", "yard.yaml", "DOUBT", "--weighed", "26", "--holds", "evacuated"]);
    folder.done(&["yard", "yard.yaml", "--join", away.at("yard.yaml.ledger").to_str().unwrap()]);
    folder.done(&["cylinder", "yard.yaml", "OUT", "--out", "valve leaks"]);
    folder.done(&["cylinder", "yard.yaml", "ROW", "--weighed", "26", "--holds", "evacuated"]);
    let yard = folder.read("yard.yaml");
    let changed = row("ROW", "26.0").replace("gross: 26.0, holds: evacuated", "gross: 40.0, holds: R-22");
    folder.write("yard.yaml", yard.replace(&row("ROW", "26.0"), &changed));
    folder.done(&["begin", "other.yaml", "--keep", "BOUND"]);
    // 26.0 + 1.05 x 47.6 = 75.98 lb (49 CFR 173.304a(a)(2), R-22).
    folder.run(["cylinder", "yard.yaml", "HEAVY", "--weighed", "80", "--holds", "R-22"]).is(1);
    folder
}

fn ids(list: &Value) -> Vec<&str> {
    list.as_array().unwrap().iter().map(|one| one["cylinder"].as_str().unwrap()).collect()
}

/// Only the free ones are filled, and each of the others is left out for its reason.
fn is_safe(what: &str, loads: &[&str], left_out: &Value) {
    assert!(!loads.is_empty() && loads.iter().all(|id| id.starts_with("F-")), "{what}: {loads:?}");
    for (id, code) in AGAINST {
        let left = left_out.as_array().unwrap().iter().find(|left| left["cylinder"] == id);
        let left = left.unwrap_or_else(|| panic!("{what}: {id} isn't left out: {left_out}"));
        let codes: Vec<&str> =
            left["reasons"].as_array().unwrap().iter().map(|one| one["code"].as_str().unwrap()).collect();
        assert!(codes.contains(&code), "{what}, {id}: {codes:?}");
    }
}

fn danger_first(folder: &Folder, status: i32, arguments: &[&str]) -> String {
    let answer = folder.run(arguments).is(status);
    assert!(answer.out.starts_with("!! DANGER: HEAVY: it weighs 80"), "{arguments:?}: {}", answer.out);
    let quiet = folder.run([arguments, &["--quiet", "--json"]].concat());
    assert!(quiet.err.contains("DANGER: HEAVY"), "{arguments:?}: {}", quiet.err);
    answer.out
}

#[test]
fn no_command_fills_what_is_bound_elsewhere_in_doubt_in_danger_out_or_changed() {
    let folder = troubled();
    let mut tried = BTreeSet::new();
    let mut tries = |command: &'static str| {
        tried.insert(command);
        command
    };
    // Looking: danger first, and status 1 where the yard is what was asked for.
    danger_first(&folder, 1, &[tries("check"), "ours.yaml"]);
    let yard = danger_first(&folder, 1, &[tries("yard"), "yard.yaml", "--for", "R-22"]);
    for said in ["bound for Other", "in doubt", "valve leaks", "changed by hand"] {
        assert!(flat(&yard).contains(said), "{said}: {yard}");
    }
    for (id, code) in AGAINST {
        let status = i32::from(id == "HEAVY");
        let one = folder.run([tries("cylinder"), "yard.yaml", id, "--json"]).is(status).json();
        let now = &one["now"];
        let said = match code {
            "bound-elsewhere" => now["bound"].as_str() == Some("Other"),
            "in-doubt" => now["doubt"].is_string(),
            "out" => now["out"] == "valve leaks",
            "row-changed" => now["row_changed"].as_str().is_some_and(|said| said.contains("40")),
            _ => !one["dangers"].as_array().unwrap().is_empty(),
        };
        assert!(said, "{id}: {one}");
    }
    // Planning: none of them is loaded, whatever is asked.
    let plan = folder.run([tries("plan"), "ours.yaml", "--json"]).is(0).json();
    is_safe("plan", &ids(&plan["loads"]), &plan["left_out"]);
    danger_first(&folder, 0, &["plan", "ours.yaml"]);
    for (id, _) in AGAINST {
        let kept = folder.run(["plan", "ours.yaml", "--keep", id, "--json"]);
        assert!(kept.status == 1 && kept.out.is_empty() && kept.err.contains(id), "{id}: {}{}", kept.out, kept.err);
        let taken = folder.json(&["pack", "ours.yaml", "--take", id]);
        assert!(!ids(&taken["aboard"]).contains(&id), "{id}: {taken}");
    }
    let pack = folder.json(&[tries("pack"), "ours.yaml", "--draft", "-o", "pack.html"]);
    assert!(
        pack["stops"][0]["fills"]
            .as_array()
            .unwrap()
            .iter()
            .all(|fill| fill["cylinder"].as_str().unwrap().starts_with("F-"))
    );
    // A free one takes 40.4 lb of R-22: two are the fewest for 60 lb, and there are three.
    let points = folder.run([tries("tradeoff"), "ours.yaml", "--json"]).json()["points"].as_array().unwrap().clone();
    let counts: Vec<i64> = points.iter().map(|point| point["cylinders"].as_i64().unwrap()).collect();
    assert_eq!(counts, [2, 3]);
    let quote = folder.run([tries("quote"), "ours.yaml"]);
    let table = quote.out.split("Cylinders, in lb").nth(1).unwrap().split("\n\n").next().unwrap();
    assert!(table.contains("\nF-1 ") && AGAINST.iter().all(|(id, _)| !table.contains(&format!("\n{id} "))), "{table}");
    folder.run([tries("sheet"), "ours.yaml", "--draft", "-o", "sheet.html"]).is(0);
    let page = folder.read("sheet.html");
    assert!(page.find("DANGER").unwrap() < page.find("<h1>").unwrap());
    assert!(AGAINST.iter().all(|(id, _)| !page.contains(&format!("data-cylinder=\"{id}\""))));
    // A plan from elsewhere that loads one of them is refused by the audit, by its own figures.
    let text = serde_json::to_string(&plan).unwrap();
    for (id, code) in AGAINST {
        folder.write("plan.json", text.replace("\"F-1\"", &format!("\"{id}\"")));
        let faults = folder.run([tries("audit"), "ours.yaml", "plan.json"]).is(1);
        assert!(flat(&faults.out).contains(code) || code == "full", "{id}: {}", faults.out);
    }
    at_the_scale(&folder, &mut tries);
    let listed = run(["--help"]).out;
    let listed = listed.split("Commands:").nth(1).and_then(|rest| rest.split("Options:").next()).unwrap();
    for line in listed.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   ")) {
        let command = line.split_whitespace().next().unwrap();
        // These read no yard.
        let none = ["help", "new", "schema", "completions", "refrigerant"].contains(&command);
        assert!(none || tried.contains(command), "{command} isn't tried");
    }
}

/// What binds, reads, plans again and ends.
fn at_the_scale<'t>(folder: &Folder, tries: &mut impl FnMut(&'static str) -> &'t str) {
    let begun = folder.json(&[tries("begin"), "ours.yaml"]);
    is_safe("begin", &ids(&begun["loads"]), &begun["left_out"]);
    let (first, second) = (ids(&begun["loads"])[0].to_owned(), ids(&begun["loads"])[1].to_owned());
    folder.json(&[tries("release"), "ours.yaml"]);
    assert_eq!(folder.json(&["cylinder", "yard.yaml", "BOUND"])["now"]["bound"], "Other", "released is our own alone");
    folder.run(["begin", "ours.yaml"]).is(0);
    let ledger = folder.ledger("yard.yaml");
    for (id, _) in AGAINST {
        for more in [&["90"][..], &["42"], &["42", "--take-over"]] {
            if id == "BOUND" && more.contains(&"--take-over") {
                continue;
            }
            let answer = folder.run([&[tries("weigh"), "ours.yaml", id], more].concat());
            assert!(answer.status == 2 && answer.out.is_empty(), "{id} {more:?}: {}", answer.out);
            assert!(answer.err.contains("[unfit]") || answer.err.contains("[lower]"), "{id} {more:?}: {}", answer.err);
        }
    }
    assert_eq!(folder.ledger("yard.yaml"), ledger, "nothing was kept");
    let weighed = danger_first(folder, 1, &["weigh", "ours.yaml", &first, "40"]);
    assert!(weighed.contains("12.0 lb net now"), "{weighed}");
    danger_first(folder, 1, &[tries("status"), "ours.yaml"]);
    let again = folder.run([tries("replan"), "ours.yaml", "--left", "45", "--json"]);
    let again = again.json();
    assert!(ids(&again["loads"]).iter().all(|id| id.starts_with("F-")), "{again}");
    // One of ours goes out, in the middle of being filled: nothing more goes in, and what is in it stays counted.
    folder.run(["cylinder", "yard.yaml", &first, "--out", "valve leaks"]);
    let said = folder.run(["weigh", "ours.yaml", &first, "45"]).is(2).err;
    assert!(said.contains("valve leaks"), "{said}");
    let again = folder.run(["replan", "ours.yaml", "--json"]).json();
    assert!(!ids(&again["loads"]).contains(&first.as_str()), "{again}");
    folder.run(["weigh", "ours.yaml", &second, "40"]).is(1);
    let closed = folder.run([tries("closeout"), "ours.yaml", "--write", "--json"]).is(1).json();
    assert_eq!(closed["recovered"], 24.0, "{closed}");
    let yard = folder.read("yard.yaml");
    let row = |id: &str| yard.lines().find(|line| line.contains(&format!("id: {id},"))).unwrap().to_owned();
    assert!(row("HEAVY").contains("gross: 80.0 lb, holds: R-22"), "what the ledger knows: {yard}");
    assert!(row("OUT").contains("damage: valve leaks") && row(&first).contains("damage: valve leaks"), "{yard}");
    assert!(row("ROW").contains("gross: 40.0, holds: R-22"), "stays as it was written by hand: {yard}");
    assert!(row("DOUBT").contains("gross: 26.0, holds: evacuated"), "nobody knows: {yard}");
    assert!(fs::metadata(folder.at("ours.record.csv")).is_ok());
}

#[test]
fn each_of_them_gets_out_of_it_by_the_word_that_is_offered() {
    let folder = troubled();
    let code = |id: &str| -> Vec<String> {
        let plan = folder.json(&["plan", "ours.yaml"]);
        let left = plan["left_out"].as_array().unwrap().iter().find(|left| left["cylinder"] == id).cloned();
        let reasons = left.map(|left| left["reasons"].as_array().unwrap().clone()).unwrap_or_default();
        reasons.iter().map(|reason| reason["code"].as_str().unwrap().to_owned()).collect()
    };
    for (id, why, arguments) in [
        ("BOUND", "bound-elsewhere", &["release", "other.yaml"][..]),
        ("DOUBT", "in-doubt", &["cylinder", "yard.yaml", "DOUBT", "--weighed", "26", "--holds", "evacuated"]),
        ("HEAVY", "full", &["cylinder", "yard.yaml", "HEAVY", "--emptied"]),
        ("OUT", "out", &["cylinder", "yard.yaml", "OUT", "--back", "valve changed"]),
        ("ROW", "row-changed", &["cylinder", "yard.yaml", "ROW", "--as-file"]),
    ] {
        assert!(code(id).iter().any(|code| code == why), "{id}: {:?}", code(id));
        assert!(folder.run(arguments).status < 2, "{arguments:?}");
        assert!(!code(id).iter().any(|code| code == why), "{id}: {:?}", code(id));
    }
    let clear = folder.run(["yard", "yard.yaml"]).is(0);
    assert!(!clear.out.contains("DANGER"), "{}", clear.out);
}
