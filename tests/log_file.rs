//! The log as a file, through the real program: several at once, killed at any moment, torn, on a full disk, in a folder
//! that can't be written to.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::Mutex;
use std::time::{Duration, Instant};

use serde_json::Value;
use tempfile::TempDir;

const PROGRAM: &str = env!("CARGO_BIN_EXE_chargesplit");

fn run(arguments: &[&str]) -> Output {
    Command::new(PROGRAM).args(arguments).output().unwrap()
}

fn status(output: &Output) -> i32 {
    output.status.code().unwrap_or(-1)
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A job with eight cylinders of 125 lb, in a folder of its own: every reading from 62.0 to 140.0 lb can be.
fn job() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.yaml");
    let mut text =
        "job: Test\ndate: 2026-12-01\nunits: lb\nsystems:\n  - { name: S, refrigerant: R-22, nameplate: 700 lb }\n\
                    cylinders:\n"
            .to_owned();
    for number in 0..8 {
        text.push_str(&format!(
            "  - {{ id: C-{number}, tare: 62.0, water_capacity: 123.0, gross: 62.0, holds: evacuated, mark: DOT-4BW400, \
             tested: 2024-06 }}\n"
        ));
    }
    fs::write(&path, text).unwrap();
    (folder, path)
}

fn log_of(job: &Path) -> PathBuf {
    job.with_extension("log.jsonl")
}

fn weigh(job: &Path, cylinder: &str, gross: &str) -> Output {
    run(&["weigh", job.to_str().unwrap(), cylinder, gross])
}

/// The readings of the log: note, cylinder and gross weight in tenths.
fn readings(job: &Path) -> Vec<(String, String, i64)> {
    let text = fs::read_to_string(log_of(job)).unwrap();
    let lines = text.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    let reading = |line: Value| {
        let reading = line.get("reading")?;
        let word = |key: &str| reading.get(key).and_then(Value::as_str).unwrap_or_default().to_owned();
        let tenths = word("gross").trim_end_matches(" lb").replace('.', "").parse().unwrap();
        Some((word("note"), word("cylinder"), tenths))
    };
    lines.filter_map(reading).collect()
}

/// One reading, killed after so long where that comes before its end; whether it was answered.
fn weigh_and_kill(job: &Path, cylinder: usize, tenths: i64, note: &str, after: Option<Duration>) -> bool {
    let gross = format!("{}.{}", tenths / 10, tenths % 10);
    let mut child = Command::new(PROGRAM)
        .args(["weigh", job.to_str().unwrap(), &format!("C-{cylinder}"), &gross, "--note", note])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    if let Some(after) = after {
        std::thread::sleep(after);
        // On Unix this is SIGKILL: nothing of the program runs after it.
        child.kill().unwrap();
    }
    let output = child.wait_with_output().unwrap();
    let answered = text(&output.stdout).contains(&format!("C-{cylinder}:"));
    assert!(after.is_some() || answered, "{}", text(&output.stderr));
    answered
}

#[test]
fn what_was_answered_is_in_the_log_whoever_is_killed() {
    const CALLS: usize = 500;
    const PEOPLE: usize = 8;
    let (_folder, path) = job();
    // How long a call takes here and now: half of them are killed within that time.
    let usual = Mutex::new(Duration::from_millis(40));
    let answered = Mutex::new(Vec::new());
    let killed = Mutex::new(0);
    std::thread::scope(|scope| {
        for person in 0..PEOPLE {
            let (path, answered, killed, usual) = (&path, &answered, &killed, &usual);
            scope.spawn(move || {
                let mut rng = fastrand::Rng::with_seed(person as u64);
                for call in (person..CALLS).step_by(PEOPLE) {
                    let tenths = 620 + (call / PEOPLE) as i64;
                    let note = format!("call {call}");
                    let after = (rng.u8(..2) == 0).then(|| usual.lock().unwrap().mul_f64(rng.f64()));
                    let begun = Instant::now();
                    if weigh_and_kill(path, person, tenths, &note, after) {
                        answered.lock().unwrap().push((note, person, tenths));
                        if after.is_none() {
                            let mut usual = usual.lock().unwrap();
                            *usual = usual.mul_f64(0.8) + begun.elapsed().mul_f64(0.2);
                        }
                    } else {
                        *killed.lock().unwrap() += 1;
                    }
                }
            });
        }
    });
    let (answered, killed) = (answered.into_inner().unwrap(), killed.into_inner().unwrap());
    // Whatever the last of them left is put right by the next reading.
    assert_eq!(status(&weigh(&path, "C-0", "70.0")), 0);
    let kept = readings(&path);
    let notes: HashSet<&str> = kept.iter().map(|(note, ..)| note.as_str()).collect();
    for (note, person, _) in &answered {
        assert!(notes.contains(note.as_str()), "{note} of C-{person} was answered and is not in the log");
    }
    let unanswered = kept.len() - 1 - answered.len();
    println!(
        "{CALLS} calls: {} answered, {killed} killed before; {unanswered} of these are in the log",
        answered.len()
    );
    assert!(killed > CALLS / 20 && answered.len() > CALLS / 3, "{killed} killed, {} answered", answered.len());
    // Status adds up what stands in the log.
    let shown = run(&["status", path.to_str().unwrap(), "--json"]);
    assert_eq!(status(&shown), 0, "{}", text(&shown.stderr));
    let shown: Value = serde_json::from_slice(&shown.stdout).unwrap();
    assert_eq!(shown["readings"].as_u64().unwrap(), kept.len() as u64);
    for cylinder in shown["cylinders"].as_array().unwrap() {
        let id = cylinder["cylinder"].as_str().unwrap();
        let last = kept.iter().rfind(|(_, known, _)| known == id).map_or(620, |(.., tenths)| *tenths);
        assert_eq!((cylinder["now"].as_f64().unwrap() * 10.0).round() as i64, last, "{id}");
    }
}

