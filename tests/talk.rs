//! `--quiet` and `--verbose`: what is said beside the data, and that the data stays the same.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use sha2::{Digest, Sha256};

fn run(arguments: &[&str], more: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_chargesplit")).args(arguments).args(more).output().expect("it runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// The beginning of a file's SHA-256.
fn brief(file: &str) -> String {
    let mut digits = String::new();
    for byte in Sha256::digest(fs::read(file).unwrap()).iter().take(6) {
        write!(digits, "{byte:02x}").unwrap();
    }
    digits
}

#[test]
fn the_data_is_the_same_however_much_is_said() {
    for (arguments, status) in [
        (&["check", "scenarios/cold-store.yaml"][..], 0),
        (&["plan", "scenarios/cold-store.yaml", "--json"], 0),
        (&["plan", "scenarios/too-small.yaml"], 1),
        (&["tradeoff", "scenarios/cold-store.yaml"], 0),
        (&["pack", "scenarios/over-the-limit.yaml", "--truck", "scenarios/truck-small.yaml"], 1),
        (&["quote", "scenarios/tender.yaml"], 0),
        (&["yard", "scenarios/van-3.yaml", "--date", "2026-12-01"], 0),
        (&["status", "scenarios/part-way.yaml"], 0),
        (&["refrigerant", "R-22"], 0),
        (&["plan", "scenarios/cold-store.yaml", "--units", "kg"], 0),
        (&["schema", "yard"], 0),
    ] {
        let usual = run(arguments, &[]);
        assert_eq!(usual.status.code(), Some(status), "{arguments:?}");
        assert!(!usual.stdout.is_empty());
        for word in ["--quiet", "--verbose", "-q", "-v"] {
            let other = run(arguments, &[word]);
            assert_eq!(
                (text(&other.stdout), other.status),
                (text(&usual.stdout), usual.status),
                "{arguments:?} {word}"
            );
        }
        assert_eq!(text(&run(arguments, &["--quiet"]).stderr), "", "{arguments:?}");
        // Before the command as well as behind it.
        assert_eq!(run(&["--quiet"], arguments).stdout, usual.stdout, "{arguments:?}");
    }
}

#[test]
fn verbose_says_what_was_read_and_assumed_and_how_long_it_took() {
    let said = text(&run(&["plan", "scenarios/cold-store.yaml"], &["-v"]).stderr);
    for file in ["scenarios/cold-store.yaml", "scenarios/van-3.yaml"] {
        assert!(said.contains(&format!("read {file}, {}\n", brief(file))), "{said}");
    }
    for expected in ["2 systems", "11 cylinders read, 0 rows left out", "planned in "] {
        assert!(said.contains(expected), "{expected}: {said}");
    }
    // What the file says isn't assumed, also where it says the default.
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("job.yaml");
    let all = "job: All\ndate: 2026-12-01\nunits: kg\nscale_division: 0.05 kg\nscale: { accuracy: 0 kg, capacity: 100 kg }\n\
               limit: { fill: 80 %, at: 130 F, rules: us }\nreuse_together: false\n\
               site: { lift_limit: 70 kg, one_person: 23 kg, hottest: 130 F }\nsystems:\n  \
               - { name: S, refrigerant: R-22, nameplate: 2 kg, allowance: 5 %, condition: clean, fate: reclaim }\n\
               cylinders: []\n";
    fs::write(&job, all).unwrap();
    let silent = text(&run(&["check", job.to_str().unwrap()], &["-v"]).stderr);
    assert!(silent.contains("1 system") && !silent.contains("assumed"), "{silent}");
    for (line, taken) in [
        ("date: 2026-12-01\n", "date 20"),
        ("scale_division: 0.05 kg\n", "scale_division 0.05 kg"),
        ("accuracy: 0 kg, ", "scale.accuracy 0, nothing is kept free"),
        (", capacity: 100 kg", "scale.capacity none"),
        ("fill: 80 %, ", "limit.fill 80 %"),
        ("at: 130 F, ", "limit.at 54.4 C"),
        (", rules: us", "limit.rules us"),
        ("lift_limit: 70 kg, ", "site.lift_limit none"),
        ("one_person: 23 kg, ", "site.one_person 22.68 kg"),
        (", hottest: 130 F", "site.hottest none"),
        ("reuse_together: false\n", "reuse_together false"),
        (", allowance: 5 %", "allowance nothing for 1 of 1 systems"),
        (", condition: clean", "condition clean for 1 of 1 systems"),
        (", fate: reclaim", "fate reclaim for 1 of 1 systems"),
    ] {
        assert_eq!(all.matches(line).count(), 1, "{line}");
        fs::write(&job, all.replace(line, "")).unwrap();
        let said = text(&run(&["check", job.to_str().unwrap()], &["-v"]).stderr);
        let assumed: Vec<&str> =
            said.lines().filter(|line| line.contains("assumed, as its file doesn't say:")).collect();
        assert!(matches!(assumed[..], [one] if one.contains(taken)), "{line}: {said}");
    }
    let said = text(&run(&["pack", "scenarios/day-1.yaml", "--truck", "scenarios/truck-7.yaml"], &["-v"]).stderr);
    assert!(said.contains(&format!("read scenarios/truck-7.yaml, {}\n", brief("scenarios/truck-7.yaml"))), "{said}");
    let list = "scenarios/old-list.csv";
    let said = text(&run(&["yard", "--import", list, "--date", "2026-12-01"], &["-v"]).stderr);
    let begins = format!("read {list}, {}\n5 cylinders read, 6 rows left out\n", brief(list));
    assert!(said.starts_with(&begins), "{said}");
    let said = text(&run(&["status", "scenarios/part-way.yaml"], &["-v"]).stderr);
    assert!(said.contains("part-way.log.jsonl") && said.contains("6 lines of the log"), "{said}");
    // A further yard, when it is added and whenever the log brings it in again.
    for file in ["part-way.yaml", "part-way.log.jsonl", "van-3.yaml"] {
        fs::copy(Path::new("scenarios").join(file), folder.path().join(file)).unwrap();
    }
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (job, yard) = (path("part-way.yaml"), path("van-3.yaml"));
    for arguments in [&["replan", &job, "--with", &yard][..], &["status", &job]] {
        let said = text(&run(arguments, &["-v"]).stderr);
        let read = format!("van-3.yaml, {}\n11 cylinders read, 0 rows left out\n", brief(&yard));
        assert!(said.contains(&read), "{arguments:?}: {said}");
    }
}

#[test]
fn quiet_hides_notes_and_never_a_warning_a_refusal_or_a_danger() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let page = path("plan.html");
    let noted = run(&["sheet", "scenarios/cold-store.yaml", "-o", &page], &[]);
    assert_eq!(text(&noted.stderr), format!("wrote {page}\n"));
    assert_eq!(text(&run(&["sheet", "scenarios/cold-store.yaml", "-o", &page], &["-q"]).stderr), "");
    // A refusal of a file, of a reading, and of an argument.
    for arguments in [
        &["plan", "scenarios/wrong/comma.yaml"][..],
        &["plan", "scenarios/cold-store.yaml", "--keep", "C-999"],
        &["plan", "scenarios/cold-store.yaml", "--time-limit", "none"],
    ] {
        let (usual, quiet) = (run(arguments, &[]), run(arguments, &["--quiet"]));
        assert_eq!(quiet.status.code(), Some(2));
        assert!(!usual.stderr.is_empty());
        assert_eq!(text(&quiet.stderr), text(&usual.stderr), "{arguments:?}");
    }
    for file in ["part-way.yaml", "part-way.log.jsonl"] {
        fs::copy(Path::new("scenarios").join(file), folder.path().join(file)).unwrap();
    }
    let job = path("part-way.yaml");
    let refused = run(&["weigh", &job, "T-2", "700"], &["--quiet"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(text(&refused.stderr).starts_with("DANGER if this is true"), "{}", text(&refused.stderr));
    let danger = run(&["weigh", &job, "T-1", "80"], &["--quiet"]);
    assert_eq!(danger.status.code(), Some(1));
    for said in [&danger.stdout, &danger.stderr] {
        assert!(text(said).starts_with("!! DANGER: T-1: it weighs 80.0 lb, over 49 CFR"), "{}", text(said));
    }
    // Rows of a list that aren't taken are told of, and a list with nothing to look at isn't.
    let list = ["yard", "--import", "scenarios/old-list.csv", "--date", "2026-12-01"];
    assert!(text(&run(&list, &["--quiet"]).stderr).contains("\nNot taken\n"));
    let list = path("list.csv");
    let all = "id,tare [lb],water_capacity [lb],gross [lb],holds,condition,mark,tested\n\
               C-1,27.9,47.6,27.9,evacuated,clean,DOT-4BA400,2024-06\n";
    fs::write(&list, all).unwrap();
    let arguments = ["yard", "--import", &list, "--date", "2026-12-01"];
    assert!(text(&run(&arguments, &[]).stderr).contains("1 of 1 cylinder taken"));
    assert_eq!(text(&run(&arguments, &["--quiet"]).stderr), "");
    // A line of the log that a crash tore, and a row that can't be read.
    let log = path("part-way.log.jsonl");
    fs::write(&log, fs::read_to_string(&log).unwrap() + "{\"no\":8,\"at").unwrap();
    assert!(text(&run(&["status", &job], &["--quiet"]).stderr).contains("the last line is torn off"));
    let bad = fs::read_to_string(&job).unwrap()
        + "  - { id: bad, tare: 16,4, water_capacity: 26.2, gross: 16.4, holds: evacuated }\n";
    fs::write(&job, bad).unwrap();
    let skipped = run(&["status", &job, "--skip-bad-rows"], &["--quiet"]);
    assert!(text(&skipped.stderr).contains("left out, its row can't be read"), "{}", text(&skipped.stderr));
}
