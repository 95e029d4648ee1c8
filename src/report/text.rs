//! Blocks as text for a terminal: plain characters, no colour, nothing wider than asked.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, TableStyle, Width};

use super::marks::apart;
use super::{Block, ColumnKind, Table};
pub use crate::printable::printable as shown;

/// A line under the headings and nothing else: it reads aloud, copies and pastes.
const UNDERLINED: TableStyle = TableStyle::new().header_separator(LineStyle::none().fill('-'));

/// Bold red, and back: a mark beside the words and the `!!`, which say the same without colour.
const ALARM: (&str, &str) = ("\u{1b}[1;31m", "\u{1b}[0m");
/// Where bold begins and ends in a table while it is laid out: of no width, and in no text that a file brings, because
/// [`shown`] writes it out there.
const BOLD_FROM: char = '\u{2066}';
const BOLD_TO: char = '\u{2069}';
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
            Block::Table(table) => {
                let (on, off) = if color { BOLD } else { ("", "") };
                let drawing = drawn(table, width);
                text.push_str(&drawing.replace(BOLD_FROM, on).replace(BOLD_TO, off));
            }
        }
    }
    text
}

/// Words wrapped to the width; `first` and `then` stand before the first and the other lines.
fn wrapped(text: &str, width: u16, first: &str, then: &str) -> String {
    let mut lines = String::new();
    let mut line = String::from(first);
    let mut blank = true;
    // A space that keeps a number together breaks no line.
    let breaks = |c: char| c.is_whitespace() && c != '\u{a0}';
    for word in text.split(breaks).filter(|word| !word.is_empty()) {
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

/// The widest column of names whose cells stay on one line.
const fn most_unbroken(kind: ColumnKind) -> usize {
    match kind {
        ColumnKind::Marked => 32,
        ColumnKind::Name | ColumnKind::Words | ColumnKind::Number => 24,
    }
}

/// A cell as it is laid out, each of its marks in bold by itself: where a line is broken nothing else turns bold.
fn laid_out(kind: ColumnKind, cell: &str) -> String {
    if kind != ColumnKind::Marked {
        return shown(cell);
    }
    let (held, marks) = apart(cell);
    let bold: Vec<String> = marks.split_whitespace().map(|mark| format!("{BOLD_FROM}{mark}{BOLD_TO}")).collect();
    format!("{}{}", shown(held), bold.join(" "))
}

fn drawn(table: &Table, width: u16) -> String {
    let mut drawing = comfy_table::Table::new();
    drawing.load_style(UNDERLINED);
    drawing.set_content_arrangement(ContentArrangement::Dynamic);
    drawing.set_width(width);
    drawing.set_header(table.columns.iter().map(|column| column.title));
    for row in &table.rows {
        drawing.add_row(table.columns.iter().zip(row).map(|(column, cell)| laid_out(column.kind, cell)));
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
            // Marks stay beside what they are of, also behind the names of a mixture.
            ColumnKind::Name | ColumnKind::Marked if needed <= most_unbroken(column.kind) => {
                drawn.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(needed as u16)));
            }
            ColumnKind::Name | ColumnKind::Marked | ColumnKind::Words => {}
        }
    }
    let lines = drawing.to_string();
    lines.lines().map(|line| format!("{}\n", line.trim_end())).collect()
}

#[cfg(test)]
mod tests {
    use super::super::{marked, number};
    use super::*;

    #[test]
    fn marks_are_bold_where_colour_is_allowed_and_words_everywhere() {
        let rows = [("R-22", "1"), ("R-22 BURN", "2"), ("\u{2066}R-32\u{2069} FLAM REUSE", "3")];
        let rows = rows.map(|(held, number)| vec![held.to_owned(), number.to_owned()]).into();
        let table = Block::Table(Table { columns: vec![marked("holds"), number("#")], rows });
        let plain = draw(std::slice::from_ref(&table), 80, false);
        assert!(plain.contains("R-22 BURN ") && !plain.contains('\u{1b}'), "{plain}");
        let bold = draw(std::slice::from_ref(&table), 80, true);
        assert!(bold.contains("R-22 \u{1b}[1mBURN\u{1b}[0m "), "{bold}");
        // What stands for bold while a table is laid out can't come from a file.
        assert!(bold.contains("\\u{2066}R-32\\u{2069} \u{1b}[1mFLAM\u{1b}[0m \u{1b}[1mREUSE\u{1b}[0m"), "{bold}");
        // Bold takes no room: the columns stand as they do without it.
        assert_eq!(bold.replace("\u{1b}[1m", "").replace("\u{1b}[0m", ""), plain);
    }
}
