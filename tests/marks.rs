//! Marks on what a cylinder holds: wherever a refrigerant is named beside a cylinder, burnt, wet, mixed, flammable and
//! reuse refrigerant looks other than clean.

use serde_json::Value;

use crate::folder::Folder;

/// Two chillers of R-22, the second burnt out, and three more systems that bring the other marks.
const JOB: &str = "\
job: Hollis plant rooms
date: 2026-12-02
owner: Hollis Dairy
units: lb
yard: yard.yaml
systems:
  - { name: Chiller 1, refrigerant: R-22, nameplate: 25, allowance: 0 % }
  - { name: Chiller 2, refrigerant: R-22, nameplate: 24, allowance: 0 %, condition: burnout }
  - { name: Cold room, refrigerant: R-32, nameplate: 10, allowance: 0 %, fate: reuse }
  - { name: Dryer, refrigerant: R-134a, nameplate: 20, allowance: 0 %, condition: wet }
  - { name: Drum, may_contain: [R-22, R-407C], nameplate: 8, allowance: 0 %, condition: mixed, fate: destroy }
";
/// The burnt cylinders come last: what is evacuated and carried burnout takes burnout alone, R-2 holds a burnt heel.
const YARD: &str = "\
cylinders:
  - { id: E-1, tare: 27.9, water_capacity: 47.6, gross: 27.9, holds: evacuated, mark: DOT-4BA400, tested: 2023-09 }
  - { id: E-2, tare: 27.8, water_capacity: 47.6, gross: 27.8, holds: evacuated, mark: DOT-4BA400, tested: 2023-09 }
  - { id: E-3, tare: 27.7, water_capacity: 47.6, gross: 27.7, holds: evacuated, mark: DOT-4BA400, tested: 2023-09 }
  - { id: F-1, tare: 16.3, water_capacity: 26.2, gross: 16.3, holds: evacuated, mark: DOT-4BA400, flammable: true, tested: 2023-09 }
  - { id: B-1, tare: 27.6, water_capacity: 47.6, gross: 33.6, holds: R-22, condition: burnout, mark: DOT-4BA400, tested: 2023-09 }
  - { id: Q-1, tare: 27.6, water_capacity: 47.6, gross: 67.6, holds: R-22, condition: burnout, mark: DOT-4BA400, tested: 2023-09 }
  - { id: Q-2, tare: 27.6, water_capacity: 47.6, gross: 27.6, holds: evacuated, condition: burnout, damage: dent, mark: DOT-4BA400, tested: 2023-09 }
";

fn at_work() -> Folder {
    Folder::of(&[("job.yaml", JOB), ("yard.yaml", &format!("units: lb\n{YARD}"))])
}

/// The answer to a question that may be answered with no.
fn asked(folder: &Folder, arguments: &[&str]) -> String {
    let answer = folder.run(arguments);
    assert!((0..2).contains(&answer.status), "{arguments:?}: {answer:?}");
    answer.out
}

fn data(folder: &Folder, arguments: &[&str]) -> Value {
    serde_json::from_str(&asked(folder, &[arguments, &["--json"]].concat())).unwrap()
}

/// What is marked how: by hand from the job and the yard above. The planner has no choice but for the empty 50s.
const BY_SYSTEM: [(&str, &str); 5] =
    [("Chiller 1", ""), ("Chiller 2", "BURN"), ("Cold room", "FLAM REUSE"), ("Dryer", "WET"), ("Drum", "MIX")];

/// The cylinder that each system goes into.
fn cylinders(plan: &Value) -> Vec<(String, &'static str)> {
    let loads = plan["loads"].as_array().unwrap();
    assert_eq!(loads.len(), 5);
    let of_system = |system: &str| loads.iter().find(|load| load["from"][0]["system"] == system).unwrap();
    BY_SYSTEM.map(|(system, marks)| (of_system(system)["cylinder"].as_str().unwrap().to_owned(), marks)).into()
}

/// Each row of any table in the text that begins with this cylinder (behind its number) and names a refrigerant.
fn rows<'t>(text: &'t str, cylinder: &str) -> Vec<&'t str> {
    let names = |line: &&str| {
        let mut words = line.split_whitespace();
        let first = words.next().filter(|word| word.parse::<usize>().is_err()).or_else(|| words.next());
        first == Some(cylinder) && line.contains("R-")
    };
    text.lines().filter(names).collect()
}

fn words(marks: &Value) -> String {
    let words: Vec<&str> = marks.as_array().unwrap().iter().map(|mark| mark.as_str().unwrap()).collect();
    words.join(" ")
}

/// Every row that names the cylinder and a refrigerant has its marks behind the refrigerant, and no other.
fn shows(text: &str, cylinders: &[(String, &str)], at_least: usize) {
    for (cylinder, marks) in cylinders {
        let found = rows(text, cylinder);
        assert!(found.len() >= at_least, "{cylinder} stands in {} rows of\n{text}", found.len());
        for row in found {
            let marked: Vec<&str> = row
                .split_whitespace()
                .filter(|word| "FLAM MIX BURN WET REUSE".split(' ').any(|mark| mark == *word))
                .collect();
            assert_eq!(marked.join(" "), *marks, "{row}");
        }
    }
}

