//! What is left, as work for the planner: each lot by itself with the cylinders that are its own already, and all lots
//! together with those that nothing has gone into.
//!
//! A cylinder that has been begun takes nothing but its own lot. Neither work can mix: the first has one lot, the second no
//! begun cylinder.

use super::credit::open_pours;
use super::{Day, Filling, Step};
use crate::cylinder::{Condition, Contents, Cylinder, Facts, Fate, Id, Limit, Room, limit, reasons};
use crate::job::{Allowance, Charge, Job, JobFacts, Lot, System, SystemFacts, Work};
use crate::plan::{Pour, Share};
use crate::planner::{Problem, in_divisions};
use crate::quantity::{Decimal, Division, Marks, Percent, Weight};
use crate::refrigerant::Fluid;

/// What is left of each system, by its position.
pub(super) type Left = Vec<Marks>;

/// A finished cylinder isn't connected again for less than this weight, in pounds, or this share of its net limit, whichever
/// is less. A judgement, no source.
const LEAST_POUNDS: Decimal = Decimal::TWO;
const LEAST_PERCENT: Decimal = Decimal::TWO;

/// A cylinder that a lot has already: begun, or of the plan in force.
#[derive(Debug, Clone)]
pub(super) struct Own {
    /// As the planner gets it: what has been begun is a heel.
    pub cylinder: Cylinder,
    /// What it weighs.
    pub now: Marks,
    /// As far as it may be filled, less what is pinned.
    pub top: Marks,
    /// What goes in beside.
    pub pinned: Marks,
    /// The stop of the plan in force, never over `top`; `now` where nothing more is to go in.
    pub stop: Marks,
    /// What it isn't connected again for, where it is finished.
    pub least: Marks,
    /// Something of the lot has gone in.
    pub begun: bool,
    /// Its place among those that nothing has gone into.
    pub slot: Option<usize>,
    /// What of the plan in force is still to be poured in, in working order.
    pub pours: Vec<Share>,
    /// The system whose hose is on it, by its name: that of its last reading, where it isn't at its stop.
    pub connected: Option<String>,
}

impl Own {
    /// From what it weighs to its stop.
    pub fn to_go(&self) -> Marks {
        self.stop - self.now
    }

    /// Begun, and at the stop of the plan in force.
    pub fn is_finished(&self) -> bool {
        self.begun && self.to_go() == 0
    }
}

/// A lot of which something is left.
#[derive(Debug, Clone)]
pub(super) struct OfLot {
    /// Its position in the day's work.
    pub lot: usize,
    /// Its position in the problem.
    pub row: usize,
    /// What is left.
    pub left: Marks,
    /// The cylinders that it has: those of the plan in force in its order, then what else has been begun.
    pub own: Vec<Own>,
}

/// A cylinder that takes so much more from a system, whatever else is planned.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pin {
    /// The system, by its position.
    pub system: usize,
    /// The cylinder, by its position in [`Day::fillings`].
    pub filling: usize,
    /// How much.
    pub add: Marks,
}

/// What is left, with the cylinders for it.
pub(super) struct Rest<'d, 'w> {
    pub day: &'d Day<'w>,
    /// What is left beside the pins.
    pub left: Left,
    pub pins: &'d [Pin],
    pub lots: Vec<OfLot>,
    /// All that is left, with the cylinders that nothing has gone into.
    pub together: Work,
    /// The same in whole divisions; pinned cylinders take nothing else.
    pub problem: Problem,
}

impl<'d, 'w> Rest<'d, 'w> {
    /// So much left of the systems of a day, what is pinned among it; `None` where nothing is.
    pub fn of(day: &'d Day<'w>, mut left: Left, pins: &'d [Pin]) -> Option<Self> {
        let together = together(day, &left, &[])?;
        let mut problem = in_divisions(&together);
        for pin in pins {
            left[pin.system] -= pin.add;
            let id = &day.fillings[pin.filling].start.id;
            let slots = together.yard().iter().zip(&mut problem.cylinders);
            slots.filter(|(cylinder, _)| cylinder.id == *id).for_each(|(_, slot)| slot.tops.clear());
        }
        let mut rest = Self { day, left, pins, lots: Vec::new(), together, problem };
        for (row, line) in rest.together.lots().iter().enumerate() {
            let system = line.parts.first().and_then(|part| day.system(&part.system))?;
            let lot = day.systems[system].lot;
            let left = day.of_lot(lot).map(|system| rest.left[system]).sum();
            let own = rest.own(lot, row)?;
            rest.lots.push(OfLot { lot, row, left, own });
        }
        Some(rest)
    }

    /// Everything that is left.
    pub fn with_pins(&self) -> Left {
        let mut left = self.left.clone();
        self.pins.iter().for_each(|pin| left[pin.system] += pin.add);
        left
    }

    /// The work of so much of what is left, in cylinders that nothing has gone into; `None` where that is nothing.
    pub fn with_left(&self, left: &Left) -> Option<Work> {
        let pinned: Vec<&Id> = self.pins.iter().map(|pin| &self.day.fillings[pin.filling].start.id).collect();
        together(self.day, left, &pinned)
    }

