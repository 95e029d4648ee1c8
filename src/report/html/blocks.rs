//! Each kind of block as HTML.

use maud::{Markup, html};

use super::shown;
use crate::report::{Block, ColumnKind, Table};

/// The blocks in their order. A heading that begins the page is its main one.
pub(super) fn drawn(blocks: &[Block]) -> Markup {
    html! {
        @for (index, block) in blocks.iter().enumerate() {
            @match block {
                Block::Heading(text) if index == 0 => h1 { (shown(text)) },
                Block::Heading(text) => h2 { (shown(text)) },
                Block::Danger(text) => p.danger role="alert" { strong { "Danger: " } (shown(text)) },
                Block::Note(text) => p { (shown(text)) },
                Block::List(lines) => ul { @for line in lines { li { (shown(line)) } } },
                Block::Table(table) => (drawn_table(table)),
            }
        }
    }
}

fn drawn_table(table: &Table) -> Markup {
    html! {
        div.wide tabindex="0" role="group" aria-label="table" {
            table {
                thead {
                    tr { @for column in &table.columns {
                        @if column.title.is_empty() { td {} } @else { th scope="col" class=[class(column.kind)] { (column.title) } }
                    } }
                }
                tbody { @for row in &table.rows {
                    tr { @for (column, cell) in table.columns.iter().zip(row) {
                        td class=[class(column.kind)] { (shown(cell)) }
                    } }
                } }
            }
        }
    }
}

fn class(kind: ColumnKind) -> Option<&'static str> {
    match kind {
        ColumnKind::Number => Some("number"),
        ColumnKind::Name | ColumnKind::Words => None,
    }
}
