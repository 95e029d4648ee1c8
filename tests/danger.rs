//! Danger is never quiet: every command that reads cylinders says it first, whatever its output is; and where a surplus may
//! go it never makes a second danger.
//!
//! The cylinders are those of `scenarios/danger.yaml`, worked out by hand in its comments.

use std::fs;
use std::process::Stdio;

use serde_json::Value;

use crate::folder::{Answer, Folder};

const D_1: &str = "!! DANGER: D-1: it weighs 80.0 lb, over 49 CFR 173.304(b), liquid-full by 131 F";

/// Text as it stood before it was broken into lines.
fn unbroken(text: &str) -> String {
    text.replace("\n!! ", " ").replace("\n  ", " ")
}

/// The scenario as a job, and its cylinders as a yard.
fn in_danger() -> Folder {
    let job = fs::read_to_string("scenarios/danger.yaml").unwrap();
    let (_, cylinders) = job.split_once("cylinders:\n").unwrap();
    Folder::of(&[("job.yaml", &job), ("yard.yaml", &format!("units: lb\ncylinders:\n{cylinders}"))])
}

/// Every command that takes a job or a yard, with the exit status that danger gives it: a plan that leaves the cylinder out
/// may be a good plan.
const COMMANDS: [(&[&str], i32); 12] = [
    (&["check", "job.yaml"], 1),
    (&["yard", "yard.yaml", "--date", "2026-12-14"], 1),
    (&["plan", "job.yaml"], 0),
    (&["quote", "job.yaml"], 0),
    (&["pack", "job.yaml"], 0),
    (&["tradeoff", "job.yaml"], 0),
    (&["sheet", "job.yaml", "-o", "page.html"], 0),
    (&["audit", "job.yaml", "plan.json"], 0),
    (&["weigh", "job.yaml", "C-103", "20"], 1),
    (&["status", "job.yaml"], 1),
    (&["replan", "job.yaml"], 0),
    (&["closeout", "job.yaml"], 1),
];

#[test]
fn every_command_says_danger_first_as_text_as_data_and_when_quiet() {
    let yard = in_danger();
    yard.write("plan.json", yard.run(["plan", "job.yaml", "--json"]).out);
    for (arguments, status) in COMMANDS {
        let page = arguments[0] == "sheet";
        let usual = yard.run(arguments);
        let (out, err) = (usual.out, usual.err);
        assert_eq!(usual.status, status, "{arguments:?}: {err}");
        if page {
            assert!(out.is_empty() && err.starts_with(D_1), "{arguments:?}: {err}");
        } else {
            assert!(unbroken(&out).starts_with(D_1) && !err.contains("DANGER"), "{arguments:?}: {out} {err}");
            assert!(out.contains("D-2 came 3.7 lb over our fill: don't fill, keep it out of the sun."), "{out}");
        }
        let quiet = yard.run([arguments, &["--quiet"]].concat());
        let (out, err) = (quiet.out, quiet.err);
        assert_eq!(quiet.status, status, "{arguments:?}: {err}");
        assert!(err.starts_with(D_1) && (page || unbroken(&out).starts_with(D_1)), "{arguments:?}: {out} {err}");
        if page {
            continue;
        }
        let data = yard.run([arguments, &["--json"]].concat());
        assert_eq!(data.status, status, "{arguments:?}");
        assert!(data.err.starts_with(D_1), "{arguments:?}: {}", data.err);
        let data = data.json();
        let alarms = data["alarms"].as_array().unwrap();
        let told: Vec<[&str; 2]> =
            alarms.iter().map(|one| ["cylinder", "level"].map(|key| one[key].as_str().unwrap())).collect();
        assert_eq!(told, [["D-1", "danger"], ["D-3", "danger"], ["D-2", "over-fill"]], "{arguments:?}");
        assert_eq!(data["dangers"], serde_json::json!([alarms[0]["text"], alarms[1]["text"]]), "{arguments:?}");
        assert_eq!(data["over_fill"], serde_json::json!([alarms[2]["text"]]), "{arguments:?}");
    }
    let page = yard.read("page.html");
    assert!(page.find("DANGER: D-1").unwrap() < page.find("<h1>").unwrap(), "before the heading of the page");
}

