//! What a replan changes, and what else it has to say of cylinders: what is next where there is still pressure, and what becomes
//! of what is in a cylinder that has failed.

use serde::Serialize;

use super::Block;
use crate::cylinder::Id;
use crate::plan::Reading;
use crate::quantity::{Division, Marks};
use crate::recovery::{self, FreeRoom, Replanned, StopChange};

/// What is other with a cylinder than by the plan before.
#[derive(Debug, Serialize)]
pub(super) struct ChangeLine {
    cylinder: String,
    change: &'static str,
    stop: Option<Reading>,
    before: Option<Reading>,
}

/// What is next for a system that still has pressure.
#[derive(Debug, Serialize)]
pub(super) struct MoreLine {
    system: String,
    lot: String,
    next: Option<PlaceLine>,
    /// All that these cylinders still take of the lot.
    takes: Reading,
    places: Vec<PlaceLine>,
    bring: Option<String>,
    #[serde(skip)]
    text: String,
}

#[derive(Debug, Serialize)]
struct PlaceLine {
    cylinder: String,
    takes: Reading,
}

/// A cylinder that was taken out with something in it.
#[derive(Debug, Serialize)]
pub(super) struct FailedLine {
    cylinder: String,
    holds: String,
    net: Reading,
    into: Option<PlaceLine>,
    #[serde(skip)]
    text: String,
}

/// What was told and what changes for which cylinder, a sentence each.
pub(super) fn sentences(division: Division, replanned: &Replanned) -> Vec<String> {
    let changes = replanned.changes.iter().map(|(id, change)| sentence(division, id, change));
    replanned.told.iter().cloned().chain(changes).collect()
}

fn sentence(division: Division, id: &Id, change: &StopChange) -> String {
    let text = |marks: &Marks| division.text(*marks);
    match change {
        StopChange::New { stop } => format!("{id}: new in the plan, stop at {}", text(stop)),
        StopChange::Again { stop, before } => {
            format!("{id}: connected again, stop at {}; it was done at {}", text(stop), text(before))
        }
        StopChange::Stop { stop, before } => format!("{id}: stop at {}, not at {}", text(stop), text(before)),
        StopChange::Hose => format!("{id}: other systems go in, or up to other readings; the stop stays"),
        StopChange::Closed { now } => format!("{id}: nothing more goes in, it stays at {}", text(now)),
        StopChange::Lost => format!("{id}: somebody else has begun it"),
        StopChange::Dropped => format!("{id}: not needed any more"),
    }
}

/// The changes as data.
pub(super) fn lines(division: Division, changes: &[(Id, StopChange)]) -> Vec<ChangeLine> {
    let reading = |marks: Marks| Reading::new(division, marks);
    let line = |(id, change): &(Id, StopChange)| {
        let (stop, before) = match change {
            StopChange::New { stop } => (Some(*stop), None),
            StopChange::Again { stop, before } | StopChange::Stop { stop, before } => (Some(*stop), Some(*before)),
            StopChange::Closed { now } => (None, Some(*now)),
            StopChange::Hose | StopChange::Lost | StopChange::Dropped => (None, None),
        };
        let (stop, before) = (stop.map(reading), before.map(reading));
        ChangeLine { cylinder: id.to_string(), change: change.name(), stop, before }
    };
    changes.iter().map(line).collect()
}

fn place(division: Division, place: &FreeRoom) -> PlaceLine {
    PlaceLine { cylinder: place.cylinder.to_string(), takes: Reading::new(division, place.takes) }
}

/// What is next for the systems that still have pressure.
pub(super) fn more(division: Division, all: &[recovery::More]) -> Vec<MoreLine> {
    let line = |more: &recovery::More| {
        let takes: Marks = more.places.iter().map(|place| place.takes).sum();
        let bring = more.bring.as_ref().map(|(kind, adds)| format!("a {kind}, which takes {}", division.text(*adds)));
        let text = match &more.next {
            Some(next) => {
                let each = more.places.iter().map(|place| format!("{} {}", place.cylinder, division.text(place.takes)));
                let each = each.collect::<Vec<_>>().join(", ");
                format!(
                    "{}: still pressure. Next is {}, up to {} more. This van still takes {} of {} beside the plan: {each}.",
                    more.system,
                    next.cylinder,
                    division.text(next.takes),
                    division.text(takes),
                    more.lot
                )
            }
            None => {
                let bring = bring.as_ref().map_or_else(|| "one more".to_owned(), Clone::clone);
                format!(
                    "NOT ENOUGH. {}: still pressure, and nothing on this van takes more of {} beside the plan: shut the valves and \
                     bring {bring}.",
                    more.system, more.lot
                )
            }
        };
        MoreLine {
            system: more.system.clone(),
            lot: more.lot.clone(),
            next: more.next.as_ref().map(|next| place(division, next)),
            takes: Reading::new(division, takes),
            places: more.places.iter().map(|one| place(division, one)).collect(),
            bring,
            text,
        }
    };
    all.iter().map(line).collect()
}

/// What becomes of what is in cylinders that have failed.
pub(super) fn failed(division: Division, all: &[recovery::Failed]) -> Vec<FailedLine> {
    let line = |failed: &recovery::Failed| {
        let net = division.text(failed.net);
        let counted = if failed.ours { ", counted as recovered" } else { "" };
        let into = match &failed.into {
            Some(place) => {
                let all = if place.takes < failed.net {
                    format!(" as far as it goes, {}", division.text(place.takes))
                } else {
                    String::new()
                };
                let read = if failed.ours {
                    format!("; then read both, {} with `--moved` first", failed.cylinder)
                } else {
                    String::new()
                };
                format!("Move it, with the machine and on the scale, into {}{all}{read}.", place.cylinder)
            }
            None => "Nothing here beside the plan has room for it: shut it, label it, and bring one that has.".into(),
        };
        FailedLine {
            text: format!("{} is out with {net} of {} in it{counted}. {into}", failed.cylinder, failed.holds),
            cylinder: failed.cylinder.to_string(),
            holds: failed.holds.clone(),
            net: Reading::new(division, failed.net),
            into: failed.into.as_ref().map(|one| place(division, one)),
        }
    };
    all.iter().map(line).collect()
}

/// What has to be read before the plan.
pub(super) fn first(more: &[MoreLine], failed: &[FailedLine]) -> Vec<Block> {
    let more = more.iter().map(|line| line.text.clone());
    more.chain(failed.iter().map(|line| line.text.clone())).map(Block::Note).collect()
}
