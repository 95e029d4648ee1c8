//! A job on standard input: the same answer as from its file, and a refusal where a file is needed.

use std::fs;

use crate::folder::{Answer, Folder};

/// Runs the program in the folder of the scenarios with this on its standard input.
fn run(arguments: &[&str], input: &[u8]) -> Answer {
    Answer::to_input(Folder::of_project().command(arguments).current_dir("scenarios"), input)
}

#[test]
fn a_job_answers_the_same_from_standard_input_as_from_its_file() {
    let job = fs::read("scenarios/cold-store.yaml").unwrap();
    for command in ["check", "plan", "tradeoff", "quote", "pack"] {
        let from_file = run(&[command, "cold-store.yaml"], b"");
        let typed = run(&[command, "-"], &job);
        assert_eq!(from_file.status, 0, "{command}: {}", from_file.err);
        assert_eq!((typed.out, typed.status), (from_file.out, from_file.status), "{command}");
    }
    // Its paths are relative to the working directory: here there is no van-3.yaml.
    let elsewhere = Answer::to_input(&mut Folder::of_project().command(["plan", "-"]), &job);
    assert_eq!(elsewhere.status, 2);
    assert!(elsewhere.err.contains("van-3.yaml: there is no such file"), "{}", elsewhere.err);
    assert!(elsewhere.err.contains("standard input:"), "it says where: {}", elsewhere.err);
}

#[test]
fn one_job_of_several_may_come_from_there() {
    let files = ["day-1.yaml", "day-2.yaml", "day-3.yaml"];
    let from_files = run(&[&["pack"], &files[..]].concat(), b"");
    let second = fs::read("scenarios/day-2.yaml").unwrap();
    let mixed = run(&["pack", "day-1.yaml", "-", "day-3.yaml"], &second);
    assert_eq!((mixed.out, mixed.status), (from_files.out, from_files.status));
    let twice = run(&["pack", "-", "-"], &second);
    assert_eq!(twice.status, 2);
    assert!(twice.err.contains("standard input can be one job only"), "{}", twice.err);
}

#[test]
fn an_audit_takes_the_job_or_the_plan_from_there() {
    let folder = Folder::empty();
    let job = fs::read("scenarios/cold-store.yaml").unwrap();
    let plan = run(&["plan", "cold-store.yaml", "--json"], b"").out;
    let file = folder.at("plan.json");
    folder.write("plan.json", &plan);
    let file = file.to_str().unwrap();
    let expected = run(&["audit", "cold-store.yaml", file], b"").out;
    assert!(expected.starts_with("The plan holds: 7 loads"), "{expected}");
    assert_eq!(run(&["audit", "cold-store.yaml", "-"], plan.as_bytes()).out, expected);
    assert_eq!(run(&["audit", "-", file], &job).out, expected);
    let spoiled = plan.replace("\"stop\": 63.7", "\"stop\": 63.9");
    assert_ne!(spoiled, plan);
    assert_eq!(run(&["audit", "cold-store.yaml", "-"], spoiled.as_bytes()).status, 1);
    let both = run(&["audit", "-", "-"], &job);
    assert_eq!(both.status, 2);
    assert!(both.err.contains("only one of the files can be standard input"));
}

#[test]
fn a_yard_of_either_kind_comes_from_there() {
    for file in ["van-3.yaml", "van-7.csv"] {
        let expected = run(&["yard", file, "--date", "2026-12-01"], b"");
        let bytes = fs::read(format!("scenarios/{file}")).unwrap();
        let typed = run(&["yard", "-", "--date", "2026-12-01"], &bytes);
        assert!(expected.out.lines().count() > 5, "{file}");
        assert_eq!((typed.out, typed.status), (expected.out, expected.status), "{file}");
    }
}

#[test]
fn a_page_says_where_it_came_from() {
    let folder = Folder::empty();
    let page = folder.at("plan.html");
    let job = fs::read("scenarios/cold-store.yaml").unwrap();
    let output = run(&["sheet", "-", "-o", page.to_str().unwrap()], &job);
    assert_eq!(output.status, 0, "{}", output.err);
    let page = folder.read("plan.html");
    assert!(page.contains("from standard input, van-3.yaml, inputs") && page.contains("147.1 lb"));
}

#[test]
fn what_keeps_a_ledger_needs_a_file() {
    let job = fs::read("scenarios/part-way.yaml").unwrap();
    let folder = Folder::empty();
    for arguments in
        [&["weigh", "-", "T-1", "44"][..], &["replan", "-"], &["status", "-"], &["closeout", "-", "--write"]]
    {
        let output = Answer::to_input(&mut folder.command(arguments), &job);
        assert_eq!(output.status, 2, "{arguments:?}");
        assert!(output.out.is_empty());
        assert!(
            output.err.contains(
                "a job from standard input has no place for its readings: they are kept beside the yard; name the file"
            ),
            "{arguments:?}"
        );
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "nothing was written");
}

#[test]
fn what_isnt_a_job_is_refused() {
    for (input, code) in [
        (&b""[..], "error[empty-file]"),
        (b"job: [", "error[syntax]"),
        (b"\xff\xfe\x00", "error[not-text]"),
        (&vec![b'#'; 5 * 1024 * 1024], "error[too-large]"),
    ] {
        let output = run(&["plan", "-"], input);
        assert_eq!(output.status, 2);
        assert!(output.err.starts_with(code), "{}", output.err);
        assert!(output.err.contains("standard input"), "it is named");
    }
    // A file that is really named so is read by its path.
    let folder = Folder::empty();
    fs::copy("scenarios/part-way.yaml", folder.at("-")).unwrap();
    let output = folder.run(["plan", "./-"]);
    assert_eq!(output.status, 0, "{}", output.err);
}
