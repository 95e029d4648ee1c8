//! A remark by its look: what a reader takes for one letter is one, however it was typed.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// The plain lower-case characters that this one is read as: without accents, whole in place of joined (`ﬁ`), wide,
/// small or raised, and Latin in place of Cyrillic and Greek letters of its look.
pub(super) fn plain(c: char) -> impl Iterator<Item = char> {
    // An acute accent by itself would come apart into a blank and an accent.
    let whole = std::iter::once(alike(c)).nfkd().filter(|c| !is_combining_mark(*c));
    whole.map(alike).flat_map(char::to_lowercase)
}

/// The character that this one is taken for. Look-alikes: Unicode Technical Standard 39, confusables, those of the letters
/// that our words have.
const fn alike(c: char) -> char {
    match c {
        '`' | '\u{b4}' | '\u{1ffd}' | '\u{2b9}'..='\u{2bd}' | '\u{2c8}' | '\u{2018}'..='\u{201b}' | '\u{2032}' => '\'',
        '\u{bf}' | '\u{61f}' | '\u{203d}' | '\u{2e2e}' => '?',
        'а' | 'А' | 'α' | 'Α' => 'a',
        'В' | 'Β' => 'b',
        'с' | 'С' | 'ϲ' | 'Ϲ' => 'c',
        'ԁ' | 'đ' | 'Đ' => 'd',
        'е' | 'Е' | 'ε' | 'Ε' => 'e',
        'ɡ' => 'g',
        'һ' | 'Н' | 'Η' => 'h',
        'і' | 'І' | 'ι' | 'Ι' | 'ı' => 'i',
        'ј' | 'Ј' => 'j',
        'к' | 'К' | 'κ' | 'Κ' => 'k',
        'ӏ' | 'Ӏ' | 'ł' | 'Ł' => 'l',
        'м' | 'М' | 'Μ' => 'm',
        'Ν' => 'n',
        'о' | 'О' | 'ο' | 'Ο' | 'ø' | 'Ø' => 'o',
        'р' | 'Р' | 'ρ' | 'Ρ' => 'p',
        'ԛ' => 'q',
        'ѕ' | 'Ѕ' => 's',
        'т' | 'Т' | 'τ' | 'Τ' => 't',
        'υ' => 'u',
        'ν' | 'ѵ' => 'v',
        'ԝ' | 'Ԝ' => 'w',
        'х' | 'Х' | 'χ' | 'Χ' => 'x',
        'у' | 'У' | 'Υ' => 'y',
        other => other,
    }
}
