//! What people type: weights, temperatures, words that the files don't have; and what they are told to do.

use std::fs;

use crate::folder::{Answer, Folder, flat};

const CYLINDER: &str = "- { id: C-1, tare: 16.8, water_capacity: 26.2, gross: 16.8, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }\n";

fn job(units: &str, charge: &str) -> String {
    format!(
        "job: One\ndate: 2026-12-03\nunits: {units}\nyard: yard.yaml\nsystems:\n- name: Rack 1\n  refrigerant: R-22\n  nameplate: {charge}\n"
    )
}

fn folder(job: &str, yard: &str) -> Folder {
    Folder::of(&[("job.yaml", job), ("yard.yaml", &list(yard))])
}

fn list(rows: &str) -> String {
    format!("units: lb\ncylinders:\n{rows}")
}

/// Exit status, standard output and standard error, sentences in one line.
fn run(folder: &Folder, arguments: &[&str]) -> (i32, String, String) {
    let answer = folder.run(arguments);
    (answer.status, flat(&answer.out), flat(&answer.err))
}

#[test]
fn a_bare_lift_limit_counts_in_the_jobs_unit() {
    // 16.8 lb are 7.6 kg: only in pounds is a limit of 8 under the cylinder itself.
    for (units, limit, fits) in [("kg", "8", true), ("lb", "8", false), ("lb", "8 kg", true), ("lb-oz", "8 lb", false)]
    {
        let folder = folder(&job(units, "0.2 kg"), CYLINDER);
        let (code, said, error) = run(&folder, &["plan", "job.yaml", "--lift-limit", limit]);
        assert_eq!(code, if fits { 0 } else { 1 }, "{units} {limit}: {said}{error}");
    }
    let folder = folder(&job("lb-oz", "8 oz"), CYLINDER);
    let (code, _, error) = run(&folder, &["plan", "job.yaml", "--lift-limit", "8"]);
    assert_eq!(code, 2);
    assert!(error.contains("--lift-limit: `8` has no unit"), "{error}");
}

#[test]
fn a_temperature_below_zero_is_a_value() {
    let folder = Folder::empty();
    let (code, shown, error) = run(&folder, &["refrigerant", "R-22", "--at", "-40F"]);
    assert_eq!(code, 0, "{error}");
    assert!(shown.contains("-40"), "{shown}");
    let (code, _, error) = run(&folder, &["refrigerant", "R-22", "--at", "--json"]);
    assert_eq!(code, 2, "{error}");
}

#[test]
fn ounces_behind_pounds_are_under_sixteen() {
    for (charge, code) in [("30 lb 15.9 oz", 0), ("30 lb 16 oz", 2), ("30 lb 30 oz", 2), ("480 oz", 0)] {
        let folder = folder(&job("lb", charge), &CYLINDER.replace("26.2", "95").replace("16.8", "40"));
        let (found, said, error) = run(&folder, &["plan", "job.yaml"]);
        assert_eq!(found, code, "{charge}: {said}{error}");
        assert!(code == 0 || error.contains("expected under 16 oz there"), "{error}");
    }
}

#[test]
fn a_number_sign_is_pounds_also_where_yaml_takes_it_for_a_comment() {
    // 28.5 lb are 12.927 kg, in steps of 0.05 kg 12.95, in a file of kilograms.
    for charge in ["28.5 #", "28.5#", "\"28.5 #\"", "28.5 lb"] {
        let folder = folder(&job("kg", charge), &CYLINDER.replace("26.2", "95").replace("16.8", "40"));
        let (code, shown, error) = run(&folder, &["check", "job.yaml"]);
        assert_eq!(code, 0, "{charge}: {error}");
        assert!(shown.contains("R-22 12.95 kg"), "{charge}: {shown}");
    }
    // A comment is a comment.
    let folder = folder(&job("kg", "28.5 # weighed"), &CYLINDER.replace("26.2", "95").replace("16.8", "40"));
    let (_, shown, _) = run(&folder, &["check", "job.yaml"]);
    assert!(shown.contains("R-22 28.5"), "{shown}");
}

