//! Charges that nobody knows for certain: which cylinders stay empty at the low end, and when the nameplate is reached.

use crate::folder::{Folder, flat};

/// R-410A takes 0.8 x 0.87125 x 47.6 = 33.1 lb of each cylinder (CoolProp 8.0.0).
fn folder(charge: &str) -> Folder {
    let cylinder = |id: &str| {
        format!(
            "  - {{ id: {id}, tare: 28.0, water_capacity: 47.6, gross: 28.0, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }}\n"
        )
    };
    let cylinders: String = ["B-1", "B-2", "B-3"].map(cylinder).concat();
    let systems = format!("systems:\n  - {{ name: RTU-1, refrigerant: R-410A, {charge} }}\n");
    let job = format!("job: Annex\ndate: 2026-12-01\nunits: lb\n{systems}cylinders:\n{cylinders}");
    Folder::of(&[("job.yaml", &job)])
}

fn low_end(charge: &str) -> Option<String> {
    let plan = folder(charge).json(&["plan", "job.yaml"]);
    let warnings = plan["warnings"].as_array().unwrap();
    let found = warnings.iter().find(|warning| warning["code"] == "low-end");
    found.map(|warning| warning["text"].as_str().unwrap().to_owned())
}

/// By hand: 80 lb level in three is 26.7, 26.7 and 26.6. Two hold 53.4 lb, so that 40 lb leave the third empty and 53.5 lb
/// don't; 30 lb and less would leave none but the first; 60 lb take all three.
#[test]
fn what_stays_empty_at_the_low_end_of_a_range_is_said_in_the_order_of_filling() {
    let head = "RTU-1: at the low end,";
    assert_eq!(
        low_end("charge: 40..80 lb, basis: guess").unwrap(),
        format!("{head} 40.0 lb, filled in this order, B-3 stays empty; the last, B-3, is needed from 53.5 lb on")
    );
    assert_eq!(
        low_end("charge: 20..80 lb, basis: level").unwrap(),
        format!("{head} 20.0 lb, filled in this order, B-2, B-3 stay empty; the last, B-3, is needed from 53.5 lb on")
    );
    assert_eq!(
        low_end("charge: 60..80 lb, basis: guess").unwrap(),
        format!(
            "{head} 60.0 lb, filled in this order, every cylinder is needed; the last, B-3, is needed from 53.5 lb on"
        )
    );
    assert_eq!(low_end("nameplate: 80 lb"), None);
    assert_eq!(low_end("charge: 20..30 lb, basis: guess"), None, "one cylinder");
}

/// 30 lb and a tenth of allowance are 33 lb, in one cylinder from 28.0 lb: at 57.9 lb 29.9 lb are out, at 58.0 all of 30.
#[test]
fn the_nameplate_is_said_to_be_reached_apart_from_its_allowance() {
    let folder = folder("nameplate: 30 lb, allowance: 10 %");
    let words = "R-410A: nameplate reached; the 3.0 lb left are allowance, if they are there.";
    let said = |command: &[&str]| flat(&folder.done(command)).contains(words);
    assert!(!said(&["weigh", "job.yaml", "B-1", "57.9"]) && !said(&["status", "job.yaml"]));
    assert!(said(&["weigh", "job.yaml", "B-1", "58.0"]) && said(&["status", "job.yaml"]));
    assert_eq!(folder.json(&["status", "job.yaml"])["lots"][0]["nameplate_reached"], true);
    // With all of it out nothing is left to be allowance.
    assert_eq!(folder.json(&["weigh", "job.yaml", "B-1", "61.0"])["nameplate_reached"], false);
    assert_eq!(folder.json(&["status", "job.yaml"])["lots"][0]["nameplate_reached"], false);
}
