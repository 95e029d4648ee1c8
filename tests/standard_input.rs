//! A job on standard input: the same answer as from its file, and a refusal where a file is needed.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// Runs the program in a folder with this on its standard input.
fn run(folder: &str, arguments: &[&str], input: &[u8]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_chargesplit"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it runs");
    // One that refuses doesn't read to the end.
    let _ = child.stdin.take().unwrap().write_all(input);
    child.wait_with_output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn a_job_answers_the_same_from_standard_input_as_from_its_file() {
    let job = fs::read("scenarios/cold-store.yaml").unwrap();
    for command in ["check", "plan", "tradeoff", "quote", "pack"] {
        let from_file = run("scenarios", &[command, "cold-store.yaml"], b"");
        let typed = run("scenarios", &[command, "-"], &job);
        assert_eq!(from_file.status.code(), Some(0), "{command}: {}", text(&from_file.stderr));
        assert_eq!((text(&typed.stdout), typed.status), (text(&from_file.stdout), from_file.status), "{command}");
    }
    // Its paths are relative to the working directory: here there is no van-3.yaml.
    let elsewhere = run(".", &["plan", "-"], &job);
    assert_eq!(elsewhere.status.code(), Some(2));
    assert!(text(&elsewhere.stderr).contains("van-3.yaml: there is no such file"), "{}", text(&elsewhere.stderr));
    assert!(text(&elsewhere.stderr).contains("standard input:"), "it says where: {}", text(&elsewhere.stderr));
}

#[test]
fn one_job_of_several_may_come_from_there() {
    let files = ["day-1.yaml", "day-2.yaml", "day-3.yaml"];
    let from_files = run("scenarios", &[&["pack"], &files[..]].concat(), b"");
    let second = fs::read("scenarios/day-2.yaml").unwrap();
    let mixed = run("scenarios", &["pack", "day-1.yaml", "-", "day-3.yaml"], &second);
    assert_eq!((text(&mixed.stdout), mixed.status), (text(&from_files.stdout), from_files.status));
    let twice = run("scenarios", &["pack", "-", "-"], &second);
    assert_eq!(twice.status.code(), Some(2));
    assert!(text(&twice.stderr).contains("standard input can be one job only"), "{}", text(&twice.stderr));
}

#[test]
fn an_audit_takes_the_job_or_the_plan_from_there() {
    let folder = tempfile::tempdir().unwrap();
    let job = fs::read("scenarios/cold-store.yaml").unwrap();
    let plan = run("scenarios", &["plan", "cold-store.yaml", "--json"], b"").stdout;
    let file = folder.path().join("plan.json");
    fs::write(&file, &plan).unwrap();
    let file = file.to_str().unwrap();
    let expected = text(&run("scenarios", &["audit", "cold-store.yaml", file], b"").stdout);
    assert!(expected.starts_with("The plan holds: 7 loads"), "{expected}");
    assert_eq!(text(&run("scenarios", &["audit", "cold-store.yaml", "-"], &plan).stdout), expected);
    assert_eq!(text(&run("scenarios", &["audit", "-", file], &job).stdout), expected);
    let spoiled = text(&plan).replace("\"stop\": 63.7", "\"stop\": 63.9");
    assert_ne!(spoiled, text(&plan));
    assert_eq!(run("scenarios", &["audit", "cold-store.yaml", "-"], spoiled.as_bytes()).status.code(), Some(1));
    let both = run("scenarios", &["audit", "-", "-"], &job);
    assert_eq!(both.status.code(), Some(2));
    assert!(text(&both.stderr).contains("only one of the files can be standard input"));
}

#[test]
fn a_yard_of_either_kind_comes_from_there() {
    for file in ["van-3.yaml", "van-7.csv"] {
        let expected = run("scenarios", &["yard", file, "--date", "2026-12-01"], b"");
        let bytes = fs::read(Path::new("scenarios").join(file)).unwrap();
        let typed = run("scenarios", &["yard", "-", "--date", "2026-12-01"], &bytes);
        assert!(text(&expected.stdout).lines().count() > 5, "{file}");
        assert_eq!((text(&typed.stdout), typed.status), (text(&expected.stdout), expected.status), "{file}");
    }
}

#[test]
fn a_page_says_where_it_came_from() {
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("plan.html");
    let job = fs::read("scenarios/cold-store.yaml").unwrap();
    let output = run("scenarios", &["sheet", "-", "-o", page.to_str().unwrap()], &job);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let page = fs::read_to_string(page).unwrap();
    assert!(page.contains("from standard input, van-3.yaml, inputs") && page.contains("147.1 lb"));
}

#[test]
fn what_keeps_a_log_needs_a_file() {
    let job = fs::read("scenarios/part-way.yaml").unwrap();
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path().to_str().unwrap();
    for arguments in
        [&["weigh", "-", "T-1", "44"][..], &["replan", "-"], &["status", "-"], &["closeout", "-", "--write"]]
    {
        let output = run(here, arguments, &job);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(output.stdout.is_empty());
        assert!(text(&output.stderr).contains("readings are kept in a file beside the job's"), "{arguments:?}");
    }
    assert_eq!(fs::read_dir(here).unwrap().count(), 0, "nothing was written");
}

#[test]
fn what_isnt_a_job_is_refused() {
    for (input, code) in [
        (&b""[..], "error[empty-file]"),
        (b"job: [", "error[syntax]"),
        (b"\xff\xfe", "error[not-text]"),
        (&vec![b'#'; 5 * 1024 * 1024], "error[too-large]"),
    ] {
        let output = run(".", &["plan", "-"], input);
        assert_eq!(output.status.code(), Some(2));
        assert!(text(&output.stderr).starts_with(code), "{}", text(&output.stderr));
        assert!(text(&output.stderr).contains("standard input"), "it is named");
    }
    // A file that is really named so is read by its path.
    let folder = tempfile::tempdir().unwrap();
    fs::copy("scenarios/part-way.yaml", folder.path().join("-")).unwrap();
    let output = run(folder.path().to_str().unwrap(), &["plan", "./-"], b"");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
}
