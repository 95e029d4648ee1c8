//! Settling a yard: killed at any moment, twice at once, and while somebody saves the file again; whatever of it is there, the
//! rows are whole, nothing is lost, and the next settling brings the yard to what the ledger says.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;
use std::process::Stdio;
use std::time::{Duration, Instant};

use crate::folder::{Answer, Folder};

const JOB: &str = "job: Settled\ndate: 2026-12-01\nunits: lb\nyard: van.csv\nsystems:\n\
                   - { name: Unit, refrigerant: R-22, nameplate: 60 lb }\n";

/// A yard of four in the words of a spreadsheet, with a byte-order mark, semicolons and ends of lines of its own.
fn yard(gross: [&str; 4]) -> String {
    let mut text = "\u{feff}id;tare [lb];water_capacity [lb];gross [lb];holds;mark;tested;remark\r\n".to_owned();
    for (index, gross) in gross.iter().enumerate() {
        let holds = if *gross == "28.0" { "evacuated" } else { "R-22" };
        text.push_str(&format!("C-{};28.0;47.6;{gross};{holds};DOT-4BA400;2024-06;\"shelf; {index}\"\r\n", index + 1));
    }
    text
}

/// A job with readings of three cylinders that the yard file doesn't know of yet.
fn weighed() -> Folder {
    let folder = Folder::of(&[("job.yaml", JOB), ("van.csv", &yard(["28.0"; 4]))]);
    folder.set("CHARGESPLIT_NOW", "2026-12-01T08:00:00-05:00");
    for (cylinder, gross) in [("C-1", "48.0"), ("C-2", "48.5"), ("C-3", "49.1")] {
        folder.done(&["weigh", "job.yaml", cylinder, gross, "--force"]);
    }
    folder
}

fn settled() -> String {
    yard(["48.0", "48.5", "49.1", "28.0"])
}

/// The weights that every command sees, whatever the file says.
fn seen(folder: &Folder) -> Vec<(String, String)> {
    let report = folder.run(["yard", "van.csv", "--json", "--date", "2026-12-01"]);
    let report: serde_json::Value =
        serde_json::from_str(&report.out).unwrap_or_else(|error| panic!("{error}: {report:?}"));
    let cylinders = report["cylinders"].as_array().unwrap().iter();
    let text = |value: &serde_json::Value| value.to_string();
    cylinders.map(|one| (text(&one["cylinder"]), text(&one["now"]))).collect()
}

#[test]
fn what_is_settled_keeps_everything_else_of_the_file() {
    let folder = weighed();
    let before = seen(&folder);
    folder.run(["yard", "van.csv", "--settle"]);
    assert_eq!(folder.read("van.csv"), settled());
    assert_eq!(seen(&folder), before);
    let entries = folder.entries("van.csv");
    folder.run(["yard", "van.csv", "--settle"]);
    assert_eq!((folder.read("van.csv"), folder.entries("van.csv")), (settled(), entries), "twice changes nothing");
}

fn killed_while_settling(rounds: usize) {
    let (mut rng, mut old, mut new) = (fastrand::Rng::with_seed(7), 0, 0);
    let mut usual = Duration::from_millis(40);
    let folder = weighed();
    let (before, first) = (seen(&folder), yard(["28.0"; 4]));
    let ledger = folder.at("van.csv.ledger");
    let kept: Vec<(std::path::PathBuf, Vec<u8>)> = fs::read_dir(&ledger)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.clone(), fs::read(&path).unwrap()))
        .collect();
    for round in 0..rounds {
        let mut child = folder
            .command(["yard", "van.csv", "--settle"])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let begun = Instant::now();
        let kill = round % 5 != 0;
        if kill {
            std::thread::sleep(usual.mul_f64(rng.f64() * 1.1));
            // On Unix this is SIGKILL: nothing of the program runs after it.
            child.kill().unwrap();
        }
        let answer = Answer::read(child.wait_with_output().unwrap());
        if !kill {
            usual = begun.elapsed();
            assert!(answer.status == 0 || answer.status == 1, "{answer:?}");
        }
        let text = folder.read("van.csv");
        assert!(text == first || text == settled(), "round {round}: half a file:\n{text}");
        *(if text == first { &mut old } else { &mut new }) += 1;
        assert_eq!(seen(&folder), before, "round {round}");
        // Whatever was left, the next one brings it to the end.
        let answer = folder.run(["yard", "van.csv", "--settle"]);
        assert!(answer.status == 0 || answer.status == 1, "{answer:?}");
        assert_eq!((folder.read("van.csv"), seen(&folder)), (settled(), before.clone()), "round {round}");
        // From the beginning again: the file, and the ledger as it was.
        folder.write("van.csv", &first);
        for entry in fs::read_dir(&ledger).unwrap() {
            fs::remove_file(entry.unwrap().path()).unwrap();
        }
        for (path, bytes) in &kept {
            fs::write(path, bytes).unwrap();
        }
        // As on a machine that remembers nothing of the round before.
        let state = folder.path().with_file_name(format!("state-{round}"));
        folder.set("CHARGESPLIT_STATE", state.to_str().unwrap());
    }
    println!("{rounds} settlings: after {old} the file was as before, after {new} as it was to be");
    assert!(old > 0 && new > 0, "{old} old, {new} new");
}

