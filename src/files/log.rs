//! The log beside a job file: lines of JSON that are only ever added to.
//!
//! Whoever adds holds the file's lock, writes whole lines at once and waits until they are on the disk; only then is
//! anything answered. What a crash left of a last line is put into a file of its own before the log goes on. A line in
//! the middle that can't be read is never passed over: the log is refused.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::log_line;
use super::source::{Input, open_regular, regular};
use crate::quantity::Division;
use crate::recovery::{Action, Entry, Moment};

/// The most bytes of a log: more than a hundred thousand readings.
const MOST_BYTES: u64 = 32 * 1024 * 1024;

/// Why a log can't be read or added to.
#[derive(Debug, Error)]
pub enum LogError {
    /// The file system says no.
    #[error("{}: the log can't be {what}: {error}; nothing was added to it", .file.display())]
    Io {
        /// The log.
        file: PathBuf,
        /// What couldn't be done.
        what: &'static str,
        /// Why not.
        error: io::Error,
    },
    /// A line that isn't one of a log.
    #[error("{}:{line}: this line of the log can't be read: {why}; put it right, nothing may be left out", .file.display())]
    BadLine {
        /// The log.
        file: PathBuf,
        /// The line, from 1.
        line: usize,
        /// What is wrong.
        why: String,
    },
    /// Larger than any log.
    #[error("{}: the file is larger than any log", .file.display())]
    TooLarge {
        /// The log.
        file: PathBuf,
    },
}

/// What a crash left of a last line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Torn {
    /// The line, from 1.
    pub line: usize,
    /// How many bytes there are of it.
    pub bytes: usize,
    /// Where it was put; `None` where the log was only read.
    pub aside: Option<PathBuf>,
}

/// A log that is open, and locked for as long as it is.
#[derive(Debug)]
pub struct Log {
    path: PathBuf,
    division: Division,
    file: Option<File>,
    length: u64,
    /// Its entries.
    pub entries: Vec<Entry>,
    /// A last line that a crash tore.
    pub torn: Option<Torn>,
    /// The log as it was read, without what is torn.
    pub input: Input,
}

/// The log of a job file: beside it, `cold-store.log.jsonl` for `cold-store.yaml`.
pub fn log_path(job: &Path) -> PathBuf {
    job.with_extension("log.jsonl")
}

impl Log {
    /// Reads a log without changing anything; one that isn't there has no entries.
    ///
    /// # Errors
    /// See [`LogError`].
    pub fn read(path: &Path, division: Division) -> Result<Self, LogError> {
        let mut log = Self::closed(path, division);
        let mut file = match open_regular(path) {
            Ok(file) => file,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(log),
            Err(error) => return Err(log.failed("opened", error)),
        };
        file.lock_shared().map_err(|error| log.failed("locked", error))?;
        log.take(&mut file)?;
        log.file = Some(file);
        Ok(log)
    }

    /// Opens a log to add to it; waits for whoever has it open. A torn last line is put aside.
    ///
    /// # Errors
    /// See [`LogError`].
    pub fn open(path: &Path, division: Division) -> Result<Self, LogError> {
        let mut log = Self::closed(path, division);
        let there = match regular(path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            Ok(()) | Err(_) => Ok(()),
        };
        let opened = there.and_then(|()| OpenOptions::new().read(true).append(true).create(true).open(path));
        let mut file = opened.map_err(|error| log.failed("opened", error))?;
        file.lock().map_err(|error| log.failed("locked", error))?;
        let tail = log.take(&mut file)?;
        if let Some(torn) = &mut log.torn {
            let aside = put_aside(path, &tail);
            torn.aside = Some(aside.map_err(|error| Self::closed(path, division).failed("repaired", error))?);
            let shorter = file.set_len(log.length).and_then(|()| file.sync_all());
            shorter.map_err(|error| log.failed("repaired", error))?;
        }
        log.file = Some(file);
        Ok(log)
    }

    fn closed(path: &Path, division: Division) -> Self {
        let input = Input::of(path, &[]);
        Self { path: path.to_owned(), division, file: None, length: 0, entries: Vec::new(), torn: None, input }
    }

    fn failed(&self, what: &'static str, error: io::Error) -> LogError {
        LogError::Io { file: self.path.clone(), what, error }
    }

    /// Takes the entries of the file; returns what is torn.
    fn take(&mut self, file: &mut File) -> Result<Vec<u8>, LogError> {
        let mut bytes = Vec::new();
        file.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| self.failed("read", error))?;
        if bytes.len() as u64 > MOST_BYTES {
            return Err(LogError::TooLarge { file: self.path.clone() });
        }
        let mut start = 0;
        while start < bytes.len() {
            let end = bytes[start..].iter().position(|byte| *byte == b'\n').map(|at| start + at + 1);
            let line = self.entries.len() + 1;
            let read = match end {
                Some(end) => log_line::read(&bytes[start..end - 1], line, self.division),
                None => Err("it has no end".into()),
            };
            match (read, end) {
                (Ok(entry), Some(end)) => {
                    self.entries.push(entry);
                    start = end;
                }
                (Err(why), Some(end)) if end < bytes.len() => {
                    return Err(LogError::BadLine { file: self.path.clone(), line, why });
                }
                (Ok(_) | Err(_), _) => {
                    self.torn = Some(Torn { line, bytes: bytes.len() - start, aside: None });
                    break;
                }
            }
        }
        self.length = start as u64;
        self.input = Input::of(&self.path, &bytes[..start]);
        Ok(bytes.split_off(start))
    }

    /// Adds entries, all or none of them; when this returns they are on the disk.
    ///
    /// # Errors
    /// Where they can't be written. Then the log is as it was.
    pub fn append(&mut self, actions: Vec<(Moment, Action)>) -> Result<(), LogError> {
        let first = self.entries.len() + 1;
        let numbered = actions.into_iter().enumerate();
        let new: Vec<Entry> =
            numbered.map(|(index, (at, action))| Entry { number: first + index, at, action }).collect();
        let mut text = String::new();
        for entry in &new {
            let line = log_line::write(entry, self.division);
            text.push_str(&line.map_err(|error| self.failed("written", io::Error::other(error)))?);
            text.push('\n');
        }
        let Some(file) = &mut self.file else {
            return Err(self.failed("written", io::Error::other("it was opened to read")));
        };
        if let Err(error) = file.write_all(text.as_bytes()).and_then(|()| file.sync_all()) {
            // What went in before the disk was full is taken out again. Where that fails too, it is a torn line.
            let _ = file.set_len(self.length).and_then(|()| file.sync_all());
            return Err(self.failed("written", error));
        }
        if self.length == 0 {
            keep_name(&self.path);
        }
        self.length += text.len() as u64;
        self.entries.extend(new);
        Ok(())
    }
}

/// Puts the bytes of a torn line into a file of its own, never over another one.
fn put_aside(log: &Path, bytes: &[u8]) -> io::Result<PathBuf> {
    for number in 1..1000 {
        let path = log.with_extension(format!("torn-{number}.txt"));
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(mut file) => {
                file.write_all(bytes).and_then(|()| file.sync_all()).inspect_err(|_| {
                    // A part of it would look like the whole.
                    let _ = fs::remove_file(&path);
                })?;
                keep_name(&path);
                return Ok(path);
            }
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::Error::other("there are a thousand torn lines aside already"))
}

/// Makes the name of a new file last through a power cut, where folders can be synced at all.
pub(super) fn keep_name(path: &Path) {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}
