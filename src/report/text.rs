//! Blocks as text for a terminal: plain characters, no colour, nothing wider than asked.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, TableStyle, Width};

use super::{Block, ColumnKind, Table};
pub use crate::files::printable as shown;

/// A line under the headings and nothing else: it reads aloud, copies and pastes.
const UNDERLINED: TableStyle = TableStyle::new().header_separator(LineStyle::none().fill('-'));

/// Bold red, and back: a mark beside the words and the `!!`, which say the same without colour.
const ALARM: (&str, &str) = ("\u{1b}[1;31m", "\u{1b}[0m");
/// Bold, and back.
const BOLD: (&str, &str) = ("\u{1b}[1m", "\u{1b}[0m");

/// Draws blocks as text no wider than `width` columns, where words allow it; with `color` danger and headings stand out.
pub fn draw(blocks: &[Block], width: u16, color: bool) -> String {
    let styled = |(on, off): (&str, &str), text: String| {
        if color { text.lines().map(|line| format!("{on}{line}{off}\n")).collect() } else { text }
    };
    let mut text = String::new();
    let mut under_heading = true;
    for block in blocks {
        if !under_heading {
            text.push('\n');
        }
        under_heading = matches!(block, Block::Heading(_));
        match block {
            Block::Heading(heading) => text.push_str(&styled(BOLD, wrapped(&shown(heading), width, "", ""))),
            Block::Danger(danger) => text.push_str(&styled(ALARM, wrapped(&shown(danger), width, "!! ", "!! "))),
            Block::Note(note) => text.push_str(&wrapped(&shown(note), width, "", "")),
            Block::List(lines) => {
                for line in lines {
                    text.push_str(&wrapped(&shown(line), width, "- ", "  "));
                }
            }
            Block::Table(table) => text.push_str(&drawn(table, width)),
        }
    }
    text
}

/// Words wrapped to the width; `first` and `then` stand before the first and the other lines.
fn wrapped(text: &str, width: u16, first: &str, then: &str) -> String {
    let mut lines = String::new();
    let mut line = String::from(first);
    let mut blank = true;
    for word in text.split_whitespace() {
        let full = !blank && line.chars().count() + 1 + word.chars().count() > usize::from(width);
        if full {
            lines.push_str(line.trim_end());
            lines.push('\n');
            line = String::from(then);
            blank = true;
        }
        if !blank {
            line.push(' ');
        }
        line.push_str(word);
        blank = false;
    }
    lines.push_str(line.trim_end());
    lines.push('\n');
    lines
}

fn drawn(table: &Table, width: u16) -> String {
    let mut drawing = comfy_table::Table::new();
    drawing.load_style(UNDERLINED);
    drawing.set_content_arrangement(ContentArrangement::Dynamic);
    drawing.set_width(width);
    drawing.set_header(table.columns.iter().map(|column| column.title));
    for row in &table.rows {
        drawing.add_row(row.iter().map(|cell| shown(cell)));
    }
    for (index, column) in table.columns.iter().enumerate() {
        let Some(drawn) = drawing.column_mut(index) else { continue };
        drawn.set_padding((if index == 0 { 0 } else { 1 }, 1));
        let widest = table.rows.iter().filter_map(|row| row.get(index)).map(|cell| cell.chars().count()).max();
        let needed = widest.unwrap_or(0).max(column.title.chars().count()) + if index == 0 { 1 } else { 2 };
        match column.kind {
            ColumnKind::Number => {
                drawn.set_cell_alignment(CellAlignment::Right);
                drawn.set_constraint(ColumnConstraint::ContentWidth);
            }
            // A name of usual length stays on one line, so that it can be copied.
            ColumnKind::Name if needed <= 24 => {
                drawn.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(needed as u16)));
            }
            ColumnKind::Name | ColumnKind::Words => {}
        }
    }
    let lines = drawing.to_string();
    lines.lines().map(|line| format!("{}\n", line.trim_end())).collect()
}
