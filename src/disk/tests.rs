//! Writers of a ledger on a machine that has everything, and on one that lacks locks, room or rights.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs::{self, File, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::machine::System;
use super::*;

/// A yard's folder and a state folder.
struct House {
    _kept: tempfile::TempDir,
    folder: PathBuf,
    state: PathBuf,
}

impl House {
    fn new() -> Self {
        let kept = tempfile::tempdir().unwrap();
        let (folder, state) = (kept.path().join("van.yaml.ledger"), kept.path().join("state"));
        Self { folder, state, _kept: kept }
    }

    fn machine(&self) -> Machine {
        Machine::new(self.state.clone())
    }

    fn open(&self) -> Writer {
        Writer::open(&self.folder, &self.machine(), holder("van-3"), whole).unwrap()
    }

    /// Adds lines as a writer does that opens and closes the ledger for them.
    fn add(&self, lines: &str) -> Writer {
        let mut writer = self.open();
        if writer.ours().is_none() {
            let head = format!("head {}.\n", writer.tag());
            writer.begin("yard", &head);
        }
        writer.append(lines).unwrap();
        writer
    }

    fn files(&self) -> Vec<(String, String)> {
        let files = read_folder(&self.folder).unwrap().into_iter();
        files.map(|file| (file.name, String::from_utf8(file.bytes).unwrap())).collect()
    }

    /// What the one file holds, and where it is.
    fn only(&self) -> (PathBuf, String) {
        let files = self.files();
        assert_eq!(files.len(), 1, "{files:?}");
        (self.folder.join(&files[0].0), files[0].1.clone())
    }
}

fn holder(name: &str) -> Holder {
    Holder { name: WriterName::parse(name).unwrap(), command: "weigh job.yaml".into(), since: "08:15".into() }
}

/// Here a line is whole where it ends with a full stop.
fn whole(line: &[u8]) -> bool {
    line.ends_with(b".")
}

#[test]
fn a_writer_goes_on_with_its_own_file() {
    let house = House::new();
    assert!(house.files().is_empty());
    let tag = house.add("one.\n").tag().to_owned();
    assert_eq!(tag.len(), 8);
    let writer = house.add("two.\nthree.\n");
    assert!(writer.said.is_empty(), "{:?}", writer.said);
    let name = format!("van-3-{tag}.jsonl");
    assert_eq!(house.files(), [(name, format!("head {tag}.\none.\ntwo.\nthree.\n"))]);
    assert_eq!(writer.files, read_folder(&house.folder).unwrap());
    drop(writer);
    // A crash between the line and what is remembered of it.
    let (path, text) = house.only();
    fs::write(&path, format!("{text}four.\n")).unwrap();
    house.add("five.\n");
    assert!(house.only().1.ends_with("three.\nfour.\nfive.\n"));
}

#[test]
fn a_line_that_a_crash_tore_is_put_aside_and_an_end_that_an_editor_took_is_given_back() {
    let house = House::new();
    house.add("one.\n");
    let (path, text) = house.only();
    fs::write(&path, format!("{text}tw")).unwrap();
    let writer = house.add("three.\n");
    let aside = format!("van-3-{}.torn-1.txt", writer.tag());
    assert_eq!(
        writer.said,
        [format!("van-3-{}.jsonl: a crash tore its last line, 2 bytes: they are in {aside}", writer.tag())]
    );
    assert_eq!(fs::read_to_string(house.folder.join(aside)).unwrap(), "tw");
    drop(writer);
    assert_eq!(house.only().1, format!("{text}three.\n"));
    fs::write(&path, format!("{text}three.")).unwrap();
    assert!(house.add("four.\n").said.is_empty());
    assert_eq!(house.only().1, format!("{text}three.\nfour.\n"));
    fs::write(&path, house.only().1.replace('\n', "\r\n")).unwrap();
    assert!(house.add("five.\n").said.is_empty());
    assert!(house.only().1.ends_with("four.\r\nfive.\n"));
}

