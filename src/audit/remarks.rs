//! Which remarks hold a cylinder out: the same words as the cylinder's room has, found another way.

use super::letters::seen;

/// The beginnings of words that hold a cylinder out, in the order of the alphabet; `_` where two words may be one.
pub(super) const BEGINNINGS: &[&str] = &[
    "acid",
    "air",
    "bad",
    "belongs",
    "bent",
    "blew",
    "broken",
    "burn",
    "condemn",
    "contam",
    "corro",
    "crack",
    "customer",
    "damag",
    "dent",
    "dnu",
    "do_not",
    "dont",
    "dropped",
    "expired",
    "fail",
    "fire",
    "float",
    "foot_ring",
    "hire",
    "hold_for",
    "hydro",
    "junk",
    "keep",
    "leak",
    "lent",
    "loan",
    "lost",
    "missing",
    "mix",
    "moist",
    "n2",
    "nitrogen",
    "not_sure",
    "out_of_date",
    "out_of_service",
    "over_fill",
    "over_full",
    "pit",
    "popped",
    "quarantine",
    "recall",
    "reject",
    "relief",
    "reserved",
    "retest",
    "return",
    "rust",
    "scrap",
    "stiff",
    "stolen",
    "strip",
    "stuck",
    "tagged",
    "unknown",
    "water",
    "weld",
    "wet",
];

/// No beginning has more pieces, were each of its letters a piece and parted from the next.
const MOST_PIECES: usize = 24;

/// The text in pieces, each a word or what stands between two; a digit before a letter ends a word.
fn pieces(text: &str) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    let mut last: Option<char> = None;
    for c in text.chars() {
        let goes_on = last.is_some_and(|last| {
            let from_digit = last.is_numeric() && c.is_alphanumeric() && !c.is_numeric();
            last.is_alphanumeric() == c.is_alphanumeric() && !from_digit
        });
        match pieces.last_mut().filter(|_| goes_on) {
            Some(piece) => piece.push(c),
            None => pieces.push(c.to_string()),
        }
        last = Some(c);
    }
    pieces
}

/// Hyphens, dashes, apostrophes, full stops and the like: within a word they are as if they weren't there.
fn is_light(c: char) -> bool {
    matches!(c, '-' | '.' | '_' | '\'' | '"' | '\u{ad}' | '\u{2010}'..='\u{2015}' | '\u{200b}' | '\u{2212}')
}

/// What is read from these pieces: letters and digits; a blank for what stands between words, but nothing for a hyphen
/// and its like.
fn read_on(pieces: &[String]) -> String {
    let mut read = String::new();
    for piece in pieces.iter().take(MOST_PIECES) {
        if piece.starts_with(char::is_alphanumeric) {
            read.push_str(piece);
        } else if !piece.chars().all(is_light) {
            read.push(' ');
        }
    }
    read
}

/// Whether a text begins so; where two words may be one, with a blank between them or without.
fn begins(text: &str, beginning: &str) -> bool {
    match beginning.split_once('_') {
        None => text.starts_with(beginning),
        Some((word, rest)) => {
            text.strip_prefix(word).is_some_and(|text| begins(text.strip_prefix(' ').unwrap_or(text), rest))
        }
    }
}

/// Whether a remark holds its cylinder out: one of the beginnings, at the beginning of a word; or a question mark.
pub(super) fn holds(remark: &str) -> bool {
    let remark = seen(remark);
    let pieces = pieces(&remark);
    let words = (0..pieces.len()).filter(|at| pieces[*at].starts_with(char::is_alphanumeric));
    let mut texts = words.map(|at| read_on(&pieces[at..]));
    remark.contains('?') || texts.any(|text| BEGINNINGS.iter().any(|beginning| begins(&text, beginning)))
}
