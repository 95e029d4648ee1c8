//! The program as a user meets it: exit status, what goes where, refusals, and the audit of a plan file.

use std::fs;
use std::path::PathBuf;
use std::process::Stdio;

use crate::folder::{Answer, Folder, run};

/// A job with these cylinders, in a folder of its own.
fn job(cylinders: &str) -> Folder {
    let head =
        "job: Test\ndate: 2026-12-01\nunits: lb\nsystems:\n  - { name: S, refrigerant: R-22, nameplate: 20 lb }\n";
    Folder::of(&[("job.yaml", &format!("{head}cylinders:\n{cylinders}"))])
}

fn plan(folder: &Folder, more: &[&str]) -> Answer {
    folder.run([&["plan", "job.yaml"], more].concat())
}

const GOOD: &str = "  - { id: good, tare: 16.4, water_capacity: 26.2, gross: 16.4, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }\n";

#[test]
fn bad_files_are_refused_on_standard_error_with_status_2() {
    let mut wrong: Vec<PathBuf> = fs::read_dir("scenarios/wrong").unwrap().map(|entry| entry.unwrap().path()).collect();
    wrong.sort();
    let jobs = wrong.iter().filter(|path| path.extension().is_some_and(|kind| kind == "yaml"));
    let mut seen = 0;
    for path in jobs {
        // Yards alone are refused as jobs too: what they lack is named.
        let output = run(["plan", path.to_str().unwrap()]);
        assert_eq!(output.status, 2, "{}", path.display());
        assert!(output.out.is_empty(), "{}: never a plan", path.display());
        assert!(output.err.starts_with("error["), "{}", path.display());
        seen += 1;
    }
    assert!(seen > 20, "the folder of wrong files was read");
}

#[test]
fn a_doubtful_cylinder_is_left_out_and_the_plan_goes_on() {
    let doubtful = "  - { id: light, tare: 16.4, water_capacity: 26.2, gross: 16.0, holds: R-22, mark: DOT-4BA400, tested: 2024-06 }\n  \
                      - { id: heavy, tare: 16.4, water_capacity: 26.2, gross: 19.0, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }\n";
    let folder = job(&format!("{doubtful}{GOOD}"));
    let output = plan(&folder, &[]);
    assert_eq!(output.status, 0);
    let text = output.out;
    assert!(text.contains("it weighs 0.4 lb less than its tare"), "{text}");
    assert!(text.contains("2.6 lb heavier than its tare"), "{text}");
    assert!(text.contains("1  good"), "{text}");
}

#[test]
fn a_row_that_cant_be_read_stops_the_plan_unless_it_is_to_be_skipped() {
    let unreadable = "  - { id: bad, tare: 16,4, water_capacity: 26.2, gross: 16.4, holds: evacuated }\n";
    let folder = job(&format!("{unreadable}{GOOD}"));
    assert_eq!(plan(&folder, &[]).status, 2);
    let output = plan(&folder, &["--skip-bad-rows"]);
    assert_eq!(output.status, 0);
    let text = output.out;
    let second_line = text.lines().nth(1).unwrap();
    assert!(second_line.starts_with("!! Left out, its row can't be read:"), "it comes first: {text}");
    assert!(text.contains("1  good"));
}

#[test]
fn an_over_limit_cylinder_is_the_first_thing_said() {
    // 26.2 lb of water × 1.05, the filling density of R-22 in 49 CFR 173.304a(a)(2): 16.4 + 27.51 = 43.9 lb.
    let over = "  - { id: over, tare: 16.4, water_capacity: 26.2, gross: 46.0, holds: R-22, mark: DOT-4BA400, tested: 2024-06 }\n";
    let folder = job(&format!("{over}{GOOD}"));
    let text = plan(&folder, &[]).out;
    assert!(
        text.starts_with("!! DANGER: over: it weighs 46.0 lb, over 49 CFR 173.304(b), liquid-full by 131 F\n"),
        "{text}"
    );
}

#[test]
fn a_plan_file_is_audited_and_a_spoiled_one_refused() {
    let folder = job(GOOD);
    let planned = plan(&folder, &["--json"]);
    folder.write("plan.json", &planned.out);
    let audit = || folder.run(["audit", "job.yaml", "plan.json"]);
    assert_eq!(audit().status, 0);
    let spoiled = planned.out.replace("\"stop\": 36.4", "\"stop\": 36.5");
    assert_ne!(spoiled, planned.out, "the stop weight of 16.4 + 20 lb stood there");
    folder.write("plan.json", spoiled);
    let output = audit();
    assert_eq!(output.status, 1);
    assert!(output.out.contains("stop"), "{}", output.out);
    folder.write("plan.json", "not a plan");
    assert_eq!(audit().status, 2);
}

