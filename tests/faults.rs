//! What the world does to files, clocks and arguments, through the real program: each with what is said then.
//!
//! Elsewhere: crashes, full disks and folders that can't be written to (`log_file.rs`), a closed pipe (`program.rs`), texts
//! that hurt a parser (`wrong_files.rs`).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use serde_json::Value;
use sha2::{Digest, Sha256};
use tempfile::TempDir;

const PROGRAM: &str = env!("CARGO_BIN_EXE_chargesplit");
/// Nothing below waits for anybody.
const PATIENCE: Duration = Duration::from_secs(30);

const JOB: &str = "job: Test\ndate: 2026-12-01\nunits: lb\nyard: van.csv\nsystems:\n  - { name: S, refrigerant: R-22, nameplate: 40 lb }\n";
const HEAD: &str = "id,tare [lb],water_capacity [lb],gross [lb],holds,mark,tested\n";

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

fn van(gross: &str) -> String {
    format!("{HEAD}C-1,27.9,47.5,{gross},R-22,DOT-4BA400,2024-06\nC-2,28.3,47.7,28.3,evacuated,DOT-4BA400,2024-06\n")
}

/// A folder with a job and its yard.
fn packed() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("job.yaml"), JOB).unwrap();
    fs::write(folder.path().join("van.csv"), van("27.9")).unwrap();
    folder
}

/// Runs a command line in a folder; one that waits for ever is ended and failed.
fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(PROGRAM);
    command.args(arguments).current_dir(folder);
    within_patience(command, &format!("{arguments:?}"))
}

fn within_patience(mut command: Command, what: &str) -> Output {
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let (started, id) = (Instant::now(), child.id());
    let (done, ended) = (AtomicBool::new(false), AtomicBool::new(false));
    let output = std::thread::scope(|scope| {
        scope.spawn(|| {
            while !done.load(Ordering::Relaxed) {
                if started.elapsed() > PATIENCE && !ended.swap(true, Ordering::Relaxed) {
                    let _ = Command::new("kill").arg(id.to_string()).status();
                }
                std::thread::sleep(Duration::from_millis(5));
            }
        });
        let (mut out, mut err) = (child.stdout.take().unwrap(), child.stderr.take().unwrap());
        let reader = scope.spawn(move || {
            let mut bytes = Vec::new();
            std::io::Read::read_to_end(&mut err, &mut bytes).unwrap();
            bytes
        });
        let mut stdout = Vec::new();
        std::io::Read::read_to_end(&mut out, &mut stdout).unwrap();
        let status = child.wait().unwrap();
        done.store(true, Ordering::Relaxed);
        Output { status, stdout, stderr: reader.join().unwrap() }
    });
    assert!(!ended.load(Ordering::Relaxed), "{what} waits for ever");
    output
}

/// Refused with status 2, nothing on standard output, and these words beside it.
fn refused(folder: &Path, arguments: &[&str], words: &str) {
    let output = run(folder, arguments);
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
    assert!(output.stdout.is_empty(), "{arguments:?}");
    // Long sentences are broken into lines.
    let plain = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(plain.contains(words), "{arguments:?}: {said}");
    // What was typed may be said again, once.
    let typed = arguments.iter().map(|argument| argument.len()).max().unwrap_or(0);
    assert!(said.len() < 4_000 + typed, "{} bytes are said", said.len());
}

