//! Where text is shown: how wide, and whether colour may be used.

use std::env;
use std::io::IsTerminal;

/// What text is drawn for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Screen {
    /// Columns.
    pub(super) width: u16,
    /// Whether colour may be used; nothing is said by colour alone.
    pub(super) color: bool,
}

/// Columns of a file or a pipe.
const USUAL: u16 = 80;
/// Narrower, and tables fall apart; wider, and sentences are hard to follow.
const WIDTHS: (u16, u16) = (60, 110);

impl Screen {
    /// The screen behind a stream: as wide as the terminal, in colour unless `NO_COLOR` is set; a file or a pipe has 80
    /// columns and no colour, unless `CLICOLOR_FORCE` asks for it.
    pub(super) fn of(stream: &impl IsTerminal) -> Self {
        let is_set = |name: &str| env::var_os(name).is_some_and(|value| !value.is_empty() && value != "0");
        let size = stream.is_terminal().then(terminal_size::terminal_size).flatten();
        let width = size.map_or(USUAL, |(width, _)| width.0);
        let forced = is_set("CLICOLOR_FORCE");
        let color = !is_set("NO_COLOR") && (forced || stream.is_terminal());
        Self { width: width.clamp(WIDTHS.0, WIDTHS.1), color }
    }
}
