//! This machine as far as writers of a ledger need it: a folder of its own for what it has to remember, a name, a lock.
//!
//! Everything here is kept for each folder of a ledger by itself, under a digest of the folder's path.

use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use sha2::{Digest, Sha256};
use thiserror::Error;

use super::read::hex;
use super::{act, write_whole};

/// How often a lock that somebody holds is tried, and how long is waited between two tries: 5 s in all.
const TRIES: u32 = 100;
const BETWEEN: Duration = Duration::from_millis(50);

/// What the system is asked for, in a place where tests can put one that refuses.
#[derive(Debug, Clone, Copy)]
pub(super) struct System {
    pub lock: fn(&File) -> Result<(), TryLockError>,
    pub write: fn(&mut File, &[u8]) -> io::Result<()>,
    pub sync: fn(&File) -> io::Result<()>,
    pub tries: u32,
}

const SYSTEM: System = System { lock: File::try_lock, write: act::write, sync: act::flush, tries: TRIES };

/// The state folder of this machine.
#[derive(Debug, Clone)]
pub struct Machine {
    state: PathBuf,
    pub(super) system: System,
}

/// Who writes, for whoever has to wait.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// The name of the writer.
    pub name: WriterName,
    /// The command that was given.
    pub command: String,
    /// Since when, as its clock shows it.
    pub since: String,
}

/// Why nobody can write from this machine, or not now.
#[derive(Debug, Error)]
pub enum NoTurn {
    /// The state folder can't be used.
    #[error(
        "{}: the folder in which this machine remembers what it wrote can't be used: {error}; nothing is written \
         without it: set CHARGESPLIT_STATE to a folder that you may write to", .state.display()
    )]
    State {
        /// The folder.
        state: PathBuf,
        /// Why not.
        error: io::Error,
    },
    /// Nobody could be kept from writing at the same time.
    #[error(
        "{}: this can't be locked: {error}; nothing is written without a lock: set CHARGESPLIT_STATE to a folder of \
         this machine's own disk", .lock.display()
    )]
    NoLocks {
        /// The file.
        lock: PathBuf,
        /// Why not.
        error: io::Error,
    },
    /// Somebody else is writing, and has been for 5 s.
    #[error("{}: {} is writing here; nothing was written: try again when that has ended", .folder.display(), in_words(.by))]
    Busy {
        /// The ledger's folder.
        folder: PathBuf,
        /// Who, where they have said it.
        by: Option<String>,
    },
}

fn in_words(by: &Option<String>) -> &str {
    by.as_deref().unwrap_or("somebody else on this machine")
}

/// The turn to write in one folder of a ledger; the next one's when this is dropped.
#[derive(Debug)]
pub(super) struct Turn {
    _lock: File,
    /// Where what is remembered of this folder is kept.
    pub kept: PathBuf,
    holder: PathBuf,
}

impl Drop for Turn {
    fn drop(&mut self) {
        // While the lock is still held. Where it stays, nobody reads it.
        let _ = act::remove(&self.holder);
    }
}

impl Machine {
    /// A machine that keeps what it has to remember in this folder, which need not be there.
    pub const fn new(state: PathBuf) -> Self {
        Self { state, system: SYSTEM }
    }

    #[cfg(test)]
    pub(super) const fn with(state: PathBuf, system: System) -> Self {
        Self { state, system }
    }

    /// Where what is remembered of a folder of a ledger is kept.
    pub(super) fn kept(&self, folder: &Path) -> PathBuf {
        let digest = Sha256::digest(whole_path(folder).as_os_str().as_encoded_bytes());
        self.all_kept().join(&hex(&digest)[..16])
    }

    /// Where what is remembered of all folders is kept.
    pub(super) fn all_kept(&self) -> PathBuf {
        self.state.join("ledgers")
    }

    /// Waits for the turn to write in a folder, 5 s at the most.
    ///
    /// # Errors
    /// See [`NoTurn`].
    pub(super) fn turn(&self, folder: &Path, ours: &Holder) -> Result<Turn, NoTurn> {
        let state = |error| NoTurn::State { state: self.state.clone(), error };
        let kept = self.kept(folder);
        act::make_folders(&kept).map_err(state)?;
        let path = kept.join("lock");
        let lock = act::open_lock(&path).map_err(state)?;
        let holder = kept.join("holder.txt");
        for attempt in 1.. {
            match (self.system.lock)(&lock) {
                Ok(()) => break,
                Err(TryLockError::Error(error)) => return Err(NoTurn::NoLocks { lock: path, error }),
                Err(TryLockError::WouldBlock) if attempt < self.system.tries => std::thread::sleep(BETWEEN),
                Err(TryLockError::WouldBlock) => {
                    let by = fs::read_to_string(&holder).ok().map(|text| text.trim().to_owned());
                    return Err(NoTurn::Busy { folder: folder.to_owned(), by: by.filter(|text| !text.is_empty()) });
                }
            }
        }
        let Holder { name, command, since } = ours;
        act::jot(&holder, &format!("{name} (`{command}`, since {since})\n")).map_err(state)?;
        Ok(Turn { _lock: lock, kept, holder })
    }

    /// Writes a small file of the state folder whole.
    pub(super) fn keep(&self, path: &Path, text: &str) -> io::Result<()> {
        write_whole(path, text)
    }
}

/// A path from the root, through its links; of a folder that isn't there yet as far as there is something.
pub(super) fn whole_path(folder: &Path) -> PathBuf {
    if let Ok(whole) = folder.canonicalize() {
        return whole;
    }
    let parent = folder.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let parent = parent.canonicalize().unwrap_or_else(|_| std::path::absolute(parent).unwrap_or(parent.to_owned()));
    folder.file_name().map_or(parent.clone(), |name| parent.join(name))
}

/// The name of a writer: 1 to 32 of `a` to `z`, `0` to `9` and `-`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WriterName(String);

/// A text that can't be the name of a writer.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{found}` can't be the name of a writer: expected 1 to 32 of a to z, 0 to 9 and -, such as van-3")]
pub struct NoWriterName {
    /// As typed.
    pub found: String,
}

impl WriterName {
    const MOST: usize = 32;

    /// A name as typed.
    ///
    /// # Errors
    /// A text that is empty, too long, or has other characters.
    pub fn parse(text: &str) -> Result<Self, NoWriterName> {
        let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        if (1..=Self::MOST).contains(&text.len()) && text.chars().all(fits) {
            return Ok(Self(text.to_owned()));
        }
        Err(NoWriterName { found: text.to_owned() })
    }

    /// The name of a machine made one: in lower case, every other character a `-`.
    pub fn of_machine(name: &str) -> Self {
        let one = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
        let name: String = name.chars().take(Self::MOST).map(one).collect();
        Self(if name.is_empty() { "machine".into() } else { name })
    }

    /// As it is written.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl std::fmt::Display for WriterName {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}
