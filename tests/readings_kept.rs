//! The ledger as files, through the real program: several at once, killed at any moment, torn, changed, on a full disk, in
//! a folder that can't be written to.

use std::collections::HashSet;
use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::folder::{Answer, Folder, PROGRAM, flat};

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

const YARD: &str = "job.yaml";
const LEDGER: &str = "job.yaml.ledger";

/// The files of the ledger, in order.
fn files(folder: &Folder) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder.at(LEDGER)) else { return Vec::new() };
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|kind| kind == "jsonl"));
    files.sort();
    files
}

/// The one file of the one writer.
fn only_file(folder: &Folder) -> PathBuf {
    let mut files = files(folder);
    assert_eq!(files.len(), 1, "{files:?}");
    files.remove(0)
}

fn weigh(folder: &Folder, cylinder: &str, gross: &str) -> Answer {
    folder.run(["weigh", "job.yaml", cylinder, gross])
}

/// The readings of the ledger: note, cylinder and gross weight in tenths. What a crash tore is none.
fn readings(folder: &Folder) -> Vec<(String, String, i64)> {
    let text = folder.ledger(YARD);
    let lines = text.lines().filter_map(|line| serde_json::from_str::<Value>(line).ok());
    let reading = |line: Value| {
        let reading = line["what"].get("reading")?.clone();
        let word = |key: &str| reading.get(key).and_then(Value::as_str).unwrap_or_default().to_owned();
        let gross: f64 = word("gross").trim_end_matches(" lb").parse().unwrap();
        Some((word("note"), word("cylinder"), (gross * 10.0).round() as i64))
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
    // On a loaded machine its turn may not come within 5 s; that is said, and nothing is kept.
    let waited = answer.err.contains("is writing here; nothing was written");
    assert!(after.is_some() || answered || waited, "{}", answer.err);
    answered
}

#[test]
fn what_was_answered_is_in_the_ledger_whoever_is_killed() {
    answered_and_kept(240);
}

#[test]
#[ignore = "takes minutes; run before a release"]
fn of_two_thousand_readings_none_that_was_answered_is_lost() {
    answered_and_kept(2_000);
}

fn answered_and_kept(calls: usize) {
    const PEOPLE: usize = 8;
    let folder = job();
    folder.done(&["begin", "job.yaml"]);
    // How long a call takes here and now: half of them are killed within that time.
    let usual = Mutex::new(Duration::from_millis(40));
    let answered = Mutex::new(Vec::new());
    let killed = Mutex::new(0);
    std::thread::scope(|scope| {
        for person in 0..PEOPLE {
            let (folder, answered, killed, usual) = (&folder, &answered, &killed, &usual);
            scope.spawn(move || {
                let mut rng = fastrand::Rng::with_seed(person as u64);
                for call in (person..calls).step_by(PEOPLE) {
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
    assert_eq!(weigh(&folder, "C-0", "130.0").status, 0);
    let kept = readings(&folder);
    let notes: HashSet<&str> = kept.iter().map(|(note, ..)| note.as_str()).collect();
    for (note, person, _) in &answered {
        assert!(notes.contains(note.as_str()), "{note} of C-{person} was answered and is not in the ledger");
    }
    let unanswered = kept.len() - 1 - answered.len();
    println!(
        "{calls} calls: {} answered, {killed} killed before; {unanswered} of these are in the ledger",
        answered.len()
    );
    assert!(killed > calls / 20 && answered.len() > calls / 3, "{killed} killed, {} answered", answered.len());
    // Status adds up what stands in the ledger, and nothing is in doubt.
    let shown = folder.run(["status", "job.yaml", "--json"]).is(0).json();
    assert_eq!(shown["readings"].as_u64().unwrap(), kept.len() as u64);
    assert!(shown.get("of_ledger").is_none(), "{shown}");
    for cylinder in shown["cylinders"].as_array().unwrap() {
        let id = cylinder["cylinder"].as_str().unwrap();
        let last = kept.iter().rfind(|(_, known, _)| known == id).map_or(620, |(.., tenths)| *tenths);
        assert_eq!((cylinder["now"].as_f64().unwrap() * 10.0).round() as i64, last, "{id}");
    }
}

/// How many readings `status` counts, and what it says of the ledger.
fn looked_at(folder: &Folder) -> (u64, String) {
    let shown = folder.run(["status", "job.yaml", "--json"]).is(0).json();
    (shown["readings"].as_u64().unwrap(), shown.get("of_ledger").map(Value::to_string).unwrap_or_default())
}

#[test]
fn a_line_torn_anywhere_is_told_and_put_aside_and_what_stands_before_it_stays() {
    let folder = job();
    for gross in ["65.0", "70.0", "75.0"] {
        assert_eq!(weigh(&folder, "C-1", gross).status, 0);
    }
    let file = only_file(&folder);
    let whole = fs::read(&file).unwrap();
    let last = whole[..whole.len() - 1].iter().rposition(|byte| *byte == b'\n').unwrap() + 1;
    // Without its end alone it is whole, and counts.
    fs::write(&file, &whole[..whole.len() - 1]).unwrap();
    assert_eq!(looked_at(&folder), (3, String::new()));
    // Torn behind what was answered: nothing is lost, and what was torn is put aside by the next one.
    let mut torn = 0;
    for cut in (last + 1..whole.len() - 1).step_by(if cfg!(debug_assertions) { 97 } else { 7 }) {
        let end = fs::read(&file).unwrap();
        let more = [&end[..], if end.ends_with(b"\n") { b"" } else { b"\n" }, &whole[last..cut]].concat();
        fs::write(&file, &more).unwrap();
        let before = readings(&folder).len() as u64;
        let (count, said) = looked_at(&folder);
        assert_eq!(count, before, "cut at {cut}");
        assert!(said.contains("its last line has no end"), "cut at {cut}: {said}");
        assert_eq!(fs::read(&file).unwrap(), more, "looking changes nothing");
        let output = weigh(&folder, "C-1", &format!("{}.0", 76 + torn)).is(0);
        assert!(flat(&output.out).contains("a crash tore its last line"), "{}", output.out);
        torn += 1;
        assert_eq!(fs::read(file.with_extension(format!("torn-{torn}.txt"))).unwrap(), &whole[last..cut]);
        assert_eq!((readings(&folder).len() as u64, only_file(&folder)), (before + 1, file.clone()));
    }
    assert!(torn > 2);
    // Torn in what was answered: this machine remembers it, and another says what it can't read.
    let whole = fs::read(&file).unwrap();
    let (count, _) = looked_at(&folder);
    fs::write(&file, &whole[..whole.len() - 40]).unwrap();
    assert_eq!(looked_at(&folder).0, count, "{}", looked_at(&folder).1);
    let mut elsewhere = folder.command(["status", "job.yaml", "--json"]);
    let elsewhere = Answer::to(elsewhere.env("CHARGESPLIT_STATE", folder.at("elsewhere"))).is(0).json();
    assert_eq!(elsewhere["readings"].as_u64(), Some(count - 1));
    assert!(elsewhere["of_ledger"].to_string().contains("its last line has no end"), "{elsewhere}");
    weigh(&folder, "C-2", "70.0").is(0);
    assert_eq!(looked_at(&folder).0, count + 1);
}

#[test]
fn no_line_that_was_changed_or_is_gone_is_passed_over() {
    let folder = job();
    for gross in ["65.0", "70.0", "75.0"] {
        assert_eq!(weigh(&folder, "C-1", gross).status, 0);
    }
    assert_eq!(weigh(&folder, "C-2", "65.0").status, 0);
    let file = only_file(&folder);
    let text = fs::read_to_string(&file).unwrap();
    let gone = |what: &str| text.lines().filter(|line| !line.contains(what)).map(|line| format!("{line}\n")).collect();
    let reading = "\"gross\":\"65 lb\",\"parts\"";
    let first = text.lines().find(|line| line.contains(reading)).unwrap();
    // Changed in one digit, torn in the middle, gone: each leaves C-1 in doubt, C-2 as it is, and goes on with the rest.
    let spoiled: [String; 3] =
        [text.replacen("65 lb", "64 lb", 1), text.replace(first, &first[..first.len() - 20]), gone(first)];
    for spoiled in spoiled {
        assert_ne!(spoiled, text);
        fs::write(&file, &spoiled).unwrap();
        let now = |id: &str| folder.run(["cylinder", "job.yaml", id, "--json"]).json()["now"]["doubt"].clone();
        assert!(now("C-1").is_string(), "{}", now("C-1"));
        assert!(now("C-2").is_null() && now("C-3").is_null(), "{}", now("C-2"));
        for arguments in [&["status", "job.yaml"][..], &["yard", "job.yaml"], &["plan", "job.yaml"]] {
            let answer = folder.run(arguments);
            assert!(answer.status < 2, "{arguments:?}: {}", answer.err);
            assert!(
                answer.out.contains("C-1") && flat(&answer.out).contains("can't be"),
                "{arguments:?}: {}",
                answer.out
            );
        }
        assert_eq!(fs::read_to_string(&file).unwrap(), spoiled, "looking changes nothing");
    }
    // With the plan itself gone everything that it bound is in doubt, and nothing stops.
    let plan = text.lines().nth(1).unwrap();
    assert!(plan.contains("\"bind\""));
    fs::write(&file, gone(plan)).unwrap();
    for arguments in [&["status", "job.yaml"][..], &["yard", "job.yaml"], &["plan", "job.yaml"], &["check", "job.yaml"]]
    {
        let answer = folder.run(arguments);
        assert!(answer.status < 2 && answer.out.contains("C-1"), "{arguments:?}: {}{}", answer.out, answer.err);
    }
    let plan = folder.run(["plan", "job.yaml", "--json"]).json();
    assert!(!plan["loads"].to_string().contains("\"C-1\"") && !plan["loads"].to_string().contains("\"C-2\""), "{plan}");
    fs::write(&file, text.replacen("65 lb", "64 lb", 1)).unwrap();
    // Whoever weighs it and says what is in it settles it.
    folder.done(&["cylinder", "job.yaml", "C-1", "--weighed", "75", "--holds", "R-22"]);
    assert!(folder.run(["cylinder", "job.yaml", "C-1", "--json"]).json()["now"]["doubt"].is_null());
}

/// A limit on the size of a file stands for the full disk: the write that passes it goes in by half, then fails. It
/// needs a shell, not a mount; a system without one skips it and says so.
#[test]
fn a_full_disk_leaves_nothing_half_written() {
    let folder = job();
    assert_eq!(weigh(&folder, "C-2", "63.0").status, 0);
    let blocks = fs::metadata(only_file(&folder)).unwrap().len() / 512 + 3;
    let mut failed = None;
    for call in 0..40 {
        let before = fs::read(only_file(&folder)).unwrap();
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
            let after = fs::read(only_file(&folder)).unwrap();
            failed = Some((output, before, after));
            break;
        }
        assert!(fs::read(only_file(&folder)).unwrap().len() > before.len());
    }
    let (output, before, after) = failed.expect("the limit was met");
    assert_eq!(output.status, 2, "{}", output.err);
    assert!(output.err.contains("the ledger can't be written to"), "{}", output.err);
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
    let ledger = || folder.ledger("small/job.yaml");
    let weigh = |gross: &str| folder.run(["weigh", "small/job.yaml", "C-2", gross]);
    let began = weigh("63.0").status;
    let before = ledger();
    // All that is left is taken, to the last byte of the last page.
    let filler = fs::write(small.join("filler"), vec![0_u8; 128 * 1024]);
    let mut refused = None;
    for call in 0..200 {
        let before = ledger();
        let output = weigh(&format!("{}.{}", 64 + call / 10, call % 10));
        if output.status != 0 {
            refused = Some((output, before == ledger()));
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
    assert!(output.err.contains("the ledger can't be written to"), "{}", output.err);
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
    folder.write(LEDGER, "in the way");
    let output = weigh(&folder, "C-2", "63.0").is(2);
    assert!(output.out.is_empty(), "nothing is answered");
    assert!(output.err.contains(LEDGER), "{}", output.err);
    fs::remove_file(folder.at(LEDGER)).unwrap();
    // The machine's own folder, without which nobody writes.
    folder.write("file", "");
    let state = folder.at("file/state");
    let mut command = folder.command(["weigh", "job.yaml", "C-2", "63.0"]);
    let output = Answer::to(command.env("CHARGESPLIT_STATE", state)).is(2);
    assert!(output.out.is_empty() && output.err.contains("CHARGESPLIT_STATE"), "{}", output.err);
    assert!(!folder.at(LEDGER).exists());

    assert_eq!(weigh(&folder, "C-2", "63.0").status, 0);
    let (yard, ledger) = (folder.bytes("job.yaml"), folder.ledger(YARD));
    fs::create_dir(folder.at("job.record.csv")).unwrap();
    let output = folder.run(["closeout", "job.yaml", "--write"]).is(2);
    assert!(output.err.contains("job.record.csv"), "{}", output.err);
    assert_eq!((folder.bytes("job.yaml"), folder.ledger(YARD)), (yard, ledger), "all is as it was");
    assert!(!folder.at("job.record.json").exists());

    let me = Command::new("id").arg("-u").output().map(|id| id.stdout).unwrap_or_default();
    if me.trim_ascii() == b"0" {
        println!("skipped: root may write to a folder whatever its rights say");
        return;
    }
    let file = only_file(&folder);
    let before = fs::read(&file).unwrap();
    let mut rights = fs::metadata(&file).unwrap().permissions();
    rights.set_readonly(true);
    fs::set_permissions(&file, rights).unwrap();
    assert_eq!(weigh(&folder, "C-2", "64.0").status, 2);
    assert_eq!(fs::read(&file).unwrap(), before);
    assert_eq!(looked_at(&folder), (1, String::new()), "to read it needs no right to write");
}
