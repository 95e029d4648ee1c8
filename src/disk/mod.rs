//! Files as the system has them: bytes read up to a size, text added under a lock, a file replaced whole, a digest.
//!
//! Only regular files are opened: on a pipe or a device a reader may wait for ever. This room must not know what is
//! written in a file.

mod append;
mod read;
mod replace;

pub use append::{Appended, Refused};
pub use read::{Input, MOST_BYTES, STANDARD_INPUT, bytes, ending, line_count, standard_input, text};
pub use replace::{keep_old, write_whole};

use std::fs::{self, File};
use std::io;
use std::path::Path;

/// Opens a file to read, where it is a file.
///
/// # Errors
/// As the system gives them, and for what isn't a regular file.
fn open_regular(file: &Path) -> io::Result<File> {
    regular(file)?;
    File::open(file)
}

/// Nothing, where this is a regular file.
fn regular(file: &Path) -> io::Result<()> {
    let about = fs::metadata(file)?;
    if about.is_dir() {
        return Err(io::Error::new(io::ErrorKind::IsADirectory, "this is a folder, not a file"));
    }
    if about.is_file() { Ok(()) } else { Err(io::Error::other("this is a device or a pipe, not a file")) }
}

/// Makes the name of a new file last through a power cut, where folders can be synced at all.
fn keep_name(path: &Path) {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}
