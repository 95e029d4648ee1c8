//! Getting the text of a file: only regular files, only up to a size, only UTF-8. Places in it, for messages.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use crate::printable::is_hidden;
use crate::problem::{Code, Place, Problem, Problems};

/// The most bytes of a file: some 13,000 cylinders, ten times the largest yard that is planned for.
pub const MOST_BYTES: u64 = 4 * 1024 * 1024;

/// What ends a line in YAML, of which a return and a line feed behind it are one end.
pub(super) const LINE_ENDS: [char; 5] = ['\n', '\r', '\u{85}', '\u{2028}', '\u{2029}'];

/// What a path is typed as where the text stands on standard input.
pub const STANDARD_INPUT: &str = "-";
/// What messages and pages call it. In no folder, so that paths in it are relative to the working directory.
const STANDARD_INPUT_NAME: &str = "standard input";

/// Line and column of something in a file, from 1, in characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Mark {
    pub line: usize,
    pub column: usize,
    /// How many characters are meant, where that is known.
    pub characters: Option<usize>,
}

impl Mark {
    /// The beginning of a file.
    pub const START: Self = Self::new(1, 1);

    pub const fn new(line: usize, column: usize) -> Self {
        Self { line, column, characters: None }
    }

    /// The same place, of something that is typed so.
    pub fn of(self, text: &str) -> Self {
        Self { characters: Some(text.chars().count()), ..self }
    }
}