#[test]
fn a_file_that_was_put_back_or_taken_away_is_left_and_what_it_lacks_is_written_again() {
    let house = House::new();
    house.add("one.\n");
    let (path, early) = house.only();
    house.add("two.\n");
    let seen = |house: &House| house.machine().remembers(&house.folder, &read_folder(&house.folder).unwrap());
    let nothing = Memory { ledger: Some("yard".into()), ..Memory::default() };
    assert_eq!(seen(&house), nothing);
    // A copy of before is put back.
    fs::write(&path, &early).unwrap();
    let lost: Vec<String> = seen(&house).lost.into_iter().map(|lost| lost.line).collect();
    assert_eq!(lost, ["two."]);
    let writer = house.add("three.\n");
    assert_eq!(writer.said.len(), 1);
    assert!(writer.said[0].contains("isn't in it any more; it is written again into van-3-"), "{:?}", writer.said);
    let second = format!("head {}.\ntwo.\nthree.\n", writer.tag());
    assert_eq!(writer.ours().map(|file| file.bytes.clone()), Some(second.clone().into_bytes()));
    drop(writer);
    assert_eq!(seen(&house), nothing);
    assert_eq!(house.files().len(), 2);
    assert_eq!(fs::read_to_string(&path).unwrap(), early, "nobody adds to a file that isn't as it was left");
    // The whole folder is taken away.
    fs::remove_dir_all(&house.folder).unwrap();
    assert_eq!(seen(&house).lost.len(), 1);
    let writer = house.add("four.\n");
    assert!(writer.said[0].contains("written again"), "{:?}", writer.said);
    drop(writer);
    assert!(house.only().1.ends_with(".\nthree.\nfour.\n"));
    // Something that is no line stands behind the last one.
    let (path, text) = house.only();
    fs::write(&path, format!("{text}nonsense\n")).unwrap();
    let writer = house.add("five.\n");
    assert!(writer.said[0].contains("doesn't end as this machine left it"), "{:?}", writer.said);
    drop(writer);
    assert_eq!(house.files().len(), 2);
}

#[test]
fn a_second_machine_of_the_same_name_writes_a_file_of_its_own() {
    let house = House::new();
    house.add("one.\n");
    let other = House { folder: house.folder.clone(), ..House::new() };
    other.add("two.\n");
    house.add("three.\n");
    other.add("four.\n");
    let mut ends: Vec<String> =
        house.files().into_iter().map(|(_, text)| text.split_once('\n').unwrap().1.to_owned()).collect();
    ends.sort();
    assert_eq!(ends, ["one.\nthree.\n", "two.\nfour.\n"]);
}

#[test]
fn a_folder_that_was_moved_away_is_told_of_and_one_that_was_copied_is_not_mixed_up_with_it() {
    let house = House::new();
    house.add("one.\n");
    let copy = House { folder: house.folder.with_file_name("copy"), state: house.state.clone(), ..House::new() };
    fs::create_dir(&copy.folder).unwrap();
    for (name, text) in house.files() {
        fs::write(copy.folder.join(name), text).unwrap();
    }
    copy.add("two.\n");
    house.add("three.\n");
    assert_eq!((house.files().len(), copy.files().len()), (1, 2));
    let empty = house.folder.with_file_name("empty");
    assert_eq!(house.machine().remembers(&empty, &[]), Memory::default());
    fs::remove_dir_all(&house.folder).unwrap();
    let memory = house.machine().remembers(&empty, &[]);
    assert!(memory.lost.is_empty());
    assert_eq!(memory.elsewhere.len(), 1);
    assert_eq!((memory.elsewhere[0].ledger.as_str(), memory.elsewhere[0].line.as_str()), ("yard", "three."));
    assert!(memory.elsewhere[0].folder.ends_with("van.yaml.ledger"));
}

#[test]
fn whoever_waits_too_long_hears_who_writes() {
    let house = House::new();
    let writer = house.add("one.\n");
    let system = System { tries: 2, ..house.machine().system };
    let other = Machine::with(house.state.clone(), system);
    let error = Writer::open(&house.folder, &other, holder("van-4"), whole).unwrap_err();
    assert!(matches!(error, NotWritten::NoTurn(NoTurn::Busy { .. })));
    assert!(error.to_string().contains("van-3 (`weigh job.yaml`, since 08:15) is writing here"), "{error}");
    // Readers don't wait, and another folder's writers neither.
    assert_eq!(read_folder(&house.folder).unwrap().len(), 1);
    assert!(Writer::open(&house.folder.with_file_name("other"), &other, holder("van-4"), whole).is_ok());
    drop(writer);
    assert!(Writer::open(&house.folder, &other, holder("van-4"), whole).is_ok());
}