#[test]
fn the_digest_in_the_log_is_of_the_bytes_that_were_planned_with() {
    let folder = packed();
    // Two yards that change places while they are read: the cylinder weighs what the digest says, or the digest is of
    // something else.
    let yards = ["27.9", "30.5"].map(|gross| (gross, van(gross)));
    let digests = yards
        .clone()
        .map(|(_, text)| Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect::<String>());
    let (done, started) = (AtomicBool::new(false), Instant::now());
    let mut met = [0, 0];
    std::thread::scope(|scope| {
        scope.spawn(|| {
            for (_, text) in yards.iter().cycle() {
                if done.load(Ordering::Relaxed) || started.elapsed() > PATIENCE {
                    break;
                }
                fs::write(folder.path().join("new"), text).unwrap();
                fs::rename(folder.path().join("new"), folder.path().join("van.csv")).unwrap();
            }
        });
        let log = folder.path().join("job.log.jsonl");
        for _ in 0..60 {
            let output = run(folder.path(), &["weigh", "job.yaml", "C-2", "40"]);
            assert!(output.status.success(), "{}", text(&output.stderr));
            let first: Value = serde_json::from_str(fs::read_to_string(&log).unwrap().lines().next().unwrap()).unwrap();
            let plan = &first["plan"];
            let mark = plan["files"].as_array().unwrap().iter().find(|file| file["file"] == "van.csv").unwrap();
            let which = digests.iter().position(|digest| mark["mark"] == **digest).expect("one of the two");
            let start = plan["starts"].as_array().unwrap().iter().find(|start| start["cylinder"] == "C-1").unwrap();
            assert_eq!(start["gross"], format!("{} lb", yards[which].0), "the plan is of other bytes than its digest");
            met[which] += 1;
            fs::remove_file(&log).unwrap();
        }
        done.store(true, Ordering::Relaxed);
    });
    assert!(met[0] > 0 && met[1] > 0, "{met:?}: the yard didn't change while it was read");
}

#[cfg(unix)]
#[test]
fn what_isnt_a_regular_file_is_refused_and_never_waited_for() {
    use std::os::unix::fs::symlink;
    let pipe = |path: PathBuf| assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
    let folder = packed();
    let at = folder.path();
    symlink("b.yaml", at.join("a.yaml")).unwrap();
    symlink("a.yaml", at.join("b.yaml")).unwrap();
    symlink("nowhere.yaml", at.join("dangling.yaml")).unwrap();
    fs::create_dir(at.join("folder.yaml")).unwrap();
    pipe(at.join("pipe.yaml"));
    let kinds = [
        ("a.yaml", "error[unreadable]: the file can't be read: "),
        ("dangling.yaml", "error[missing-file]: there is no such file"),
        ("folder.yaml", "error[folder]: this is a folder, not a file"),
        ("pipe.yaml", "error[unreadable]: this is a device or a pipe, not a file"),
        ("/dev/null", "error[unreadable]: this is a device or a pipe, not a file"),
    ];
    for (name, words) in kinds {
        refused(at, &["plan", name], words);
        refused(at, &["yard", name], words);
        refused(at, &["yard", "--import", name], words);
        refused(at, &["audit", "job.yaml", name], words);
        refused(at, &["pack", "job.yaml", "--truck", name], words);
        refused(at, &["weigh", "job.yaml", "--import", name], words);
        refused(at, &["weigh", "job.yaml", "C-2", "40", "--plan", name], words);
        fs::write(at.join("other.yaml"), JOB.replace("van.csv", name)).unwrap();
        let words = words.rsplit(": ").next().filter(|words| !words.is_empty()).unwrap_or("can't be read");
        refused(at, &["plan", "other.yaml"], words);
    }
    // The log, and the files of a close-out. A first reading that was refused may leave an empty log.
    assert_eq!(fs::read(at.join("job.log.jsonl")).unwrap(), b"");
    fs::remove_file(at.join("job.log.jsonl")).unwrap();
    pipe(at.join("job.log.jsonl"));
    for arguments in [&["weigh", "job.yaml", "C-2", "40"][..], &["status", "job.yaml"], &["closeout", "job.yaml"]] {
        refused(at, arguments, "the log can't be opened: this is a device or a pipe, not a file");
    }
    fs::remove_file(at.join("job.log.jsonl")).unwrap();
    assert!(run(at, &["weigh", "job.yaml", "C-2", "40"]).status.success());
    pipe(at.join(".job.record.csv.partial"));
    refused(at, &["closeout", "job.yaml"], ".job.record.csv.partial is in the way");
    fs::remove_file(at.join(".job.record.csv.partial")).unwrap();
    pipe(at.join("van.before-job.csv"));
    refused(at, &["closeout", "job.yaml", "--write"], "this is a device or a pipe, not a file");
    assert_eq!(fs::read_to_string(at.join("van.csv")).unwrap(), van("27.9"), "the yard is as it was");
    pipe(at.join("other.record.json"));
    refused(at, &["closeout", "--month", "2026-12", "."], "this is a device or a pipe, not a file");
}