#[test]
fn a_word_of_the_trade_leads_to_the_word_of_the_file() {
    for (from, to, said) in [
        (
            "evacuated",
            "vacuum",
            "error[bad-word]: holds: `vacuum` isn't one of the words here: evacuated, nitrogen, unknown, mixed",
        ),
        ("evacuated", "vacuum", "help: write `evacuated`"),
        ("evacuated", "evac", "help: write `evacuated`"),
        ("evacuated", "R404", "holds: `R404` isn't the whole name: write R-404A"),
        ("tested: 2024-06", "tested: 2024-06, dented: left side", "help: did you mean `damage`?"),
        ("26.2", "WC 26.2", "water_capacity: `WC 26.2` has `WC` before its number; leave that out"),
        ("DOT-4BA400", "drum", "mark: `drum` is the mark of a drum: drums aren't planned"),
        ("DOT-4BA400", "1A1", "mark: `1A1` is the mark of a drum: drums aren't planned"),
        ("gross: 16.8", "gross: 168", "gross: ten times the tare, 16.8 lb; 168 lb for 16.8 lb?"),
        ("gross: 16.8", "gross: 170", "gross: ten times the tare, 16.8 lb; 170 lb for 17 lb?"),
    ] {
        let folder = folder(&job("lb", "10 lb"), &CYLINDER.replace(from, to));
        let (code, shown, error) = run(&folder, &["plan", "job.yaml"]);
        assert_eq!((code, shown.as_str()), (2, ""), "{to}: {error}");
        assert!(error.contains(said) && !error.contains("DANGER"), "{to}: {error}");
    }
    let folder = folder(&job("lb", "10 lb").replace("R-22", "R404"), CYLINDER);
    let (_, _, error) = run(&folder, &["plan", "job.yaml"]);
    assert!(error.contains("refrigerant: `R404` isn't the whole name: write R-404A"), "{error}");
    assert!(!error.contains("nearest"), "{error}");
}

#[test]
fn all_that_is_wrong_with_a_row_is_said_in_one_round() {
    let row = "- { id: C-1, tare: 16.8, water_capacity: 26200, gross: 168, holds: evac, mark: drum, tested: 06/24 }\n";
    let folder = folder(&job("lb", "10 lb"), row);
    let (code, _, error) = run(&folder, &["plan", "job.yaml"]);
    assert_eq!(code, 2);
    for said in [
        "error[bad-word]: holds",
        "error[bad-mark]",
        "error[bad-date]",
        "gross: ten times",
        "water_capacity: found `26200`",
    ] {
        assert!(error.contains(said), "{said}: {error}");
    }
}

/// A doubt leaves a cylinder out; where the file is refused anyway it is told of in the same round.
#[test]
fn doubts_are_said_with_what_is_wrong() {
    let doubtful = CYLINDER.replace("C-1", "C-2").replace("26.2", "50");
    let second = "a water capacity of 50 lb looks like the nominal size";
    let good = folder(&job("lb", "10 lb"), &(CYLINDER.to_owned() + &doubtful));
    let (code, _, error) = run(&good, &["plan", "job.yaml"]);
    assert!(code == 0 && !error.contains(second), "{error}");
    for wrong in [CYLINDER.replace("evacuated", "evac"), CYLINDER.replace("gross: 16.8", "gross: 168")] {
        let folder = folder(&job("lb", "10 lb"), &(wrong.clone() + &doubtful));
        let (code, _, error) = run(&folder, &["plan", "job.yaml"]);
        assert_eq!(code, 2);
        assert!(error.contains(&format!("error[doubtful-stamp]: {second}")), "{error}");
        // Not of one that somebody has read again.
        let confirmed = doubtful.replace("tested", "confirmed: true, tested");
        folder.write("yard.yaml", list(&(wrong + &confirmed)));
        let (code, _, error) = run(&folder, &["plan", "job.yaml"]);
        assert!(code == 2 && !error.contains(second), "{error}");
    }
}

