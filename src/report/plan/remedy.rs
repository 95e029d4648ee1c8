//! What to do where the charge doesn't fit, as it is read: first what costs nothing, then one list of what to add.

use serde::Serialize;

use crate::plan;
use crate::quantity::Marks;
use crate::report::number::Reading;
use crate::report::{Block, and};

/// What to do where the charge doesn't fit: evacuate what holds nitrogen, then add cylinders to that.
#[derive(Debug, Serialize)]
pub(in crate::report) struct Remedy {
    evacuate: Vec<String>,
    missing: Vec<Leftover>,
    add: Vec<Suggestion>,
}

/// What of a lot is left over once cylinders are evacuated and nothing is added.
#[derive(Debug, Serialize)]
struct Leftover {
    lot: String,
    missing: Reading,
}

/// So many of a kind.
#[derive(Debug, Serialize)]
pub(super) struct Suggestion {
    count: usize,
    kind: String,
    cheapest: bool,
}

impl Suggestion {
    pub(super) fn new(one: &plan::Suggestion) -> Self {
        Self { count: one.count, kind: one.kind.clone(), cheapest: one.cheapest }
    }
}

impl Remedy {
    pub(in crate::report) fn new(remedy: &plan::Remedy, reading: impl Fn(Marks) -> Reading) -> Self {
        let left = remedy.missing.iter();
        Self {
            evacuate: remedy.evacuate.iter().map(ToString::to_string).collect(),
            missing: left.map(|(lot, missing)| Leftover { lot: lot.clone(), missing: reading(*missing) }).collect(),
            add: remedy.add.iter().map(Suggestion::new).collect(),
        }
    }

    /// What costs nothing, then what to add.
    pub(in crate::report) fn blocks(&self) -> Vec<Block> {
        let mut blocks: Vec<Block> = self.evacuating().map(Block::Note).into_iter().collect();
        if self.missing.is_empty() {
            return blocks;
        }
        if self.add.is_empty() {
            let text = "No number of cylinders to add was found: the stock doesn't help, it would take more than 200, or the time ran out.";
            blocks.push(Block::Note(text.into()));
            return blocks;
        }
        let cheapest = self.add.iter().all(|kind| kind.cheapest);
        let cheapest = if cheapest { ", and of as few the cheapest to hire (proved)" } else { "" };
        blocks.push(Block::Heading(format!("The fewest cylinders to add, with which all of it fits{cheapest}:")));
        blocks.push(Block::List(self.add.iter().map(|kind| format!("{} x {}", kind.count, kind.kind)).collect()));
        blocks
    }

    fn evacuating(&self) -> Option<String> {
        let them = if self.evacuate.len() == 1 { "it" } else { "them" };
        let then = if self.missing.is_empty() {
            "then it fits".to_owned()
        } else {
            let left = self.missing.iter().map(|one| format!("{} of {}", one.missing, one.lot));
            format!("then {} would be left", and(&left.collect::<Vec<_>>()))
        };
        (!self.evacuate.is_empty()).then(|| {
            format!(
                "First, at no cost: evacuate {} (nitrogen): {then}. Weigh {them} and say `holds: evacuated`.",
                and(&self.evacuate)
            )
        })
    }
}
