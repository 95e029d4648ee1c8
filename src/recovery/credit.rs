//! Whom the gain of a reading is credited to: the system that is connected to the cylinder.
//!
//! A pour belongs to its cylinder, so that with two machines each cylinder goes by its own. A reading across a hose change is
//! split where the plan changes the hose, and marked as assumed, as nobody read the scale there. What somebody names counts.

use super::{Day, Filling, Step};
use crate::plan::Pour;
use crate::quantity::Marks;

/// A system's part of a gain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Credit {
    /// The system, by its position in [`Day::systems`].
    pub system: usize,
    /// How much; less than nothing where a reading corrects an earlier one.
    pub marks: Marks,
    /// Nobody read the scale when the hose moved: the plan's order was taken.
    pub assumed: bool,
}

/// The hose change that is next at a cylinder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoseChange {
    /// The scale reading at which the hose is changed; what the cylinder weighs where it is due.
    pub at: Marks,
    /// The system that is connected till then.
    pub from: String,
    /// The system that is connected then.
    pub to: String,
    /// Nothing else is planned from the first: it should be empty.
    pub empty: bool,
    /// Where else the first goes on into.
    pub into: Option<crate::cylinder::Id>,
}

/// The pours of a cylinder from here on, each of a system that `may` be meant; past the last of them that goes on. A hose
/// never moves back: what comes before the system of the last reading is over.
pub(super) fn ahead(day: &Day, filling: &Filling, may: impl Fn(usize) -> bool) -> Vec<(usize, Pour)> {
    let Some(step) = day.step(&filling.start.id) else { return Vec::new() };
    let pours = step.pours().into_iter().filter_map(|pour| Some((day.system(&pour.system)?, pour)));
    let mut pours: Vec<(usize, Pour)> = pours.filter(|(system, _)| may(*system)).collect();
    let last = connected(filling, step);
    if let Some(at) = pours.iter().rposition(|(system, _)| Some(*system) == last) {
        pours.drain(..at);
    }
    pours
}

/// The system of the last reading since the plan was made.
fn connected(filling: &Filling, step: &Step) -> Option<usize> {
    filling.last_system().filter(|_| filling.now > step.now)
}

/// The parts of what came in up to this reading, by the plan; none where the plan doesn't say. A single division past a hose
/// change is nothing that has been changed.
pub(super) fn by_plan(pours: &[(usize, Pour)], now: Marks, gross: Marks) -> Vec<Credit> {
    let mut credits: Vec<Credit> = Vec::new();
    let mut from = now;
    for (index, (system, pour)) in pours.iter().enumerate() {
        let to = if index + 1 == pours.len() { gross } else { pour.to.min(gross) };
        if to > from {
            credits.push(Credit { system: *system, marks: to - from, assumed: false });
            from = to;
        }
    }
    let is_pour = |last: &Credit| pours.iter().any(|(system, pour)| *system == last.system && pour.add == 1);
    if let [.., before, last @ Credit { marks: 1, .. }] = credits.as_mut_slice()
        && !is_pour(last)
    {
        before.marks += 1;
        credits.pop();
    }
    let several = credits.len() > 1;
    credits.iter_mut().for_each(|credit| credit.assumed = several);
    credits
}

/// What is taken back by a reading that is lower: from whoever came in last.
pub(super) fn taken_back(filling: &Filling, marks: Marks) -> Vec<Credit> {
    let mut credits: Vec<Credit> = Vec::new();
    let mut rest = -marks;
    for gain in filling.gains.iter().rev() {
        if rest == 0 || credits.iter().any(|credit| credit.system == gain.system) {
            continue;
        }
        let came: Marks = filling.gains.iter().filter(|one| one.system == gain.system).map(|one| one.marks).sum();
        let back = came.clamp(0, rest);
        if back > 0 {
            credits.push(Credit { system: gain.system, marks: -back, assumed: false });
            rest -= back;
        }
    }
    if let (Some(credit), true) = (credits.first_mut(), rest > 0) {
        credit.marks -= rest;
    }
    let several = credits.len() > 1;
    credits.iter_mut().for_each(|credit| credit.assumed = several);
    credits.reverse();
    credits
}

/// What is still to be poured into a cylinder up to its stop.
pub(super) fn open_pours(day: &Day, filling: &Filling, stop: Marks) -> Vec<Pour> {
    let pours = ahead(day, filling, |_| true);
    let mut from = filling.now;
    let mut open = Vec::new();
    for (index, (_, pour)) in pours.iter().enumerate() {
        let to = if index + 1 == pours.len() { stop } else { pour.to.min(stop) };
        if to > from {
            open.push(Pour { from, to, add: to - from, ..pour.clone() });
            from = to;
        }
    }
    open
}

/// The next hose change at a cylinder that is on its way to its stop.
pub(super) fn hose_change(day: &Day, filling: &Filling) -> Option<HoseChange> {
    let step = day.step(&filling.start.id)?;
    let stop = day.stop(step, None);
    let pours = ahead(day, filling, |_| true);
    let mut open = pours.iter().filter(|(_, pour)| pour.to > filling.now);
    let (system, pour) = open.next()?;
    let begun = connected(filling, step);
    let (at, from, to) = match begun.filter(|last| last != system && pours.iter().any(|(one, _)| one == last)) {
        // It is due: the one before has given what was planned of it.
        Some(last) => (filling.now, last, *system),
        None => (pour.to, *system, open.next()?.0),
    };
    if at >= stop {
        return None;
    }
    let into = day.goes_on(from, &filling.start.id);
    let name = |system: usize| day.systems[system].name.clone();
    Some(HoseChange { at, from: name(from), to: name(to), empty: into.is_none(), into })
}

impl Day<'_> {
    /// Another cylinder that something of a system is still to go into by the plan in force.
    pub(super) fn goes_on(&self, system: usize, but: &crate::cylinder::Id) -> Option<crate::cylinder::Id> {
        let name = &self.systems[system].name;
        let steps = self.planned().into_iter().flat_map(|planned| &planned.steps);
        let mut others = steps.filter(|step| step.cylinder != *but && self.step(&step.cylinder).is_some());
        let open = |step: &&Step| {
            let now = self.position(&step.cylinder).map_or(step.now, |at| self.fillings[at].now);
            step.pours().iter().any(|pour| pour.system == *name && pour.to > now)
        };
        others.find(open).map(|step| step.cylinder.clone())
    }
}
