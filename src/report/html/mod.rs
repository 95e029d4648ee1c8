//! Pages to print or to carry on a phone: self-contained HTML files, with no request, no font, no script from elsewhere.
//!
//! `card` and `blocks` are drawn by every page, and `sheet`, `replan`, `pack` and `quote` are one page each. Escaping is
//! maud's: whatever a file names stays text. Nothing here computes a figure.

mod blocks;
mod card;
mod cylinder;
mod in_force;
mod labels;
mod pack;
mod plot;
mod quote;
mod replan;
mod sheet;

use maud::{DOCTYPE, Markup, PreEscaped, html};

pub use in_force::InForceSheet;
pub(crate) use labels::labels_page;
pub use pack::pack_page;
pub use quote::{customer_page, quote_page};
pub use replan::ReplanSheet;
pub use sheet::Sheet;

use super::{Hazards, full_cautions};

const STYLE: &str = include_str!("page.css");

/// What a page may load: nothing but what stands in it.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:";
/// The same for a page with a script.
const POLICY_OF_SCRIPTS: &str =
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";

/// What every page of this program has near its beginning.
const MARK: &str = "<meta name=\"generator\" content=\"chargesplit\">";

/// When and from what a page was made, so that a stale one is seen.
#[derive(Debug, Clone)]
pub struct Inputs {
    /// The files.
    pub files: Vec<String>,
    /// A short hash of what stood in them.
    pub hash: String,
    /// When, in words.
    pub made: String,
}

impl Inputs {
    /// The same with the files' names alone, for somebody whom the house's folders don't concern.
    #[must_use]
    pub fn without_folders(self) -> Self {
        let name =
            |file: String| std::path::Path::new(&file).file_name().map(|name| name.to_string_lossy().into_owned());
        let files = self.files.into_iter().map(|file| name(file.clone()).unwrap_or(file)).collect();
        Self { files, ..self }
    }
}

/// Whether a text is a page that this program wrote, which a new one may take the place of.
pub fn is_page(text: &str) -> bool {
    text.lines().next().is_some_and(|line| line.contains(MARK))
}

/// A whole page: the body, and a script that it works without.
fn whole(title: &str, body: &Markup, script: Option<&str>) -> String {
    let policy = if script.is_some() { POLICY_OF_SCRIPTS } else { POLICY };
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                (PreEscaped(MARK))
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="color-scheme" content="light dark";
                title { (shown(title)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main { (body) }
                @if let Some(script) = script { script { (PreEscaped(script)) } }
            }
        }
    };
    page.into_string()
}

/// When and from what.
fn made(inputs: &Inputs) -> Markup {
    let Inputs { files, hash, made } = inputs;
    html! { p.made { "Made " (made) " from " (shown(&files.join(", "))) ", inputs " code { (hash) } "." } }
}

/// Under which name a device keeps what is typed or ticked on a page.
fn key(inputs: &Inputs) -> Markup {
    html! { div #key hidden data-key=(inputs.hash) {} }
}

/// The cautions, which end every page that somebody fills or carries by.
fn cautions(hazards: &Hazards) -> Markup {
    html! {
        section {
            h2 { "Cautions" }
            ul { @for caution in full_cautions(hazards) { li { (caution) } } }
        }
    }
}

/// Text without control characters and marks of direction, and one in which letters written to the left don't turn
/// around the figures that follow them: `NAME, 12.6 lb` stays in this order whatever the name is.
fn shown(text: &str) -> String {
    const TO_THE_RIGHT: char = '\u{200e}';
    let safe = super::text::shown(text);
    let mut backwards = Vec::with_capacity(safe.len());
    let mut goes_on = false;
    for c in safe.chars().rev() {
        let left = is_written_to_the_left(c);
        if left && !goes_on {
            backwards.push(TO_THE_RIGHT);
        }
        goes_on = left || (goes_on && !c.is_alphanumeric());
        backwards.push(c);
    }
    backwards.into_iter().rev().collect()
}

/// Hebrew, Arabic and the other scripts that run to the left, by their blocks (Unicode's bidirectional classes R and AL,
/// from memory).
const fn is_written_to_the_left(c: char) -> bool {
    matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{feff}'
        | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_stay_behind_a_name_that_is_written_to_the_left() {
        let name = "\u{5e9}\u{5dc} \u{5d5}\u{5dd}";
        assert_eq!(shown(&format!("{name}, 12.6 lb")), format!("{name}\u{200e}, 12.6 lb"));
        assert_eq!(shown(&format!("1 {name} 2 {name}")), format!("1 {name}\u{200e} 2 {name}\u{200e}"));
        assert_eq!(shown("Rack 1, 12.6 lb"), "Rack 1, 12.6 lb");
        assert_eq!(shown("a\u{202e}b"), "a\\u{202e}b");
    }
}
