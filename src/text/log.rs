//! The log beside a job file: lines of JSON that are only ever added to.
//!
//! Whoever adds holds the file's lock; whole lines are added at once, and are on the disk before anything is answered.
//! What a crash left of a last line is put into a file of its own before the log goes on. A line in the middle that can't
//! be read is never passed over: the log is refused.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::log_line;
use crate::disk::{Appended, Input, Refused};
use crate::quantity::Division;
use crate::recovery::{Action, LogEntry, Moment};

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
    file: Option<Appended>,
    /// Its entries.
    pub entries: Vec<LogEntry>,
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
        let Some(mut file) = Appended::read(path).map_err(|refused| log.failed(refused))? else { return Ok(log) };
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
        let mut file = Appended::open(path).map_err(|refused| log.failed(refused))?;
        let tail = log.take(&mut file)?;
        if let Some(torn) = &mut log.torn {
            let aside = file.put_aside(&tail);
            torn.aside = Some(aside.map_err(|refused| Self::closed(path, division).failed(refused))?);
        }
        log.file = Some(file);
        Ok(log)
    }

    fn closed(path: &Path, division: Division) -> Self {
        let input = Input::of(path, &[]);
        Self { path: path.to_owned(), division, file: None, entries: Vec::new(), torn: None, input }
    }

    fn failed(&self, Refused { what, error }: Refused) -> LogError {
        LogError::Io { file: self.path.clone(), what, error }
    }

    /// Takes the entries of the file; returns what is torn.
    fn take(&mut self, file: &mut Appended) -> Result<Vec<u8>, LogError> {
        let mut bytes = file.bytes(MOST_BYTES + 1).map_err(|refused| self.failed(refused))?;
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
        let new: Vec<LogEntry> =
            numbered.map(|(index, (at, action))| LogEntry { number: first + index, at, action }).collect();
        let mut text = String::new();
        for entry in &new {
            let line = log_line::write(entry, self.division);
            text.push_str(&line.map_err(|error| self.failed(unwritten(io::Error::other(error))))?);
            text.push('\n');
        }
        let added = match &mut self.file {
            Some(file) => file.append(&text),
            None => Err(unwritten(io::Error::other("it was opened to read"))),
        };
        added.map_err(|refused| self.failed(refused))?;
        self.entries.extend(new);
        Ok(())
    }
}

fn unwritten(error: io::Error) -> Refused {
    Refused { what: "written", error }
}
