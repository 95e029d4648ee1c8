//! What a reading means: how far to the stop weight and the limit, and what is next.

use super::credit::{ahead, hose_change};
use super::status::nameplate_reached;
use super::{Credit, Day, HoseChange, Judged, Step};
use crate::cylinder::{Id, Level};
use crate::quantity::Marks;

/// A cylinder of the plan that still has some way to go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Next {
    /// The cylinder.
    pub cylinder: Id,
    /// From its last reading to its stop weight.
    pub to_go: Marks,
    /// The system that it goes on with, where its lot has several.
    pub from: Option<String>,
}

/// The answer to a reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The cylinder.
    pub cylinder: Id,
    /// The lot that goes in.
    pub lot: String,
    /// The system that is connected.
    pub system: String,
    /// What was gained, by system, and whether the plan's order was taken for it.
    pub parts: Vec<(String, Marks, bool)>,
    /// The next hose change at it.
    pub hose: Option<HoseChange>,
    /// What it weighs.
    pub gross: Marks,
    /// What is in it: gross less the working tare, rounded up.
    pub net: Marks,
    /// What has gone into it since the first reading.
    pub gained: Marks,
    /// The scale reading to stop at: the plan's, or where the plan doesn't fill it, what it may go up to.
    pub stop: Marks,
    /// Whether the stop weight is the plan's.
    pub planned: bool,
    /// The reading never to pass; `None` where it can't be computed.
    pub limit: Option<Marks>,
    /// The cylinders of the lot with some way to go, this one first.
    pub next: Vec<Next>,
    /// What has come from the lot's systems.
    pub recovered: Marks,
    /// What is believed to be left in them.
    pub left: Marks,
    /// All that nameplates and records say of them has come out: what is left is allowance.
    pub nameplate_reached: bool,
    /// Codes of what spoke against the reading, where it was kept all the same.
    pub forced: Vec<String>,
    /// How bad it is with the cylinder: over a rule, mixed, or over our fill.
    pub level: Option<Level>,
    /// More than one lot has gone into the cylinder.
    pub mixed: bool,
}

impl Answer {
    /// What a reading that has been kept means. `None` where it isn't of this day.
    pub fn to(day: &Day, reading: &Judged) -> Option<Self> {
        let filling = &day.fillings[day.position(&reading.cylinder)?];
        let lot = day.systems.get(reading.system())?.lot;
        let division = day.division();
        let part = |credit: &Credit| (day.systems[credit.system].name.clone(), credit.marks, credit.assumed);
        let room = day.room(filling, lot);
        let step = day.step(&reading.cylinder).filter(|step| step.lot == day.lot(lot).name);
        let stop = step.map(|step| day.stop(step, room)).or(room.map(|room| room.top)).unwrap_or(filling.base);
        Some(Self {
            cylinder: reading.cylinder.clone(),
            lot: day.lot(lot).name.clone(),
            system: day.systems[reading.system()].name.clone(),
            parts: reading.credits.iter().map(part).collect(),
            hose: hose_change(day, filling),
            gross: filling.now,
            net: division.ceil(division.weight(filling.now) - filling.tare(division)).max(0),
            gained: filling.gained(),
            stop,
            planned: step.is_some(),
            limit: room.map(|room| room.limit),
            next: next(day, lot, &reading.cylinder),
            recovered: day.recovered_of_lot(lot),
            left: day.left_of_lot(lot),
            nameplate_reached: nameplate_reached(day, lot),
            forced: reading.forced.clone(),
            level: day.level(filling),
            mixed: day.is_mixed(filling),
        })
    }

    /// Over a rule, or mixed: somebody may get hurt.
    pub fn is_danger(&self) -> bool {
        self.level == Some(Level::Danger)
    }

    /// From here to the stop weight; negative over it.
    pub fn to_stop(&self) -> Marks {
        self.stop - self.gross
    }
}

/// The cylinders of this lot in the plan in force that aren't at their stop weight; the one on the scale first.
fn next(day: &Day, lot: usize, on_scale: &Id) -> Vec<Next> {
    let Some(planned) = day.planned() else { return Vec::new() };
    let name = &day.lot(lot).name;
    let to_go = |step: &Step| {
        let filling = &day.fillings[day.position(&step.cylinder)?];
        let to_go = day.stop(step, day.room(filling, lot)) - filling.now;
        let open = ahead(day, filling, |_| true).into_iter().find(|(_, pour)| pour.to > filling.now);
        let from = open.map(|(_, pour)| pour.system).filter(|_| day.of_lot(lot).count() > 1);
        (to_go > 0 && !filling.without && !filling.lost).then(|| Next { cylinder: step.cylinder.clone(), to_go, from })
    };
    let mut steps: Vec<Next> = planned.steps.iter().filter(|step| step.lot == *name).filter_map(to_go).collect();
    steps.sort_by_key(|next| next.cylinder != *on_scale);
    steps
}
