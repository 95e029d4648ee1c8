//! Texts made safe where others read them: on a terminal, in JSON, in a table. Each is done here and nowhere else, but for
//! HTML, which its own library escapes.
//!
//! It must not decide what is drawn, nor change a text that a program reads back: JSON and tables keep their meaning.

mod hidden;

use crate::quantity::Decimal;

pub use hidden::{in_words, is_hidden, without};

/// The text with every character that doesn't show written out: `\u{1b}`.
pub fn printable(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        if is_hidden(c) {
            shown.extend(c.escape_unicode());
        } else {
            shown.push(c);
        }
    }
    shown
}

/// The same for a text of several lines, which stay lines.
pub fn printable_lines(text: &str) -> String {
    text.split('\n').map(printable).collect::<Vec<_>>().join("\n")
}

/// JSON with every character in its texts that doesn't show as an escape: the same data.
pub fn printable_json(json: &str) -> String {
    let mut shown = String::with_capacity(json.len());
    for c in json.chars() {
        if is_hidden(c) && c != '\n' {
            // JSON writes what has more than four digits as two halves.
            for unit in c.encode_utf16(&mut [0; 2]) {
                shown.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            shown.push(c);
        }
    }
    shown
}

/// What a spreadsheet may take for the beginning of a formula, also in the wide forms (OWASP, CSV injection).
const FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];
/// What stands before such a text, in which a spreadsheet sees a text from then on.
const GUARD: char = '\'';

/// What parts cells where decimals have a comma. Quotes don't hold such a cell together: they count at its beginning only.
const BETWEEN: char = ';';

fn begins_as_formula(part: &str) -> bool {
    let begins = part.trim_start_matches([' ', '\t', '\r', '\n', '"', GUARD]);
    begins.starts_with(FORMULA) || part.starts_with(['\t', '\r', '\n'])
}

/// A cell that a spreadsheet takes as text or as a number, never as a formula: an apostrophe stands before what
/// begins as one, also behind a semicolon, at which half of all spreadsheets begin a new cell. A plain number is a number,
/// also below zero.
pub fn cell(text: &str) -> String {
    if text.parse::<Decimal>().is_ok() && !text.starts_with('+') {
        return text.to_owned();
    }
    let guarded = |part: &str| if begins_as_formula(part) { format!("{GUARD}{part}") } else { part.to_owned() };
    text.split(BETWEEN).map(guarded).collect::<Vec<_>>().join(";")
}

/// What [`cell`] made a cell of, for the files that are read again.
pub fn out_of_cell(shown: &str) -> String {
    let bare = |part: &str| part.strip_prefix(GUARD).filter(|part| begins_as_formula(part)).unwrap_or(part).to_owned();
    let text = shown.split(BETWEEN).map(bare).collect::<Vec<_>>().join(";");
    // What doesn't become this cell again never was one of ours.
    if cell(&text) == shown { text } else { shown.to_owned() }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn no_formula_reaches_a_cell() {
        for formula in
            ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "  =1", "\t=1", "\rx", "-", "--2", "+5", "＝1", "'=1", "''-a"]
        {
            assert_eq!(cell(formula), format!("'{formula}"));
            assert_eq!(out_of_cell(&cell(formula)), formula);
        }
        for (text, shown) in [
            ("X;=1+1", "X;'=1+1"),
            ("=a;@b", "'=a;'@b"),
            ("X; -5", "X;' -5"),
            ("X;\"=1", "X;'\"=1"),
            ("X;'=1", "X;''=1"),
            ("-5;x", "'-5;x"),
        ] {
            assert_eq!(cell(text), shown);
            assert_eq!(out_of_cell(shown), text);
        }
        assert_eq!(out_of_cell("'-5"), "'-5", "ours would be a number");
        for plain in
            ["R-12; R-22", "a;b", "Rack 1", "-12.50", "12.50", "R-22 = R-22", "", "nominal 50 lb #1", "'", "o'clock"]
        {
            assert_eq!(cell(plain), plain);
            assert_eq!(out_of_cell(plain), plain);
        }
    }

    #[test]
    fn what_does_not_show_is_written_out_and_data_stays_the_same() {
        let text = "a\u{1b}[31m\u{202e}b\u{7f}\u{9b}\u{2028}\tc\u{ad}\u{e0041}";
        let written = "a\\u{1b}[31m\\u{202e}b\\u{7f}\\u{9b}\\u{2028}\\u{9}c\\u{ad}\\u{e0041}";
        assert_eq!(printable(text), written);
        assert_eq!(printable_lines("a\n\u{1b}\n"), "a\n\\u{1b}\n");
        let json = printable_json(&serde_json::to_string_pretty(&[text]).unwrap());
        assert!(!json.chars().any(|c| is_hidden(c) && c != '\n'), "{json:?}");
        assert_eq!(serde_json::from_str::<Vec<String>>(&json).unwrap(), [text]);
    }
}
