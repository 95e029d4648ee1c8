//! The text of a file, only UTF-8. Places in it, for messages.

use std::path::{Path, PathBuf};

use super::utf_16;
use crate::disk::{self, Input, STANDARD_INPUT};
use crate::printable::{is_hidden, printable};
use crate::problem::{Code, Place, Problem, Problems};

/// What ends a line in YAML, of which a return and a line feed behind it are one end.
pub(super) const LINE_ENDS: [char; 5] = ['\n', '\r', '\u{85}', '\u{2028}', '\u{2029}'];

/// What messages and pages call standard input. In no folder, so that paths in it are relative to the working directory.
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
    /// The bytes of the file, where they aren't those of the text.
    other: Option<Vec<u8>>,
}

impl Source {
    /// Reads what was typed on the command line: a file, or standard input to its end. Never for a path that stands in a
    /// file or in a log.
    pub fn typed(path: &Path) -> Result<Self, Problems> {
        if path != Path::new(STANDARD_INPUT) {
            return Self::read(path);
        }
        let name = Path::new(STANDARD_INPUT_NAME);
        Self::from_bytes(name, disk::standard_input(name)?)
    }

    /// Reads a file.
    pub fn read(file: &Path) -> Result<Self, Problems> {
        Self::from_bytes(file, disk::bytes(file)?)
    }

    /// Takes the bytes of a file as text: UTF-8 with or without a byte-order mark, or UTF-16 with one; lines ended in any way.
    pub fn from_bytes(file: &Path, bytes: Vec<u8>) -> Result<Self, Problems> {
        if let Some(text) = utf_16::marked(&bytes) {
            let (text, _) = text.map_err(|why| {
                let message = format!("the file isn't text: {why}");
                Problems::from(Problem::new(Code::NotText, file, None, &message, "save it again as UTF-8"))
            })?;
            return Ok(Self { other: Some(bytes), ..Self::from_bytes(file, text.into_bytes())? });
        }
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
        Input::of(&self.file, self.other.as_deref().unwrap_or(self.text.as_bytes()))
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
        Self { file: file.to_owned(), text, lines, other: None }
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

    /// A file that this one names behind `key`, at `mark`, and that isn't there, or isn't such a file, is a problem of this
    /// one.
    pub fn named_in(&self, mark: Option<Mark>, key: &str, mut problem: Problem) -> Problem {
        if matches!(problem.code, Code::MissingFile | Code::Folder | Code::FileKind) {
            problem.message = format!("{key}: {}: {}", printable(&problem.file.to_string_lossy()), problem.message);
            problem.file.clone_from(&self.file);
            problem.place = mark.and_then(|mark| self.place(mark));
        }
        problem
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
