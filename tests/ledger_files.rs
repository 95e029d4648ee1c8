//! The files of a ledger with writers that are processes, killed at any moment: what was answered is there.
//!
//! A writer is this test program itself, told by its environment to be one.

use std::collections::HashSet;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::time::Duration;

use chargesplit::cylinder::Id;
use chargesplit::disk::{Holder, Machine, Writer, WriterName, read_folder};
use chargesplit::ledger::{Entry, EntryId, Fact, FactKind, Moment, What};
use chargesplit::quantity::Weight;
use chargesplit::text::{LedgerRead, Tail, WriterFile, WriterHead, is_whole_line, read_ledger};

/// What a process is told: folder, state folder and name, with a bar between.
const TOLD: &str = "CHARGESPLIT_TEST_WRITER";
const LEDGER: &str = "yard";

fn entry(id: EntryId, by: &str) -> Entry {
    let cylinder = Id::from(format!("C-{}", id.number % 7));
    let gross = Weight::pounds((30 + id.number as i64 % 30).into());
    Entry {
        id,
        at: Moment::parse("2026-12-01T08:15:00-05:00").unwrap(),
        by: by.into(),
        job: None,
        on: vec![(cylinder.clone(), Vec::new())],
        rows: Vec::new(),
        what: What::Cylinder(Fact { what: FactKind::Weighed { cylinder, gross, holds: None }, why: None }),
    }
}

/// Opens the ledger, adds so many entries at once, and returns their names when they are on the disk.
fn add(folder: &Path, state: &Path, name: &str, count: usize) -> Vec<EntryId> {
    let name = WriterName::parse(name).unwrap();
    let holder = Holder { name, command: "test".into(), since: "now".into() };
    let mut writer = Writer::open(folder, &Machine::new(state.to_owned()), holder, is_whole_line).unwrap();
    let ours = writer.ours().and_then(|file| WriterFile::read(&file.name, &file.bytes, Some(LEDGER)).tail);
    let mut tail = ours.unwrap_or_else(|| {
        let (writer_name, tag) = (writer.name().to_owned(), writer.tag().to_owned());
        let (head, tail) = Tail::begin(&WriterHead { ledger: LEDGER.into(), writer: writer_name, tag });
        writer.begin(LEDGER, &head);
        tail
    });
    let (mut lines, mut names) = (String::new(), Vec::new());
    for _ in 0..count {
        let entry = entry(tail.next_id(), writer.name());
        lines += &tail.write(&entry);
        names.push(entry.id);
    }
    writer.append(&lines).unwrap();
    names
}

fn read(folder: &Path) -> LedgerRead {
    let files = read_folder(folder).unwrap();
    read_ledger(files.iter().map(|file| WriterFile::read(&file.name, &file.bytes, Some(LEDGER))).collect(), &[])
}

/// The process that is killed. By itself it writes a little and reads it back.
#[test]
#[ignore = "the tests beside it run it as a process of its own"]
fn a_writer() {
    let Ok(told) = std::env::var(TOLD) else {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("ledger");
        let mut names = add(&folder, &home.path().join("state"), "van-3", 3);
        names.extend(add(&folder, &home.path().join("state"), "van-3", 2));
        let entries = read(&folder).ledger.entries;
        assert_eq!(entries.into_iter().map(|entry| entry.id).collect::<Vec<_>>(), names);
        return;
    };
    let [folder, state, name] = told.split('|').collect::<Vec<_>>()[..] else { panic!("{told}") };
    loop {
        let names = add(Path::new(folder), Path::new(state), name, 1 + fastrand::usize(..3));
        let mut out = std::io::stdout().lock();
        for id in names {
            writeln!(out, "answered {id}.").unwrap();
        }
        out.flush().unwrap();
    }
}

/// Runs a writer as a process, kills it after so long, and returns what it has answered.
fn killed(told: &str, after: Duration) -> Vec<EntryId> {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "ledger_files::a_writer", "--ignored", "--nocapture"])
        .env(TOLD, told)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(after);
    // On Unix this is SIGKILL: nothing of the process runs after it.
    child.kill().unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
    // The last line may be cut off, and so be another name: it ends with a full stop where it isn't.
    let answered: Vec<String> =
        lines.filter_map(|line| Some(line.split_once("answered ")?.1.strip_suffix('.')?.to_owned())).collect();
    child.wait().unwrap();
    answered.iter().filter_map(|id| EntryId::parse(id)).collect()
}

/// Eight writers at once, two of each name, killed again and again until so many entries were answered.
fn eight_killed_writers(at_least: usize) {
    let home = tempfile::tempdir().unwrap();
    let (folder, state) = (home.path().join("van.yaml.ledger"), home.path().join("state"));
    let answered: Mutex<Vec<EntryId>> = Mutex::default();
    std::thread::scope(|scope| {
        for number in 0..8_u64 {
            let (folder, state, answered) = (&folder, &state, &answered);
            scope.spawn(move || {
                let mut rng = fastrand::Rng::with_seed(number);
                let told = format!("{}|{}|van-{}", folder.display(), state.display(), number / 2);
                while answered.lock().unwrap().len() < at_least {
                    let new = killed(&told, Duration::from_millis(rng.u64(20..700)));
                    answered.lock().unwrap().extend(new);
                }
            });
        }
    });
    let answered = answered.into_inner().unwrap();
    // Each name once more: what its last process tore is put aside.
    for number in 0..4 {
        add(&folder, &state, &format!("van-{number}"), 1);
    }
    let read = read(&folder);
    let there: HashSet<&EntryId> = read.ledger.entries.iter().map(|entry| &entry.id).collect();
    let lost: Vec<&EntryId> = answered.iter().filter(|id| !there.contains(id)).collect();
    assert!(lost.is_empty(), "answered and lost: {lost:?}");
    assert_eq!((read.ledger.damage, read.notes), (Vec::new(), Vec::new()));
    let distinct: HashSet<&EntryId> = answered.iter().collect();
    assert!(distinct.len() >= at_least && distinct.len() == answered.len(), "no name was given twice");
    let files: Vec<PathBuf> = std::fs::read_dir(&folder).unwrap().map(|file| file.unwrap().path()).collect();
    let begun = files.iter().filter(|path| path.extension().is_some_and(|kind| kind == "jsonl")).count();
    println!("{} answered, {} there, {begun} files, {} torn", answered.len(), there.len(), files.len() - begun);
    assert!(begun >= 4);
}

#[test]
fn what_was_answered_is_in_the_ledger_whoever_is_killed() {
    eight_killed_writers(150);
}

#[test]
#[ignore = "2,000 entries, each on the disk before it is answered, take over 5 s"]
fn what_was_answered_is_in_the_ledger_whoever_is_killed_2000_times() {
    eight_killed_writers(2_000);
}
