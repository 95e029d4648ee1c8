//! What to do where the charge doesn't fit, as it is read: first what costs nothing, then one list of what to add.

use crate::plan::{Reading, Remedy};
use crate::report::{Block, and};

/// What costs nothing, then what to add.
pub(in crate::report) fn blocks(remedy: &Remedy<Reading>) -> Vec<Block> {
    let mut blocks: Vec<Block> = evacuating(remedy).map(Block::Note).into_iter().collect();
    if remedy.missing.is_empty() {
        return blocks;
    }
    if remedy.add.is_empty() {
        let text = "No number of cylinders to add was found: the stock doesn't help, it would take more than 200, or the time ran out.";
        blocks.push(Block::Note(text.into()));
        return blocks;
    }
    let cheapest = remedy.add.iter().all(|kind| kind.cheapest);
    let cheapest = if cheapest { ", and of as few the cheapest to hire (proved)" } else { "" };
    blocks.push(Block::Heading(format!("The fewest cylinders to add, with which all of it fits{cheapest}:")));
    blocks.push(Block::List(remedy.add.iter().map(|kind| format!("{} x {}", kind.count, kind.kind)).collect()));
    blocks
}

fn evacuating(remedy: &Remedy<Reading>) -> Option<String> {
    let ids: Vec<String> = remedy.evacuate.iter().map(ToString::to_string).collect();
    let them = if remedy.evacuate.len() == 1 { "it" } else { "them" };
    let then = if remedy.missing.is_empty() {
        "then it fits".to_owned()
    } else {
        let left = remedy.missing.iter().map(|one| format!("{} of {}", one.missing, one.lot));
        format!("then {} would be left", and(&left.collect::<Vec<_>>()))
    };
    (!remedy.evacuate.is_empty()).then(|| {
        format!(
            "First, at no cost: evacuate {} (nitrogen): {then}. Weigh {them} and say `holds: evacuated`.",
            and(&ids)
        )
    })
}
