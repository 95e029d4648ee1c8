//! A cylinder meant for flammables is kept for them: it goes to another refrigerant only where the number of cylinders
//! would be larger without it.

use serde_json::Value;

use crate::folder::Folder;

/// Cylinders of the plan, for a charge of R-410A in pounds; also that `audit --best` agrees, with the same options.
fn planned(cylinders: &str, charge: &str, options: &[&str]) -> Vec<String> {
    let text = format!(
        "job: Split\ndate: 2026-12-01\nunits: lb\nscale_division: 0.1 lb\nsystems:\n  \
         - {{ name: S, refrigerant: R-410A, nameplate: {charge}, allowance: 0 % }}\ncylinders:\n{cylinders}"
    );
    let folder = Folder::of(&[("job.yaml", &text)]);
    let plan = folder.run([&["plan", "job.yaml", "--json"], options].concat()).is(0);
    folder.write("plan.json", &plan.out);
    folder.run([&["audit", "job.yaml", "plan.json", "--best"], options].concat()).is(0);
    let value = plan.json();
    let id = |load: &Value| load["cylinder"].as_str().unwrap().to_owned();
    value["loads"].as_array().unwrap().iter().map(id).collect()
}

/// A 400 psi cylinder: 47.7 lb of water takes at least 30 lb of R-410A, 26.2 lb of water less than 20.
fn row(id: &str, tare: &str, water: &str, flammable: bool) -> String {
    format!(
        "  - {{ id: {id}, tare: {tare}, water_capacity: {water}, gross: {tare}, holds: evacuated, mark: DOT-4BA400, \
         tested: 2024-06, flammable: {flammable} }}\n"
    )
}

#[test]
fn no_tenth_of_a_pound_moves_one_meant_for_flammables() {
    let yard = row("red", "26.0", "47.7", true) + &row("plain", "26.1", "47.7", false);
    // It would be lighter by 0.1 lb, in the lift and in all.
    for options in [&[][..], &["--priority", "lightest"], &["--cylinders", "1"]] {
        assert_eq!(planned(&yard, "25", options), ["plain"], "{options:?}");
    }
    // Two of it are wanted: then it goes.
    assert_eq!(planned(&yard, "50", &[]), ["red", "plain"]);
    assert_eq!(planned(&yard, "25", &["--keep", "red"]), ["red"]);
}

#[test]
fn it_goes_where_the_number_would_be_larger_without_it() {
    let yard =
        row("red", "26.0", "47.7", true) + &row("small", "16.4", "26.2", false) + &row("less", "16.5", "26.2", false);
    // One large one, or both small ones.
    assert_eq!(planned(&yard, "25", &[]), ["red"]);
    let yard = yard + &row("other", "26.4", "47.7", false);
    assert_eq!(planned(&yard, "25", &[]), ["other"]);
    // Two large ones would do it, and so do a large and a small one.
    assert_eq!(planned(&yard, "40", &[]), ["small", "other"]);
}