    /// The cylinders that are pinned to a lot and aren't its own yet.
    pub fn pinned(&self, lot: &OfLot) -> Vec<(Cylinder, Marks)> {
        let of_lot = self.pins.iter().filter(|pin| self.day.systems[pin.system].lot == lot.lot);
        let fresh = of_lot.filter_map(|pin| {
            let id = &self.day.fillings[pin.filling].start.id;
            Some((self.together.yard().iter().find(|cylinder| cylinder.id == *id)?.clone(), pin.add))
        });
        fresh.filter(|(cylinder, _)| lot.own.iter().all(|own| own.cylinder.id != cylinder.id)).collect()
    }

    /// The work of one lot by itself, with so much from its systems, in these cylinders.
    pub fn alone(&self, lot: usize, takes: &Left, yard: Vec<Cylinder>) -> Option<Work> {
        alone(self.day, lot, takes, yard)
    }

    /// The cylinders that a lot has already.
    fn own(&self, lot: usize, row: usize) -> Option<Vec<Own>> {
        let bare = self.alone(lot, &self.with_pins(), Vec::new())?;
        let intake = &bare.lots().first()?.intake;
        let steps = self.day.planned().map(|planned| planned.steps.as_slice()).unwrap_or_default();
        let of_lot = |step: &&Step| step.lot == self.day.lot(lot).name;
        let planned: Vec<usize> =
            steps.iter().filter(of_lot).filter_map(|step| self.day.position(&step.cylinder)).collect();
        let others = (0..self.day.fillings.len()).filter(|at| self.day.fillings[*at].begun() && !planned.contains(at));
        let mut all = Vec::new();
        for at in planned.iter().copied().chain(others) {
            let filling = &self.day.fillings[at];
            let step = self.day.step(&filling.start.id).filter(of_lot);
            let own = if filling.begun() {
                let cylinder = begun(self.day, filling, lot, intake);
                cylinder.and_then(|cylinder| own(cylinder, intake, None))
            } else {
                let slot = self.together.yard().iter().position(|cylinder| cylinder.id == filling.start.id);
                let fit = slot.filter(|slot| self.problem.cylinders[*slot].tops.get(row).copied().flatten().is_some());
                fit.and_then(|slot| own(self.together.yard()[slot].clone(), intake, Some(slot)))
            };
            let Some(mut own) = own else { continue };
            // What is pinned is no room for anything else.
            let pinned = self.pins.iter().filter(|pin| pin.filling == at).map(|pin| pin.add);
            own.pinned = pinned.sum();
            own.top -= own.pinned;
            own.stop = step.map_or(own.now, |step| step.stop.clamp(own.now, own.top.max(own.now)));
            own.pours = open_pours(self.day, filling, own.stop).iter().map(Pour::share).collect();
            let last = filling.last_system().filter(|_| own.to_go() > 0);
            own.connected = last.map(|system| self.day.systems[system].name.clone());
            if own.begun || own.to_go() > 0 {
                all.push(own);
            }
        }
        Some(all)
    }
}

/// A cylinder with its room.
fn own(cylinder: Cylinder, intake: &crate::cylinder::Intake, slot: Option<usize>) -> Option<Own> {
    let limit: Limit = limit(&cylinder, &intake.with(&cylinder), &intake.terms).ok()?;
    let room: Room = limit.room(&cylinder, &intake.terms);
    let least = least(intake.terms.scale.division, limit.ceiling.net);
    let (top, begun) = (room.top.max(room.base), slot.is_none());
    Some(Own {
        cylinder,
        now: room.base,
        top,
        pinned: 0,
        stop: room.base,
        least,
        begun,
        slot,
        pours: Vec::new(),
        connected: None,
    })
}

/// What a finished cylinder isn't connected again for, where it may hold so much.
pub(super) fn least(division: Division, net: Weight) -> Marks {
    division.ceil(Weight::pounds(LEAST_POUNDS).min(Percent::new(LEAST_PERCENT).of(net)))
}

/// A cylinder with something of this lot, and of no other, as the planner may fill it further.
fn begun(day: &Day, filling: &Filling, lot: usize, intake: &crate::cylinder::Intake) -> Option<Cylinder> {
    let line = day.lot(lot);
    let pure = day.lots_in(filling) == [lot] && reasons(&filling.start, &line.intake).is_empty();
    let cylinder = as_begun(day, filling, line).filter(|_| pure && !filling.without && !filling.lost)?;
    Some(owned(cylinder, intake)).filter(|cylinder| reasons(cylinder, intake).is_empty())
}

fn alone(day: &Day, lot: usize, takes: &Left, yard: Vec<Cylinder>) -> Option<Work> {
    let of_lot = |system: usize| if day.systems[system].lot == lot { takes[system] } else { 0 };
    let takes: Left = (0..day.systems.len()).map(of_lot).collect();
    Work::part_of(day.work, jobs(day, &takes, true)?, yard).ok()
}

