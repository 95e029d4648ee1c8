//! What a correcting line of the log took back.

use serde::Serialize;

use super::{Block, Report};
use crate::plan::Reading;
use crate::quantity::Division;
use crate::recovery::{Action, LogEntry};

/// An entry that counts no longer.
#[derive(Debug, Serialize)]
pub struct UndoReport {
    format: &'static str,
    unit: &'static str,
    /// The entry that was taken back.
    entry: usize,
    reading: Option<TakenBack>,
    /// The entry whose plan is in force now.
    plan_in_force: usize,
    /// Whether that plan was made with the reading that was taken back.
    replan: bool,
}

#[derive(Debug, Serialize)]
struct TakenBack {
    cylinder: String,
    gross: Reading,
    at: String,
}

impl UndoReport {
    /// Of a reading that was taken back, where the plan of entry `plan` is in force.
    pub fn reading(division: Division, entry: &LogEntry, plan: usize) -> Self {
        let reading = match &entry.action {
            Action::Reading(reading) => Some(TakenBack {
                cylinder: reading.cylinder.to_string(),
                gross: Reading::new(division, reading.gross),
                at: entry.at.to_string(),
            }),
            Action::Plan(_) | Action::Undo { .. } => None,
        };
        Self { reading, replan: entry.number < plan, ..Self::plan(division, entry.number, plan) }
    }

    /// Of the plan of an entry that was taken back, so that the one of entry `plan` is in force again.
    pub fn plan(division: Division, entry: usize, plan: usize) -> Self {
        Self {
            format: "chargesplit-undo/1",
            unit: division.unit().number_name(),
            entry,
            reading: None,
            plan_in_force: plan,
            replan: false,
        }
    }
}

impl Report for UndoReport {
    fn blocks(&self) -> Vec<Block> {
        let (entry, plan) = (self.entry, self.plan_in_force);
        let said = match &self.reading {
            Some(one) => format!("Taken back: entry {entry}, {} at {} ({}).", one.cylinder, one.gross, one.at),
            None => format!("Taken back: the plan of entry {entry}. In force again: that of entry {plan}."),
        };
        let mut blocks = vec![Block::Note(said)];
        if self.replan {
            blocks.push(Block::Note("The plan in force was made with it: `replan`.".into()));
        }
        blocks
    }
}