#[test]
fn clean_and_burnt_look_different_in_plan_pack_and_yard() {
    let folder = at_work();
    let plan = data(&folder, &["plan", "job.yaml"]);
    let cylinders = cylinders(&plan);
    for (cylinder, marks) in &cylinders {
        let load = plan["loads"].as_array().unwrap().iter().find(|load| load["cylinder"] == *cylinder).unwrap();
        assert_eq!(words(&load["marks"]), *marks, "{cylinder}");
    }
    shows(&asked(&folder, &["plan", "job.yaml"]), &cylinders, 1);
    // At its stop and where it comes back.
    shows(&asked(&folder, &["pack", "job.yaml"]), &cylinders, 2);
    let pack = data(&folder, &["pack", "job.yaml", "--take", "E-3"]);
    for place in ["aboard", "back"] {
        assert!(pack[place].as_array().unwrap().iter().all(|one| one["marks"].is_array()), "{place}");
    }
    let burnt = pack["aboard"].as_array().unwrap().iter().find(|one| one["cylinder"] == "B-1").unwrap();
    assert_eq!(words(&burnt["marks"]), "BURN", "its heel is burnt already");
    // Full and left out, and evacuated with the acid left in it: marked in the yard all the same.
    let yard = asked(&folder, &["yard", "yard.yaml", "--for", "R-22"]);
    for row in ["R-22 BURN", "evacuated BURN"] {
        assert!(yard.contains(row), "{row}: {yard}");
    }
}

#[test]
fn marks_go_on_to_cards_status_what_is_left_and_labels() {
    let folder = at_work();
    let cylinders = cylinders(&data(&folder, &["plan", "job.yaml"]));
    asked(&folder, &["sheet", "job.yaml", "-o", "sheet.html"]);
    let page = folder.read("sheet.html");
    let cards: Vec<&str> = page.split("<article").skip(1).collect();
    let labels = [
        "R-22",
        "R-22 - BURNOUT, ACID: RECLAIMER ONLY",
        "R-32 - FLAMMABLE; REUSE: HOLLIS DAIRY ONLY",
        "R-134a - WATER IN IT",
        "MIXED: MAY HOLD R-22, R-407C",
    ];
    for ((cylinder, marks), label) in cylinders.iter().zip(labels) {
        let card = cards.iter().find(|card| card.contains(&format!("data-cylinder=\"{cylinder}\""))).unwrap();
        let bold = format!("<strong class=\"marks\">{marks}</strong>");
        assert_eq!(card.contains(&bold), !marks.is_empty(), "{card}");
        assert_eq!(card.contains(&format!("Label: <strong>{label}</strong>")), !marks.is_empty(), "{card}");
    }
    let plan = data(&folder, &["plan", "job.yaml"]);
    for (cylinder, _) in &cylinders {
        let load = plan["loads"].as_array().unwrap().iter().find(|load| load["cylinder"] == *cylinder).unwrap();
        let reading = load["now"].as_f64().unwrap() + 2.0;
        asked(&folder, &["weigh", "job.yaml", cylinder, &format!("{reading:.1}")]);
    }
    shows(&asked(&folder, &["status", "job.yaml"]), &cylinders, 1);
    shows(&asked(&folder, &["replan", "job.yaml"]), &cylinders, 1);
    let closed = data(&folder, &["closeout", "job.yaml"]);
    for ((cylinder, marks), label) in cylinders.iter().zip(labels) {
        let after = closed["cylinders"].as_array().unwrap().iter().find(|one| one["cylinder"] == *cylinder).unwrap();
        assert_eq!((words(&after["marks"]).as_str(), after["label"].as_str().unwrap()), (*marks, label));
        assert!(
            asked(&folder, &["closeout", "job.yaml"])
                .replace("\n  ", " ")
                .contains(&format!("{cylinder}: {label}; recovered"))
        );
    }
}

#[test]
fn the_audit_refuses_a_plan_whose_mark_is_missing() {
    let folder = at_work();
    let good = asked(&folder, &["plan", "job.yaml", "--json"]);
    let audit = |text: &str| {
        folder.write("plan.json", text);
        folder.run(["audit", "job.yaml", "plan.json"])
    };
    assert_eq!(audit(&good).status, 0);
    let mut spoiled: Value = serde_json::from_str(&good).unwrap();
    for load in spoiled["loads"].as_array_mut().unwrap() {
        load["marks"].as_array_mut().unwrap().retain(|mark| mark != "BURN");
    }
    let answer = audit(&spoiled.to_string()).is(1);
    assert!(answer.out.contains("expected BURN, got none"), "{}", answer.out);
}