#[test]
fn a_line_torn_anywhere_is_told_and_put_aside_and_what_stands_before_it_stays() {
    let (folder, path) = job();
    for gross in ["65.0", "70.0", "75.0"] {
        assert_eq!(status(&weigh(&path, "C-1", gross)), 0);
    }
    let whole = fs::read(log_of(&path)).unwrap();
    let last = whole[..whole.len() - 1].iter().rposition(|byte| *byte == b'\n').unwrap() + 1;
    let cuts = (last + 1..whole.len()).step_by(17).chain([whole.len() - 1]);
    for (index, cut) in cuts.enumerate() {
        fs::write(log_of(&path), &whole[..cut]).unwrap();
        let shown = run(&["status", path.to_str().unwrap(), "--json"]);
        assert_eq!(status(&shown), 0, "cut at {cut}: {}", text(&shown.stderr));
        assert!(text(&shown.stderr).contains("the last line is torn off"), "{}", text(&shown.stderr));
        let shown: Value = serde_json::from_slice(&shown.stdout).unwrap();
        assert_eq!(shown["readings"], 2);
        assert_eq!(fs::read(log_of(&path)).unwrap(), &whole[..cut], "looking changes nothing");
        let output = weigh(&path, "C-1", "76.0");
        assert_eq!(status(&output), 0);
        assert!(text(&output.stderr).contains("put aside in"), "{}", text(&output.stderr));
        let aside = folder.path().join(format!("job.log.torn-{}.txt", index + 1));
        assert_eq!(fs::read(aside).unwrap(), &whole[last..cut]);
        let kept: Vec<i64> = readings(&path).into_iter().map(|(.., tenths)| tenths).collect();
        assert_eq!(kept, [650, 700, 760]);
    }
    // Torn in the middle is not torn by a crash: nothing is passed over.
    let spoiled = text(&whole).replacen("\"gross\":\"65.0 lb\"", "\"gross\":\"65.0 l", 1);
    fs::write(log_of(&path), &spoiled).unwrap();
    for output in [weigh(&path, "C-1", "76.0"), run(&["status", path.to_str().unwrap()])] {
        assert_eq!(status(&output), 2);
        assert!(text(&output.stderr).contains("job.log.jsonl:2: this line of the log can't be read"));
    }
    assert_eq!(text(&fs::read(log_of(&path)).unwrap()), spoiled, "nothing was touched");
    // Nor may a line be missing.
    let gone: String =
        text(&whole).lines().filter(|line| !line.contains("65.0 lb")).map(|line| format!("{line}\n")).collect();
    fs::write(log_of(&path), gone).unwrap();
    assert!(text(&weigh(&path, "C-1", "76.0").stderr).contains("lines are missing or doubled"));
}

/// A limit on the size of a file stands for the full disk: the write that passes it goes in by half, then fails. It
/// needs a shell, not a mount; a system without one skips it and says so.
#[test]
fn a_full_disk_leaves_nothing_half_written() {
    let (_folder, path) = job();
    assert_eq!(status(&weigh(&path, "C-2", "63.0")), 0);
    let blocks = fs::metadata(log_of(&path)).unwrap().len() / 512 + 3;
    let mut failed = None;
    for call in 0..40 {
        let before = fs::read(log_of(&path)).unwrap();
        let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"");
        let note = format!("{call} {}", "x".repeat(150));
        let gross = format!("{}.0", 64 + call);
        let arguments = ["weigh", path.to_str().unwrap(), "C-2", &gross, "--note", &note];
        let Ok(output) = Command::new("sh").args(["-c", &script, PROGRAM]).args(arguments).output() else {
            println!("skipped: there is no shell to set the limit with");
            return;
        };
        if status(&output) != 0 {
            let after = fs::read(log_of(&path)).unwrap();
            failed = Some((output, before, after));
            break;
        }
        assert!(fs::read(log_of(&path)).unwrap().len() > before.len());
    }
    let (output, before, after) = failed.expect("the limit was met");
    assert_eq!(status(&output), 2, "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("the log can't be written"), "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("nothing was added to it"), "{}", text(&output.stderr));
    assert!(output.stdout.is_empty(), "nothing is answered");
    assert_eq!(before, after, "nothing half-written");
    // With room again it goes on.
    assert_eq!(status(&weigh(&path, "C-2", "120.0")), 0);
}

