//! Adding to a ledger: one file for each writer, which nobody else ever writes.
//!
//! The file's name ends in a tag made by chance. A writer goes on with its file only where its end is what this machine
//! remembers of it; else (a restored copy of the file, a second machine of the same name) a new file with a new tag begins,
//! and what the old one has lost is written into it again. So two writers never add to one file.

use std::io::{self, Seek};
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::folder::{LedgerBytes, Unread, read_folder};
use super::machine::{Holder, Machine, NoTurn, Turn, whole_path};
use super::memory::Remembered;
use super::replace::write_new;
use super::{act, by_chance};

/// Why nothing was written.
#[derive(Debug, Error)]
pub enum NotWritten {
    /// It isn't this writer's turn, or can't be.
    #[error(transparent)]
    NoTurn(#[from] NoTurn),
    /// What is there can't be read.
    #[error(transparent)]
    Unread(#[from] Unread),
    /// The folder or the file can't be written to.
    #[error("{}: the ledger can't be written to: {error}; nothing was added to it", .path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why not.
        error: io::Error,
    },
}

/// A ledger open to be added to, with the turn of this machine.
#[derive(Debug)]
pub struct Writer {
    folder: PathBuf,
    machine: Machine,
    holder: Holder,
    turn: Turn,
    tag: String,
    /// The ledger's id; unknown until the first line is written or remembered.
    ledger: Option<String>,
    /// Bytes of our file that stay.
    length: u64,
    /// What stands in front of the next lines: the end of a last line, the head of a new file.
    before: String,
    /// All files of the folder as they are, ours included.
    pub files: Vec<LedgerBytes>,
    /// What was lost, put aside or found strange, to be said.
    pub said: Vec<String>,
}

impl Writer {
    /// Waits for the turn of this writer and reads the folder. `whole` says whether a line without its end is as it was
    /// written.
    ///
    /// # Errors
    /// See [`NotWritten`]. Nothing is changed but a torn last line of this writer's own, which is put aside.
    pub fn open(
        folder: &Path,
        machine: &Machine,
        holder: Holder,
        whole: fn(&[u8]) -> bool,
    ) -> Result<Self, NotWritten> {
        let turn = machine.turn(folder, &holder)?;
        let files = read_folder(folder)?;
        let known = Remembered::of(&turn.kept, &holder.name);
        let mut writer = Self {
            folder: folder.to_owned(),
            machine: machine.clone(),
            tag: String::new(),
            ledger: known.as_ref().map(|known| known.ledger.clone()),
            length: 0,
            before: String::new(),
            said: Vec::new(),
            holder,
            turn,
            files,
        };
        if known.as_ref().is_some_and(|known| writer.goes_on(known, whole)) {
            writer.mend(whole)?;
        } else {
            writer.begins(known)?;
        }
        Ok(writer)
    }

    /// Whether the file that is remembered is there and ends as it is remembered, or a few whole lines later.
    fn goes_on(&mut self, known: &Remembered, whole: fn(&[u8]) -> bool) -> bool {
        let Some(file) = self.files.iter().find(|file| file.name == known.file) else { return false };
        let Some(end) = known.ends_in(&file.bytes) else { return false };
        let behind = file.bytes.get(end..).unwrap_or_default();
        let ended = behind.split_inclusive(|byte| *byte == b'\n').filter(|line| line.ends_with(b"\n"));
        let tag = known.file.strip_prefix(self.holder.name.as_str()).and_then(|rest| rest.strip_prefix('-'));
        let Some(tag) = tag.and_then(|rest| rest.strip_suffix(".jsonl")) else { return false };
        self.tag = tag.to_owned();
        ended.map(<[u8]>::trim_ascii_end).all(|line| line.is_empty() || whole(line))
    }

    /// Puts a torn last line aside, and gives a whole one the end that it lacks.
    fn mend(&mut self, whole: fn(&[u8]) -> bool) -> Result<(), NotWritten> {
        let path = self.path();
        let name = self.file_name();
        let Some(file) = self.files.iter_mut().find(|file| file.name == name) else { return Ok(()) };
        let start = file.bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
        let last = file.bytes.get(start..).unwrap_or_default().to_vec();
        self.length = file.bytes.len() as u64;
        if last.is_empty() {
            return Ok(());
        }
        if whole(last.trim_ascii_end()) {
            self.before = "\n".into();
            return Ok(());
        }
        file.bytes.truncate(start);
        self.length = start as u64;
        let failed = |error| NotWritten::File { path: path.clone(), error };
        let aside = put_aside(&path, &last).map_err(failed)?;
        act::open_to_write(&path)
            .and_then(|file| act::cut(&file, self.length).and_then(|()| act::flush(&file)))
            .map_err(failed)?;
        let aside = aside.file_name().unwrap_or_default().to_string_lossy();
        self.said.push(format!("{name}: a crash tore its last line, {} bytes: they are in {aside}", last.len()));
        Ok(())
    }

