//! The text of a list, whatever a spreadsheet has saved it as: UTF-8, UTF-16, or the letters of old Windows programs.
//!
//! UTF-16 is the standard library's. Of single bytes only windows-1252 is known, latin-1 with some more signs: 27 signs
//! here, where a library of encodings brings tables for all of the world's scripts, and a licence of its own.

use std::path::Path;

use crate::disk;
use crate::problem::{Code, Problem, Problems};
use crate::text::source::Source;
use crate::text::utf_16::{UTF_16BE, UTF_16LE, marked, utf_16};

/// What a list may be saved as, as reports name it.
const UTF_8: &str = "UTF-8";
/// Latin-1 with more signs, of which it has none in the place of control characters.
pub const LATIN_1: &str = "windows-1252 (latin-1)";

/// The bytes 0x80 to 0x9F in windows-1252; U+FFFD where there is no sign (the encoding's table, from memory; compared
/// with Python's codec `cp1252`).
const SIGNS: [char; 32] = [
    '€', '\u{FFFD}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{FFFD}', 'Ž', '\u{FFFD}', '\u{FFFD}',
    '\u{2018}', '\u{2019}', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{FFFD}', 'ž', 'Ÿ',
];

/// Reads a list, and says what it was saved as.
pub(super) fn read(file: &Path) -> Result<(Source, &'static str), Problems> {
    let bytes = disk::bytes(file)?;
    let (text, encoding) = decode(bytes).map_err(|why| {
        let message = format!("the file isn't text that can be read for sure: {why}");
        Problems::from(Problem::new(Code::NotText, file, None, &message, "save it from the spreadsheet again as UTF-8"))
    })?;
    Ok((Source::from_bytes(file, text.into_bytes())?, encoding))
}

fn decode(bytes: Vec<u8>) -> Result<(String, &'static str), &'static str> {
    if let Some(text) = marked(&bytes) {
        return text;
    }
    if bytes.contains(&0) {
        for (of_bytes, encoding) in
            [(u16::from_le_bytes as fn([u8; 2]) -> u16, UTF_16LE), (u16::from_be_bytes, UTF_16BE)]
        {
            if let Some(text) = utf_16(&bytes, of_bytes).ok().filter(|text| is_sure(text)) {
                return Ok((text, encoding));
            }
        }
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok((text, UTF_8)),
        Err(error) => latin_1(error.as_bytes()).map(|text| (text, LATIN_1)),
    }
}

/// Without a mark in front: half of what is there are plain letters, digits and signs, which the other order of bytes
/// would make signs of the far end of the table.
fn is_sure(text: &str) -> bool {
    let plain = text.chars().filter(|c| matches!(c, '\t' | '\r' | '\n' | ' '..='~')).count();
    plain * 2 >= text.chars().count() && !text.chars().any(is_strange)
}

/// A control character that no list has.
fn is_strange(c: char) -> bool {
    c.is_control() && !matches!(c, '\t' | '\r' | '\n')
}

/// Bytes that aren't UTF-8.
fn latin_1(bytes: &[u8]) -> Result<String, &'static str> {
    let letter = |byte: u8| match byte {
        0x80..=0x9F => SIGNS[usize::from(byte - 0x80)],
        byte => char::from(byte),
    };
    // A letter of several bytes isn't what two or three letters of one byte look like.
    let is_utf_8 = bytes.utf8_chunks().any(|chunk| !chunk.valid().is_ascii());
    let text: String = bytes.iter().map(|byte| letter(*byte)).collect();
    if is_utf_8 {
        return Err("some of it is UTF-8, and some isn't");
    }
    if text.chars().any(|c| is_strange(c) || c == '\u{FFFD}') {
        return Err("it is neither UTF-8 nor UTF-16, and has bytes that are no letters in latin-1");
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIST: &str = "Serial,Tare (kg),Grün\nÄ-1,12.7,€ 5\n";

    fn units(text: &str, of_unit: fn(u16) -> [u8; 2]) -> Vec<u8> {
        text.encode_utf16().flat_map(of_unit).collect()
    }

    #[test]
    fn every_encoding_gives_the_same_text() {
        let marked = format!("\u{FEFF}{LIST}");
        let latin: Vec<u8> = LIST
            .chars()
            .map(|c| match c {
                'ü' => 0xFC,
                'Ä' => 0xC4,
                '€' => 0x80,
                c => u8::try_from(c).unwrap_or(b'!'),
            })
            .collect();
        for (bytes, expected) in [
            (LIST.as_bytes().to_vec(), UTF_8),
            (units(&marked, u16::to_le_bytes), UTF_16LE),
            (units(&marked, u16::to_be_bytes), UTF_16BE),
            (units(LIST, u16::to_le_bytes), UTF_16LE),
            (units(LIST, u16::to_be_bytes), UTF_16BE),
            (latin, LATIN_1),
        ] {
            assert_eq!(decode(bytes), Ok((LIST.to_owned(), expected)));
        }
    }

    #[test]
    fn what_is_not_sure_is_none() {
        let odd = [units("\u{FEFF}Serial", u16::to_le_bytes), vec![65]].concat();
        // 0x81 is no sign, and 0x01 none that a list has; a lone half of a pair; UTF-8 with one byte cut out.
        for bytes in
            [odd, b"a\x81".to_vec(), b"\x01\xFC".to_vec(), b"\xFF\xFE\x00\xD8a\0".to_vec(), b"\xC3\xBC \xFC".to_vec()]
        {
            assert!(decode(bytes.clone()).is_err(), "{bytes:?}");
        }
        // Half of it in another script, and no mark.
        let foreign = units("ООО Холод и Ко,1\n", u16::to_le_bytes);
        assert!(!matches!(decode(foreign), Ok((_, UTF_16LE | UTF_16BE))));
        assert_eq!(
            decode(b"a\0b".to_vec()),
            Ok(("a\0b".to_owned(), UTF_8)),
            "as before: the reader of cells refuses it"
        );
    }
}
