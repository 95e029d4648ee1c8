//! Reading: only regular files, and only up to a size.

use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::open_regular;
use crate::problem::{Code, Problem, Problems};

/// The most bytes of a file: some 13,000 cylinders, ten times the largest yard that is planned for.
pub const MOST_BYTES: u64 = 4 * 1024 * 1024;

/// What a path is typed as where the text stands on standard input.
pub const STANDARD_INPUT: &str = "-";

/// A file that was read, as it was then.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input {
    /// The file.
    pub file: PathBuf,
    /// SHA-256 of its text without a byte-order mark, in hexadecimal.
    pub digest: String,
}

impl Input {
    /// Hexadecimal digits that are enough to tell files apart by eye.
    const BRIEF: usize = 12;

    /// A file that holds these bytes.
    pub fn of(file: &Path, bytes: &[u8]) -> Self {
        Self { file: file.to_owned(), digest: hex(&Sha256::digest(bytes)) }
    }

    /// Whether the file still holds what was read of it.
    pub fn stands(&self) -> bool {
        self.stands_in(&self.file)
    }

    /// Whether a file of another name holds that.
    pub(super) fn stands_in(&self, file: &Path) -> bool {
        let now = bytes(file).ok();
        now.is_some_and(|now| {
            Self::of(&self.file, now.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(&now)).digest == self.digest
        })
    }

    /// The beginning of the digest, for people.
    pub fn brief(&self) -> &str {
        &self.digest[..Self::BRIEF.min(self.digest.len())]
    }

    /// One short digest of several files, to tell whether any of them has changed.
    pub fn short(inputs: &[Self]) -> String {
        let all: Vec<&str> = inputs.iter().map(|input| input.digest.as_str()).collect();
        hex(&Sha256::digest(all.concat().as_bytes())).chars().take(Self::BRIEF).collect()
    }
}

pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// What stands on standard input, to its end, and no more than [`MOST_BYTES`]; problems call it by this name.
///
/// # Errors
/// The problem that keeps it from being read.
pub fn standard_input(name: &Path) -> Result<Vec<u8>, Problems> {
    let mut bytes = Vec::new();
    io::stdin().lock().take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| unreadable(name, &error))?;
    if bytes.len() as u64 > MOST_BYTES {
        let message = format!("there is more than {} MB of it", MOST_BYTES / 1_048_576);
        return Err(Problem::new(Code::TooLarge, name, None, &message, "check that it is the right text").into());
    }
    Ok(bytes)
}

/// The bytes of a file, where it is one that may be read and no larger than [`MOST_BYTES`].
///
/// # Errors
/// The problem that keeps it from being read.
pub fn bytes(file: &Path) -> Result<Vec<u8>, Problems> {
    let problem = |code, message: &str, hint: &str| Problems::from(Problem::new(code, file, None, message, hint));
    let failed = |error: &std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => {
            problem(Code::MissingFile, "there is no such file", "check the path; it may be relative to another folder")
        }
        _ => unreadable(file, error),
    };
    let about = fs::metadata(file).map_err(|error| failed(&error))?;
    if about.is_dir() {
        return Err(problem(Code::Folder, "this is a folder, not a file", "name the file in it"));
    }
    if !about.is_file() {
        return Err(problem(Code::Unreadable, "this is a device or a pipe, not a file", "write it to a file first"));
    }
    let too_large = |bytes: u64| {
        let message = format!(
            "the file has {:.1} MB; expected at most {} MB",
            bytes as f64 / 1_048_576.0,
            MOST_BYTES / 1_048_576
        );
        problem(Code::TooLarge, &message, "check that it is the right file, or split the yard")
    };
    if about.len() > MOST_BYTES {
        return Err(too_large(about.len()));
    }
    // The file may grow between the two calls.
    let mut bytes = Vec::new();
    open_regular(file)
        .and_then(|open| open.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|error| failed(&error))?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(too_large(bytes.len() as u64));
    }
    Ok(bytes)
}

fn unreadable(file: &Path, error: &io::Error) -> Problems {
    let message = format!("the file can't be read: {error}");
    Problem::new(Code::Unreadable, file, None, &message, "check that it is a file that you may read").into()
}

/// The text of a file that isn't larger than any of ours.
///
/// # Errors
/// As the system gives them; a file that is too large, or isn't a regular one, or isn't UTF-8.
pub fn text(path: &Path) -> io::Result<String> {
    String::from_utf8(whole(path)?).map_err(|error| io::Error::new(io::ErrorKind::InvalidData, error))
}

/// The bytes of such a file.
pub(super) fn whole(path: &Path) -> io::Result<Vec<u8>> {
    let (mut bytes, file) = (Vec::new(), open_regular(path)?);
    match file.take(MOST_BYTES + 1).read_to_end(&mut bytes)? as u64 {
        0..=MOST_BYTES => Ok(bytes),
        _ => Err(io::Error::new(io::ErrorKind::FileTooLarge, "the file is larger than any of its kind")),
    }
}

/// The files of a folder with this end of the name, by name.
///
/// # Errors
/// A folder that can't be read.
pub fn ending(folder: &Path, end: &str) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.file_name().is_some_and(|name| name.to_string_lossy().ends_with(end)) {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

/// The folders in a folder with this end of the name, by name; none where it can't be read.
pub fn folders_ending(folder: &Path, end: &str) -> Vec<PathBuf> {
    let Ok(read) = fs::read_dir(folder) else { return Vec::new() };
    let paths = read.filter_map(|entry| Some(entry.ok()?.path()));
    let wanted = |path: &PathBuf| path.is_dir() && path.to_string_lossy().ends_with(end);
    let mut found: Vec<PathBuf> = paths.filter(wanted).collect();
    found.sort();
    found
}
