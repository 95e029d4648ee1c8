//! The ledger beside a yard, on disk: its files read as one, and entries added to this machine's own.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::round::Keep;
use crate::cylinder::{Cylinder, Id};
use crate::disk::{self, Input, LedgerBytes, Memory, NotWritten, Unread, Writer, read_folder};
use crate::ledger::{Entry, EntryId, JobId, Ledger, Moment, Row, What, side_by_side};
use crate::quantity::parse_weight;
use crate::text::{Tail, WriterFile, WriterHead, identity_of, is_whole_line, ledger_named, read_ledger};

/// An entry that hasn't got its name yet.
#[derive(Debug, Clone)]
pub struct Draft {
    /// When it happened.
    pub at: Moment,
    /// Whose doing it is.
    pub job: Option<JobId>,
    /// For each cylinder the entries that it continues from.
    pub on: Vec<(Id, Vec<EntryId>)>,
    /// Rows as they stand.
    pub rows: Vec<Row>,
    /// What happened.
    pub what: What,
}

/// Why a ledger can't be read or written, or a yard not settled.
#[derive(Debug, Error)]
pub enum StoreError {
    /// The cylinders stand in no file.
    #[error("the cylinders stand in no file, and there is nothing beside which a ledger could be kept")]
    NoPlace,
    /// A part of it can't be read.
    #[error(transparent)]
    Unread(#[from] Unread),
    /// It can't be added to.
    #[error(transparent)]
    NotWritten(#[from] NotWritten),
    /// It is open to be looked at.
    #[error("the ledger is open to be looked at, and nothing is added to it")]
    Looking,
    /// A yard file can't be written.
    #[error("{}: the yard can't be written: {error}; nothing was changed in it", .file.display())]
    Yard {
        /// The file.
        file: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// Somebody saved the yard file while it was read.
    #[error("{}: somebody has saved it in between; nothing was written into it: do it again", .file.display())]
    Saved {
        /// The file.
        file: PathBuf,
    },
    /// A yard that another ledger seems to be of.
    #[error(
        "copied-yard: {} has no ledger, and {} beside it knows {known} of its {of} cylinders. Where the file was renamed, \
         rename the folder as well, to {}; where it is a copy, go on with the first", .file.display(), .other.display(), .wanted.display()
    )]
    Copied {
        /// The yard file.
        file: PathBuf,
        /// The other ledger.
        other: PathBuf,
        /// The name that the ledger of this file would have.
        wanted: PathBuf,
        /// How many cylinders it knows.
        known: usize,
        /// Of how many.
        of: usize,
    },
}

/// The ledger beside a yard.
#[derive(Debug)]
pub struct Store {
    /// Its folder.
    pub folder: PathBuf,
    /// Everything that happened.
    pub ledger: Ledger,
    /// What is strange about its files, in sentences.
    pub said: Vec<String>,
    writing: Option<Writing>,
}

/// The turn of this machine's writer.
#[derive(Debug)]
struct Writing {
    writer: Writer,
    tail: Tail,
    /// Entries of ours that are on the way into the ledger, and who signs them.
    name: String,
}

/// From so many bytes on threads pay: some milliseconds of reading.
const LONG: usize = 1_000_000;

/// The folder of a yard's ledger: `van-3.yaml.ledger` beside `van-3.yaml`.
pub fn ledger_folder(yard: &Path) -> PathBuf {
    let mut name = yard.file_name().unwrap_or_default().to_os_string();
    name.push(".ledger");
    yard.with_file_name(name)
}

impl Store {
    /// Reads the ledger beside a yard file, whose rows these are; to write, waits for others of this machine.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn open(yard: &Path, rows: &[Cylinder], keep: &Keep) -> Result<Self, StoreError> {
        let folder = ledger_folder(yard);
        match keep {
            Keep::Read(machine) => {
                let files = read_folder(&folder)?;
                let memory = machine.as_ref().map(|machine| machine.remembers(&folder, &files)).unwrap_or_default();
                Ok(Self::of(&folder, &files, rows, &memory, None))
            }
            Keep::Write(machine, holder) => {
                let name = holder.name.to_string();
                let mut writer = Writer::open(&folder, machine, holder.clone(), is_whole_line)?;
                let memory = machine.remembers(&folder, &writer.files);
                let ledger = named(&writer.files, &memory, rows);
                let ours = writer.ours().map(|file| WriterFile::read(&file.name, &file.bytes, Some(&ledger)));
                let tail = match ours.and_then(|file| file.tail) {
                    Some(tail) => tail,
                    None => {
                        let head =
                            WriterHead { ledger: ledger.clone(), writer: name.clone(), tag: writer.tag().to_owned() };
                        let (line, tail) = Tail::begin(&head);
                        writer.begin(&ledger, &line);
                        tail
                    }
                };
                let files = writer.files.clone();
                let said = writer.said.clone();
                let mut store = Self::of(&folder, &files, rows, &memory, Some(Writing { writer, tail, name }));
                store.said.extend(said);
                Ok(store)
            }
        }
    }

    fn of(folder: &Path, files: &[LedgerBytes], rows: &[Cylinder], memory: &Memory, writing: Option<Writing>) -> Self {
        let ledger = named(files, memory, rows);
        let bytes: usize = files.iter().map(|file| file.bytes.len()).sum();
        let mut read =
            side_by_side(bytes > LONG, files, |file| WriterFile::read(&file.name, &file.bytes, Some(&ledger)));
        let mut said = Vec::new();
        // What this machine wrote and nobody has any more stands in its memory.
        for lost in &memory.lost {
            said.push(format!(
                "{}: the last line that this machine wrote into it isn't there any more; it counts all the same",
                lost.file
            ));
            read.push(WriterFile::read(&lost.file, lost.line.as_bytes(), Some(&ledger)));
        }
        let known: Vec<Id> = rows.iter().map(|row| row.id.clone()).collect();
        let all = read_ledger(read, &known);
        said.extend(all.notes);
        Self { folder: folder.to_owned(), ledger: all.ledger, said, writing }
    }