#[test]
fn a_yard_may_lie_anywhere_and_its_path_counts_from_the_job() {
    let folder = packed();
    let (jobs, elsewhere) = (folder.path().join("jobs"), tempfile::tempdir().unwrap());
    fs::create_dir(&jobs).unwrap();
    fs::write(elsewhere.path().join("van.csv"), van("27.9")).unwrap();
    let absolute = elsewhere.path().join("van.csv");
    for place in ["../van.csv", absolute.to_str().unwrap(), "./../jobs/../van.csv"] {
        fs::write(jobs.join("job.yaml"), JOB.replace("van.csv", place)).unwrap();
        // From the job's folder, wherever the program is called.
        for from in [folder.path(), elsewhere.path(), &jobs] {
            let job = jobs.join("job.yaml");
            let output = run(from, &["plan", job.to_str().unwrap()]);
            assert!(output.status.success(), "{place}: {}", text(&output.stderr));
        }
    }
}

#[test]
fn a_yard_of_a_million_rows_is_refused_in_time_and_memory() {
    use wait4::Wait4;
    let folder = packed();
    let rows = 1_000_000;
    let list = "units: lb\ncylinders:\n";
    // Each with whether it is refused: rows of empty cells are no rows, however many a spreadsheet leaves behind the last.
    let shapes: [(&str, &str, &str, bool); 7] = [
        ("csv", HEAD, "C-1,27.9,47.5,27.9,evacuated,DOT-4BA400,2024-06\n", true),
        ("csv", HEAD, "a,b\n", true),
        ("csv", HEAD, "a\n", true),
        ("csv", HEAD, ",\n", false),
        ("yaml", list, "- { id: C-1, tare: 27.9, gross: 27.9 }\n", true),
        ("yaml", list, "- a\n", true),
        ("yaml", list, "-\n", true),
    ];
    for (index, (end, head, row, is_refused)) in shapes.into_iter().enumerate() {
        let name = format!("yard-{index}.{end}");
        fs::write(folder.path().join(&name), format!("{head}{}", row.repeat(rows))).unwrap();
        let mut command = Command::new(PROGRAM);
        command.args(["yard", &name]).current_dir(folder.path()).stdout(Stdio::null()).stderr(Stdio::piped());
        let started = Instant::now();
        let mut child = command.spawn().unwrap();
        let mut said = String::new();
        std::io::Read::read_to_string(&mut child.stderr.take().unwrap(), &mut said).unwrap();
        let used = child.wait4().unwrap();
        let (took, memory) = (started.elapsed(), used.rusage.maxrss / 1024 / 1024);
        println!("{name}: {row:?}, {took:?}, {memory} MB");
        if is_refused {
            assert_eq!(used.status.code(), Some(2), "{name}");
            let said_so = ["too-large", "too-many"].iter().any(|code| said.contains(&format!("error[{code}]")));
            assert!(said_so, "{name}: {said}");
        } else {
            assert_eq!(used.status.code(), Some(0), "{name}: {said}");
        }
        assert!(took < Duration::from_secs(20), "{name}: {took:?}");
        assert!(memory < 500, "{name}: {memory} MB");
    }
}