#[test]
fn without_locks_nobody_writes() {
    let house = House::new();
    let none = |_: &File| Err(TryLockError::Error(io::ErrorKind::Unsupported.into()));
    let machine = Machine::with(house.state.clone(), System { lock: none, ..house.machine().system });
    let error = Writer::open(&house.folder, &machine, holder("van-3"), whole).unwrap_err();
    assert!(matches!(error, NotWritten::NoTurn(NoTurn::NoLocks { .. })));
    assert!(error.to_string().contains("nothing is written without a lock"), "{error}");
    assert!(!house.folder.exists());
}

#[test]
fn without_a_state_folder_nobody_writes() {
    let house = House::new();
    fs::write(&house.state, "a file").unwrap();
    let error = Writer::open(&house.folder, &house.machine(), holder("van-3"), whole).unwrap_err();
    assert!(matches!(error, NotWritten::NoTurn(NoTurn::State { .. })));
    assert!(error.to_string().contains("set CHARGESPLIT_STATE"), "{error}");
    assert!(!house.folder.exists());
    assert_eq!(house.machine().remembers(&house.folder, &[]), Memory::default());
}

/// As many bytes as there is room for, and then none.
fn full(file: &mut File, bytes: &[u8]) -> io::Result<()> {
    file.write_all(&bytes[..bytes.len() / 2])?;
    Err(io::ErrorKind::StorageFull.into())
}

#[test]
fn a_full_disk_leaves_the_file_as_it_was() {
    let house = House::new();
    let system = house.machine().system;
    for broken in
        [System { write: full, ..system }, System { sync: |_| Err(io::ErrorKind::StorageFull.into()), ..system }]
    {
        let machine = Machine::with(house.state.clone(), broken);
        let before = house.files();
        let mut writer = Writer::open(&house.folder, &machine, holder("van-3"), whole).unwrap();
        if writer.ours().is_none() {
            writer.begin("yard", "head.\n");
        }
        let error = writer.append("one.\ntwo.\n").unwrap_err();
        assert!(error.to_string().ends_with("nothing was added to it"), "{error}");
        assert_eq!(house.files(), before);
        drop(writer);
        let before = house.files();
        let writer = house.add("three.\n");
        assert!(writer.said.is_empty(), "{:?}", writer.said);
        drop(writer);
        assert_eq!(house.files().len(), 1);
        assert!(before.is_empty() || house.only().1 == format!("{}three.\n", before[0].1));
    }
}

#[test]
fn a_folder_that_cant_be_written_or_read_is_said() {
    let house = House::new();
    fs::write(&house.folder, "a file").unwrap();
    let error = Writer::open(&house.folder, &house.machine(), holder("van-3"), whole).unwrap_err();
    assert!(matches!(error, NotWritten::Unread(_)), "{error}");
    fs::remove_file(&house.folder).unwrap();
    // The folder is gone while somebody writes, and where it was is a file.
    let mut writer = house.open();
    fs::write(&house.folder, "a file").unwrap();
    assert!(matches!(writer.append("one.\n"), Err(NotWritten::File { .. })));
    drop(writer);
    fs::remove_file(&house.folder).unwrap();
    house.add("one.\n");
    fs::create_dir(house.folder.join("copy.jsonl")).unwrap();
    let error = read_folder(&house.folder).unwrap_err();
    assert!(error.to_string().contains("copy.jsonl: this part of the ledger can't be read"), "{error}");
    fs::remove_dir(house.folder.join("copy.jsonl")).unwrap();
    // Whatever else lies there is nobody's business.
    fs::create_dir(house.folder.join("notes")).unwrap();
    fs::write(house.folder.join("readme.txt"), "x").unwrap();
    assert_eq!(house.files().len(), 1);
}

