//! What is left, as work for the planner: first what goes on into cylinders that have been begun, then the rest.
//!
//! A cylinder that has been begun takes nothing but its own lot, and is filled before another is begun: it is carried
//! anyway, so that no plan needs fewer further cylinders. The rest goes to cylinders that nothing has gone into, with
//! all lots together. Neither part can mix: the first has one lot, the second no begun cylinder.

use super::{Day, Filling};
use crate::cylinder::{Condition, Contents, Cylinder, Facts, Fate, limit, reasons};
use crate::job::{Allowance, Charge, Job, JobFacts, Lot, System, SystemFacts, Work};
use crate::quantity::{Marks, Weight};
use crate::refrigerant::Fluid;

/// What is left of each system, by its position.
pub(super) type Left = Vec<Marks>;

/// The work of filling the begun cylinders of one lot further; takes what goes there off `left`. `None` where the lot
/// has none with room, or nothing is left of it.
pub(super) fn begun(day: &Day, lot: usize, left: &mut Left) -> Option<Work> {
    let line = day.lot(lot);
    let fillings = day.fillings.iter().filter(|filling| {
        let pure = day.lots_in(filling) == [lot] && reasons(&filling.start, &line.intake).is_empty();
        filling.begun() && !filling.without && !filling.lost && pure
    });
    let cylinders: Vec<Cylinder> = fillings.filter_map(|filling| as_begun(day, filling, line)).collect();
    let everything: Left =
        (0..day.systems.len()).map(|at| if day.systems[at].lot == lot { left[at] } else { 0 }).collect();
    let alone = Work::part_of(day.work, jobs(day, &everything, true)?, Vec::new()).ok()?;
    let intake = &alone.lots().first()?.intake;
    let cylinders: Vec<Cylinder> = cylinders.into_iter().map(|cylinder| owned(cylinder, intake)).collect();
    let fit = |cylinder: &Cylinder| reasons(cylinder, intake).is_empty();
    let cylinders: Vec<Cylinder> = cylinders.into_iter().filter(fit).collect();
    let room = |cylinder: &Cylinder| {
        let limit = limit(cylinder, &intake.with(cylinder), &intake.terms).ok()?;
        Some(limit.room(cylinder, &intake.terms).size())
    };
    let mut room: Marks = cylinders.iter().filter_map(room).sum();
    let mut takes: Left = vec![0; day.systems.len()];
    for system in day.of_lot(lot) {
        takes[system] = left[system].min(room);
        room -= takes[system];
        left[system] -= takes[system];
    }
    Work::part_of(day.work, jobs(day, &takes, true)?, cylinders).ok()
}

/// The work of everything else: cylinders that nothing has gone into. `None` where nothing is left.
pub(super) fn fresh(day: &Day, left: &Left) -> Option<Work> {
    let bare = Work::part_of(day.work, jobs(day, left, false)?, Vec::new()).ok()?;
    let unbegun = day.fillings.iter().filter(|filling| !filling.begun() && !filling.without && !filling.lost);
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
