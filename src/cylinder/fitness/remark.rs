//! What somebody has written about a cylinder: the words in it that hold the cylinder out until it is settled.
//!
//! A remark is read for single words, not for what it means: "not leaking" holds a cylinder out too. The audit reads
//! remarks by a table and by code of its own.

use super::letters::plain;

/// Words that hold a cylinder out, by what they are about: common practice, no source. Each counts at the beginning of a
/// word, in capitals or not: `rust` finds "Rusty" and not "thrust". Lower case; without apostrophes and hyphens, which
/// are passed over; a blank stands for whatever parts two words, or for nothing: `over full` finds "overfull".
///
/// `dont` finds "don't use" and "don't fill", `over fill` "overfill" and "over filled".
pub const HOLDING_WORDS: &[(&str, &[&str])] = &[
    (
        "body",
        &["leak", "dent", "bent", "rust", "corro", "pit", "crack", "dropped", "fire", "weld", "damag", "foot ring"],
    ),
    ("valve", &["stuck", "stiff", "strip", "broken", "float", "relief", "blew", "popped"]),
    (
        "use",
        &[
            "dont",
            "do not",
            "dnu",
            "out of service",
            "scrap",
            "condemn",
            "junk",
            "bad",
            "fail",
            "reject",
            "quarantine",
            "tagged",
            "recall",
        ],
    ),
    ("date", &["expired", "out of date", "retest", "hydro"]),
    (
        "contents",
        &[
            "burn",
            "acid",
            "wet",
            "moist",
            "water",
            "mix",
            "contam",
            "air",
            "nitrogen",
            "n2",
            "unknown",
            "?",
            "not sure",
            "over fill",
            "over full",
        ],
    ),
    (
        "whose",
        &[
            "customer", "belongs", "keep", "hold for", "reserved", "loan", "lent", "hire", "return", "missing", "lost",
            "stolen",
        ],
    ),
];

/// Marks within a word that don't part it: `over-full`, `don't`, `D.N.U.`
const WITHIN: [char; 14] = [
    '-', '\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}', '\u{2014}', '\u{2015}', '\u{2212}', '\u{ad}', '\'', '"', '.',
    '_', '\u{200b}',
];
/// Characters of a remark that a sentence quotes.
const QUOTED: usize = 120;
/// Of these, characters that stand before the word that holds.
const BEFORE: usize = 40;

/// Where a remark says a word that holds its cylinder out: the first place, in characters.
fn held_at(remark: &str) -> Option<usize> {
    // A character may become several plain ones; each keeps the place that it came from.
    let characters: Vec<(usize, char)> =
        remark.chars().enumerate().flat_map(|(at, c)| plain(c).map(move |c| (at, c))).collect();
    let mut before = ' ';
    for (index, (at, c)) in characters.iter().enumerate() {
        let rest = &characters[index..];
        if begins_word(before, *c) && words().any(|word| is_said(word, rest)) {
            return Some(*at);
        }
        before = *c;
    }
    None
}

fn words() -> impl Iterator<Item = &'static str> {
    HOLDING_WORDS.iter().flat_map(|(_, words)| words.iter().copied())
}

/// Whether a word begins with `c` behind `before`; a letter behind a digit begins one, and a question mark is one.
fn begins_word(before: char, c: char) -> bool {
    c == '?' || (c.is_alphanumeric() && (!before.is_alphanumeric() || (before.is_numeric() && !c.is_numeric())))
}

/// Whether a text begins with this word of the table.
fn is_said(word: &str, text: &[(usize, char)]) -> bool {
    let mut text = text.iter().map(|(_, c)| *c).peekable();
    word.chars().all(|wanted| {
        if wanted == ' ' {
            while text.next_if(|c| !c.is_alphanumeric()).is_some() {}
            return true;
        }
        while text.next_if(|c| WITHIN.contains(c)).is_some() {}
        text.next() == Some(wanted)
    })
}

/// Whether a remark says a word that holds its cylinder out.
pub fn remark_holds(remark: &str) -> bool {
    held_at(remark).is_some()
}

