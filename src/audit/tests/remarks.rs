//! Remarks as the audit reads them, held against the cylinder's room: two tables, two ways of looking.

use std::collections::BTreeSet;

use proptest::prelude::*;

use crate::audit::remarks::{BEGINNINGS, holds};
use crate::cylinder::{HOLDING_WORDS, remark_holds};

#[test]
fn both_tables_have_the_same_words() {
    let ours: BTreeSet<String> = BEGINNINGS.iter().map(|word| word.replace('_', " ")).collect();
    let theirs: BTreeSet<String> =
        HOLDING_WORDS.iter().flat_map(|(_, words)| words.iter()).map(|word| (*word).to_owned()).collect();
    assert_eq!(ours.len(), BEGINNINGS.len(), "one stands there twice");
    assert_eq!(ours.union(&BTreeSet::from(["?".to_owned()])).cloned().collect::<BTreeSet<_>>(), theirs);
}

/// Every word of the tables with everything before, within and behind it that may count.
#[test]
fn words_in_every_place_are_read_alike() {
    let (mut held, mut free) = (0, 0);
    let words: Vec<&str> = HOLDING_WORDS.iter().flat_map(|(_, words)| words.iter().copied()).collect();
    let marks = [
        "", " ", "-", ".", "_", "'", "\u{2019}", "\u{2013}", "- ", " -", "\n", "/", "7", "x", "\u{e9}", "\u{130}",
        "\u{bd}", "\u{2bc}", "\u{435}",
    ];
    for word in words.iter().copied().chain(["cure", "shelf"]) {
        for before in marks {
            for within in marks {
                for place in [0, 1, word.len() - 1] {
                    let (head, tail) = word.split_at(place);
                    for text in [
                        format!("a{before}{head}{within}{tail}"),
                        format!("{before}{head}{within}{tail}s").to_uppercase(),
                    ] {
                        let ours = holds(&text);
                        assert_eq!(ours, remark_holds(&text), "{text:?}");
                        *(if ours { &mut held } else { &mut free }) += 1;
                    }
                }
            }
        }
    }
    assert!(held > 5_000 && free > 5_000, "{held} {free}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn any_text_is_read_alike(text in "(leak|do|not|out|of|service|over|ful|l|n2|hold|for|air|don|t|r|[ -./_'?’–0-9a-zа-яΑ-ω]|\\PC){0,12}") {
        prop_assert_eq!(holds(&text), remark_holds(&text));
    }
}
