//! The same question asked again: by another process, and with the rows of the yard in another order.
//!
//! Every process has hash seeds of its own, so that a plan which hangs on the order of a hash map would differ.

use std::fmt::Write;

use fastrand::Rng;
use serde_json::Value;

use crate::folder::Folder;

const REFRIGERANTS: [&str; 4] = ["R-22", "R-134a", "R-410A", "R-404A"];

fn tenths(tenths: i64) -> String {
    format!("{}.{}", tenths / 10, tenths % 10)
}

/// The rows of a yard; many alike, so that there are ties to break.
fn rows(rng: &mut Rng, number: usize) -> Vec<String> {
    let row = |at: usize| {
        let (water, tare) = [(262, 165), (477, 280), (1230, 620)][rng.usize(..3)];
        let (water, tare) = (water + rng.i64(-1..=1), tare + 5 * rng.i64(-1..=1));
        let held = (rng.u8(..10) < 4).then(|| REFRIGERANTS[rng.usize(..REFRIGERANTS.len())]);
        let heel = if held.is_some() { water * rng.i64(0..6) / 10 } else { 0 };
        format!(
            "  - {{ id: C-{at}, tare: {}, water_capacity: {}, gross: {}, holds: {}, mark: DOT-4BA400, tested: 2024-06 }}",
            tenths(tare),
            tenths(water),
            tenths(tare + heel),
            held.unwrap_or("evacuated")
        )
    };
    (0..number).map(row).collect()
}

/// A job of all four refrigerants for about this many pounds of each.
fn job(rng: &mut Rng, about: i64) -> String {
    let mut text = String::from("job: Again\ndate: 2026-12-01\nunits: lb\nyard: yard.yaml\nsystems:\n");
    for name in REFRIGERANTS {
        let charge = 10 * about + rng.i64(-150..150);
        writeln!(text, "  - {{ name: System {name}, refrigerant: {name}, nameplate: {} }}", tenths(charge)).unwrap();
    }
    text
}

fn write(folder: &Folder, job: &str, rows: &[String]) {
    folder.write("job.yaml", job);
    folder.write("yard.yaml", format!("units: lb\ncylinders:\n{}\n", rows.join("\n")));
}

/// The plan's JSON as a process of its own prints it.
fn plan(folder: &Folder, more: &[&str]) -> String {
    let answer = folder.run([&["plan", "job.yaml", "--json"], more].concat());
    assert_eq!(answer.err, "");
    answer.out
}

/// What the order of rows may not change.
fn essence(plan: &str) -> Value {
    let plan: Value = serde_json::from_str(plan).unwrap();
    let short: Vec<&Value> = plan["short"].as_array().unwrap().iter().map(|short| &short["missing"]).collect();
    let left_over: f64 = short.iter().map(|missing| missing.as_f64().unwrap()).sum();
    // Of a plan that leaves some over the totals may differ, as between equals; what is left over may not.
    let totals = if short.is_empty() { plan["totals"].clone() } else { Value::Null };
    let charges: Vec<&Value> = plan["lots"].as_array().unwrap().iter().map(|lot| &lot["charge"]).collect();
    serde_json::json!({
        "status": plan["status"], "totals": totals, "bounds": plan["bounds"], "charges": charges,
        "left over": format!("{left_over:.1}"),
    })
}

const OPTIONS: [&[&str]; 3] = [&[], &["--priority", "lightest"], &["--in-turn"]];

#[test]
fn every_process_makes_the_same_plan_to_the_last_byte() {
    for seed in 0..3 {
        let mut rng = Rng::with_seed(seed);
        let folder = Folder::empty();
        let about = [45, 75, 200][seed as usize];
        write(&folder, &job(&mut rng, about), &rows(&mut rng, 12));
        for options in OPTIONS {
            let first = plan(&folder, options);
            assert!(first.len() > 1000);
            for _ in 0..2 {
                assert_eq!(plan(&folder, options), first, "seed {seed}, {options:?}");
            }
        }
    }
}

#[test]
fn the_order_of_the_yard_changes_nothing_but_ties() {
    let (mut statuses, mut moved) = (Vec::new(), 0);
    for seed in 0..6 {
        let mut rng = Rng::with_seed(100 + seed);
        let folder = Folder::empty();
        let about = [45, 75, 110, 200][seed as usize % 4];
        let (job, mut rows) = (job(&mut rng, about), rows(&mut rng, 12));
        write(&folder, &job, &rows);
        let first = OPTIONS.map(|options| plan(&folder, options));
        for _ in 0..2 {
            rng.shuffle(&mut rows);
            write(&folder, &job, &rows);
            for (options, first) in OPTIONS.iter().zip(&first) {
                let again = plan(&folder, options);
                assert_eq!(essence(&again), essence(first), "seed {seed}, {options:?}");
                moved += usize::from(again != *first);
            }
        }
        statuses.push(essence(&first[0])["status"].as_str().unwrap().to_owned());
    }
    for status in ["proved", "short"] {
        assert!(statuses.iter().any(|found| found == status), "no job was {status}: {statuses:?}");
    }
    // The rows did move: where cylinders are alike, others are named.
    assert!(moved > 0);
}