/// The remark as a sentence quotes it, where it holds: of a long one, what stands around the word.
pub(super) fn holding(remark: &str) -> Option<String> {
    let at = held_at(remark)?;
    let count = remark.chars().count();
    if count <= QUOTED {
        return Some(remark.to_owned());
    }
    let from = at.saturating_sub(BEFORE).min(count - QUOTED);
    let part: String = remark.chars().skip(from).take(QUOTED).collect();
    let (before, after) = (if from > 0 { "... " } else { "" }, if from + QUOTED < count { " ..." } else { "" });
    Some(format!("{before}{}{after}", part.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_of_the_table_holds_where_it_begins_a_word() {
        let mut count = 0;
        for word in words().filter(|word| *word != "?") {
            for text in [
                word.to_owned(),
                word.to_uppercase(),
                format!("is {word}ed"),
                format!("(not {word})"),
                format!("3{word}"),
                word.replace(' ', "-"),
                word.replace(' ', ""),
                word.replace(' ', " \u{2013} "),
            ] {
                assert!(remark_holds(&text), "{text}");
            }
            for text in [format!("q{word}"), format!("{}q", &word[..word.len() - 1])] {
                assert!(!remark_holds(&text), "{text}");
            }
            count += 1;
        }
        assert_eq!(count, 12 + 8 + 13 + 4 + 14 + 12);
        assert!(remark_holds("R-22?") && remark_holds("?"));
    }

    #[test]
    fn remarks_as_people_write_them() {
        for held in [
            "LEAKING VALVE DO NOT FILL",
            "BURNOUT acid",
            "had burnout in it",
            "VALVE LEAKS - DO NOT USE",
            "Not leaking",
            "don\u{2019}t use",
            "DON'T FILL",
            "dont use",
            "D.N.U.",
            "out-of-service",
            "overfilled, over-fill, over full",
            "Over Fill by 3 lb",
            "re-test 2027",
            "foot-ring",
            "do   not use",
            "do_not_use",
            "semi-rusted",
            "R22/wet",
            "had N2 in it",
            "hand wheel stiff, works",
            "HOLD FOR Hollis",
            "valve repaired; air in it",
            // As a spreadsheet, a phone or another keyboard writes them.
            "ＬＥＡＫＳ",
            "was in a \u{fb01}re",
            "\u{fb02}oat valve",
            "\u{fb06}uck",
            "had N\u{2082} in it",
            "N\u{b2}",
            "R-22\u{ff1f}",
            "\u{2047}",
            "l\u{e9}aking",
            "le\u{301}aking",
            "L\u{415}\u{410}\u{41a}S",
            "\u{3bd}alve l\u{435}\u{430}ks",
            "don\u{2bc}t fill",
            "don\u{2032}t fill",
            "don\u{201b}t fill",
            "don\u{b4}t fill",
            "don\"t fill",
            "DON\u{ff07}T FILL",
        ] {
            assert!(remark_holds(held), "{held}");
        }
        for other in [
            "",
            "Yorkshire depot",
            "painted in May",
            "top shelf",
            "thrust washer",
            "we tested it",
            "not in use",
            "on hold",
            "held in store",
            "new hand wheel",
            "repair tag off",
            "N 2",
            "bay 12",
            "do so",
            "over there",
            "inhaler",
        ] {
            assert!(!remark_holds(other), "{other}");
        }
    }

    #[test]
    fn a_long_remark_is_quoted_around_its_word() {
        let long = format!("{}valve leaks {}", "on the shelf ".repeat(20), "and so on ".repeat(20));
        let quoted = holding(&long).unwrap_or_default();
        assert!(quoted.starts_with("... ") && quoted.ends_with(" ...") && quoted.contains("valve leaks"), "{quoted}");
        assert!(quoted.chars().count() <= QUOTED + 8);
        let end = format!("{}leaks", "on the shelf ".repeat(20));
        assert!(holding(&end).unwrap_or_default().ends_with("on the shelf leaks"));
        assert_eq!(holding("Valve LEAKS").as_deref(), Some("Valve LEAKS"));
    }
}
