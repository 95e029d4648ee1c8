//! Each kind of block as HTML.

use maud::{Markup, html};

use super::shown;
use crate::report::marks::apart;
use crate::report::{Block, ColumnKind, Table};

/// From so many columns on a row is drawn as lines of its own on a narrow screen.
const MANY_COLUMNS: usize = 4;

/// The blocks that begin a page: its main heading is the first of theirs.
pub(super) fn first(blocks: &[Block]) -> Markup {
    let main = blocks.iter().position(|block| matches!(block, Block::Heading(_)));
    html! { @for (index, block) in blocks.iter().enumerate() { (drawn(block, Some(index) == main, false)) } }
}

/// Blocks that follow.
pub(super) fn further(blocks: &[Block]) -> Markup {
    html! { @for block in blocks { (drawn(block, false, false)) } }
}

/// Blocks that follow, with a box to tick at every row and line.
pub(super) fn ticked(blocks: &[Block]) -> Markup {
    html! { @for block in blocks { (drawn(block, false, true)) } }
}

fn drawn(block: &Block, is_main: bool, ticks: bool) -> Markup {
    match block {
        Block::Heading(text) if is_main => html! { h1 { (shown(text)) } },
        Block::Heading(text) => html! { h2 { (shown(text)) } },
        Block::Danger(text) => html! { p.danger role="alert" { strong { "!! " } (shown(text)) } },
        Block::Note(text) => html! { p { (shown(text)) } },
        Block::List(lines) if ticks => html! {
            ul.ticks { @for line in lines { li { label { (tick()) " " (shown(line)) } } } }
        },
        Block::List(lines) => html! { ul { @for line in lines { li { (shown(line)) } } } },
        Block::Table(table) => drawn_table(table, ticks),
    }
}

fn tick() -> Markup {
    html! { input type="checkbox" autocomplete="off"; }
}

fn drawn_table(table: &Table, ticks: bool) -> Markup {
    let many = (table.columns.len() >= MANY_COLUMNS).then_some("many");
    let lead = table.columns.iter().position(|column| column.kind != ColumnKind::Number).unwrap_or(0);
    html! {
        div.wide tabindex="0" role="group" aria-label="table" {
            table class=[many] {
                thead {
                    tr {
                        @if ticks { td {} }
                        @for column in &table.columns {
                            @if column.title.is_empty() { td {} } @else { th.number[column.kind == ColumnKind::Number] scope="col" { (column.title) } }
                        }
                    }
                }
                tbody { @for row in &table.rows {
                    tr.sum[row.first().is_some_and(|cell| cell == "TOTAL")] {
                        @if ticks { td.tick { input type="checkbox" autocomplete="off" aria-label=(shown(row.get(lead).map_or("", String::as_str))); } }
                        @for (index, (column, cell)) in table.columns.iter().zip(row).enumerate() {
                            td.lead[index == lead].short[is_short(column.kind, cell)].number[column.kind == ColumnKind::Number]
                                data-column=(column.title) { (cell_of(column.kind, cell)) }
                        }
                    }
                } }
            }
        }
    }
}

/// What stands in a cell, marks in bold.
fn cell_of(kind: ColumnKind, cell: &str) -> Markup {
    let (held, marks) = if kind == ColumnKind::Marked { apart(cell) } else { (cell, "") };
    html! { (shown(held)) @if !marks.is_empty() { strong.marks { (marks) } } }
}

/// A name of usual length stays on one line, so that it can be copied.
fn is_short(kind: ColumnKind, cell: &str) -> bool {
    matches!(kind, ColumnKind::Name | ColumnKind::Marked) && cell.chars().count() <= 24
}