/// The same on a disk that is really full: a file system of 64 kB in memory, where the system lets this test mount one.
#[test]
fn a_disk_that_is_really_full_leaves_nothing_half_written() {
    let (_folder, path) = job();
    let folder = path.parent().unwrap().join("small");
    fs::create_dir(&folder).unwrap();
    let mounted = Command::new("mount").args(["-t", "tmpfs", "-o", "size=64k", "tmpfs"]).arg(&folder).output();
    if !mounted.is_ok_and(|output| output.status.success()) {
        println!("skipped: this user may not mount a small file system; the limit on file size is tested besides");
        return;
    }
    let inside = folder.join("job.yaml");
    fs::copy(&path, &inside).unwrap();
    let began = status(&weigh(&inside, "C-2", "63.0"));
    let before = fs::read(log_of(&inside)).unwrap_or_default();
    // All that is left is taken, to the last byte of the last page.
    let filler = fs::write(folder.join("filler"), vec![0_u8; 128 * 1024]);
    let mut refused = None;
    for call in 0..200 {
        let before = fs::read(log_of(&inside)).unwrap_or_default();
        let output = weigh(&inside, "C-2", &format!("{}.{}", 64 + call / 10, call % 10));
        if status(&output) != 0 {
            refused = Some((output, before == fs::read(log_of(&inside)).unwrap_or_default()));
            break;
        }
    }
    let closed = run(&["closeout", inside.to_str().unwrap()]);
    let left: Vec<String> =
        fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    assert!(Command::new("umount").arg(&folder).status().unwrap().success());
    assert!(began == 0 && !before.is_empty() && filler.is_err());
    let (output, same) = refused.expect("the disk was full");
    assert_eq!(status(&output), 2, "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("the log can't be written"), "{}", text(&output.stderr));
    assert!(same, "nothing half-written");
    assert_eq!(status(&closed), 2, "{}", text(&closed.stdout));
    assert!(text(&closed.stderr).contains("can't be written"), "{}", text(&closed.stderr));
    assert!(!left.iter().any(|name| name.contains("record") || name.contains("partial")), "{left:?}");
}

/// As root a folder without the right to write can be written to, so a folder in the place of a file stands for it; for
/// everybody else the right is taken away besides.
#[test]
fn a_folder_that_cant_be_written_to_is_told() {
    let (folder, path) = job();
    fs::create_dir(log_of(&path)).unwrap();
    let output = weigh(&path, "C-2", "63.0");
    assert_eq!(status(&output), 2);
    assert!(output.stdout.is_empty(), "nothing is answered");
    assert!(text(&output.stderr).contains("the log can't be opened"), "{}", text(&output.stderr));
    fs::remove_dir(log_of(&path)).unwrap();

    assert_eq!(status(&weigh(&path, "C-2", "63.0")), 0);
    let yard = fs::read(&path).unwrap();
    fs::create_dir(folder.path().join(".job.record.csv.partial")).unwrap();
    let output = run(&["closeout", path.to_str().unwrap(), "--write"]);
    assert_eq!(status(&output), 2);
    assert!(text(&output.stderr).contains("can't be written"), "{}", text(&output.stderr));
    assert_eq!(fs::read(&path).unwrap(), yard, "the cylinders are as they were");
    assert!(!folder.path().join("job.record.csv").exists() && !folder.path().join("job.record.json").exists());

    let me = Command::new("id").arg("-u").output().map(|output| text(&output.stdout)).unwrap_or_default();
    if me.trim() == "0" {
        println!("skipped: root may write to a folder whatever its rights say");
        return;
    }
    let log = fs::read(log_of(&path)).unwrap();
    let mut rights = fs::metadata(log_of(&path)).unwrap().permissions();
    rights.set_readonly(true);
    fs::set_permissions(log_of(&path), rights).unwrap();
    let output = weigh(&path, "C-2", "64.0");
    assert_eq!(status(&output), 2);
    assert_eq!(fs::read(log_of(&path)).unwrap(), log);
}
