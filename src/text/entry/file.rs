//! A file of a ledger, line by line: each is believed or not by itself, and none is passed over.

use std::io::BufRead;

use super::line::{self, LedgerLine, Recorded, Sum, WriterHead};
use super::tail::Tail;

/// A file of a ledger, as far as it can be read by itself.
#[derive(Debug, Default)]
pub struct WriterFile {
    /// What the file is called in messages.
    pub name: String,
    /// Whose it is; `None` where its head isn't there or can't be believed.
    pub head: Option<WriterHead>,
    /// The end of the file, to write on; `None` where it has neither a head nor an entry.
    pub tail: Option<Tail>,
    /// Bytes up to the end of the last line that has one or is whole: what follows is torn.
    pub whole: usize,
    /// The last line is whole, and its end is lacking.
    pub lacks_end: bool,
    pub(super) entries: Vec<Recorded>,
    pub(super) spoiled: Vec<SpoiledLine>,
    pub(super) torn: bool,
    /// What is strange about it and puts nothing in doubt.
    pub(super) notes: Vec<String>,
}

/// A line that can't be believed.
#[derive(Debug)]
pub(super) struct SpoiledLine {
    /// From 1.
    pub line: usize,
    pub bytes: Vec<u8>,
    pub why: String,
    /// The entry that it was by its place, where the file's tag is known: one more than the one before.
    pub number: u64,
    pub tag: Option<String>,
}

impl WriterFile {
    /// The last line of a file as the machine that wrote it remembers it, where the file itself has lost it.
    pub fn remembered(name: &str, line: &str, ledger: Option<&str>) -> Self {
        let mut file = Self::read(name, line.as_bytes(), ledger);
        file.notes.push("its last entry isn't in it any more; this machine remembers it".into());
        file
    }

    /// Goes through the bytes of a file of this name. Where `ledger` is given, what stands under the head of another one
    /// isn't taken.
    pub fn read(name: &str, bytes: &[u8], ledger: Option<&str>) -> Self {
        let mut reading =
            Reader { file: Self { name: name.to_owned(), ..Self::default() }, ledger, ..Reader::default() };
        let mut start = 0;
        for index in 1.. {
            let Some(mut rest) = bytes.get(start..).filter(|rest| !rest.is_empty()) else { break };
            let whole = rest;
            let line = &whole[..rest.skip_until(b'\n').unwrap_or_default()];
            let here = start;
            start += line.len();
            let ended = line.strip_suffix(b"\n");
            let line = line::trimmed(ended.unwrap_or(line));
            if ended.is_none() && !line.is_empty() && !line::is_whole_line(line) {
                reading.file.torn = true;
                reading.file.whole = here;
                break;
            }
            reading.file.lacks_end = ended.is_none();
            reading.file.whole = start;
            reading.take(index, line);
        }
        reading.end()
    }
}

#[derive(Default)]
struct Reader<'l> {
    file: WriterFile,
    ledger: Option<&'l str>,
    /// The tag whose lines stand here, and the number of the last one, or of one that can't be believed.
    tag: Option<String>,
    number: u64,
    /// What stands under this head isn't taken: another ledger's.
    foreign: bool,
    head_sum: Option<Sum>,
    /// A newer version has written this.
    newer: bool,
}

impl Reader<'_> {
    fn take(&mut self, index: usize, line: &[u8]) {
        if line.is_empty() {
            return;
        }
        let read = match line::read(line) {
            Ok(LedgerLine::Entry(_)) if self.newer => Err("a newer version of the program wrote it".into()),
            read => read,
        };
        match read {
            Ok(LedgerLine::Head(head, sum)) => {
                self.foreign = self.ledger.is_some_and(|ours| ours != head.ledger);
                self.newer = false;
                if self.foreign {
                    let note = format!("it is of another ledger, {}, and isn't read", head.ledger);
                    self.file.notes.push(note);
                    return;
                }
                (self.tag, self.number) = (Some(head.tag.clone()), 0);
                if self.file.head.is_none() {
                    self.head_sum = Some(sum);
                    self.file.head = Some(head);
                }
            }
            Ok(LedgerLine::Newer) => {
                (self.newer, self.foreign) = (true, false);
                self.file.notes.push("a newer version of the program wrote it: none of it is believed here".into());
            }
            // What the file's own writer wrote behind such a head is the file's all the same.
            Ok(LedgerLine::Entry(written)) => {
                if !self.foreign || self.is_ours(&written) {
                    self.entry(*written);
                }
            }
            Err(_) if self.foreign => {}
            // The first line is a head. What was written under it still stands by itself.
            Err(why) if index == 1 => self.file.notes.push(format!("its head can't be believed: {why}")),
            Err(why) => self.spoiled(index, line, why),
        }
    }

    fn is_ours(&self, written: &Recorded) -> bool {
        self.file.head.as_ref().is_some_and(|head| *head.tag == *written.entry.id.tag)
    }

    fn entry(&mut self, written: Recorded) {
        let id = &written.entry.id;
        // A line of another file's that stands here, written again because that file lost it, doesn't count here.
        let tag = self.tag.get_or_insert_with(|| id.tag.to_string());
        if **tag == *id.tag {
            self.number = self.number.max(id.number);
        }
        let first = **tag == *id.tag && id.number == 1;
        if first && self.head_sum.is_some_and(|sum| sum != written.after) {
            self.file.notes.push("its head isn't the one that its first entry was written behind".into());
        }
        self.file.entries.push(written);
    }

    fn spoiled(&mut self, line: usize, bytes: &[u8], why: String) {
        self.number = self.number.saturating_add(1);
        let tag = self.tag.clone();
        self.file.spoiled.push(SpoiledLine { line, bytes: bytes.to_owned(), why, number: self.number, tag });
    }

    fn end(mut self) -> WriterFile {
        let file = &mut self.file;
        let tag =
            file.head.as_ref().map(|head| head.tag.as_str()).or(file.entries.first().map(|first| &*first.entry.id.tag));
        file.tail = tag.and_then(|tag| {
            let spoiled =
                file.spoiled.iter().filter(|line| line.tag.as_deref() == Some(tag)).map(|line| line.number).max();
            Tail::behind(tag, self.head_sum, &file.entries, spoiled)
        });
        self.file
    }
}