#[test]
fn texts_that_are_no_texts_are_refused_with_their_place() {
    let folder = packed();
    let at = folder.path();
    let mut laughs = String::from("a: &a [x, x, x, x, x, x, x, x, x]\n");
    for (name, before) in "bcdefghi".chars().zip("abcdefgh".chars()) {
        laughs.push_str(&format!("{name}: &{name} [{}]\n", format!("*{before}, ").repeat(9)));
    }
    let digits = "9".repeat(10_000);
    let wrong: [(&[u8], &str); 9] = [
        (
            b"job: A\xff\nunits: lb\n",
            "error[not-text]: the file isn't UTF-8 text; the first byte that isn't stands in line 1",
        ),
        (b"job: \"A\\0B\"\nunits: lb\n", "error[bad-text]: job: the text holds a character that can't be seen, U+0000"),
        (b"job: A\0B\nunits: lb\n", "error[syntax]"),
        (b"\0\0\0\0\0\0\0\0", "error[empty-file]"),
        (b"\xef\xbb\xbf", "error[empty-file]"),
        (
            &format!("job: {}\nunits: lb\n", "x".repeat(1_000_000)).into_bytes(),
            "error[bad-text]: job: the text has 1000000 characters",
        ),
        (&format!("job: {}A\n", "[".repeat(100_000)).into_bytes(), "error[too-deep]"),
        (laughs.as_bytes(), "error[aliases]"),
        (&JOB.replace("40 lb", &format!("{digits} lb")).into_bytes(), "expected at most 300"),
    ];
    for (index, (bytes, words)) in wrong.iter().enumerate() {
        let name = format!("wrong-{index}.yaml");
        fs::write(at.join(&name), bytes).unwrap();
        refused(at, &["check", &name], words);
    }
    // With a byte-order mark and lines ended as elsewhere it is the same job.
    fs::write(at.join("dos.yaml"), format!("\u{feff}{}", JOB.replace('\n', "\r\n"))).unwrap();
    assert_eq!(run(at, &["plan", "dos.yaml"]).stdout, run(at, &["plan", "job.yaml"]).stdout);
}

#[test]
fn arguments_that_make_no_sense_are_refused_and_leave_nothing_behind() {
    let folder = packed();
    let at = folder.path();
    assert!(run(at, &["weigh", "job.yaml", "C-2", "40"]).status.success());
    let log = fs::read(at.join("job.log.jsonl")).unwrap();
    let (digits, long) = ("9".repeat(10_000), "x".repeat(10_000));
    let weights = [
        "nan",
        "inf",
        "-inf",
        "1e9",
        "0x10",
        "-5",
        "",
        " ",
        "½",
        "٣",
        "1,5",
        "999999999 lb",
        "0.00001",
        "5 lb 6 lb",
        "5%",
        &digits,
        "\u{1b}[31m5",
        "\u{202e}5",
    ];
    for weight in weights {
        refused(at, &["weigh", "job.yaml", "C-2", "--", weight], "");
        refused(at, &["weigh", "job.yaml", "C-2", &format!("--net={weight}")], "");
        refused(at, &["replan", "job.yaml", &format!("--left={weight}")], "");
        refused(at, &["plan", "job.yaml", &format!("--lift-limit={weight}")], "");
    }
    for arguments in [
        &["weigh", "job.yaml", "C-2", "41", "--at", "25:00"][..],
        &["weigh", "job.yaml", "C-2", "41", "--at", "9999-99-99T00:00"],
        &["weigh", "job.yaml", "C-2", "41", "--note", &long],
        &["weigh", "job.yaml", "C-2", "41", "--note", "two\nlines"],
        &["weigh", "job.yaml", "C-2", "41", "--time-limit", "nan"],
        &["weigh", "job.yaml", "C-2", "41", "--system", "T"],
        &["weigh", "job.yaml", "C-22", "41"],
        &["replan", "job.yaml", "--left", "T=5 lb"],
        &["replan", "job.yaml", "--left", "=5"],
        &["replan", "job.yaml", "--without", "C-9"],
        &["plan", "job.yaml", "--cylinders", "99999999999999999999"],
        &["plan", "job.yaml", "--cylinders", "-1"],
        &["plan", "job.yaml", "--keep", "C-9"],
        &["plan", "job.yaml", "--time-limit", "1e400"],
        &["yard", "van.csv", "--date", "2026-02-30"],
        &["yard", "van.csv", "--for", &long[..2_000]],
        &["refrigerant", "R-22", "--at", "1e308 F"],
        &["refrigerant", "R-22", "--at", "-1 K"],
        &["closeout", "job.yaml", "--place", "a\u{202e}b"],
        &["closeout", "--month", "2026-13", "."],
    ] {
        refused(at, arguments, "");
    }
    assert_eq!(fs::read(at.join("job.log.jsonl")).unwrap(), log, "nothing was added");
    let names: Vec<String> =
        fs::read_dir(at).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    assert_eq!(names.len(), 3, "{names:?}");
}