#[test]
fn what_goes_to_somebody_else_and_what_fails_leave_danger_on_standard_error() {
    let yard = in_danger();
    for arguments in [&["quote", "job.yaml", "--csv"][..], &["quote", "job.yaml", "--customer", "--draft"]] {
        let output = yard.run(arguments);
        assert!(output.err.starts_with(D_1), "{arguments:?}");
        assert!(!output.out.starts_with("!!"), "{arguments:?}");
    }
    assert!(!yard.run(["quote", "job.yaml", "--customer", "--draft"]).out.contains("D-1"), "it isn't the customer's");
    // A refusal, and a no without a plan.
    for (arguments, status) in
        [(&["plan", "job.yaml", "--keep", "C-999"][..], 2), (&["plan", "job.yaml", "--keep", "D-1"], 1)]
    {
        let output = yard.run(arguments);
        assert_eq!(output.status, status);
        assert!(output.err.starts_with(D_1), "{arguments:?}: {}", output.err);
    }
    // Where nothing can be written, and where nobody reads.
    for arguments in [&["plan", "job.yaml"][..], &["plan", "job.yaml", "--json"], &["check", "job.yaml"]] {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = Answer::to(yard.command(arguments).stdout(Stdio::from(full)).stderr(Stdio::piped()));
        assert_eq!(output.status, 3, "{arguments:?}");
        let said = output.err;
        assert!(said.starts_with(D_1) && said.contains("the output can't be written"), "{arguments:?}: {said}");
        assert_eq!(said.matches("DANGER: D-1").count(), 1, "{arguments:?}: once");
    }
}

#[test]
fn an_argument_that_names_a_cylinder_in_danger_is_answered_with_no() {
    let yard = in_danger();
    for (arguments, status) in [
        (&["plan", "job.yaml", "--without", "D-1"][..], 1),
        (&["plan", "job.yaml", "--without", "C-102"], 0),
        (&["plan", "job.yaml", "--without", "D-2"], 0),
        (&["tradeoff", "job.yaml", "--without", "D-3"], 1),
        (&["pack", "job.yaml", "--take", "D-1"], 1),
        (&["pack", "job.yaml", "--take", "C-102"], 0),
    ] {
        assert_eq!(yard.run(arguments).status, status, "{arguments:?}");
    }
}

/// The cylinder that the surplus of one in danger is to go into.
fn into(data: &Value, cylinder: &str) -> Option<String> {
    let found = data["alarms"].as_array().unwrap().iter().find(|one| one["cylinder"] == cylinder);
    found.expect("it is in danger")["into"].as_str().map(str::to_owned)
}

#[test]
fn a_surplus_goes_where_no_plan_needs_the_room() {
    let yard = in_danger();
    // By the scenario's comments: the smallest lift, then the one that the plan leaves, then none.
    assert_eq!(into(&yard.json(&["check", "job.yaml"]), "D-1").as_deref(), Some("C-103"));
    assert_eq!(into(&yard.json(&["plan", "job.yaml"]), "D-1").as_deref(), Some("C-102"));
    let without = yard.json(&["plan", "job.yaml", "--without", "C-102"]);
    assert_eq!(into(&without, "D-1"), None, "what isn't there takes nothing");
    assert!(without["dangers"][0].as_str().unwrap().contains("into an evacuated cylinder with room: down to 68.3 lb"));
    // One cylinder takes one surplus.
    assert_eq!(into(&yard.json(&["check", "job.yaml"]), "D-3").as_deref(), Some("C-101"));
}

const SIZE: &str = "mark: DOT-4BA400, tested: 2024-06";

