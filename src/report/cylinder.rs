//! One cylinder: what it holds by now, who has it, and all that happened to it.

use serde::Serialize;

use super::{Block, Report, Table, name, words};
use crate::cylinder::{Cylinder, Id};
use crate::door::Happened;
use crate::quantity::Unit;

/// A cylinder with its history.
#[derive(Debug, Serialize)]
pub struct CylinderReport {
    format: &'static str,
    cylinder: String,
    now: Option<CylinderLine>,
    history: Vec<HistoryLine>,
}

#[derive(Debug, Serialize)]
struct CylinderLine {
    gross: String,
    holds: String,
    condition: &'static str,
    owner: Option<String>,
    kept_for: Option<String>,
    bound: Option<String>,
    doubt: Option<String>,
    out: Option<String>,
    row_changed: Option<String>,
}

#[derive(Debug, Serialize)]
struct HistoryLine {
    entry: String,
    at: String,
    by: String,
    what: String,
}

impl CylinderReport {
    /// A report of this cylinder as it is now, and of what happened to it.
    pub fn new(id: &Id, cylinder: Option<&Cylinder>, unit: Unit, history: Vec<Happened>) -> Self {
        let history = history.into_iter();
        let history =
            history.map(|one| HistoryLine { entry: one.entry, at: one.at, by: one.by, what: one.what }).collect();
        let line = |cylinder: &Cylinder| CylinderLine {
            gross: unit.text(cylinder.gross),
            holds: cylinder.contents.name(),
            condition: cylinder.condition.name(),
            owner: cylinder.owner.clone(),
            kept_for: cylinder.kept_for.clone(),
            bound: cylinder.ledger.bound.clone(),
            doubt: cylinder.ledger.doubt.clone(),
            out: cylinder.ledger.out.clone(),
            row_changed: cylinder.ledger.changed.clone(),
        };
        Self { format: "chargesplit-cylinder/1", cylinder: id.to_string(), now: cylinder.map(line), history }
    }
}

impl Report for CylinderReport {
    fn blocks(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Heading(self.cylinder.clone())];
        if let Some(now) = &self.now {
            let mut lines = vec![format!("{}, {}, {}", now.gross, now.holds, now.condition)];
            let said = [
                ("bound for", &now.bound),
                ("in doubt:", &now.doubt),
                ("out:", &now.out),
                ("its row was changed by hand:", &now.row_changed),
                ("owner", &now.owner),
                ("kept for", &now.kept_for),
            ];
            lines.extend(said.into_iter().filter_map(|(what, text)| Some(format!("{what} {}", text.as_ref()?))));
            blocks.push(Block::List(lines));
        }
        if self.history.is_empty() {
            blocks.push(Block::Note("Nothing has happened to it that the ledger knows of.".into()));
        } else {
            let columns = vec![name("when"), name("who"), words("what"), name("entry")];
            let row =
                |line: &HistoryLine| vec![line.at.clone(), line.by.clone(), line.what.clone(), line.entry.clone()];
            blocks.push(Block::Table(Table { columns, rows: self.history.iter().map(row).collect() }));
        }
        blocks
    }
}