/// The work of everything that is left, in cylinders that nothing has gone into. `None` where nothing is left.
fn together(day: &Day, left: &Left, but: &[&Id]) -> Option<Work> {
    let bare = Work::part_of(day.work, jobs(day, left, false)?, Vec::new()).ok()?;
    let there = day.fillings.iter().filter(|filling| !but.contains(&&filling.start.id));
    let unbegun = there.filter(|filling| !filling.begun() && !filling.without && !filling.lost);
    let weighed = unbegun.filter_map(|filling| match filling.last {
        None => Some(filling.start.clone()),
        Some(_) => with(&filling.start, |facts| facts.gross = day.division().weight(filling.now)),
    });
    let same = |cylinder: &Cylinder| fit_as_before(day, &bare, cylinder);
    let yard = weighed.filter(same).collect();
    Some(bare.with_yard(yard))
}

/// The jobs with so much left of their systems; `None` where nothing is. With `alone` a lot stands by itself, and its
/// owner is the job's: an unnamed one is told from every other by the job's name.
fn jobs(day: &Day, left: &Left, alone: bool) -> Option<Vec<Job>> {
    let mut jobs = Vec::new();
    for (index, job) in day.work.jobs().iter().enumerate() {
        let ours = (0..day.systems.len()).filter(|system| day.systems[*system].job == index);
        let systems: Vec<System> = ours.filter_map(|system| part(day, system, left[system])).collect();
        if !systems.is_empty() {
            let owner = if alone { job.owner.clone().or_else(|| Some(job.name.clone())) } else { job.owner.clone() };
            jobs.push(Job::new(JobFacts { owner, systems, ..JobFacts::clone(job) }).ok()?);
        }
    }
    (!jobs.is_empty()).then_some(jobs)
}

/// Whether a cylinder may take no lot now that it couldn't take in the whole job. With some systems done, a heel kept
/// for the job could seem to be of the only lot that is left.
fn fit_as_before(day: &Day, rest: &Work, cylinder: &Cylinder) -> bool {
    rest.lots().iter().all(|lot| {
        let system = lot.parts.first().and_then(|part| day.system(&part.system));
        let Some(before) = system.map(|system| day.lot(day.systems[system].lot)) else { return false };
        reasons(cylinder, &before.intake).is_empty() || !reasons(cylinder, &lot.intake).is_empty()
    })
}

/// A system with what is left of it. Its fill stays the lot's, also where the system that asked for it is done.
fn part(day: &Day, system: usize, left: Marks) -> Option<System> {
    let line = &day.systems[system];
    let (lot, facts) = (day.lot(line.lot), facts_of(day, system)?);
    System::new(SystemFacts {
        charge: Charge::Recorded { nameplate: day.division().weight(left), added: Weight::ZERO },
        allowance: Allowance::Weight(Weight::ZERO),
        fill: Some(lot.intake.terms.fill),
        ..facts
    })
    .ok()
}

fn facts_of(day: &Day, system: usize) -> Option<SystemFacts> {
    let job = day.work.jobs().get(day.systems[system].job)?;
    let name = day.plain_name(system);
    job.systems.iter().find(|system| system.name == name).map(|system| SystemFacts::clone(system))
}

/// A begun cylinder as a heel of its lot, with the tare that has counted from the start.
fn as_begun(day: &Day, filling: &Filling, lot: &Lot) -> Option<Cylinder> {
    let start = &filling.start;
    let tare = filling.tare(day.division());
    with(start, |facts| {
        facts.gross = day.division().weight(filling.now);
        // Its label's net weight stays what it was, too.
        facts.max_gross = start.label_net().map(|net| tare + net);
        facts.tare = tare;
        facts.contents = match lot.intake.with(start) {
            Fluid::One(refrigerant) => Contents::Holds(refrigerant),
            Fluid::Mixed(parts) => Contents::Mixed(parts),
        };
        facts.condition = match lot.intake.condition {
            Condition::Mixed => Condition::Clean,
            condition => condition,
        };
        facts.measured = None;
    })
}

/// The cylinder as its lot's own: nobody else's and kept for no other.
fn owned(cylinder: Cylinder, intake: &crate::cylinder::Intake) -> Cylinder {
    let own = with(&cylinder, |facts| {
        facts.owner = match intake.fate {
            Fate::Reclaim => facts.owner.take(),
            Fate::Reuse | Fate::Destroy => intake.owner.clone(),
        };
        facts.kept_for = match intake.fate {
            Fate::Reuse => intake.kept_for.clone(),
            Fate::Reclaim | Fate::Destroy => None,
        };
    });
    own.unwrap_or(cylinder)
}

pub(super) fn with(cylinder: &Cylinder, change: impl FnOnce(&mut Facts)) -> Option<Cylinder> {
    let mut facts = Facts::clone(cylinder);
    change(&mut facts);
    Cylinder::new(facts).ok()
}