#[test]
fn a_surplus_never_mixes_and_never_overfills() {
    let row = |id: &str, more: &str| format!("  - {{ id: {id}, {SIZE}, {more} }}\n");
    let mid = "tare: 27.9, water_capacity: 47.6";
    let small = "tare: 16.4, water_capacity: 26.2";
    // 80.0 - 68.3 = 11.7 lb of R-22 are too much in each; a small cylinder takes 22.2 lb.
    let danger = row("over", &format!("{mid}, gross: 80.0, holds: R-22"));
    let unfit = [
        row("other", &format!("{small}, gross: 18.0, holds: R-134a")),
        row("burnt", &format!("{small}, gross: 18.0, holds: R-22, condition: burnout")),
        row("carried-burnout", &format!("{small}, gross: 16.4, holds: evacuated, condition: burnout")),
        row("kept", &format!("{small}, gross: 18.0, holds: R-22, kept_for: Somebody else")),
        row("unknown", &format!("{small}, gross: 16.4, holds: unknown")),
        row("nitrogen", &format!("{small}, gross: 16.4, holds: nitrogen")),
        row("bent", &format!("{small}, gross: 16.4, holds: evacuated, damage: foot ring bent")),
        row("nearly-full", &format!("{small}, gross: 27.0, holds: R-22")),
        row("label", &format!("{small}, gross: 16.4, holds: evacuated, max_gross: 28.0")),
    ]
    .concat();
    let yard = |rows: &str| {
        let yard = Folder::of(&[("yard.yaml", &format!("units: lb\ncylinders:\n{rows}"))]);
        yard.json(&["yard", "yard.yaml", "--date", "2026-12-14"])
    };
    assert_eq!(into(&yard(&format!("{danger}{unfit}")), "over"), None);
    let fit = row("fit", &format!("{mid}, gross: 27.9, holds: evacuated"));
    let heel = row("heel", &format!("{small}, gross: 18.0, holds: R-22"));
    assert_eq!(into(&yard(&format!("{danger}{unfit}{fit}")), "over").as_deref(), Some("fit"));
    assert_eq!(
        into(&yard(&format!("{danger}{unfit}{fit}{heel}")), "over").as_deref(),
        Some("heel"),
        "the smallest lift"
    );
    // Two refrigerants and one empty cylinder: the first gets it.
    let second = row("second", &format!("{mid}, gross: 82.0, holds: R-134a"));
    let both = yard(&format!("{danger}{second}{fit}"));
    assert_eq!((into(&both, "over").as_deref(), into(&both, "second")), (Some("fit"), None));
}

#[test]
fn each_rule_that_is_broken_is_named_and_no_other() {
    let job = |rules: &str, row: &str| {
        let text = format!(
            "job: One\ndate: 2026-12-14\nunits: lb\nlimit: {{ rules: {rules} }}\nsystems:\n- {{ name: A, refrigerant: R-134a, \
             nameplate: 5 lb }}\ncylinders:\n- {{ id: X, tare: 27.9, water_capacity: 47.5, {SIZE}, test_pressure: 48 bar, {row} }}\n"
        );
        let yard = Folder::of(&[("job.yaml", &text)]);
        let said = yard.run(["check", "job.yaml"]).out;
        ["173.304(b)", "173.304a", "P200", "label", "over our fill"]
            .into_iter()
            .filter(|rule| said.contains(rule))
            .collect()
    };
    let found: Vec<Vec<&str>> = vec![
        // R-134a, 27.9 lb and 47.5 lb of water (CoolProp 8.0.0): fill 69.0, P200 77.6, liquid-full 79.1 lb.
        job("us", "gross: 69.2, holds: R-134a"),
        job("us", "gross: 78.5, holds: R-134a"),
        job("un", "gross: 78.5, holds: R-134a"),
        job("us", "gross: 79.4, holds: R-134a"),
        job("both", "gross: 79.4, holds: R-134a"),
        job("us", "gross: 60.0, max_gross: 55.0, holds: R-134a"),
        job("us", "gross: 60.0, max_gross: 55.0, holds: unknown"),
        job("us", "gross: 69.0, holds: R-134a"),
    ];
    let expected: [&[&str]; 8] = [
        &["over our fill"],
        &["over our fill"],
        &["P200"],
        &["173.304(b)"],
        &["173.304(b)", "P200"],
        &["label"],
        &["label"],
        &[],
    ];
    assert_eq!(found, expected);
}

/// A job with one cylinder that came over our fill (limit 68.3 lb), and two for its charge.
fn came_over() -> Folder {
    let job = fs::read_to_string("scenarios/danger.yaml").unwrap();
    let kept = job.lines().filter(|line| !line.contains("id: D-1") && !line.contains("id: D-3"));
    Folder::of(&[("job.yaml", &kept.map(|line| format!("{line}\n")).collect::<String>())])
}