#[test]
fn what_somebody_else_changes_meanwhile_is_not_added_to() {
    let house = House::new();
    let mut writer = house.add("one.\n");
    let path = house.only().0;
    fs::write(&path, "something else").unwrap();
    let error = writer.append("two.\n").unwrap_err();
    assert!(error.to_string().contains("has changed it since it was read"), "{error}");
    assert_eq!(fs::read_to_string(&path).unwrap(), "something else");
}

#[test]
fn eight_writers_at_once_lose_nothing() {
    let house = House::new();
    let at = |folder: &Path, state: &Path, name: String, count: usize| {
        // On a loaded machine a turn may take longer than somebody waits at the scale.
        let system = System { tries: 2_000, ..Machine::new(state.to_owned()).system };
        let machine = Machine::with(state.to_owned(), system);
        for number in 0..count {
            let mut writer = Writer::open(folder, &machine, holder(&name), whole).unwrap();
            if writer.ours().is_none() {
                let head = format!("head {}.\n", writer.tag());
                writer.begin("yard", &head);
            }
            writer.append(&format!("{name} {number} {:?}.\n", std::thread::current().id())).unwrap();
        }
    };
    std::thread::scope(|scope| {
        // Two and two of one name.
        for number in 0..8 {
            let (folder, state) = (&house.folder, &house.state);
            scope.spawn(move || at(folder, state, format!("van-{}", number / 2), 25));
        }
    });
    let files = house.files();
    assert_eq!(files.len(), 4, "a file for each name");
    let mut lines: Vec<&str> = files.iter().flat_map(|(_, text)| text.lines().skip(1)).collect();
    assert_eq!(lines.len(), 200);
    lines.sort_unstable();
    lines.dedup();
    assert_eq!(lines.len(), 200);
}

#[test]
fn names_of_writers_are_short_and_plain() {
    for good in ["van-3", "a", "0", &"x".repeat(32)] {
        assert_eq!(WriterName::parse(good).unwrap().as_str(), good);
    }
    for bad in ["", "Van", "van 3", "van_3", "../x", "ä", &"x".repeat(33)] {
        assert!(WriterName::parse(bad).is_err(), "{bad}");
    }
    for (name, ours) in [("Office PC", "office-pc"), ("ÄB", "-b"), ("", "machine"), ("van-3.local", "van-3-local")] {
        assert_eq!(WriterName::of_machine(name).as_str(), ours);
        assert!(WriterName::parse(ours).is_ok());
    }
}

#[test]
fn two_that_replace_one_file_at_once_leave_a_whole_one() {
    let house = House::new();
    fs::create_dir(&house.folder).unwrap();
    let path = house.folder.join("yard.csv");
    let texts = ["a".repeat(50_000), "b".repeat(50_000)];
    std::thread::scope(|scope| {
        for text in &texts {
            let path = &path;
            scope.spawn(move || (0..50).for_each(|_| write_whole(path, text).unwrap()));
        }
    });
    assert!(texts.contains(&fs::read_to_string(&path).unwrap()));
    assert_eq!(fs::read_dir(&house.folder).unwrap().count(), 1);
}

#[test]
fn what_somebody_writes_into_a_file_while_its_place_is_taken_stays() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("van.csv");
    let left = || fs::read_dir(folder.path()).unwrap().count();
    fs::write(&file, "as read").unwrap();
    let read = Input::of(&file, b"as read");
    let meanwhile = |from: &Path, to: &Path| {
        fs::write(to, "saved meanwhile")?;
        fs::rename(from, to)
    };
    assert!(!replace::write_over_by(&read, "settled", &meanwhile).unwrap());
    assert_eq!((fs::read_to_string(&file).unwrap().as_str(), left()), ("saved meanwhile", 1));
    // Saved before that it isn't touched at all.
    let never = |_: &Path, _: &Path| panic!("its place was taken");
    assert!(!replace::write_over_by(&read, "settled", &never).unwrap());
    assert_eq!((fs::read_to_string(&file).unwrap().as_str(), left()), ("saved meanwhile", 1));
    fs::write(&file, "as read").unwrap();
    assert!(write_over(&read, "settled").unwrap());
    assert_eq!((fs::read_to_string(&file).unwrap().as_str(), left()), ("settled", 1));
}
