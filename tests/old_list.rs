//! `yard --import` as a program: where the yard goes, where the report goes, and what is never written over.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use std::time::Instant;

use chargesplit::files::{Code, Import, import_yard};
use jiff::civil::date;
use serde_json::Value;

fn import(arguments: &[&str]) -> Output {
    let program = env!("CARGO_BIN_EXE_chargesplit");
    let begin = ["yard", "--import", "scenarios/old-list.csv", "--date", "2026-12-01"];
    Command::new(program).args(begin).args(arguments).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn the_yard_goes_to_a_file_that_is_not_there_yet_or_to_standard_output() {
    let folder = tempfile::tempdir().unwrap();
    let yard = folder.path().join("yard.yaml");
    let to = yard.to_str().unwrap();
    let bare = import(&[]);
    let written = import(&["-o", to]);
    assert_eq!((bare.status.code(), written.status.code()), (Some(1), Some(1)), "rows were refused");
    assert_eq!(fs::read(&yard).unwrap(), bare.stdout, "the same yard");
    assert!(written.stderr.is_empty() && text(&written.stdout).contains("taken, written to"));
    assert!(text(&bare.stderr).contains("5 of 11 cylinders taken\n"));
    let read =
        Command::new(env!("CARGO_BIN_EXE_chargesplit")).args(["yard", to, "--date", "2026-12-01"]).output().unwrap();
    assert_eq!(read.status.code(), Some(0), "{}", text(&read.stderr));

    fs::write(&yard, "mine").unwrap();
    let again = import(&["-o", to]);
    assert_eq!((again.status.code(), fs::read_to_string(&yard).unwrap().as_str()), (Some(2), "mine"));
    assert!(text(&again.stderr).contains("is there already and stays as it is"));
    let other = import(&["-o", folder.path().join("yard.csv").to_str().unwrap()]);
    assert_eq!((other.status.code(), Path::new(&folder.path().join("yard.csv")).exists()), (Some(2), false));
}

#[test]
fn the_report_as_data_says_what_became_of_everything() {
    let folder = tempfile::tempdir().unwrap();
    let bare = import(&["--json"]);
    let written = import(&["--json", "-o", folder.path().join("yard.yaml").to_str().unwrap()]);
    let report: Value = serde_json::from_slice(&written.stdout).unwrap();
    let beside: Value = serde_json::from_slice(&bare.stderr).unwrap();
    assert_eq!(report["format"], "chargesplit-import/1");
    assert_eq!((&report["cylinders"], &report["heads"], &report["unit"]), (&5.into(), &2.into(), &"lb".into()));
    assert_eq!(report["columns"].as_array().unwrap().len(), 11);
    let lines: Vec<u64> =
        report["refused"].as_array().unwrap().iter().map(|row| row["line"].as_u64().unwrap()).collect();
    assert_eq!(lines, [6, 7, 8, 11, 12, 13]);
    assert_eq!(
        (&report["columns"], &report["refused"], &report["changed"]),
        (&beside["columns"], &beside["refused"], &beside["changed"])
    );
    assert_eq!(beside["yard"], Value::Null);
}

#[test]
fn a_list_that_would_be_too_long_a_yard_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("list.csv");
    let rows = (0..3_500).map(|id| format!("A-{id},28,47.6,28,,{}\n", "word ".repeat(230)));
    fs::write(&file, format!("Serial,Tare (lb),WC (lb),Gross (lb),Contents,Notes\n{}", rows.collect::<String>()))
        .unwrap();
    let problems = import_yard(&Import { file: &file, unit: None, chosen: &[], today: date(2026, 12, 1) }).unwrap_err();
    let codes: Vec<Code> = problems.iter().map(|problem| problem.code).collect();
    assert_eq!(codes, [Code::TooLarge]);
    assert!(problems.to_string().contains("written as a yard"), "{problems}");
}

/// Lists on which a reader may spend its time with the square of their length.
#[test]
fn a_list_made_to_hurt_is_refused_in_time() {
    const HEADS: &str = "Serial,Tare (lb),WC (lb),Gross (lb),Contents\n";
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("list.csv");
    let wide = |item: &str| item.repeat(1_000_000 / item.len());
    for text in [
        wide("Serial,"),
        wide("Tare;Serial,\t"),
        wide("\""),
        wide("Serial,Tare (lb)\n"),
        wide("\n,\n"),
        format!("{HEADS}{}", "A-1,28,47.6,28,\n".repeat(2_000)),
        format!("{HEADS}{}", (0..2_000).map(|id| format!("A-{id},28,47.6,0,\n")).collect::<String>()),
        format!("{HEADS}{}", wide("A,1,1,1,\n")),
        format!("{HEADS}A-1,28,47.6,28,{}\n", wide("x")),
    ] {
        fs::write(&file, &text).unwrap();
        let started = Instant::now();
        let result = import_yard(&Import { file: &file, unit: None, chosen: &[], today: date(2026, 12, 1) });
        let took = started.elapsed();
        assert!(took.as_secs() < 10, "{took:?}: {}", text.chars().take(60).collect::<String>());
        if let Ok(imported) = result {
            assert!(!imported.refused.is_empty());
        }
    }
}
