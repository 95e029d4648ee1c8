//! A file that is only ever added to, locked for as long as it is open.
//!
//! A text is added whole, and is on the disk before anything is answered; or the file is as it was.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use super::{keep_name, open_regular, regular};

/// What couldn't be done with such a file.
#[derive(Debug)]
pub struct Refused {
    /// What: opened, locked, read, repaired or written.
    pub what: &'static str,
    /// Why not.
    pub error: io::Error,
}

impl Refused {
    /// It couldn't be done for this reason.
    fn to(what: &'static str) -> impl Fn(io::Error) -> Self {
        move |error| Self { what, error }
    }
}

/// A file that is only ever added to; open, and locked for as long as it is.
#[derive(Debug)]
pub struct Appended {
    path: PathBuf,
    file: File,
    length: u64,
}

impl Appended {
    /// Opens a file to read, beside others who read it; none where there is no such file.
    ///
    /// # Errors
    /// Where it can't be opened or locked.
    pub fn read(path: &Path) -> Result<Option<Self>, Refused> {
        let file = match open_regular(path) {
            Ok(file) => file,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(Refused::to("opened")(error)),
        };
        file.lock_shared().map_err(Refused::to("locked"))?;
        Ok(Some(Self { path: path.to_owned(), file, length: 0 }))
    }

    /// Opens a file to add to it, and makes it where there is none; waits for whoever has it open.
    ///
    /// # Errors
    /// Where it can't be opened or locked.
    pub fn open(path: &Path) -> Result<Self, Refused> {
        let there = match regular(path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            Ok(()) | Err(_) => Ok(()),
        };
        let opened = there.and_then(|()| OpenOptions::new().read(true).append(true).create(true).open(path));
        let file = opened.map_err(Refused::to("opened"))?;
        file.lock().map_err(Refused::to("locked"))?;
        Ok(Self { path: path.to_owned(), file, length: 0 })
    }

    /// What it holds, but no more than so many bytes.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn bytes(&mut self, most: u64) -> Result<Vec<u8>, Refused> {
        let mut bytes = Vec::new();
        (&mut self.file).take(most).read_to_end(&mut bytes).map_err(Refused::to("read"))?;
        self.length = bytes.len() as u64;
        Ok(bytes)
    }

    /// Moves the end of what it holds, these last bytes, into a file of its own.
    ///
    /// # Errors
    /// Where either of the two can't be written.
    pub fn put_aside(&mut self, tail: &[u8]) -> Result<PathBuf, Refused> {
        let aside = put_aside(&self.path, tail).map_err(Refused::to("repaired"))?;
        self.length -= tail.len() as u64;
        self.cut().map_err(Refused::to("repaired"))?;
        Ok(aside)
    }

    /// Adds a text, all or nothing of it; when this returns it is on the disk.
    ///
    /// # Errors
    /// Where it can't be written. Then the file is as it was.
    pub fn append(&mut self, text: &str) -> Result<(), Refused> {
        if let Err(error) = self.file.write_all(text.as_bytes()).and_then(|()| self.file.sync_all()) {
            // What went in before the disk was full is taken out again. Where that fails too, it is a torn line.
            let _ = self.cut();
            return Err(Refused::to("written")(error));
        }
        if self.length == 0 {
            keep_name(&self.path);
        }
        self.length += text.len() as u64;
        Ok(())
    }

    fn cut(&self) -> io::Result<()> {
        self.file.set_len(self.length).and_then(|()| self.file.sync_all())
    }
}

/// Puts the bytes of a torn line into a file of its own, never over another one.
fn put_aside(path: &Path, bytes: &[u8]) -> io::Result<PathBuf> {
    for number in 1..1000 {
        let path = path.with_extension(format!("torn-{number}.txt"));
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
