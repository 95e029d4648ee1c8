//! The folder of a ledger, read without a lock and without a right to write.

use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::open_regular;

/// The most bytes of one file of a ledger: more than a hundred thousand entries.
const MOST_BYTES: u64 = 64 * 1024 * 1024;
/// What the files of a ledger end with.
const KIND: &str = "jsonl";

/// A file of a ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LedgerBytes {
    /// Its name, without its folder.
    pub name: String,
    /// What it holds.
    pub bytes: Vec<u8>,
}

/// A folder of a ledger, or a file in it, that can't be read.
#[derive(Debug, thiserror::Error)]
#[error("{}: this part of the ledger can't be read: {error}", .path.display())]
pub struct Unread {
    /// Which.
    pub path: PathBuf,
    /// Why not.
    pub error: io::Error,
}

/// The files of a ledger, by name; none where there is no such folder. Copies that a program for synchronising made of a
/// file are files like the others.
///
/// # Errors
/// A folder or a file that can't be read, and a file beyond all sizes: without it nobody knows what happened.
pub fn read_folder(folder: &Path) -> Result<Vec<LedgerBytes>, Unread> {
    let unread = |path: &Path| {
        let path = path.to_owned();
        move |error| Unread { path, error }
    };
    let listed = match fs::read_dir(folder) {
        Ok(listed) => listed,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(unread(folder)(error)),
    };
    let mut files = Vec::new();
    for entry in listed {
        let path = entry.map_err(unread(folder))?.path();
        if path.extension().is_some_and(|kind| kind.eq_ignore_ascii_case(KIND)) {
            match read(&path) {
                Ok(bytes) => {
                    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
                    files.push(LedgerBytes { name, bytes });
                }
                // Whoever brings the folder up to date has put another one in its place, or taken it away.
                Err(error) if error.kind() == io::ErrorKind::NotFound => {}
                Err(error) => return Err(unread(&path)(error)),
            }
        }
    }
    files.sort_by(|one, other| one.name.cmp(&other.name));
    Ok(files)
}

/// The bytes of a file of a ledger, or of a line of one.
pub(super) fn read(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    open_regular(path)?.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, "it is larger than any ledger"));
    }
    Ok(bytes)
}