#[cfg(unix)]
#[test]
fn a_page_that_cannot_be_written_whole_leaves_the_old_one() {
    let folder = packed();
    let page = folder.path().join("page.html");
    assert!(run(folder.path(), &["sheet", "job.yaml", "-o", "page.html"]).status.success());
    let old = fs::read(&page).unwrap();
    // A limit on the size of a file stands for the full disk.
    let mut command = Command::new("sh");
    let script = "trap '' XFSZ; ulimit -f 4; exec \"$0\" \"$@\"";
    command.args(["-c", script, PROGRAM, "sheet", "job.yaml", "-o", "page.html"]).current_dir(folder.path());
    let output = within_patience(command, "sheet");
    assert_eq!(output.status.code(), Some(2), "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("page.html can't be written"), "{}", text(&output.stderr));
    assert!(fs::read(&page).unwrap() == old, "the old page stays");
    let names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names.len(), 3, "nothing half-written is left: {names:?}");
}

#[test]
fn a_clock_that_was_set_back_is_told_and_the_log_keeps_its_order() {
    let folder = packed();
    let at = folder.path();
    assert!(run(at, &["weigh", "job.yaml", "C-2", "40"]).status.success());
    let path = at.join("job.log.jsonl");
    let log = fs::read_to_string(&path).unwrap();
    // As if these entries had been made by a clock that was years ahead.
    let ahead: String = log
        .lines()
        .map(|line| {
            let mut entry: Value = serde_json::from_str(line).unwrap();
            entry["at"] = "2099-12-01T08:00:00+00:00".into();
            format!("{entry}\n")
        })
        .collect();
    fs::write(&path, ahead).unwrap();
    let output = run(at, &["weigh", "job.yaml", "C-2", "45"]);
    let said = text(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(output.status.success(), "{}", text(&output.stderr));
    assert!(
        said.contains("the log has an entry of 2099-12-01T08:00:00+00:00 already; the log's order counts"),
        "{said}"
    );
    let status: Value = serde_json::from_slice(&run(at, &["status", "job.yaml", "--json"]).stdout).unwrap();
    let cylinders = status["cylinders"].as_array().unwrap();
    let now = cylinders.iter().find(|one| one["cylinder"] == "C-2").unwrap()["now"].as_f64().unwrap();
    assert_eq!(now, 45.0, "the newest reading is the last line, whatever its clock showed");
    // A clock that goes right says nothing.
    let fresh = packed();
    for gross in ["40", "45"] {
        let output = run(fresh.path(), &["weigh", "job.yaml", "C-2", gross]);
        assert!(!text(&output.stdout).contains("the log's order counts"));
    }
}

#[test]
fn no_locale_and_no_time_zone_of_the_machine_changes_a_plan() {
    let job = "scenarios/cold-store.yaml";
    let commands: [&[&str]; 4] = [
        &["plan", job, "--json"],
        &["plan", job],
        &["quote", "scenarios/tender.yaml", "--csv"],
        &["yard", "scenarios/van-3.yaml", "--date", "2026-12-01"],
    ];
    let output = |arguments: &[&str], locale: &str, zone: &str| {
        let mut command = Command::new(PROGRAM);
        command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR"));
        command
            .env("LC_ALL", locale)
            .env("LANG", locale)
            .env("LC_NUMERIC", locale)
            .env("LANGUAGE", locale)
            .env("TZ", zone);
        let output = within_patience(command, locale);
        assert!(!output.stdout.is_empty(), "{}", text(&output.stderr));
        output.stdout
    };
    for arguments in commands {
        let plain = output(arguments, "C", "UTC");
        for (locale, zone) in
            [("de_DE.UTF-8", "Europe/Berlin"), ("tr_TR.UTF-8", "Pacific/Kiritimati"), ("ar_EG", "nonsense")]
        {
            assert_eq!(text(&output(arguments, locale, zone)), text(&plain), "{arguments:?} in {locale}");
        }
    }
}
