//! Marks behind what a cylinder holds: `R-407C BURN`. The words say it; where a drawing has bold they are bold, too.

use crate::cylinder::Tag;

/// The words of marks, as data has them.
pub(super) fn words(tags: &[Tag]) -> Vec<&'static str> {
    tags.iter().map(|tag| tag.word()).collect()
}

/// A cell of a column of names with marks: what is held, and its marks behind it.
pub(super) fn marked(held: &str, marks: &[&str]) -> String {
    std::iter::once(held).chain(marks.iter().copied()).collect::<Vec<_>>().join(" ")
}

/// Such a cell taken apart: what is held with the space behind it, and the marks.
pub(super) fn apart(cell: &str) -> (&str, &str) {
    let is_mark = |word: &str| Tag::ALL.iter().any(|(_, known)| *known == word);
    let mut at = cell.len();
    while let Some((before, word)) = cell[..at].trim_end().rsplit_once(' ') {
        if !is_mark(word) {
            break;
        }
        at = before.len() + 1;
    }
    cell.split_at(at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_comes_apart_as_it_was_put_together() {
        let both = [Tag::Flammable, Tag::Wet];
        assert_eq!(marked("R-32", &words(&both)), "R-32 FLAM WET");
        for (cell, expected) in [
            ("R-32 FLAM WET", ("R-32 ", "FLAM WET")),
            ("mixed R-22 + R-407C MIX", ("mixed R-22 + R-407C ", "MIX")),
            ("R-22", ("R-22", "")),
            ("BURN", ("BURN", "")),
            ("", ("", "")),
            ("BURN up", ("BURN up", "")),
        ] {
            assert_eq!(apart(cell), expected);
        }
    }
}
