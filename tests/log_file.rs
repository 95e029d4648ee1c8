//! The log as a file, through the real program: several at once, killed at any moment, torn, on a full disk, in a folder
//! that can't be written to.

use std::collections::HashSet;
use std::fs;
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::folder::{Answer, Folder, PROGRAM};

/// A job with eight cylinders of 125 lb, in a folder of its own: every reading from 62.0 to 140.0 lb can be.
fn job() -> Folder {
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
    Folder::of(&[("job.yaml", &text)])
}

const LOG: &str = "job.log.jsonl";

fn weigh(folder: &Folder, cylinder: &str, gross: &str) -> Answer {
    folder.run(["weigh", "job.yaml", cylinder, gross])
}

/// The readings of the log: note, cylinder and gross weight in tenths.
fn readings(folder: &Folder) -> Vec<(String, String, i64)> {
    let text = folder.read(LOG);
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
fn weigh_and_kill(folder: &Folder, cylinder: usize, tenths: i64, note: &str, after: Option<Duration>) -> bool {
    let gross = format!("{}.{}", tenths / 10, tenths % 10);
    let mut child = folder
        .command(["weigh", "job.yaml", &format!("C-{cylinder}"), &gross, "--note", note])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    if let Some(after) = after {
        std::thread::sleep(after);
        // On Unix this is SIGKILL: nothing of the program runs after it.
        child.kill().unwrap();
    }
    let answer = Answer::read(child.wait_with_output().unwrap());
    let answered = answer.out.contains(&format!("C-{cylinder}:"));
    assert!(after.is_some() || answered, "{}", answer.err);
    answered
}

#[test]
fn what_was_answered_is_in_the_log_whoever_is_killed() {
    const CALLS: usize = 500;
    const PEOPLE: usize = 8;
    let folder = job();
    // How long a call takes here and now: half of them are killed within that time.
    let usual = Mutex::new(Duration::from_millis(40));
    let answered = Mutex::new(Vec::new());
    let killed = Mutex::new(0);
    std::thread::scope(|scope| {
        for person in 0..PEOPLE {
            let (folder, answered, killed, usual) = (&folder, &answered, &killed, &usual);
            scope.spawn(move || {
                let mut rng = fastrand::Rng::with_seed(person as u64);
                for call in (person..CALLS).step_by(PEOPLE) {
                    let tenths = 620 + (call / PEOPLE) as i64;
                    let note = format!("call {call}");
                    let after = (rng.u8(..2) == 0).then(|| usual.lock().unwrap().mul_f64(rng.f64()));
                    let begun = Instant::now();
                    if weigh_and_kill(folder, person, tenths, &note, after) {
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
    assert_eq!(weigh(&folder, "C-0", "70.0").status, 0);
    let kept = readings(&folder);
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
    let shown = folder.run(["status", "job.yaml", "--json"]).is(0).json();
    assert_eq!(shown["readings"].as_u64().unwrap(), kept.len() as u64);
    for cylinder in shown["cylinders"].as_array().unwrap() {
        let id = cylinder["cylinder"].as_str().unwrap();
        let last = kept.iter().rfind(|(_, known, _)| known == id).map_or(620, |(.., tenths)| *tenths);
        assert_eq!((cylinder["now"].as_f64().unwrap() * 10.0).round() as i64, last, "{id}");
    }
}

#[test]
fn a_line_torn_anywhere_is_told_and_put_aside_and_what_stands_before_it_stays() {
    let folder = job();
    for gross in ["65.0", "70.0", "75.0"] {
        assert_eq!(weigh(&folder, "C-1", gross).status, 0);
    }
    let whole = folder.bytes(LOG);
    let text = String::from_utf8(whole.clone()).unwrap();
    let last = whole[..whole.len() - 1].iter().rposition(|byte| *byte == b'\n').unwrap() + 1;
    let cuts = (last + 1..whole.len()).step_by(17).chain([whole.len() - 1]);
    for (index, cut) in cuts.enumerate() {
        folder.write(LOG, &whole[..cut]);
        let shown = folder.run(["status", "job.yaml", "--json"]);
        assert_eq!(shown.status, 0, "cut at {cut}: {}", shown.err);
        assert!(shown.err.contains("the last line is torn off"), "{}", shown.err);
        assert_eq!(shown.json()["readings"], 2);
        assert_eq!(folder.bytes(LOG), &whole[..cut], "looking changes nothing");
        let output = weigh(&folder, "C-1", "76.0");
        assert_eq!(output.status, 0);
        assert!(output.err.contains("put aside in"), "{}", output.err);
        let aside = format!("job.log.torn-{}.txt", index + 1);
        assert_eq!(folder.bytes(&aside), &whole[last..cut]);
        let kept: Vec<i64> = readings(&folder).into_iter().map(|(.., tenths)| tenths).collect();
        assert_eq!(kept, [650, 700, 760]);
    }
    // Torn in the middle is not torn by a crash: nothing is passed over.
    let spoiled = text.replacen("\"gross\":\"65.0 lb\"", "\"gross\":\"65.0 l", 1);
    folder.write(LOG, &spoiled);
    for output in [weigh(&folder, "C-1", "76.0"), folder.run(["status", "job.yaml"])] {
        assert_eq!(output.status, 2);
        assert!(output.err.contains("job.log.jsonl:2: this line of the log can't be read"));
    }
    assert_eq!(folder.read(LOG), spoiled, "nothing was touched");
    // Nor may a line be missing.
    let gone: String = text.lines().filter(|line| !line.contains("65.0 lb")).map(|line| format!("{line}\n")).collect();
    folder.write(LOG, gone);
    assert!(weigh(&folder, "C-1", "76.0").err.contains("lines are missing or doubled"));
}

/// A limit on the size of a file stands for the full disk: the write that passes it goes in by half, then fails. It
/// needs a shell, not a mount; a system without one skips it and says so.
#[test]
fn a_full_disk_leaves_nothing_half_written() {
    let folder = job();
    assert_eq!(weigh(&folder, "C-2", "63.0").status, 0);
    let blocks = fs::metadata(folder.at(LOG)).unwrap().len() / 512 + 3;
    let mut failed = None;
    for call in 0..40 {
        let before = folder.bytes(LOG);
        let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"");
        let note = format!("{call} {}", "x".repeat(150));
        let gross = format!("{}.0", 64 + call);
        let arguments = ["weigh", "job.yaml", "C-2", &gross, "--note", &note];
        let Ok(output) = folder.command_of("sh", ["-c", &script, PROGRAM]).args(arguments).output() else {
            println!("skipped: there is no shell to set the limit with");
            return;
        };
        let output = Answer::read(output);
        if output.status != 0 {
            let after = folder.bytes(LOG);
            failed = Some((output, before, after));
            break;
        }
        assert!(folder.bytes(LOG).len() > before.len());
    }
    let (output, before, after) = failed.expect("the limit was met");
    assert_eq!(output.status, 2, "{}", output.err);
    assert!(output.err.contains("the log can't be written"), "{}", output.err);
    assert!(output.err.contains("nothing was added to it"), "{}", output.err);
    assert!(output.out.is_empty(), "nothing is answered");
    assert_eq!(before, after, "nothing half-written");
    // With room again it goes on.
    assert_eq!(weigh(&folder, "C-2", "120.0").status, 0);
}

/// The same on a disk that is really full: a file system of 64 kB in memory, where the system lets this test mount one.
#[test]
fn a_disk_that_is_really_full_leaves_nothing_half_written() {
    let folder = job();
    let small = folder.at("small");
    fs::create_dir(&small).unwrap();
    let mounted = Command::new("mount").args(["-t", "tmpfs", "-o", "size=64k", "tmpfs"]).arg(&small).output();
    if !mounted.is_ok_and(|output| output.status.success()) {
        println!("skipped: this user may not mount a small file system; the limit on file size is tested besides");
        return;
    }
    folder.write("small/job.yaml", folder.read("job.yaml"));
    let log = || fs::read(folder.at("small/job.log.jsonl")).unwrap_or_default();
    let weigh = |gross: &str| folder.run(["weigh", "small/job.yaml", "C-2", gross]);
    let began = weigh("63.0").status;
    let before = log();
    // All that is left is taken, to the last byte of the last page.
    let filler = fs::write(small.join("filler"), vec![0_u8; 128 * 1024]);
    let mut refused = None;
    for call in 0..200 {
        let before = log();
        let output = weigh(&format!("{}.{}", 64 + call / 10, call % 10));
        if output.status != 0 {
            refused = Some((output, before == log()));
            break;
        }
    }
    let closed = folder.run(["closeout", "small/job.yaml"]);
    let left: Vec<String> =
        fs::read_dir(&small).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    assert!(Command::new("umount").arg(&small).status().unwrap().success());
    assert!(began == 0 && !before.is_empty() && filler.is_err());
    let (output, same) = refused.expect("the disk was full");
    assert_eq!(output.status, 2, "{}", output.err);
    assert!(output.err.contains("the log can't be written"), "{}", output.err);
    assert!(same, "nothing half-written");
    assert_eq!(closed.status, 2, "{}", closed.out);
    assert!(closed.err.contains("can't be written"), "{}", closed.err);
    assert!(!left.iter().any(|name| name.contains("record") || name.contains("partial")), "{left:?}");
}

/// As root a folder without the right to write can be written to, so a folder in the place of a file stands for it; for
/// everybody else the right is taken away besides.
#[test]
fn a_folder_that_cant_be_written_to_is_told() {
    let folder = job();
    fs::create_dir(folder.at(LOG)).unwrap();
    let output = weigh(&folder, "C-2", "63.0");
    assert_eq!(output.status, 2);
    assert!(output.out.is_empty(), "nothing is answered");
    assert!(output.err.contains("the log can't be opened"), "{}", output.err);
    fs::remove_dir(folder.at(LOG)).unwrap();

    assert_eq!(weigh(&folder, "C-2", "63.0").status, 0);
    let yard = folder.bytes("job.yaml");
    fs::create_dir(folder.at("job.record.csv")).unwrap();
    let output = folder.run(["closeout", "job.yaml", "--write"]);
    assert_eq!(output.status, 2);
    assert!(output.err.contains("can't be written"), "{}", output.err);
    assert_eq!(folder.bytes("job.yaml"), yard, "the cylinders are as they were");
    assert!(!folder.at("job.record.json").exists());

    let me = Command::new("id").arg("-u").output().map(|id| id.stdout).unwrap_or_default();
    if me.trim_ascii() == b"0" {
        println!("skipped: root may write to a folder whatever its rights say");
        return;
    }
    let log = folder.bytes(LOG);
    let mut rights = fs::metadata(folder.at(LOG)).unwrap().permissions();
    rights.set_readonly(true);
    fs::set_permissions(folder.at(LOG), rights).unwrap();
    let output = weigh(&folder, "C-2", "64.0");
    assert_eq!(output.status, 2);
    assert_eq!(folder.bytes(LOG), log);
}