/// A file that has been read.
#[derive(Debug)]
pub(super) struct Source {
    pub file: PathBuf,
    pub text: String,
    /// Where each line begins, in bytes.
    lines: Vec<usize>,
}

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
    pub(super) fn of(file: &Path, bytes: &[u8]) -> Self {
        Self { file: file.to_owned(), digest: hex(&Sha256::digest(bytes)) }
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

/// Opens a file to read, where it is a file: on a pipe or a device a reader may wait for ever.
///
/// # Errors
/// As the system gives them, and for what isn't a regular file.
pub(super) fn open_regular(file: &Path) -> io::Result<File> {
    regular(file)?;
    File::open(file)
}

/// Nothing, where this is a regular file.
pub(super) fn regular(file: &Path) -> io::Result<()> {
    let about = fs::metadata(file)?;
    if about.is_dir() {
        return Err(io::Error::new(io::ErrorKind::IsADirectory, "this is a folder, not a file"));
    }
    if about.is_file() { Ok(()) } else { Err(io::Error::other("this is a device or a pipe, not a file")) }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Source {
    /// Reads what was typed on the command line: a file, or standard input to its end. Never for a path that stands in a
    /// file or in a log.
    pub fn typed(path: &Path) -> Result<Self, Problems> {
        if path != Path::new(STANDARD_INPUT) {
            return Self::read(path);
        }
        let name = Path::new(STANDARD_INPUT_NAME);
        let mut bytes = Vec::new();
        io::stdin().lock().take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| unreadable(name, &error))?;
        if bytes.len() as u64 > MOST_BYTES {
            let message = format!("there is more than {} MB of it", MOST_BYTES / 1_048_576);
            return Err(Problem::new(Code::TooLarge, name, None, &message, "check that it is the right text").into());
        }
        Self::from_bytes(name, bytes)
    }

    /// Reads a file.
    pub fn read(file: &Path) -> Result<Self, Problems> {
        Self::from_bytes(file, Self::bytes(file)?)
    }

    /// The bytes of a file, where it is one that may be read.
    pub fn bytes(file: &Path) -> Result<Vec<u8>, Problems> {
        let problem = |code, message: &str, hint: &str| Problems::from(Problem::new(code, file, None, message, hint));
        let failed = |error: &std::io::Error| match error.kind() {
            std::io::ErrorKind::NotFound => problem(
                Code::MissingFile,
                "there is no such file",
                "check the path; it may be relative to another folder",
            ),
            _ => unreadable(file, error),
        };
        let about = fs::metadata(file).map_err(|error| failed(&error))?;
        if about.is_dir() {
            return Err(problem(Code::Folder, "this is a folder, not a file", "name the file in it"));
        }
        if !about.is_file() {
            return Err(problem(
                Code::Unreadable,
                "this is a device or a pipe, not a file",
                "write it to a file first",
            ));
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
        File::open(file)
            .and_then(|open| open.take(MOST_BYTES + 1).read_to_end(&mut bytes))
            .map_err(|error| failed(&error))?;
        if bytes.len() as u64 > MOST_BYTES {
            return Err(too_large(bytes.len() as u64));
        }
        Ok(bytes)
    }

    /// Takes the bytes of a file as text: with or without a byte-order mark, lines ended in any way.
    pub fn from_bytes(file: &Path, bytes: Vec<u8>) -> Result<Self, Problems> {
        let text = String::from_utf8(bytes).map_err(|error| {
            let good = error.utf8_error().valid_up_to();
            let line = 1 + error.as_bytes()[..good].iter().filter(|byte| **byte == b'\n').count();
            let message = format!("the file isn't UTF-8 text; the first byte that isn't stands in line {line}");
            Problems::from(Problem::new(Code::NotText, file, None, &message, "save it again as UTF-8"))
        })?;
        let text = text.strip_prefix('\u{FEFF}').map(str::to_owned).unwrap_or(text);
        let source = Self::new(file, text);
        if source.text.chars().all(|c| c.is_whitespace() || c == '\0') {
            return Err(source.whole(Code::Empty, "nothing is in the file", "check that it was saved").into());
        }
        Ok(source)
    }

    /// The file with the digest of its text.
    pub fn input(&self) -> Input {
        Input::of(&self.file, self.text.as_bytes())
    }

    fn new(file: &Path, text: String) -> Self {
        let mut lines = vec![0];
        let mut characters = text.char_indices().peekable();
        while let Some((at, c)) = characters.next() {
            let parts_a_pair = c == '\r' && characters.peek().is_some_and(|(_, next)| *next == '\n');
            if LINE_ENDS.contains(&c) && !parts_a_pair {
                lines.push(at + c.len_utf8());
            }
        }
        Self { file: file.to_owned(), text, lines }
    }

    /// A problem of the file as a whole.
    pub fn whole(&self, code: Code, message: &str, hint: &str) -> Problem {
        Problem::new(code, &self.file, None, message, hint)
    }

    /// Line and column of a byte of the text.
    pub fn mark(&self, byte: usize) -> Mark {
        let line = self.lines.partition_point(|start| *start <= byte).max(1);
        let before = self.text.get(self.lines[line - 1]..byte).unwrap_or_default();
        Mark::new(line, before.chars().count() + 1)
    }

    /// The byte of the text at a mark.
    pub fn byte(&self, mark: Mark) -> Option<usize> {
        let start = *self.lines.get(mark.line.checked_sub(1)?)?;
        let line = self.text.get(start..)?;
        let column = line.char_indices().nth(mark.column.checked_sub(1)?).map_or(line.len(), |(at, _)| at);
        Some(start + column)
    }

    /// The place of what stands at `mark`, or the end of the text where it lies beyond.
    pub fn place_or_end(&self, mark: Mark) -> Option<Place> {
        self.place(mark).or_else(|| self.place(self.mark(self.text.len())))
    }

    /// The place of what stands at `mark`, for a message.
    pub fn place(&self, mark: Mark) -> Option<Place> {
        /// Characters kept before and behind the place on a long line.
        const AROUND: usize = 200;
        let start = *self.lines.get(mark.line.checked_sub(1)?)?;
        let end = self.lines.get(mark.line).copied().unwrap_or(self.text.len());
        let line = self.text.get(start..end)?.trim_end_matches(LINE_ENDS);
        let before = mark.column.checked_sub(1)?;
        let cut = before.saturating_sub(AROUND);
        let shown = |c| match c {
            '\t' => ' ',
            c if is_hidden(c) => char::REPLACEMENT_CHARACTER,
            c => c,
        };
        let text: String = line.chars().skip(cut).take(2 * AROUND).map(shown).collect();
        let from = text.char_indices().nth(before - cut).map_or(text.len(), |(at, _)| at);
        let to = from + token_length(&text[from..], mark.characters);
        Some(Place { line: mark.line, column: mark.column, is_cut: cut > 0, text, meant: from..to })
    }
}

fn unreadable(file: &Path, error: &io::Error) -> Problems {
    let message = format!("the file can't be read: {error}");
    Problem::new(Code::Unreadable, file, None, &message, "check that it is a file that you may read").into()
}

/// The length of the value or key that a rest of a line begins with: up to the closing quote, or as many characters as
/// it is known to have, or to the end of a word. It is only for drawing.
fn token_length(rest: &str, characters: Option<usize>) -> usize {
    let first = rest.chars().next();
    if let Some(quote) = first.filter(|c| matches!(c, '"' | '\'')) {
        return rest[1..].find(quote).map_or(rest.len(), |at| at + 2);
    }
    let nth = |count: usize| rest.char_indices().nth(count).map_or(rest.len(), |(at, _)| at);
    let end = characters.map_or_else(|| rest.find([' ', ':', ',', '}', ']']).unwrap_or(rest.len()), nth);
    end.max(first.map_or(0, char::len_utf8))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_as_yaml_ends_them_and_every_mark_leads_back_to_its_byte() {
        let text = "a\r\nb\rc\n\u{85}d\u{2028}ä e";
        let source = Source::from_bytes(Path::new("t"), text.as_bytes().to_vec()).unwrap();
        let marks: Vec<(usize, usize)> = text
            .char_indices()
            .map(|(at, _)| {
                let mark = source.mark(at);
                assert_eq!(source.byte(mark), Some(at));
                (mark.line, mark.column)
            })
            .collect();
        let expected =
            [(1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (3, 1), (3, 2), (4, 1), (5, 1), (5, 2), (6, 1), (6, 2), (6, 3)];
        assert_eq!(marks, expected);
        assert_eq!(source.place(Mark::new(2, 1)).unwrap().text, "b");
        assert_eq!(source.place(Mark::new(5, 1)).unwrap().text, "d");
        assert_eq!(source.place_or_end(Mark::new(9, 1)).unwrap().line, 6);
    }
}