#[test]
fn what_came_over_our_fill_is_a_line_and_what_we_filled_is_a_no() {
    let yard = came_over();
    let came = "- D-2 came 3.7 lb over our fill: don't fill, keep it out of the sun.\n";
    for arguments in [&["check", "job.yaml"][..], &["plan", "job.yaml"], &["status", "job.yaml"]] {
        let output = yard.run(arguments);
        assert_eq!(output.status, 0, "{arguments:?}");
        assert!(output.out.starts_with(came) && !output.out.contains("DANGER"), "{arguments:?}");
    }
    assert!(yard.run(["plan", "job.yaml", "-q", "--json"]).err.is_empty(), "a line, no alarm");
    // Weighed as it came it stays as it came; nothing more goes in, and what goes in all the same is ours.
    assert_eq!(yard.run(["weigh", "job.yaml", "D-2", "72.0", "--system", "Chiller"]).status, 0);
    let refused = yard.run(["weigh", "job.yaml", "D-2", "73.0"]);
    assert_eq!(refused.status, 2);
    assert!(refused.err.contains("it came 3.7 lb over our fill; don't fill it"), "{}", refused.err);
    assert_eq!(yard.json(&["status", "job.yaml"])["alarms"][0]["ours"], false);
    assert_eq!(yard.run(["weigh", "job.yaml", "D-2", "73.0", "--force"]).status, 1);
    for arguments in [&["status", "job.yaml"][..], &["closeout", "job.yaml"]] {
        let output = yard.run([arguments, &["--quiet"]].concat());
        assert_eq!(output.status, 1, "{arguments:?}");
        for said in [&output.out, &output.err] {
            let said = said.replace("!! OVER", "OVER").replace('\n', " ");
            let ours = "OVER THE FILL: D-2 weighs 73.0 lb: we filled it 4.7 lb over our fill. Shut the valve: nothing more goes in.";
            assert!(said.starts_with(ours), "{arguments:?}: {said}");
        }
    }
    let data = yard.json(&["status", "job.yaml"]);
    assert_eq!((&data["alarms"][0]["ours"], data["dangers"].as_array().unwrap().len()), (&Value::Bool(true), 0));
    let cylinder = data["cylinders"].as_array().unwrap().iter().find(|one| one["cylinder"] == "D-2").unwrap();
    assert_eq!((&cylinder["danger"], &cylinder["over_fill"]), (&Value::Bool(false), &Value::Bool(true)));
    // Taken out again it is no matter any more.
    assert_eq!(yard.run(["weigh", "job.yaml", "D-2", "68.3", "--moved"]).status, 0);
}

#[test]
fn a_lot_that_may_fill_a_cylinder_on_isnt_told_that_it_came_too_full() {
    // 70 % for the R-134a alone: 60.0 lb of gross are over 0.7 x ... for it, and under the 80 % that the R-22 may have.
    let job = format!(
        "job: Two fills\ndate: 2026-12-14\nunits: lb\nsystems:\n- {{ name: A, refrigerant: R-22, nameplate: 4 lb }}\n\
         - {{ name: B, refrigerant: R-134a, nameplate: 4 lb, fill: 70 % }}\ncylinders:\n\
         - {{ id: X, tare: 27.9, water_capacity: 47.6, gross: 64.0, holds: R-22, {SIZE} }}\n\
         - {{ id: Y, tare: 27.9, water_capacity: 47.6, gross: 27.9, holds: evacuated, {SIZE} }}\n"
    );
    let yard = Folder::of(&[("job.yaml", &job)]);
    // 27.9 + 0.7 x 1.06111 x 47.6 = 63.3 lb; 27.9 + 0.8 x 1.06111 x 47.6 = 68.3 lb.
    let plan = yard.json(&["plan", "job.yaml"]);
    assert_eq!(plan["over_fill"], serde_json::json!([]));
    let loads: Vec<&str> =
        plan["loads"].as_array().unwrap().iter().map(|load| load["cylinder"].as_str().unwrap()).collect();
    assert_eq!(loads, ["X", "Y"]);
}
