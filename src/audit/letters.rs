//! What a remark looks like, in plain letters: the same look as the cylinder's room has, made another way.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// Cyrillic, Greek and other letters, each with the Latin letter below it that it is taken for (Unicode Technical
/// Standard 39, confusables).
const LOOKS: [(&str, &str); 4] = [
    ("аАВсСԁеЕһНіІјЈкКӏӀмМоОрРԛѕЅтТѵԝԜхХуУ", "aabccdeehhiijjkkllmmooppqssttvwwxxyy"),
    ("αΑΒϲϹεΕΗιΙκΚΜΝοΟρΡτΤυνχΧΥ", "aabcceehiikkmnooppttuvxxy"),
    ("đĐɡıłŁøØ", "ddgilloo"),
    ("¿؟‽⸮", "????"),
];
/// Apostrophes, accents and primes that people type for an apostrophe.
const APOSTROPHES: &str = "'`´\u{1ffd}ʹʺʻʼʽˈ‘’‚‛′";

fn look(c: char) -> char {
    if c.is_ascii() && c != '`' {
        return c;
    }
    if APOSTROPHES.contains(c) {
        return '\'';
    }
    let pairs = LOOKS.iter().flat_map(|(typed, seen)| typed.chars().zip(seen.chars()));
    pairs.into_iter().find(|(typed, _)| *typed == c).map_or(c, |(_, seen)| seen)
}

/// The text without accents, joined letters in pieces, each letter the one that it is taken for, in lower case.
pub(super) fn seen(text: &str) -> String {
    let apart: String = text.chars().map(look).collect::<String>().nfkd().filter(|c| !is_combining_mark(*c)).collect();
    apart.chars().map(look).collect::<String>().to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_has_its_look() {
        for (typed, seen) in LOOKS {
            assert_eq!(typed.chars().count(), seen.chars().count(), "{typed}");
        }
        assert_eq!(seen("ＬＥＡＫ, ﬁre, N₂, ŁÉАК"), "leak, fire, n2, leak");
    }
}
