//! The page that a command writes into a file beside what it prints.

use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

use super::stop::FileStop;
use super::units::refuse_pages;
use super::{Output, Stop};
use crate::disk::{Input, write_whole};
use crate::report::{Inputs, is_page};

/// Bytes at the beginning of a page that say whose it is.
const BEGINNING: u64 = 1024;

/// Where a report is written to as a page, where that is asked for.
#[derive(Debug, Clone, clap::Args)]
pub(super) struct Page {
    /// Write the report as a page too, to print or to carry on a phone
    #[arg(short, long, value_name = "FILE.html", value_parser = page_file)]
    output: Option<PathBuf>,
}

/// A path as typed: a page is never written over a job, a yard or a log.
pub(super) fn page_file(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let is_html = path.extension().is_some_and(|kind| kind.eq_ignore_ascii_case("html"));
    if is_html { Ok(path) } else { Err("expected a file that ends in .html".into()) }
}

impl Page {
    /// Whether there is to be a page.
    pub(super) const fn is_asked(&self) -> bool {
        self.output.is_some()
    }

    /// Refuses at once what couldn't be written at the end, and a page in another unit than the scale's.
    pub(super) fn check(&self, output: &Output) -> Result<(), Stop> {
        let Some(path) = &self.output else { return Ok(()) };
        refuse_pages(output)?;
        check(path)
    }

    /// Draws the page, where one is asked for: what was read from these files, as of now.
    pub(super) fn draw(&self, files: &[Input], draw: impl FnOnce(Inputs) -> String) -> Option<String> {
        self.output.as_ref().map(|_| draw(inputs(files)))
    }

    /// Writes the page that was drawn.
    pub(super) fn write(&self, page: Option<&str>, output: &mut Output) -> Result<(), Stop> {
        self.output.as_deref().zip(page).map_or(Ok(()), |(path, page)| write(path, page, output))
    }
}

/// Refuses a folder, a place that can't be written to, and a file that isn't a page of this program.
pub(super) fn check(path: &Path) -> Result<(), Stop> {
    let refuse = |why: &str| Err(FileStop::Unwritable { file: path.to_owned(), why: why.to_owned() }.into());
    if path.is_dir() {
        return refuse("it is a folder");
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if !folder.is_dir() {
        return refuse("there is no such folder");
    }
    match fs::metadata(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return refuse(&error.to_string()),
        Ok(about) if !about.is_file() => return refuse("it is a device or a pipe"),
        Ok(_) => {}
    }
    let mut beginning = Vec::new();
    match File::open(path).and_then(|file| file.take(BEGINNING).read_to_end(&mut beginning)) {
        Err(error) => refuse(&error.to_string()),
        Ok(0) => Ok(()),
        Ok(_) if is_page(&String::from_utf8_lossy(&beginning)) => Ok(()),
        Ok(_) => refuse("it is there already and isn't a page of chargesplit; name another file"),
    }
}

/// Writes a page and says so.
pub(super) fn write(path: &Path, page: &str, output: &mut Output) -> Result<(), Stop> {
    check(path)?;
    write_whole(path, page).map_err(|error| FileStop::Unwritable { file: path.to_owned(), why: error.to_string() })?;
    output.note(&format!("wrote {}", path.display()));
    Ok(())
}

/// When and from what, for a page that is made now.
pub(super) fn inputs(inputs: &[Input]) -> Inputs {
    Inputs {
        files: inputs.iter().map(|input| input.file.display().to_string()).collect(),
        hash: Input::short(inputs),
        made: super::clock::made(),
    }
}
