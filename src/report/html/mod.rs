//! The page for the clipboard: one self-contained HTML file, with no request, no font, no script from elsewhere.
//!
//! Escaping is maud's: whatever a file names stays text. Nothing here computes a figure.

mod blocks;
mod cylinder;
mod plot;
mod sheet;

use maud::{DOCTYPE, Markup, PreEscaped, html};

pub use sheet::{Inputs, Sheet};

const STYLE: &str = include_str!("page.css");

/// What the page may load: nothing but what stands in it.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";

/// A whole page: the body, and a script that it works without.
fn whole(title: &str, body: &Markup, script: &str) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="color-scheme" content="light dark";
                title { (shown(title)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main { (body) }
                script { (PreEscaped(script)) }
            }
        }
    }
}

/// Text without control characters and marks of direction, which would turn around what stands beside it.
fn shown(text: &str) -> String {
    super::text::shown(text)
}
