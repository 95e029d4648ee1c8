//! Writing a file whole: it is there, or it is as it was.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::read::{Input, whole};
use super::{act, by_chance, regular};

/// Writes a file whole: under another name first, which takes the place of what was there only when all of it is on
/// the disk. A link is followed, and the rights of what was there stay.
///
/// # Errors
/// Where it can't be written; then what was there is as it was.
pub fn write_whole(path: &Path, text: impl AsRef<[u8]>) -> io::Result<()> {
    put_in_place(path, text.as_ref(), &|partial, path| act::rename(partial, path).map(|()| true)).map(drop)
}

/// Writes over a file what was made of what it held, and only where it holds that still; says whether it did. What another
/// program writes into the file up to the moment in which its place is taken stays there. One that puts a file of its own in
/// the place in that same moment can't be seen; nor can one that writes later into what it had opened before.
///
/// # Errors
/// As [`write_whole`].
pub fn write_over(read: &Input, text: &str) -> io::Result<bool> {
    write_over_by(read, text, &act::rename)
}

pub(super) fn write_over_by(
    read: &Input,
    text: &str,
    rename: &dyn Fn(&Path, &Path) -> io::Result<()>,
) -> io::Result<bool> {
    put_in_place(&read.file, text.as_bytes(), &|partial, path| {
        // A second name for what stands there now, which stays when the first one is taken.
        let taken = partial.with_extension("taken");
        if act::link(path, &taken).is_err() {
            // Not every disk has second names.
            return if read.stands_in(path) { rename(partial, path).map(|()| true) } else { Ok(false) };
        }
        let replaced = if read.stands_in(&taken) { rename(partial, path).map(|()| true) } else { Ok(false) };
        if matches!(replaced, Ok(true)) && !read.stands_in(&taken) {
            // Somebody has written into it meanwhile: it goes back.
            return act::rename(&taken, path).map(|()| false);
        }
        let _ = act::remove(&taken);
        replaced
    })
}

/// Puts a text under a name of its own and has `take` give it the place of a file; where that doesn't, it is gone.
fn put_in_place(path: &Path, text: &[u8], take: &dyn Fn(&Path, &Path) -> io::Result<bool>) -> io::Result<bool> {
    let path = &path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let about = fs::metadata(path).ok();
    if about.is_some() {
        regular(path)?;
    }
    let rights = about.map(|about| about.permissions());
    if rights.as_ref().is_some_and(fs::Permissions::readonly) {
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, "it is protected against writing"));
    }
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    // A name of its own: two that write at once don't tread on each other, and the last one's whole file stays.
    let partial = path.with_file_name(format!(".{name}.{}.partial", by_chance()?));
    put(&partial, text)?;
    let replaced =
        rights.map_or(Ok(()), |rights| act::set_rights(&partial, rights)).and_then(|()| take(&partial, path));
    if !matches!(replaced, Ok(true)) {
        let _ = act::remove(&partial);
    }
    act::keep_name(path);
    replaced
}

/// Keeps what a file holds beside it, under a name of its own: `van-3.before-cold-store.yaml`. A copy that is there
/// already serves.
///
/// # Errors
/// Where it can't be written.
pub fn keep_old(path: &Path, job: &str) -> io::Result<PathBuf> {
    let old = whole(path)?;
    let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let kind = path.extension().unwrap_or_default().to_string_lossy().into_owned();
    for number in 1..1000 {
        let again = if number == 1 { String::new() } else { format!("-{number}") };
        let copy = path.with_file_name(format!("{stem}.before-{job}{again}.{kind}"));
        if !copy.exists() {
            write_whole(&copy, &old)?;
            return Ok(copy);
        }
        if whole(&copy)? == old {
            return Ok(copy);
        }
    }
    Err(io::Error::other("there are a thousand copies already"))
}

/// Writes a file that isn't there yet, whole or not at all.
///
/// # Errors
/// Where it can't be written, or where one is there.
pub fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    put(path, bytes)?;
    act::keep_name(path);
    Ok(())
}

fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = act::create(path)?;
    act::write(&mut file, bytes).and_then(|()| act::flush(&file)).inspect_err(|_| {
        // A part of it would look like the whole.
        let _ = act::remove(path);
    })
}

/// Whether a file can be replaced, or made where there is none: found out before anything else is done.
///
/// # Errors
/// Why it can't be.
pub fn may_replace(path: &Path) -> io::Result<()> {
    let path = &path.canonicalize().unwrap_or_else(|_| path.to_owned());
    if fs::metadata(path).is_ok_and(|about| about.permissions().readonly()) {
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, "it is protected against writing"));
    }
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let trial = path.with_file_name(format!(".{name}.trial"));
    act::jot(&trial, "")?;
    // Somebody else who tries the same may have taken it away already.
    let _ = act::remove(&trial);
    // A name given to the file that has it changes nothing, and is refused where another program has the file open.
    if path.exists() { act::rename(path, path) } else { Ok(()) }
}

/// Keeps a file in a folder under its name, or, where another one has that, under one like it; says under which.
///
/// # Errors
/// Where it can't be written.
pub fn keep_beside(folder: &Path, name: &str, bytes: &[u8]) -> io::Result<String> {
    act::make_folders(folder)?;
    let (stem, kind) = name.rsplit_once('.').unwrap_or((name, "jsonl"));
    for number in 1..1000 {
        let name = if number == 1 { name.to_owned() } else { format!("{stem}.joined-{number}.{kind}") };
        match write_new(&folder.join(&name), bytes) {
            Ok(()) => return Ok(name),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::Error::other("there are a thousand of them already"))
}
