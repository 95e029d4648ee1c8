//! Problems drawn with the line of the file they are about. Nothing here decides what is wrong.

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use super::Problem;
use crate::printable::printable;

/// Terminals are taken to be this wide; the help of the program is too.
const COLUMNS: usize = 80;
/// What stands before a title beside its code, and before a hint: `error[]: ` and `   = help: `, where a line number
/// takes up to three columns.
const BEFORE_TITLE: usize = 9;
const BEFORE_HINT: usize = 13;

impl Problem {
    /// The problem with its line, a mark under the part that is meant, and what to do.
    pub fn draw(&self, color: bool) -> String {
        let file = printable(&self.file.to_string_lossy());
        let title = Level::ERROR
            .primary_title(broken(&self.message, COLUMNS - BEFORE_TITLE - self.code.name().len()))
            .id(self.code.name());
        let mut group = match &self.place {
            Some(place) => {
                let snippet = Snippet::source(place.text.as_str())
                    .line_start(place.line)
                    .annotation(AnnotationKind::Primary.span(place.meant.clone()));
                if place.is_cut {
                    // The columns of a part of a line don't count from where the line begins.
                    let origin = Origin::path(file).line(place.line).char_column(place.column);
                    title.element(origin).element(snippet)
                } else {
                    title.element(snippet.path(file))
                }
            }
            None => title.element(Origin::path(file)),
        };
        if !self.hint.is_empty() {
            group = group.element(Level::HELP.message(broken(&self.hint, COLUMNS - BEFORE_HINT)));
        }
        let renderer = if color { Renderer::styled() } else { Renderer::plain() };
        let drawn = renderer.term_width(COLUMNS).render(&[group as Group<'_>]);
        drawn + "\n"
    }
}

/// A sentence broken between its words into lines of this width.
fn broken(sentence: &str, width: usize) -> String {
    let (mut text, mut length) = (String::with_capacity(sentence.len()), 0);
    for word in sentence.split(' ') {
        let characters = word.chars().count();
        if length > 0 && length + 1 + characters > width {
            text.push('\n');
            length = 0;
        } else if length > 0 {
            text.push(' ');
            length += 1;
        }
        text.push_str(word);
        length += characters;
    }
    text
}
