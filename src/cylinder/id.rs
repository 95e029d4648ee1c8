//! What a yard calls a cylinder: shown as typed, compared as read off the tape.

use std::fmt;
use std::hash::{Hash, Hasher};
use std::sync::Arc;

use unicode_normalization::UnicodeNormalization;

/// The id of a cylinder. Two are one id where they look alike: compatible and composed forms of a letter (Unicode
/// NFKC), all dashes, any run of spaces, capitals and small letters. What is shown stays as it was typed.
#[derive(Debug, Clone)]
pub struct Id {
    typed: Arc<str>,
    alike: Arc<str>,
}

impl Id {
    /// As it was typed.
    pub fn as_str(&self) -> &str {
        &self.typed
    }

    /// The one form of all that look like it.
    pub fn alike(&self) -> &str {
        &self.alike
    }
}

/// The one form of all texts that look like this one.
fn alike(text: &str) -> String {
    // What most ids are made of looks like nothing else.
    if text.bytes().all(|byte| byte.is_ascii_graphic()) {
        return text.to_ascii_lowercase();
    }
    let one_dash = |c: char| if matches!(c, '\u{2010}'..='\u{2015}' | '\u{2212}') { '-' } else { c };
    // NFKC makes a plain space or a plain hyphen of some kinds, such as U+00A0 and U+FF0D; the rest is made so here.
    let one: String = text.nfkc().map(one_dash).collect();
    // On tape `c-1` is read as `C-1`.
    one.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

impl From<&str> for Id {
    fn from(typed: &str) -> Self {
        let alike = alike(typed);
        let typed: Arc<str> = typed.into();
        let alike = if *alike == *typed { Arc::clone(&typed) } else { alike.into() };
        Self { typed, alike }
    }
}

impl From<String> for Id {
    fn from(typed: String) -> Self {
        Self::from(typed.as_str())
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.typed)
    }
}

impl PartialEq for Id {
    fn eq(&self, other: &Self) -> bool {
        self.alike == other.alike
    }
}

impl Eq for Id {}

impl PartialEq<str> for Id {
    fn eq(&self, other: &str) -> bool {
        *self.alike == *alike(other)
    }
}

impl PartialEq<&str> for Id {
    fn eq(&self, other: &&str) -> bool {
        self == *other
    }
}

impl Hash for Id {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.alike.hash(state);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn what_looks_alike_is_one_id_and_stays_as_typed() {
        for (one, others) in [
            (
                "C-1",
                &[
                    "c-1",
                    " C-1 ",
                    "C\u{2010}1",
                    "C\u{2011}1",
                    "C\u{2012}1",
                    "C\u{2013}1",
                    "C\u{2014}1",
                    "C\u{2015}1",
                    "C\u{2212}1",
                    "C\u{ff0d}1",
                    "\u{ff23}-1",
                    "C-\u{2081}",
                ][..],
            ),
            (
                "C 1",
                &["C  1", "C\u{a0}1", "C\t1", "C \u{2003}1", "C\u{202f}1", "C\u{1680}1", "C\u{3000}1", "\u{a0}C 1"],
            ),
            ("K\u{fc}hl 1", &["Ku\u{308}hl 1", "KU\u{308}HL 1", "\u{212a}\u{fc}hl 1"]),
            ("", &[" ", "\u{a0}"]),
        ] {
            for other in others {
                assert_eq!(Id::from(one), Id::from(*other), "{other:?}");
                assert_eq!(Id::from(one), *other, "{other:?}");
                assert_eq!(HashSet::from([Id::from(one), Id::from(*other)]).len(), 1, "{other:?}");
                assert_eq!(Id::from(*other).as_str(), *other);
            }
        }
        // What is left alone there is what Unicode leaves alone.
        for c in (0_u8..128).map(char::from) {
            let long: String = c.to_string().nfkc().collect();
            assert_eq!(Id::from(c.to_string()).alike(), long.split_whitespace().collect::<String>().to_lowercase());
        }
        for (one, other) in [("C-1", "C1"), ("C-1", "C 1"), ("C-1", "C_1"), ("C 1", "C1"), ("C-1", "C--1"), ("1", "7")]
        {
            assert_ne!(Id::from(one), Id::from(other));
        }
    }
}