    /// Reads the ledger in a folder, as its files stand.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn read(folder: &Path, rows: &[Cylinder]) -> Result<Self, StoreError> {
        Ok(Self::of(folder, &read_folder(folder)?, rows, &Memory::default(), None))
    }

    /// The name of the next entry; where the ledger is only looked at, of none.
    pub fn next_id(&self) -> EntryId {
        let none = || EntryId { tag: "".into(), number: 0 };
        self.writing.as_ref().map_or_else(none, |writing| writing.tail.next_id())
    }

    /// Adds entries, all or none of them; when this returns they are on the disk.
    ///
    /// # Errors
    /// Where they can't be written. Then the ledger is as it was.
    pub fn add(&mut self, drafts: Vec<Draft>) -> Result<(), StoreError> {
        let Some(writing) = &mut self.writing else { return Err(StoreError::Looking) };
        let (mut tail, mut lines, mut new) = (writing.tail.clone(), String::new(), Vec::new());
        for draft in drafts {
            let Draft { at, job, on, rows, what } = draft;
            let entry = Entry { id: tail.next_id(), at, by: writing.name.clone(), job, on, rows, what };
            lines.push_str(&tail.write(&entry));
            new.push(entry);
        }
        writing.writer.append(&lines)?;
        writing.tail = tail;
        let ledger = std::mem::take(&mut self.ledger);
        self.ledger = Ledger::new(ledger.entries.into_iter().chain(new).collect(), ledger.damage);
        Ok(())
    }

    /// Takes in what another copy of this ledger has: files that aren't here as they are, and of those that are here with
    /// less in them, another file beside. Nothing is ever taken away; taken in twice it changes nothing. Says what came.
    ///
    /// # Errors
    /// Files that can't be read or written.
    pub fn join(&mut self, from: &Path, rows: &[Cylinder]) -> Result<Vec<String>, StoreError> {
        let here = read_folder(&self.folder)?;
        let mut said = Vec::new();
        for file in read_folder(from)? {
            let lines = |bytes: &[u8]| bytes.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect::<Vec<_>>();
            let known: Vec<Vec<u8>> = here.iter().flat_map(|ours| lines(&ours.bytes)).collect();
            let new = lines(&file.bytes).iter().filter(|line| !line.is_empty() && !known.contains(line)).count();
            if new == 0 {
                said.push(format!("{}: nothing new", file.name));
                continue;
            }
            let name = disk::keep_beside(&self.folder, &file.name, &file.bytes)
                .map_err(|error| StoreError::Yard { file: self.folder.join(&file.name), error })?;
            said.push(format!("{}: {new} new lines, kept as {name}", file.name));
        }
        if said.is_empty() {
            said.push(format!("{}: no file of a ledger is in it", from.display()));
        }
        let all = Self::read(&self.folder, rows)?;
        (self.ledger, self.said) = (all.ledger, all.said);
        Ok(said)
    }
}

/// The ledger that a folder is of.
fn named(files: &[LedgerBytes], memory: &Memory, rows: &[Cylinder]) -> String {
    let heads: Vec<WriterHead> =
        files.iter().filter_map(|file| WriterFile::read(&file.name, first_line(&file.bytes), None).head).collect();
    let ours = Input::of(Path::new(""), identity_of(rows).as_bytes()).brief().to_owned();
    ledger_named(&heads, memory.ledger.as_deref(), &ours)
}

fn first_line(bytes: &[u8]) -> &[u8] {
    let end = bytes.iter().position(|byte| *byte == b'\n').map_or(bytes.len(), |end| end + 1);
    &bytes[..end]
}

/// Refuses a yard without a ledger where another ledger beside it knows at least half of its cylinders: it was renamed or
/// copied, and would begin from nothing.
///
/// # Errors
/// Only [`StoreError::Copied`].
pub fn refuse_copied(yard: &Path, rows: &[Cylinder]) -> Result<(), StoreError> {
    let wanted = ledger_folder(yard);
    if wanted.exists() {
        return Ok(());
    }
    let folder = yard.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    for other in disk::folders_ending(folder, ".ledger") {
        let Ok(files) = read_folder(&other) else { continue };
        let ours = Input::of(Path::new(""), identity_of(rows).as_bytes()).brief().to_owned();
        let head = |file: &LedgerBytes| WriterFile::read(&file.name, first_line(&file.bytes), None).head;
        // A ledger is called by the cylinders that the yard had when it began.
        let same = files.iter().filter_map(head).any(|head| head.ledger == ours);
        let read = Store::of(&other, &files, &[], &Memory::default(), None);
        let counted = rows.iter().filter(|row| knows(&read.ledger, row)).count();
        let known = if same { rows.len() } else { counted };
        if known > 0 && known * 2 >= rows.len() {
            return Err(StoreError::Copied { file: yard.to_owned(), other, wanted, known, of: rows.len() });
        }
    }
    Ok(())
}

/// Whether a ledger has a row of this cylinder with the same tare and water capacity.
fn knows(ledger: &Ledger, cylinder: &Cylinder) -> bool {
    let weight = |row: &Row, key| row.stamp(key).and_then(|text| parse_weight(text, None).ok());
    let same = |row: &Row| {
        weight(row, "tare") == Some(cylinder.tare) && weight(row, "water_capacity") == Some(cylinder.water_capacity)
    };
    ledger.entries.iter().filter_map(|entry| entry.row(&cylinder.id)).any(same)
}
