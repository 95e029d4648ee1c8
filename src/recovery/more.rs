//! Where more of a lot can go than a plan puts there: into what a system turns out to hold beside it, and out of a cylinder
//! that has failed.

use super::rest::{least, with};
use super::{Day, Planned};
use crate::cylinder::{Id, limit, reasons};
use crate::planner::room;
use crate::quantity::Marks;

/// A cylinder that takes more of a lot beside a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FreeRoom {
    /// The cylinder.
    pub cylinder: Id,
    /// How much it takes beyond the plan.
    pub takes: Marks,
    /// Something of the lot is in it already.
    pub begun: bool,
}

/// A system that still has pressure at its last stop: nobody knows how much is left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct More {
    /// The system.
    pub system: String,
    /// Its lot.
    pub lot: String,
    /// What is next: the roomiest cylinder that is fit and that the plan needs for nothing else.
    pub next: Option<FreeRoom>,
    /// What takes more of the lot, the next among it, the roomiest first.
    pub places: Vec<FreeRoom>,
    /// What to bring where nothing takes more: the kind, and what it would take.
    pub bring: Option<(String, Marks)>,
}

/// A cylinder that was taken out with something in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failed {
    /// The cylinder.
    pub cylinder: Id,
    /// What is in it, in words.
    pub holds: String,
    /// How much.
    pub net: Marks,
    /// It came out of these systems: it stays counted as recovered.
    pub ours: bool,
    /// Where it may go.
    pub into: Option<FreeRoom>,
}

/// Further cylinders and begun ones that take more of a lot than this plan puts into them, the roomiest first; what is meant for
/// flammables comes behind where the lot doesn't burn.
pub(super) fn places(day: &Day, lot: usize, planned: &Planned) -> Vec<FreeRoom> {
    let line = day.lot(lot);
    let mut found: Vec<(bool, FreeRoom)> = Vec::new();
    for filling in day.fillings.iter().filter(|filling| !filling.without && !filling.lost) {
        let id = &filling.start.id;
        let stop = planned.steps.iter().find(|step| step.cylinder == *id).map(|step| step.stop);
        let takes = if filling.begun() {
            let pure = day.lots_in(filling) == [lot] && !day.is_mixed(filling);
            let fit = pure && reasons(&filling.start, &line.intake).is_empty();
            let limit = limit(&filling.start, &line.intake.with(&filling.start), &line.intake.terms).ok();
            let room = day.room(filling, lot).filter(|_| fit);
            let above = room.map(|room| room.top - stop.unwrap_or(filling.now).max(filling.now));
            let worth = limit.map(|limit| least(day.division(), limit.ceiling.net));
            above.zip(worth).filter(|(above, worth)| above >= worth).map(|(above, _)| above)
        } else {
            let weighed = with(&filling.start, |facts| facts.gross = day.division().weight(filling.now));
            let room = weighed.and_then(|cylinder| room(&cylinder, line).ok());
            room.filter(|_| stop.is_none()).map(|room| room.size())
        };
        let kept = filling.start.flammable && !line.intake.fluid.is_flammable();
        let takes = takes.filter(|takes| *takes > 0);
        found.extend(takes.map(|takes| (kept, FreeRoom { cylinder: id.clone(), takes, begun: filling.begun() })));
    }
    found.sort_by_key(|(kept, place)| (*kept, std::cmp::Reverse(place.takes)));
    found.into_iter().map(|(_, place)| place).collect()
}

/// The cylinders that were taken out just now with something in them, and where that may go beside this plan.
pub(super) fn failed(day: &Day, without: &[Id], planned: &Planned) -> Vec<Failed> {
    let mut taken: Vec<Id> = Vec::new();
    let mut found = Vec::new();
    for filling in without.iter().filter_map(|id| day.position(id)).map(|at| &day.fillings[at]) {
        let division = day.division();
        let net = division.ceil(division.weight(filling.now) - filling.tare(division));
        let contents = super::inside::Inside::of(day, filling, None).contents;
        let held = contents.fluid().is_some() && net > 0;
        if !held {
            continue;
        }
        let lots = day.lots_in(filling);
        let places = match lots.as_slice() {
            [lot] if !day.is_mixed(filling) => places(day, *lot, planned),
            _ => Vec::new(),
        };
        let free = || places.iter().filter(|place| !taken.contains(&place.cylinder));
        // One that is begun before one that isn't; the smallest that takes all of it, else the roomiest.
        let all = free().filter(|place| place.takes >= net).min_by_key(|place| (!place.begun, place.takes));
        let into = all.or_else(|| free().next()).cloned();
        taken.extend(into.iter().map(|place| place.cylinder.clone()));
        let (cylinder, ours) = (filling.start.id.clone(), !lots.is_empty());
        found.push(Failed { cylinder, holds: contents.name().to_owned(), net, ours, into });
    }
    found
}
