//! What the world does to files, clocks and arguments, through the real program: each with what is said then.
//!
//! Elsewhere: crashes, full disks and folders that can't be written to (`readings_kept.rs`), a closed pipe (`program.rs`), texts
//! that hurt a parser (`wrong_files.rs`).

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::folder::{Answer, Folder, PROGRAM, flat};

/// Nothing below waits for anybody.
const PATIENCE: Duration = Duration::from_secs(30);

const JOB: &str = "job: Test\ndate: 2026-12-01\nunits: lb\nyard: van.csv\nsystems:\n  - { name: S, refrigerant: R-22, nameplate: 40 lb }\n";
const HEAD: &str = "id,tare [lb],water_capacity [lb],gross [lb],holds,mark,tested\n";

fn van(gross: &str) -> String {
    format!("{HEAD}C-1,27.9,47.5,{gross},R-22,DOT-4BA400,2024-06\nC-2,28.3,47.7,28.3,evacuated,DOT-4BA400,2024-06\n")
}

/// A folder with a job and its yard.
fn packed() -> Folder {
    Folder::of(&[("job.yaml", JOB), ("van.csv", &van("27.9"))])
}

/// Runs a command line in a folder; one that waits for ever is ended and failed.
fn run(folder: &Folder, arguments: &[&str]) -> Answer {
    within_patience(folder.command(arguments), &format!("{arguments:?}"))
}

fn within_patience(mut command: Command, what: &str) -> Answer {
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
    Answer::read(output)
}

/// Refused with status 2, nothing on standard output, and these words beside it.
fn refused(folder: &Folder, arguments: &[&str], words: &str) {
    let output = run(folder, arguments);
    let said = output.err;
    assert_eq!(output.status, 2, "{arguments:?}: {said}");
    assert!(output.out.is_empty(), "{arguments:?}");
    // Long sentences are broken into lines.
    assert!(flat(&said).contains(words), "{arguments:?}: {said}");
    // What was typed may be said again, once.
    let typed = arguments.iter().map(|argument| argument.len()).max().unwrap_or(0);
    assert!(said.len() < 4_000 + typed, "{} bytes are said", said.len());
}