#[test]
fn killed_at_any_moment_a_settling_leaves_the_old_file_or_the_new_one() {
    killed_while_settling(15);
}

#[test]
#[ignore = "over 5 s in a debug build"]
fn killed_three_hundred_times_a_settling_leaves_the_old_file_or_the_new_one() {
    killed_while_settling(300);
}

fn two_at_once(rounds: usize) {
    for round in 0..rounds {
        let folder = weighed();
        let before = seen(&folder);
        let both: Vec<_> = (0..2)
            .map(|_| {
                let mut command = folder.command(["yard", "van.csv", "--settle"]);
                command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
            })
            .collect();
        for child in both {
            let answer = Answer::read(child.wait_with_output().unwrap());
            assert!(answer.status == 0 || answer.status == 1, "round {round}: {answer:?}");
        }
        assert_eq!((folder.read("van.csv"), seen(&folder)), (settled(), before), "round {round}");
    }
}

#[test]
fn two_settlings_at_once_do_it_once() {
    two_at_once(4);
}

#[test]
#[ignore = "over 5 s in a debug build"]
fn two_settlings_at_once_do_it_once_a_hundred_times() {
    two_at_once(100);
}

/// Somebody has the file open in a spreadsheet and saves it while it is settled: what was saved is never written over by what
/// was read before, and a value that only the old file had is never taken for the ledger's.
#[test]
fn what_a_spreadsheet_saves_in_between_is_not_lost() {
    let folder = weighed();
    let (before, first) = (seen(&folder), yard(["28.0"; 4]));
    // As another program writes it: commas, plain ends of lines, a remark that somebody has just typed.
    let again = first.replace('\u{feff}', "").replace("\r\n", "\n").replace("\"shelf; 3\"", "moved");
    let (mut told, mut done) = (0, 0);
    for round in 0..12 {
        let child =
            folder.command(["yard", "van.csv", "--settle"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn();
        std::thread::sleep(Duration::from_millis(round * 4));
        folder.write("van.csv", &again);
        let answer = Answer::read(child.unwrap().wait_with_output().unwrap());
        // It is told also where the other program has just begun to write it.
        let refused = answer.status == 2 && !answer.err.is_empty();
        assert!(refused || answer.status == 0 || answer.status == 1, "{answer:?}");
        *(if refused { &mut told } else { &mut done }) += 1;
        assert_eq!(seen(&folder), before, "round {round}: {answer:?}");
        folder.run(["yard", "van.csv", "--settle"]);
        let text = folder.read("van.csv");
        assert!(text.contains("moved") && text.contains("49.1"), "round {round}: {text}");
        assert_eq!(seen(&folder), before, "round {round}");
        folder.write("van.csv", &first);
    }
    assert!(done > 0, "{told} refused, {done} done");
}

/// A spreadsheet has the yard open: others may read it, and nobody replaces it.
#[cfg(windows)]
#[test]
fn a_yard_that_another_program_has_open_is_not_settled_and_readings_go_on() {
    use std::os::windows::fs::OpenOptionsExt;

    let folder = weighed();
    let (entries, before) = (folder.entries("van.csv"), seen(&folder));
    let held = fs::OpenOptions::new().read(true).share_mode(1).open(folder.at("van.csv")).unwrap();
    for arguments in [&["yard", "van.csv", "--settle"][..], &["closeout", "job.yaml", "--write"]] {
        let said = crate::folder::flat(&folder.refused(arguments));
        assert!(said.contains("van.csv") && said.contains("close it there, and do this again"), "{said}");
        assert_eq!((folder.entries("van.csv"), folder.read("van.csv")), (entries, yard(["28.0"; 4])), "{arguments:?}");
    }
    assert_eq!(seen(&folder), before);
    folder.done(&["weigh", "job.yaml", "C-1", "48.2"]);
    drop(held);
    folder.run(["yard", "van.csv", "--settle"]);
    assert_eq!(folder.read("van.csv"), yard(["48.2", "48.5", "49.1", "28.0"]));
}
