//! What counts no longer: a reading, or a replan, that was taken back.

use serde::Serialize;

use super::{Block, Report};
use crate::ledger::{Entry, What};
use crate::plan::Reading;
use crate::quantity::Division;

/// An entry that counts no longer.
#[derive(Debug, Serialize)]
pub struct UndoReport {
    format: &'static str,
    unit: &'static str,
    reading: Option<TakenBack>,
    /// Whether the plan in force was made with the reading that was taken back.
    replan: bool,
}

#[derive(Debug, Serialize)]
struct TakenBack {
    cylinder: String,
    gross: Reading,
    at: String,
}

impl UndoReport {
    /// Of a reading that was taken back; `replan`: the plan in force was made with it.
    pub fn reading(division: Division, entry: &Entry, replan: bool) -> Self {
        let reading = match &entry.what {
            What::Reading(reading) => Some(TakenBack {
                cylinder: reading.cylinder.to_string(),
                gross: Reading::new(division, division.ceil(reading.gross)),
                at: entry.at.to_string(),
            }),
            _ => None,
        };
        Self { reading, replan, ..Self::plan(division) }
    }

    /// Of a replan that was taken back, so that the plan before it is in force again.
    pub const fn plan(division: Division) -> Self {
        Self { format: "chargesplit-undo/1", unit: division.unit().number_name(), reading: None, replan: false }
    }
}

impl Report for UndoReport {
    fn blocks(&self) -> Vec<Block> {
        let said = match &self.reading {
            Some(one) => format!("Taken back: {} at {} ({}).", one.cylinder, one.gross, one.at),
            None => "Taken back: the last replan. The plan before it is in force again.".into(),
        };
        let mut blocks = vec![Block::Note(said)];
        if self.replan {
            blocks.push(Block::Note("The plan in force was made with it: `replan`.".into()));
        }
        blocks
    }
}