#[test]
fn what_is_described_badly_is_not_unknown_besides() {
    let described = "refrigerants:\n- { name: R-999, group: A9, source: a data sheet }\n";
    let folder = folder(&format!("{}{described}", job("lb", "10 lb").replace("R-22", "R-999")), CYLINDER);
    let (code, _, error) = run(&folder, &["plan", "job.yaml"]);
    assert_eq!(code, 2);
    assert!(error.contains("a refrigerant has no `liquid_density`"), "{error}");
    assert!(!error.contains("unknown-refrigerant"), "{error}");
    // In the yard neither; and what nobody described is unknown as ever.
    folder.write("yard.yaml", list(&CYLINDER.replace("evacuated", "R-999")));
    let (_, _, error) = run(&folder, &["plan", "job.yaml"]);
    assert!(error.contains("liquid_density") && !error.contains("unknown-refrigerant"), "{error}");
    folder.write("yard.yaml", list(&CYLINDER.replace("evacuated", "R-998")));
    let (_, _, error) = run(&folder, &["plan", "job.yaml"]);
    assert!(error.contains("unknown-refrigerant"), "{error}");
}

/// Read with commas or with semicolons between the cells, no cell of a quote begins as a formula.
#[test]
fn neither_reading_of_a_table_has_a_formula() {
    let names = ["X;=1+1", "a; @SUM(A1)", "b;\"=1", "-1;+2"];
    let systems: String =
        names.map(|name| format!("- {{ name: '{name}', refrigerant: R-22, nameplate: 5 lb }}\n")).concat();
    let job = format!(
        "job: 'J;=1'\ndate: 2026-12-03\nunits: lb\nsystems:\n{systems}prices: {{ currency: EUR, labour: 80 }}\n"
    );
    let output = Folder::of(&[("job.yaml", &job)]).run(["quote", "job.yaml", "--csv"]);
    let table = output.out;
    assert!(table.contains("X;'=1+1"), "{table}{}", output.err);
    for between in [b',', b';', b'\t'] {
        let mut reader = csv::ReaderBuilder::new();
        let mut reader = reader.has_headers(false).flexible(true).delimiter(between).from_reader(table.as_bytes());
        for record in reader.records() {
            for cell in record.unwrap().iter().map(str::trim_start) {
                assert!(!cell.starts_with(['=', '+', '@']), "{cell} in {table}");
                assert!(!cell.starts_with('-') || cell[1..].starts_with(|c: char| c.is_ascii_digit()), "{cell}");
            }
        }
    }
}

/// A standard output that is full loses neither the danger nor the exit status.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_loses_no_danger() {
    let over = CYLINDER.replace("gross: 16.8, holds: evacuated", "gross: 60, holds: R-22");
    let spare = CYLINDER.replace("C-1", "C-2");
    let folder = folder(&job("lb", "10 lb"), &(over + &spare));
    for arguments in [
        &["plan", "job.yaml"][..],
        &["plan", "job.yaml", "--json", "-q"],
        &["plan", "job.yaml", "-q"],
        &["check", "job.yaml"],
        &["tradeoff", "job.yaml"],
        &["pack", "job.yaml"],
        &["yard", "yard.yaml", "--date", "2026-12-01"],
        &["quote", "job.yaml", "--csv"],
    ] {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = Answer::to(folder.command(arguments).stdout(full));
        let error = output.err;
        assert_eq!(output.status, 3, "{arguments:?}: {error}");
        assert!(error.contains("DANGER: C-1"), "{arguments:?}: {error}");
        assert!(error.contains("the output can't be written"), "{arguments:?}: {error}");
    }
    for arguments in [&["new", "job"][..], &["--help"], &["schema", "yard"], &["completions", "bash"], &["refrigerant"]]
    {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let answer = Answer::to(folder.command(arguments).stdout(full));
        assert_eq!(answer.status, 3, "{arguments:?}");
    }
}
