//! How far it is: each lot and each cylinder by the log.

use super::credit::{hose_change, open_pours};
use super::inside::Inside;
use super::{Day, Filling, HoseChange, Rate, Step};
use crate::cylinder::{Id, Level, Tag};
use crate::job::{Charge, Job, System};
use crate::plan::Pour;
use crate::quantity::{Decimal, Marks, Weight};

/// A system so far.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SystemStatus {
    /// The system.
    pub system: String,
    /// What it is believed to have held.
    pub charge: Marks,
    /// What has come out.
    pub recovered: Marks,
    /// What is believed to be left.
    pub left: Marks,
    /// It was found empty.
    pub dry: bool,
    /// It had pressure at its last stop: how much is left isn't known.
    pub more: bool,
}

/// A lot so far.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotStatus {
    /// The lot.
    pub lot: String,
    /// What its systems are believed to have held.
    pub charge: Marks,
    /// What has come out.
    pub recovered: Marks,
    /// What is believed to be left.
    pub left: Marks,
    /// What has come out, in tenths of a per cent of nameplate and field-added charge (of an estimate, its high end),
    /// rounded down.
    pub per_mille: Option<i64>,
    /// All that nameplates and records say has come out, and what is left is allowance.
    pub nameplate_reached: bool,
    /// How fast, since the first reading.
    pub rate: Option<Rate>,
    /// Its systems.
    pub systems: Vec<SystemStatus>,
}

/// A cylinder so far: one of the plan in force, or one with something in it from this job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CylinderStatus {
    /// The cylinder.
    pub cylinder: Id,
    /// The lot in it, or that goes into it.
    pub lot: String,
    /// The gross weight before the first reading.
    pub start: Marks,
    /// The gross weight by the last reading.
    pub now: Marks,
    /// What has gone into it.
    pub gained: Marks,
    /// The reading from which on to fill slowly, by the rate so far; `None` where nothing more is to go in.
    pub ease_off: Option<Marks>,
    /// The plan's stop weight; `None` where nothing more is to go in.
    pub stop: Option<Marks>,
    /// The reading never to pass.
    pub limit: Option<Marks>,
    /// How bad it is with it: over a rule, mixed, or over our fill.
    pub level: Option<Level>,
    /// More than one lot has gone into it.
    pub mixed: bool,
    /// Taken out of the plan.
    pub without: bool,
    /// Somebody else has begun it.
    pub lost: bool,
    /// What is in it, or will be, in a word.
    pub holds: String,
    /// The marks of that.
    pub tags: Vec<Tag>,
    /// What is still to be poured into it, in working order.
    pub pours: Vec<Pour>,
    /// Its next hose change.
    pub hose: Option<HoseChange>,
}

impl CylinderStatus {
    /// Over a rule, or mixed.
    pub fn is_danger(&self) -> bool {
        self.level == Some(Level::Danger)
    }

    /// Over our fill, and under every rule.
    pub fn is_over_fill(&self) -> bool {
        self.level == Some(Level::OverFill)
    }
}

/// The whole job so far.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Status {
    /// Its lots.
    pub lots: Vec<LotStatus>,
    /// Its cylinders, in the order of the plan, then those that the plan doesn't fill any further.
    pub cylinders: Vec<CylinderStatus>,
    /// How many readings count.
    pub readings: usize,
}

/// The status of a day.
pub fn status(day: &Day) -> Status {
    Status {
        lots: (0..day.work.lots().len()).map(|lot| of_lot(day, lot)).collect(),
        cylinders: cylinders(day),
        readings: day.readings(),
    }
}

fn of_lot(day: &Day, lot: usize) -> LotStatus {
    let is_among = |system: usize, of: fn(&super::Planned) -> &Vec<String>| {
        day.planned().is_some_and(|planned| of(planned).contains(&day.systems[system].name))
    };
    let system = |system: usize| SystemStatus {
        dry: is_among(system, |planned| &planned.dry),
        more: is_among(system, |planned| &planned.more),
        system: day.systems[system].name.clone(),
        charge: day.systems[system].believed,
        recovered: day.recovered(system),
        left: day.left(system),
    };
    let systems: Vec<SystemStatus> = day.of_lot(lot).map(system).collect();
    let recovered = day.recovered_of_lot(lot);
    let left = day.left_of_lot(lot);
    LotStatus {
        nameplate_reached: nameplate_reached(day, lot),
        lot: day.lot(lot).name.clone(),
        charge: systems.iter().map(|system| system.charge).sum(),
        recovered,
        left,
        per_mille: per_mille(day.division().weight(recovered), nameplate(day, lot)),
        rate: Rate::of(day, lot),
        systems,
    }
}

