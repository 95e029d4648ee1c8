//! The files of a ledger: as bytes, and as lines whose check sums are right whatever they say.

use std::collections::HashSet;
use std::path::Path;

use chargesplit::cylinder::Id;
use chargesplit::ledger::{Entry, EntryId};
use chargesplit::text::{Known, LedgerRead, Tail, WriterFile, WriterHead, cylinder_of, read_ledger};
use jiff::civil::{Date, date};

const TODAY: Date = date(2026, 12, 1);
/// What parts the files of a folder in the bytes.
const BETWEEN: &[u8] = b"\n---\n";
const LEDGER: &str = "yard";

/// A folder of files, in two orders.
pub fn ledger(_: &Path, bytes: &[u8]) {
    let mut files: Vec<&[u8]> = Vec::new();
    let mut rest = bytes;
    while let Some(at) = rest.windows(BETWEEN.len()).position(|part| part == BETWEEN) {
        files.push(&rest[..at]);
        rest = &rest[at + BETWEEN.len()..];
    }
    files.push(rest);
    let known: Vec<Id> = ["C-1", "C-2", "C-3"].map(Id::from).to_vec();
    let read = |order: &mut dyn Iterator<Item = (usize, &&[u8])>| {
        let files = order.map(|(at, bytes)| WriterFile::read(&format!("van-{at}"), bytes, Some(LEDGER)));
        read_ledger(files.collect(), &known)
    };
    let (forth, back) = (read(&mut files.iter().enumerate()), read(&mut files.iter().enumerate().rev()));
    assert_eq!((&forth.ledger.entries, &forth.notes), (&back.ledger.entries, &back.notes));
    assert_eq!(forth.ledger.damage.len(), back.ledger.damage.len());
    holds(&forth);
    // Whatever stands in a file, its writer goes on behind it, and nothing that was read is lost by that.
    for bytes in files {
        let file = WriterFile::read("van", bytes, Some(LEDGER));
        let Some(mut tail) = file.tail.clone() else { continue };
        let kept = &bytes[..file.whole];
        let before = read_ledger(vec![file], &known).ledger.entries;
        let Some(model) = before.first() else { continue };
        let next = Entry { id: tail.next_id(), ..model.clone() };
        if next.id.number == u64::MAX {
            continue;
        }
        let text = [kept, b"\n", tail.write(&next).as_bytes()].concat();
        let after = read_ledger(vec![WriterFile::read("van", &text, Some(LEDGER))], &known).ledger.entries;
        assert!(before.iter().chain([&next]).all(|entry| after.contains(entry)), "{next:?}");
    }
}

/// Lines of a file, each given the check sum that it needs to be believed: heads and entries.
pub fn entries(_: &Path, bytes: &[u8]) {
    let mut text = Vec::new();
    for line in bytes.split(|byte| *byte == b'\n') {
        let end = line.windows(8).rposition(|part| part == br#","sum":""#);
        let line = end.map_or(line, |end| &line[..end]);
        text.extend_from_slice(line);
        text.extend_from_slice(format!(",\"sum\":\"{:08x}\"}}\n", crc32fast::hash(line)).as_bytes());
    }
    let read = read_ledger(vec![WriterFile::read("van", &text, None)], &[]);
    holds(&read);
    let head = WriterHead::of(&text);
    let head = head.unwrap_or(WriterHead { ledger: LEDGER.into(), writer: "van".into(), tag: "t".into() });
    let (mut again, mut tail) = Tail::begin(&head);
    assert_eq!(WriterHead::of(again.as_bytes()).as_ref(), Some(&head));
    let mut all = Vec::new();
    for entry in &read.ledger.entries {
        all.push(Entry { id: tail.next_id(), ..entry.clone() });
        again += &tail.write(&all[all.len() - 1]);
        for row in &entry.rows {
            let _ = cylinder_of(row, &Known::default(), TODAY.into());
        }
    }
    let read = read_ledger(vec![WriterFile::read("van", again.as_bytes(), Some(&head.ledger))], &[]);
    assert_eq!((read.ledger.entries, read.ledger.damage), (all, Vec::new()));
}

/// Every entry once, and everything that can't be believed by the name of an entry.
fn holds(read: &LedgerRead) {
    let names: HashSet<&EntryId> = read.ledger.entries.iter().map(|entry| &entry.id).collect();
    assert_eq!(names.len(), read.ledger.entries.len());
    assert!(read.ledger.damage.iter().all(|damage| damage.entry.is_some() && !damage.why.is_empty()));
    read.ledger.now(&[], TODAY);
}
