//! Files as the system has them: bytes read up to a size, lines added by one writer each, a file replaced whole, a digest.
//!
//! Only regular files are opened: on a pipe or a device a reader may wait for ever. This room must not know what is
//! written in a file.

mod act;
mod folder;
mod held;
mod machine;
mod memory;
mod read;
mod replace;
#[cfg(test)]
mod tests;
mod writer;

#[cfg(test)]
pub(crate) use act::stops;
pub use folder::{LedgerBytes, Unread, read_folder};
pub use machine::{Holder, Machine, NoTurn, NoWriterName, WriterName};
pub use memory::{Memory, Remembered};
pub use read::{Input, MOST_BYTES, STANDARD_INPUT, bytes, ending, folders_ending, standard_input, text};
pub use replace::{keep_beside, keep_old, may_replace, write_new, write_over, write_whole};
pub use writer::{NotWritten, Writer};

use std::fs::{self, File};
use std::io;
use std::path::Path;

use held::{TO_OPEN, patiently};

/// Opens a file to read, where it is a file. It waits for a program that lets nobody else read it meanwhile, 3 s at the most.
///
/// # Errors
/// As the system gives them, and for what isn't a regular file.
fn open_regular(file: &Path) -> io::Result<File> {
    patiently(TO_OPEN, || {
        regular(file)?;
        File::open(file)
    })
}

/// Nothing, where this is a regular file.
fn regular(file: &Path) -> io::Result<()> {
    let about = fs::metadata(file)?;
    if about.is_dir() {
        return Err(io::Error::new(io::ErrorKind::IsADirectory, "this is a folder, not a file"));
    }
    if about.is_file() { Ok(()) } else { Err(io::Error::other("this is a device or a pipe, not a file")) }
}

/// Eight characters by chance, of those that nobody takes for one another: 2⁴⁰ of them.
///
/// # Errors
/// A system that has no chance to give.
fn by_chance() -> io::Result<String> {
    const LETTERS: &[u8; 32] = b"0123456789abcdefghjkmnpqrstvwxyz";
    let mut random = [0_u8; 8];
    getrandom::fill(&mut random).map_err(|error| io::Error::other(format!("no random numbers: {error}")))?;
    Ok(random.iter().map(|byte| char::from(LETTERS[usize::from(byte % 32)])).collect())
}