#[test]
fn the_rows_in_the_ledger_are_those_that_were_planned_with() {
    let folder = packed();
    // Two yards that change places while they are read: what the entry keeps of the row and the plan are of one of them.
    let yards = ["27.9", "30.5"].map(|gross| (gross, van(gross)));
    let (done, started) = (AtomicBool::new(false), Instant::now());
    let mut met = [0, 0];
    std::thread::scope(|scope| {
        scope.spawn(|| {
            for (_, text) in yards.iter().cycle() {
                if done.load(Ordering::Relaxed) || started.elapsed() > PATIENCE {
                    break;
                }
                folder.write("new", text);
                fs::rename(folder.at("new"), folder.at("van.csv")).unwrap();
            }
        });
        for round in 0..60 {
            // A machine that remembers nothing of the ledger before.
            folder.set("CHARGESPLIT_STATE", folder.at(&format!("state-{round}")).to_str().unwrap());
            let output = run(&folder, &["begin", "job.yaml", "--keep", "C-1"]);
            assert!(output.status == 0, "{}", output.err);
            // The entry of the plan keeps the row as it stands in what was planned with.
            let first = folder.ledger("van.csv").lines().nth(1).map(serde_json::from_str::<Value>).unwrap().unwrap();
            let gross = |id: &str| {
                first["rows"].as_array().unwrap().iter().find(|row| row["id"] == id).unwrap()["gross"].clone()
            };
            let step = first["what"]["bind"]["steps"]
                .as_array()
                .unwrap()
                .iter()
                .find(|step| step["cylinder"] == "C-1")
                .unwrap()
                .clone();
            let which =
                yards.iter().position(|(gross, _)| step["now"] == format!("{gross} lb")).expect("one of the two");
            assert_eq!(gross("C-1"), step["now"], "the plan is of another row than the entry keeps");
            met[which] += 1;
            fs::remove_dir_all(folder.at("van.csv.ledger")).unwrap();
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
    symlink("b.yaml", folder.at("a.yaml")).unwrap();
    symlink("a.yaml", folder.at("b.yaml")).unwrap();
    symlink("nowhere.yaml", folder.at("dangling.yaml")).unwrap();
    fs::create_dir(folder.at("folder.yaml")).unwrap();
    pipe(folder.at("pipe.yaml"));
    let kinds = [
        ("a.yaml", "error[unreadable]: the file can't be read: "),
        ("dangling.yaml", "error[missing-file]: there is no such file"),
        ("folder.yaml", "error[folder]: this is a folder, not a file"),
        ("pipe.yaml", "error[unreadable]: this is a device or a pipe, not a file"),
        ("/dev/null", "error[unreadable]: this is a device or a pipe, not a file"),
    ];
    for (name, words) in kinds {
        refused(&folder, &["plan", name], words);
        refused(&folder, &["yard", name], words);
        refused(&folder, &["yard", "--import", name], words);
        refused(&folder, &["audit", "job.yaml", name], words);
        refused(&folder, &["pack", "job.yaml", "--truck", name], words);
        refused(&folder, &["weigh", "job.yaml", "--import", name], words);
        refused(&folder, &["yard", name, "--settle"], words);
        refused(&folder, &["cylinder", name, "C-2"], words);
        folder.write("other.yaml", JOB.replace("van.csv", name));
        let words = words.rsplit(": ").next().filter(|words| !words.is_empty()).unwrap_or("can't be read");
        refused(&folder, &["plan", "other.yaml"], words);
    }
    // The ledger, and the files of a close-out.
    assert!(!folder.at("van.csv.ledger").exists(), "what was refused leaves no ledger");
    run(&folder, &["weigh", "job.yaml", "C-2", "40"]).is(0);
    let ledger = folder.at("van.csv.ledger");
    for place in ["other.jsonl", ""] {
        let at = if place.is_empty() { ledger.clone() } else { ledger.join(place) };
        let kept = folder.at("kept");
        if place.is_empty() {
            fs::rename(&ledger, &kept).unwrap();
        }
        for kind in ["pipe", "folder"] {
            match kind {
                "pipe" => pipe(at.clone()),
                // A folder in the place of the folder is one.
                _ if place.is_empty() => continue,
                _ => fs::create_dir(&at).unwrap(),
            }
            for arguments in
                [&["weigh", "job.yaml", "C-2", "41"][..], &["status", "job.yaml"], &["closeout", "job.yaml"]]
            {
                let answer = run(&folder, arguments);
                assert_eq!(answer.status, 2, "{kind} {place}: {}", answer.out);
                assert!(answer.err.contains("van.csv.ledger"), "{kind} {place}: {}", answer.err);
            }
            if kind == "folder" { fs::remove_dir(&at).unwrap() } else { fs::remove_file(&at).unwrap() }
        }
        if place.is_empty() {
            fs::rename(&kept, &ledger).unwrap();
        }
    }
    assert!(run(&folder, &["status", "job.yaml"]).is(0).out.contains("1 reading"));
    pipe(folder.at("job.record.csv"));
    refused(&folder, &["closeout", "job.yaml"], "job.record.csv is there already and stays as it is");
    fs::remove_file(folder.at("job.record.csv")).unwrap();
    pipe(folder.at("van.before-job.csv"));
    refused(&folder, &["closeout", "job.yaml", "--write"], "this is a device or a pipe, not a file");
    assert_eq!(folder.read("van.csv"), van("27.9"), "the yard is as it was");
    pipe(folder.at("other.record.json"));
    refused(&folder, &["closeout", "--month", "2026-12", "."], "this is a device or a pipe, not a file");
}

#[test]
fn a_yard_may_lie_anywhere_and_its_path_counts_from_the_job() {
    let folder = packed();
    let elsewhere = Folder::of(&[("van.csv", &van("27.9"))]);
    fs::create_dir(folder.at("jobs")).unwrap();
    let absolute = elsewhere.at("van.csv");
    for place in ["../van.csv", absolute.to_str().unwrap(), "./../jobs/../van.csv"] {
        folder.write("jobs/job.yaml", JOB.replace("van.csv", place));
        // From the job's folder, wherever the program is called.
        for from in [folder.path(), elsewhere.path(), &folder.at("jobs")] {
            let mut command = folder.command(["plan".into(), folder.at("jobs/job.yaml")]);
            command.current_dir(from);
            let answer = within_patience(command, place);
            assert_eq!(answer.status, 0, "{place}: {}", answer.err);
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
        folder.write(&name, format!("{head}{}", row.repeat(rows)));
        let mut command = folder.command(["yard", &name]);
        command.stdout(Stdio::null()).stderr(Stdio::piped());
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
        folder.write(&name, bytes);
        refused(&folder, &["check", &name], words);
    }
    // With a byte-order mark and lines ended as elsewhere it is the same job.
    folder.write("dos.yaml", format!("\u{feff}{}", JOB.replace('\n', "\r\n")));
    assert_eq!(run(&folder, &["plan", "dos.yaml"]).out, run(&folder, &["plan", "job.yaml"]).out);
}

#[test]
fn arguments_that_make_no_sense_are_refused_and_leave_nothing_behind() {
    let folder = packed();
    run(&folder, &["weigh", "job.yaml", "C-2", "40"]).is(0);
    let ledger = folder.ledger("van.csv");
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
        refused(&folder, &["weigh", "job.yaml", "C-2", "--", weight], "");
        refused(&folder, &["weigh", "job.yaml", "C-2", &format!("--net={weight}")], "");
        refused(&folder, &["replan", "job.yaml", &format!("--left={weight}")], "");
        refused(&folder, &["plan", "job.yaml", &format!("--lift-limit={weight}")], "");
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
        &["closeout", "job.yaml", "--transferred", "2026-02-30"],
        &["closeout", "--month", "2026-13", "."],
        &["begin", "job.yaml"],
        &["release", "job.yaml"],
        &["weigh", "job.yaml", "C-2", "41", "--as", "Van 7"],
        &["weigh", "job.yaml", "C-2", "41", "--as", &long[..33]],
        &["weigh", "job.yaml", "C-2", "41", "--as", ""],
        &["cylinder", "van.csv", "C-22"],
        &["cylinder", "van.csv", "C-2", "--weighed", "1e9"],
        &["cylinder", "van.csv", "C-2", "--weighed=-5"],
        &["cylinder", "van.csv", "C-2", "--weighed", "40", "--holds", "R-999"],
        &["cylinder", "van.csv", "C-2", "--holds", "R-22"],
        &["cylinder", "van.csv", "C-2", "--out", "two\nlines"],
        &["cylinder", "van.csv", "C-2", "--out", "dent", "--back", "none"],
        &["yard", "van.csv", "--join", "nowhere"],
        &["yard", "van.csv", "--give-up", "aaaaaa/99", "gone"],
        &["yard", "van.csv", "--give-up", "aaaaaa/1", "there is nothing wrong with it"],
        &["yard", "van.csv", "--give-up", "one"],
    ] {
        refused(&folder, arguments, "");
    }
    assert_eq!(folder.ledger("van.csv"), ledger, "nothing was added");
    let names: Vec<String> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(names.len(), 3, "{names:?}");
}

#[cfg(unix)]
#[test]
fn a_page_that_cannot_be_written_whole_leaves_the_old_one() {
    let folder = packed();
    run(&folder, &["sheet", "job.yaml", "-o", "page.html", "--draft"]).is(0);
    let old = folder.bytes("page.html");
    // A limit on the size of a file stands for the full disk.
    let script = "trap '' XFSZ; ulimit -f 4; exec \"$0\" \"$@\"";
    let command = folder.command_of("sh", ["-c", script, PROGRAM, "sheet", "job.yaml", "-o", "page.html", "--draft"]);
    let output = within_patience(command, "sheet");
    assert_eq!(output.status, 2, "{}", output.err);
    assert!(output.err.contains("page.html can't be written"), "{}", output.err);
    assert!(folder.bytes("page.html") == old, "the old page stays");
    let names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names.len(), 3, "nothing half-written is left: {names:?}");
}

#[test]
fn a_clock_that_was_set_back_is_told_and_the_ledger_keeps_its_order() {
    let folder = packed();
    // A clock that is years ahead, and then goes right.
    folder.set("CHARGESPLIT_NOW", "2099-12-01T08:00:00+00:00");
    run(&folder, &["weigh", "job.yaml", "C-2", "40"]).is(0);
    folder.set("CHARGESPLIT_NOW", "2026-12-01T08:30:00+00:00");
    let output = run(&folder, &["weigh", "job.yaml", "C-2", "45"]).is(0);
    let said = flat(&output.out);
    let told = "the ledger has a reading of 2099-12-01T08:00:00+00:00 already; the order of the readings counts";
    assert!(said.contains(told), "{said}");
    let status = run(&folder, &["status", "job.yaml", "--json"]).json();
    let cylinders = status["cylinders"].as_array().unwrap();
    let now = cylinders.iter().find(|one| one["cylinder"] == "C-2").unwrap()["now"].as_f64().unwrap();
    assert_eq!(now, 45.0, "the newest reading is the last one, whatever its clock showed");
    // A clock that goes right says nothing.
    let fresh = packed();
    for gross in ["40", "45"] {
        let output = run(&fresh, &["weigh", "job.yaml", "C-2", gross]);
        assert!(!output.is(0).out.contains("order of the readings counts"));
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
        let folder = Folder::of_project();
        for variable in ["LC_ALL", "LANG", "LC_NUMERIC", "LANGUAGE"] {
            folder.set(variable, locale);
        }
        folder.set("TZ", zone);
        let output = run(&folder, arguments);
        assert!(!output.out.is_empty(), "{}", output.err);
        output.out
    };
    for arguments in commands {
        let plain = output(arguments, "C", "UTC");
        for (locale, zone) in
            [("de_DE.UTF-8", "Europe/Berlin"), ("tr_TR.UTF-8", "Pacific/Kiritimati"), ("ar_EG", "nonsense")]
        {
            assert_eq!(output(arguments, locale, zone), plain, "{arguments:?} in {locale}");
        }
    }
}