#[test]
fn a_yard_with_a_cylinder_over_its_limit_answers_no() {
    let rows =
        "id,tare [lb],water_capacity [lb],gross [lb],holds,mark,tested\nC,16.4,26.2,46,R-22,DOT-4BA400,2024-06\n";
    let folder = Folder::of(&[("yard.csv", rows)]);
    let output = folder.run(["yard", "yard.csv", "--date", "2026-12-01"]);
    assert_eq!(output.status, 1);
    assert!(output.out.starts_with("!! DANGER: C: it weighs 46.0 lb, over 49 CFR"));
}

#[test]
fn usage_is_explained() {
    let help = run(["--help"]);
    assert_eq!(help.status, 0);
    for command in ["check", "yard", "plan", "audit", "refrigerant"] {
        assert!(help.out.contains(command));
        let help = run([command, "--help"]);
        assert_eq!(help.status, 0);
        assert!(help.out.lines().all(|line| line.chars().count() <= 80), "{command} --help fits 80 columns");
    }
    for wrong in [&["plan"][..], &["load", "x"], &["plan", "x.yaml", "--time-limit", "0"], &["audit", "x.yaml"]] {
        let output = run(wrong);
        assert_eq!(output.status, 2, "{wrong:?}");
        assert!(output.out.is_empty() && !output.err.is_empty());
    }
}

#[test]
fn a_reader_that_has_seen_enough_is_no_fault() {
    let mut child =
        Folder::of_project().command(["refrigerant"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let output = Answer::read(child.wait_with_output().unwrap());
    assert_eq!(output.status, 0);
    assert!(output.err.is_empty());
}

#[test]
fn the_same_input_gives_the_same_plan() {
    let first = run(["plan", "scenarios/cold-store.yaml", "--json"]).out;
    assert!(!first.is_empty());
    for _ in 0..3 {
        assert_eq!(run(["plan", "scenarios/cold-store.yaml", "--json"]).out, first);
    }
}

#[test]
fn lightest_first_and_in_turn_change_the_plan_as_they_say() {
    let figure = |more: &[&str], key: &str| {
        let json = run([&["plan", "scenarios/cold-store.yaml", "--json"], more].concat()).json();
        json["totals"][key].as_f64().unwrap()
    };
    assert!(figure(&["--priority", "lightest"], "heaviest") < figure(&[], "heaviest"));
    assert!(figure(&["--priority", "lightest"], "cylinders") > figure(&[], "cylinders"));
    assert_eq!(figure(&["--in-turn"], "cylinders"), figure(&[], "cylinders"));
}

#[test]
fn every_text_report_fits_80_columns() {
    let mut seen = 0;
    for entry in fs::read_dir("scenarios").unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|kind| kind == "trycmd") {
            let lines = fs::read_to_string(&path).unwrap();
            let output = lines.lines().filter(|line| !line.starts_with("$ "));
            for line in output {
                assert!(line.chars().count() <= 80, "{}: {line}", path.display());
            }
            seen += 1;
        }
    }
    assert!(seen > 10);
}

#[test]
fn a_stranger_begins_with_new_files() {
    let folder = Folder::empty();
    for kind in ["job", "yard"] {
        folder.write(&format!("{kind}.yaml"), run(["new", kind]).out);
    }
    let checked = folder.run(["check", "job.yaml"]);
    assert_eq!((checked.status, checked.err.as_str()), (0, ""));
    plan(&folder, &[]).is(0);
}

#[test]
fn completions_name_the_commands() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let output = run(["completions", shell]);
        assert_eq!(output.status, 0);
        assert!(output.out.contains("tradeoff"), "{shell}");
    }
}

#[test]
fn colour_is_asked_for_and_refused_by_the_environment() {
    let with = |name: &str, more: &str| {
        let folder = Folder::of_project();
        let mut command = folder.command(["plan", "scenarios/left-out.yaml"]);
        Answer::to(command.env_remove("NO_COLOR").env(name, "1").env(more, "1")).out
    };
    let plain = with("LANG_UNUSED", "LANG_UNUSED");
    assert!(!plain.contains('\u{1b}'));
    let colored = with("CLICOLOR_FORCE", "LANG_UNUSED");
    assert!(colored.contains("\u{1b}[1;31m!! DANGER: over-limit"), "danger stands out");
    let bare = colored.replace("\u{1b}[1;31m", "").replace("\u{1b}[1m", "").replace("\u{1b}[0m", "");
    assert_eq!(bare, plain, "and says the same");
    assert_eq!(with("CLICOLOR_FORCE", "NO_COLOR"), plain);
}

#[test]
fn a_plan_of_twenty_cylinders_fits_one_screen_up_to_the_cautions() {
    let output = run(["plan", "scenarios/market-rack.yaml"]);
    let plan = output.out;
    let before = plan.split("\nCautions\n").next().unwrap();
    assert!(plan.contains("into 20 cylinders") && plan.contains("\nCautions\n"));
    let lines = before.trim_end().lines().count();
    assert!(lines <= 50, "{lines} lines of at most 50");
    assert!(plan.lines().all(|line| line.chars().count() <= 80));
}