    /// Takes a new tag, and says what this machine wrote before and isn't there any more.
    fn begins(&mut self, known: Option<Remembered>) -> Result<(), NotWritten> {
        self.tag = by_chance().map_err(|error| NotWritten::File { path: self.folder.clone(), error })?;
        let Some(known) = known else { return Ok(()) };
        let name = self.file_name();
        if known.is_in(&self.files) {
            let known = &known.file;
            self.said.push(format!("{known}: it doesn't end as this machine left it; {name} begins in its place"));
            return Ok(());
        }
        self.said.push(format!(
            "{}: the last line that this machine wrote isn't in it any more; it is written again into {name}",
            known.file
        ));
        self.before = known.line + "\n";
        Ok(())
    }

    fn file_name(&self) -> String {
        format!("{}-{}.jsonl", self.holder.name, self.tag)
    }

    fn path(&self) -> PathBuf {
        self.folder.join(self.file_name())
    }

    /// What our file holds now; nothing where it begins with the next line.
    pub fn ours(&self) -> Option<&LedgerBytes> {
        let name = self.file_name();
        self.files.iter().find(|file| file.name == name)
    }

    /// The tag of our file.
    pub fn tag(&self) -> &str {
        &self.tag
    }

    /// The name that is written under.
    pub fn name(&self) -> &str {
        self.holder.name.as_str()
    }

    /// The first line of a new file, with its end; the id of the ledger that it says. It is written with the next lines.
    pub fn begin(&mut self, ledger: &str, head: &str) {
        self.ledger = Some(ledger.to_owned());
        self.before.insert_str(0, head);
    }

    /// Adds lines, each with its end, all or none of them; when this returns they are on the disk. Where this machine
    /// can't remember them, that is said: the next writer begins a new file.
    ///
    /// # Errors
    /// Where they can't be written. Then the file is as it was.
    pub fn append(&mut self, lines: &str) -> Result<(), NotWritten> {
        let path = self.path();
        let failed = |error| NotWritten::File { path: path.clone(), error };
        let is_new = self.length == 0;
        if is_new {
            make_folder(&self.folder).map_err(|error| NotWritten::File { path: self.folder.clone(), error })?;
        }
        let text = format!("{}{lines}", self.before);
        let system = self.machine.system;
        let opened = if is_new { act::create(&path) } else { act::open_to_write(&path) };
        let opened = opened.and_then(|mut file| {
            // Only so is the length the one to go back to.
            if file.seek(io::SeekFrom::End(0))? == self.length { Ok(file) } else { Err(io::Error::other(CHANGED)) }
        });
        let mut file = opened.map_err(failed)?;
        let written = (system.write)(&mut file, text.as_bytes()).and_then(|()| (system.sync)(&file));
        if let Err(error) = written {
            // What went in before the disk was full is taken out again. Where that fails too, it is a torn line.
            let _ = act::cut(&file, self.length).and_then(|()| act::flush(&file));
            drop(file);
            if is_new {
                let _ = act::remove(&path);
            }
            return Err(failed(error));
        }
        if is_new {
            act::keep_name(&path);
        }
        self.length += text.len() as u64;
        self.before.clear();
        self.take(&text);
        self.remember(lines);
        Ok(())
    }

    /// The bytes of our file as they are now.
    fn take(&mut self, text: &str) {
        let name = self.file_name();
        match self.files.iter_mut().find(|file| file.name == name) {
            Some(file) => file.bytes.extend_from_slice(text.as_bytes()),
            None => self.files.push(LedgerBytes { name, bytes: text.as_bytes().to_vec() }),
        }
    }

    fn remember(&mut self, lines: &str) {
        let Some(line) = lines.lines().last() else { return };
        let last = Remembered {
            folder: whole_path(&self.folder),
            ledger: self.ledger.clone().unwrap_or_default(),
            file: self.file_name(),
            line: line.to_owned(),
        };
        if let Err(error) = last.keep(&self.machine, &self.turn.kept, &self.holder.name) {
            self.said.push(format!("this machine can't remember what it wrote: {error}; all of it is in the ledger"));
        }
    }
}

/// Said where a file isn't what was read of it.
const CHANGED: &str = "somebody has changed it since it was read";

fn make_folder(folder: &Path) -> io::Result<()> {
    match act::make_folder(folder) {
        Ok(()) => act::keep_name(folder),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
        Err(error) => return Err(error),
    }
    Ok(())
}

/// Puts the bytes of a torn line into a file of its own, never over another one.
fn put_aside(path: &Path, bytes: &[u8]) -> io::Result<PathBuf> {
    for number in 1..1000 {
        let path = path.with_extension(format!("torn-{number}.txt"));
        match write_new(&path, bytes) {
            Ok(()) => return Ok(path),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::Error::other("there are a thousand torn lines aside already"))
}
