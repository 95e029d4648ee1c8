//! `audit --best`: whether a plan is the best, asked of another solver; on a dozen cylinders and two refrigerants.

use std::fmt::Write;

use serde_json::Value;

use crate::folder::Folder;

/// Two small cylinders alike but for 0.1 lb of tare, and ten larger ones, each a little heavier than the one before. The
/// first charge fits in a small one; the second takes two large ones. So the best plan has three cylinders, the lighter
/// small one among them.
fn job() -> Folder {
    let mut text = String::from(
        "job: Dozen\ndate: 2026-12-01\nunits: lb\nscale_division: 0.1 lb\nsystems:\n  \
         - { name: Case, refrigerant: R-404A, nameplate: 14, allowance: 0 % }\n  \
         - { name: Rack, refrigerant: R-22, nameplate: 70, allowance: 0 % }\ncylinders:\n",
    );
    let mut row = |id: &str, tenths: i64, water: &str| {
        let tare = format!("{}.{}", tenths / 10, tenths % 10);
        let rest = "holds: evacuated, mark: DOT-4BA400, tested: 2024-06";
        writeln!(text, "  - {{ id: {id}, tare: {tare}, gross: {tare}, water_capacity: {water}, {rest} }}").unwrap();
    };
    row("light", 164, "26.2");
    row("heavy", 165, "26.2");
    (0..10).for_each(|at| row(&format!("L-{at}"), 270 + 3 * at, "47.7"));
    Folder::of(&[("dozen.yaml", &text)])
}

/// The plan made with some options, and what `audit --best` says of it with others: the exit status, and its JSON.
fn asked(folder: &Folder, planned: &[&str], audited: &[&str]) -> (Value, i32, Value) {
    let made = folder.run([&["plan", "dozen.yaml", "--json"], planned].concat()).is(0);
    folder.write("plan.json", &made.out);
    let answer = folder.run([&["audit", "dozen.yaml", "plan.json", "--json", "--best"], audited].concat());
    (made.json(), answer.status, answer.json())
}

fn said(answer: &Value) -> &str {
    assert_eq!(answer["clean"], true, "{answer}");
    answer["best"]["said"].as_str().unwrap()
}

/// A total of the plan in tenths of a pound.
fn tenths(value: &Value) -> i64 {
    (value.as_f64().unwrap() * 10.0).round() as i64
}

#[test]
fn the_best_plan_is_said_to_be_that() {
    let folder = job();
    for options in [&[][..], &["--priority", "lightest"], &["--cylinders", "5"], &["--keep", "L-9"]] {
        let (_, exit, answer) = asked(&folder, options, options);
        assert_eq!((exit, said(&answer)), (0, "best"), "{options:?}: {answer}");
        assert!(answer["best"]["text"].as_str().unwrap().contains("no proof"), "{answer}");
    }
    // It is for whoever asks: without `--best` nothing is said of it.
    let plain = folder.json(&["audit", "dozen.yaml", "plan.json"]);
    assert!(plain.get("best").is_none());
}

#[test]
fn a_plan_worse_by_a_division_or_by_a_cylinder_is_found() {
    let folder = job();
    let (best, ..) = asked(&folder, &[], &[]);
    for (keep, cylinders, division) in [
        // 16.5 lb of tare in place of 16.4.
        (&["--keep", "heavy"][..], 0, Some(1)),
        // Both of them: one cylinder more, which makes the heaviest lift lighter and doesn't count for that.
        (&["--keep", "heavy", "--keep", "light"], 10, None),
    ] {
        let (worse, exit, answer) = asked(&folder, keep, &[]);
        let more = |key: &str| tenths(&worse["totals"][key]) - tenths(&best["totals"][key]);
        assert_eq!(more("cylinders"), cylinders, "{worse}");
        if let Some(division) = division {
            assert_eq!((more("heaviest"), more("carried")), (0, division), "{worse}");
        }
        assert_eq!((exit, said(&answer)), (1, "better-exists"), "{keep:?}: {answer}");
        for key in ["cylinders", "heaviest", "carried"] {
            assert_eq!(tenths(&answer["best"]["totals"][key]), tenths(&best["totals"][key]), "{answer}");
        }
    }
}

#[test]
fn a_plan_for_something_else_is_not_decided() {
    let folder = job();
    // The lightest plan of all is lighter than the lightest within three cylinders.
    let (_, exit, answer) = asked(&folder, &["--priority", "lightest"], &["--cylinders", "3"]);
    assert_eq!((exit, said(&answer)), (1, "not-decided"), "{answer}");
}
