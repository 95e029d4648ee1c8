//! Everything that changes anything on a disk, one step at a time. No other file of the program changes one, so that a test
//! can end after each step, as if the process had been killed there (`stops`).

use std::fs::{self, File, Permissions};
use std::io::{self, Write};
use std::path::Path;

use super::held::{TO_OPEN, TO_REPLACE, patiently};

/// Makes a folder.
pub(super) fn make_folder(folder: &Path) -> io::Result<()> {
    step()?;
    fs::create_dir(folder)
}

/// Makes a folder with those that it stands in, where they aren't there.
pub(super) fn make_folders(folder: &Path) -> io::Result<()> {
    step()?;
    fs::create_dir_all(folder)
}

/// Makes a file that isn't there yet.
pub(super) fn create(path: &Path) -> io::Result<File> {
    step()?;
    File::options().write(true).create_new(true).open(path)
}

/// Opens a file that nobody reads, to be locked; makes it where it isn't there.
pub(super) fn open_lock(path: &Path) -> io::Result<File> {
    step()?;
    File::options().read(true).write(true).create(true).truncate(false).open(path)
}

/// Opens a file to be written to as it stands.
pub(super) fn open_to_write(path: &Path) -> io::Result<File> {
    step()?;
    patiently(TO_OPEN, || File::options().write(true).open(path))
}

/// Writes a file that is lost without harm.
pub(super) fn jot(path: &Path, text: &str) -> io::Result<()> {
    step()?;
    fs::write(path, text)
}

/// Writes bytes. Whoever is killed meanwhile leaves some of them.
pub(super) fn write(file: &mut File, bytes: &[u8]) -> io::Result<()> {
    step()?;
    let (first, rest) = bytes.split_at(if cfg!(test) { bytes.len() / 2 } else { 0 });
    if !first.is_empty() {
        file.write_all(first)?;
        step()?;
    }
    file.write_all(rest)
}

/// Waits until what was written is on the disk.
pub(super) fn flush(file: &File) -> io::Result<()> {
    step()?;
    file.sync_all()
}

/// Cuts a file off behind so many bytes.
pub(super) fn cut(file: &File, length: u64) -> io::Result<()> {
    step()?;
    file.set_len(length)
}

/// Gives a file these rights.
pub(super) fn set_rights(path: &Path, rights: Permissions) -> io::Result<()> {
    step()?;
    fs::set_permissions(path, rights)
}

/// Gives a file a second name.
pub(super) fn link(file: &Path, name: &Path) -> io::Result<()> {
    step()?;
    fs::hard_link(file, name)
}

/// Puts one file in the place of another.
pub(super) fn rename(from: &Path, to: &Path) -> io::Result<()> {
    step()?;
    patiently(TO_REPLACE, || fs::rename(from, to))
}

/// Takes a file away.
pub(super) fn remove(path: &Path) -> io::Result<()> {
    step()?;
    fs::remove_file(path)
}

/// Makes the name of a new file last through a power cut, where folders can be synced at all.
pub(super) fn keep_name(path: &Path) {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let Ok(folder) = File::open(folder) {
        let _ = flush(&folder);
    }
}

#[cfg(not(test))]
#[expect(clippy::unnecessary_wraps, reason = "in tests it may be the last one")]
const fn step() -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
use stops::step;

/// A thread that stops after so many steps: nothing that comes later is done, cleaning up neither.
#[cfg(test)]
pub(crate) mod stops {
    use std::cell::Cell;
    use std::io;

    thread_local! {
        static LEFT: Cell<Option<usize>> = const { Cell::new(None) };
        static STOPPED: Cell<bool> = const { Cell::new(false) };
    }

    /// Does this in a thread that is as good as killed after so many steps. Whether it came to that.
    pub(crate) fn after(steps: usize, act: impl FnOnce()) -> bool {
        STOPPED.set(false);
        LEFT.set(Some(steps));
        act();
        LEFT.set(None);
        STOPPED.get()
    }

    pub(super) fn step() -> io::Result<()> {
        match LEFT.get() {
            None => Ok(()),
            Some(0) => {
                STOPPED.set(true);
                Err(io::Error::other("stopped by the test"))
            }
            Some(left) => {
                LEFT.set(Some(left - 1));
                Ok(())
            }
        }
    }
}
