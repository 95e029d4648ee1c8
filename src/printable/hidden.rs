//! Characters that can't be seen: they make two texts of one look, or show another text than is there.

/// What can't be seen beside control characters, from one code point to another, with its name: Unicode's
/// `Default_Ignorable_Code_Point` (DerivedCoreProperties.txt), the separators of lines and paragraphs, the marks of
/// interlinear annotation, and letters that are drawn as nothing. No-break spaces are spaces.
const HIDDEN: [(char, char, &str); 32] = [
    ('\u{AD}', '\u{AD}', "soft hyphen"),
    ('\u{34F}', '\u{34F}', "combining grapheme joiner"),
    ('\u{61C}', '\u{61C}', "Arabic letter mark"),
    ('\u{115F}', '\u{1160}', "Hangul filler"),
    ('\u{17B4}', '\u{17B5}', "Khmer inherent vowel"),
    ('\u{180B}', '\u{180F}', "Mongolian variation selector"),
    ('\u{200B}', '\u{200B}', "zero width space"),
    ('\u{200C}', '\u{200C}', "zero width non-joiner"),
    ('\u{200D}', '\u{200D}', "zero width joiner"),
    ('\u{200E}', '\u{200E}', "left-to-right mark"),
    ('\u{200F}', '\u{200F}', "right-to-left mark"),
    ('\u{2028}', '\u{2028}', "line separator"),
    ('\u{2029}', '\u{2029}', "paragraph separator"),
    ('\u{202A}', '\u{202A}', "left-to-right embedding"),
    ('\u{202B}', '\u{202B}', "right-to-left embedding"),
    ('\u{202C}', '\u{202C}', "end of a direction of writing"),
    ('\u{202D}', '\u{202D}', "left-to-right override"),
    ('\u{202E}', '\u{202E}', "right-to-left override"),
    ('\u{2060}', '\u{2060}', "word joiner"),
    ('\u{2061}', '\u{2064}', "invisible operator"),
    ('\u{2065}', '\u{206F}', "mark of a direction of writing"),
    ('\u{2800}', '\u{2800}', "blank Braille pattern"),
    ('\u{3164}', '\u{3164}', "Hangul filler"),
    ('\u{FE00}', '\u{FE0F}', "variation selector"),
    ('\u{FEFF}', '\u{FEFF}', "byte-order mark"),
    ('\u{FFA0}', '\u{FFA0}', "halfwidth Hangul filler"),
    ('\u{FFF0}', '\u{FFFB}', "mark of annotation"),
    ('\u{13430}', '\u{1343F}', "mark between hieroglyphs"),
    ('\u{1BCA0}', '\u{1BCA3}', "mark of shorthand"),
    ('\u{1D159}', '\u{1D159}', "blank musical symbol"),
    ('\u{1D173}', '\u{1D17A}', "mark between musical symbols"),
    ('\u{E0000}', '\u{E0FFF}', "tag or variation selector"),
];

/// What a character that can't be seen is called; `None` of one that can, or that is a space.
fn name(c: char) -> Option<&'static str> {
    // Nearly all that is read.
    if matches!(c, ' '..='~') {
        return None;
    }
    if c.is_control() {
        return Some(match c {
            '\n' | '\r' | '\u{85}' => "line break",
            '\t' => "tab",
            _ => "control character",
        });
    }
    HIDDEN.iter().find(|(from, to, _)| (*from..=*to).contains(&c)).map(|(.., name)| *name)
}

/// Control characters, and every other character that can't be seen and isn't a space: they can make a terminal or a
/// reader see another text than is there.
pub fn is_hidden(c: char) -> bool {
    name(c).is_some()
}

/// A character that can't be seen, as messages name it: `U+200B zero width space`.
pub fn in_words(c: char) -> String {
    format!("U+{:04X} {}", u32::from(c), name(c).unwrap_or("character"))
}

/// The text without what can't be seen, but for control characters: those part it, and more than its look is in doubt.
pub fn without(text: &str) -> String {
    text.chars().filter(|c| c.is_control() || !is_hidden(*c)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cant_be_seen_has_a_name_and_spaces_and_letters_are_seen() {
        assert!(HIDDEN.windows(2).all(|pair| pair[0].1 < pair[1].0), "in order, none within another");
        for (c, words) in [
            ('\u{200B}', "U+200B zero width space"),
            ('\u{2060}', "U+2060 word joiner"),
            ('\u{AD}', "U+00AD soft hyphen"),
            ('\u{202E}', "U+202E right-to-left override"),
            ('\u{2066}', "U+2066 mark of a direction of writing"),
            ('\u{FE0F}', "U+FE0F variation selector"),
            ('\u{E0041}', "U+E0041 tag or variation selector"),
            ('\u{1b}', "U+001B control character"),
            ('\t', "U+0009 tab"),
        ] {
            assert!(is_hidden(c), "{words}");
            assert_eq!(in_words(c), words);
        }
        for c in ['\u{A0}', ' ', '\u{2003}', '\u{202F}', '\u{3000}', 'a', '-', '\u{2011}', '\u{301}', '💧', '\u{FFFD}']
        {
            assert!(!is_hidden(c), "{}", c.escape_unicode());
        }
        assert_eq!(without("C\u{2060}-\u{AD}1\u{A0}a\nb"), "C-1\u{A0}a\nb");
    }
}