/// Nameplate and field-added charge of a lot's systems.
fn nameplate(day: &Day, lot: usize) -> Weight {
    of_lot_by_records(day, lot).map(|system| system.charge_by_records()).sum()
}

/// Whether all that nameplates and records say of a lot has come out, so that what is left is allowance; an estimate has no
/// nameplate.
pub(super) fn nameplate_reached(day: &Day, lot: usize) -> bool {
    let recorded = |system: &System| matches!(system.charge, Charge::Recorded { .. });
    let recovered = day.division().weight(day.recovered_of_lot(lot));
    day.left_of_lot(lot) > 0 && of_lot_by_records(day, lot).all(recorded) && recovered >= nameplate(day, lot)
}

fn of_lot_by_records<'d>(day: &'d Day<'d>, lot: usize) -> impl Iterator<Item = &'d System> {
    let of = move |(job, system): &(&Job, &System)| {
        day.system(&day.work.part_name(job, system)).is_some_and(|position| day.systems[position].lot == lot)
    };
    let systems = day.work.jobs().iter().flat_map(|job| job.systems.iter().map(move |system| (job, system)));
    systems.filter(of).map(|(_, system)| system)
}

fn per_mille(recovered: Weight, nameplate: Weight) -> Option<i64> {
    let share = recovered.ratio_to(nameplate)? * Decimal::ONE_THOUSAND;
    i64::try_from(share.floor()).ok()
}

fn cylinders(day: &Day) -> Vec<CylinderStatus> {
    let planned = day.planned().map(|planned| planned.steps.as_slice()).unwrap_or_default();
    let mut found: Vec<CylinderStatus> = Vec::new();
    for step in planned {
        let Some(index) = day.position(&step.cylinder) else { continue };
        let lot = (0..day.work.lots().len()).find(|lot| day.lot(*lot).name == step.lot);
        found.extend(lot.map(|lot| of_cylinder(day, &day.fillings[index], lot, Some(step))));
    }
    for filling in &day.fillings {
        let done = filling.last_system().filter(|_| !found.iter().any(|known| known.cylinder == filling.start.id));
        if let Some(system) = done {
            found.push(of_cylinder(day, filling, day.systems[system].lot, None));
        }
    }
    found
}

fn of_cylinder(day: &Day, filling: &Filling, planned_lot: usize, step: Option<&Step>) -> CylinderStatus {
    let lots = day.lots_in(filling);
    let lot = lots.first().copied().unwrap_or(planned_lot);
    let ours = (!filling.lost).then_some(planned_lot);
    let Inside { contents, tags } = Inside::of(day, filling, ours);
    let room = day.room(filling, lot);
    // With something else inside, the plan's stop isn't for it.
    let stop = step.filter(|_| lot == planned_lot && !day.is_mixed(filling)).map(|step| day.stop(step, room));
    CylinderStatus {
        holds: contents.name(),
        tags,
        cylinder: filling.start.id.clone(),
        lot: day.lot(lot).name.clone(),
        start: filling.base,
        now: filling.now,
        gained: filling.gained(),
        ease_off: stop.filter(|stop| *stop > filling.now).map(|stop| day.ease_off(lot, filling.now, stop)),
        stop,
        limit: room.map(|room| room.limit),
        level: day.level(filling),
        mixed: day.is_mixed(filling),
        without: filling.without,
        lost: filling.lost,
        pours: stop.map_or_else(Vec::new, |stop| open_pours(day, filling, stop)),
        hose: stop.filter(|stop| *stop > filling.now).and_then(|_| hose_change(day, filling)),
    }
}
