//! A problem of a file: what it is, where it stands, what was found, what was expected, what to do.
//!
//! Everything that comes from a file is made safe to print when a problem is made, once. It must not read files.

mod code;
mod draw;
mod skipped;

use std::fmt;
use std::ops::Range;
use std::path::{Path, PathBuf};

use crate::printable::printable;

pub use code::{CODES, Code};
pub use skipped::SkippedRow;

/// Where in a file: the line with the part that is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// From 1.
    pub line: usize,
    /// From 1, in characters.
    pub column: usize,
    /// The line, or the part of a long line around the place; what doesn't show is replaced in it.
    pub text: String,
    /// The part of `text` that is meant, in bytes.
    pub meant: Range<usize>,
    /// Whether `text` lacks the beginning of its line.
    pub is_cut: bool,
}

/// One thing that is wrong with a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// What kind of problem.
    pub code: Code,
    /// The file.
    pub file: PathBuf,
    /// Where in the file; `None` where it is the file as a whole.
    pub place: Option<Place>,
    /// What was found, and what was expected.
    pub message: String,
    /// What to do.
    pub hint: String,
}

impl Problem {
    /// A problem with its texts made safe to print.
    pub fn new(code: Code, file: &Path, place: Option<Place>, message: &str, hint: &str) -> Self {
        Self { code, file: file.to_owned(), place, message: printable(message), hint: printable(hint) }
    }
}

/// What is wrong with the files, in the order of files and places; never nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problems {
    list: Vec<Problem>,
}

impl Problems {
    /// These problems in the order of their files and places; `None` where there are none.
    pub fn of(mut problems: Vec<Problem>) -> Option<Self> {
        let mut files: Vec<PathBuf> = Vec::new();
        for problem in &problems {
            if !files.contains(&problem.file) {
                files.push(problem.file.clone());
            }
        }
        problems.sort_by_key(|problem| {
            let file = files.iter().position(|file| *file == problem.file);
            (file, problem.place.as_ref().map(|place| (place.line, place.column)))
        });
        (!problems.is_empty()).then_some(Self { list: problems })
    }

    /// All of them.
    pub fn iter(&self) -> impl Iterator<Item = &Problem> {
        self.list.iter()
    }

    /// How many.
    pub fn count(&self) -> usize {
        self.list.len()
    }

    /// All of them drawn, with the lines they are about, a blank line between two.
    pub fn draw(&self, color: bool) -> String {
        self.iter().map(|problem| problem.draw(color)).collect::<Vec<_>>().join("\n")
    }
}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Self { list: vec![problem] }
    }
}

impl IntoIterator for Problems {
    type Item = Problem;
    type IntoIter = std::vec::IntoIter<Problem>;
    fn into_iter(self) -> Self::IntoIter {
        self.list.into_iter()
    }
}

impl fmt::Display for Problem {
    /// One line: `yard.csv:3:7: message [code]; hint`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", printable(&self.file.to_string_lossy()))?;
        if let Some(place) = &self.place {
            write!(f, ":{}:{}", place.line, place.column)?;
        }
        write!(f, ": {} [{}]", self.message, self.code.name())?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, "; {}", self.hint) }
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.iter().enumerate() {
            if index > 0 {
                writeln!(f)?;
            }
            write!(f, "{problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Problem {}
impl std::error::Error for Problems {}
