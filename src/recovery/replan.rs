//! The plan for what is left, from the log, and what changed against the plan in force.

use thiserror::Error;

use super::changes::{Changes, StopChange, changed, told};
use super::keep::GoOn;
use super::more::{Failed, FreeRoom, More, failed, places};
use super::parts::Parts;
use super::rest::{Left, Pin, Rest};
use super::spare::thin;
use super::{Day, Planned, Step, SystemCharge, SystemRef};
use crate::audit::{Audited, Fault};
use crate::cylinder::Id;
use crate::job::{Carried, Work, lifts};
use crate::plan::{self, Load, Plan, Reason, Remedy, Short, Status};
use crate::planner::{NOT_FOLLOWED, NoPlan, Progress, THIN_SPARE, one_more};

/// A plan for what is left.
#[derive(Debug, Clone)]
pub struct Replanned {
    /// What goes into the log.
    pub planned: Planned,
    /// Whether no plan needs fewer further cylinders; of what is short, whether no plan leaves less.
    pub proved: bool,
    /// The parts of the plan, each audited: one for each lot.
    pub parts: Vec<Audited>,
    /// The plan that its number of further cylinders was held against, which also says why others are left out; `None` where
    /// begun ones take everything.
    pub fresh: Option<Audited>,
    /// What doesn't fit, with what would take it.
    pub short: Vec<Short>,
    /// What to do about that.
    pub remedy: Option<Remedy>,
    /// What to know.
    pub warnings: Vec<Reason>,
    /// What it was told, a sentence each.
    pub told: Vec<String>,
    /// What changes against the plan in force; every other stop stays as it is.
    pub changes: Vec<(Id, StopChange)>,
    /// What is next where a system still has pressure.
    pub more: Vec<More>,
    /// Cylinders that were taken out with something in them.
    pub failed: Vec<Failed>,
    /// Whether the time was over before any plan was found.
    pub undecided: bool,
}

/// Why there is no plan for what is left.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoReplan {
    /// The planner says so.
    #[error(transparent)]
    NoPlan(#[from] NoPlan),
    /// A plan was made that the audit doesn't pass: a fault of ours.
    #[error("the plan failed the audit")]
    Faults(Vec<Fault>),
}

impl From<Vec<Fault>> for NoReplan {
    fn from(faults: Vec<Fault>) -> Self {
        Self::Faults(faults)
    }
}

/// The first plan to bind: one that was made and audited.
pub fn first_plan(work: &Work, plan: &Audited) -> Planned {
    let parts = work.lots().iter().flat_map(|lot| &lot.parts);
    Planned {
        systems: parts.map(|part| SystemCharge { system: part.system.clone(), charge: part.charge }).collect(),
        steps: steps(plan.plan(), str::to_owned),
        short: plan.plan().short.iter().map(|short| (short.lot.clone(), short.missing)).collect(),
        ..Planned::default()
    }
}

/// Places what is left: stops stay, and finished cylinders stay closed, unless that takes a further cylinder or passes a limit.
///
/// # Errors
/// See [`NoReplan`].
pub fn replan(day: &Day, changes: &Changes, go_on: &mut dyn FnMut(&Progress) -> bool) -> Result<Replanned, NoReplan> {
    let mut day = day.clone();
    for filling in &mut day.fillings {
        filling.without |= changes.without.contains(&filling.start.id);
    }
    for (system, left) in changes.left.iter().copied().chain(changes.dry.iter().map(|system| (*system, 0))) {
        day.systems[system].believed = day.recovered(system) + left;
    }
    let mut replanned = Replanned::of(&day, &[], changes, go_on)?;
    if !changes.more.is_empty() {
        let (more, pins) = more(&day, changes, &replanned.planned);
        for pin in &pins {
            day.systems[pin.system].believed = day.recovered(pin.system) + day.left(pin.system) + pin.add;
        }
        replanned = Replanned { more, ..Replanned::of(&day, &pins, changes, go_on)? };
    }
    Ok(replanned)
}

/// For each system that still has pressure the roomiest cylinder, each once.
fn more(day: &Day, changes: &Changes, planned: &Planned) -> (Vec<More>, Vec<Pin>) {
    let (mut all, mut pins): (Vec<More>, Vec<Pin>) = (Vec::new(), Vec::new());
    for system in changes.more.iter().copied() {
        let lot = day.systems[system].lot;
        let pinned = |place: &FreeRoom| pins.iter().any(|pin| day.fillings[pin.filling].start.id == place.cylinder);
        let places: Vec<FreeRoom> = places(day, lot, planned).into_iter().filter(|place| !pinned(place)).collect();
        let next = places.first().cloned();
        let at = next.as_ref().and_then(|next| Some((day.position(&next.cylinder)?, next.takes)));
        pins.extend(at.map(|(filling, add)| Pin { system, filling, add }));
        let bring = if next.is_none() { one_more(day.work, day.lot(lot), std::iter::empty()) } else { None };
        all.push(More {
            system: day.systems[system].name.clone(),
            lot: day.lot(lot).name.clone(),
            next,
            places,
            bring: bring.map(|more| (more.cylinder, more.adds)),
        });
    }
    (all, pins)
}

impl Replanned {
    /// Whether something has no place: of what is left, or of what may still be there.
    pub fn is_short(&self) -> bool {
        !self.short.is_empty() || self.more.iter().any(|more| more.next.is_none())
    }

    fn of(day: &Day, pins: &[Pin], changes: &Changes, go_on: &mut GoOn) -> Result<Self, NoReplan> {
        let left: Left = (0..day.systems.len()).map(|system| day.left(system)).collect();
        let rest = Rest::of(day, left, pins);
        let parts = rest.as_ref().map(|rest| Parts::of(rest, &changes.options, go_on)).transpose()?.unwrap_or_default();
        let fresh = parts.fresh.as_ref().map(Audited::plan);
        let plans = || parts.plans.iter().map(Audited::plan);
        let short = fresh.map(|fresh| short(day, fresh)).unwrap_or_default();
        let undecided = fresh.is_some_and(|fresh| fresh.status == Status::Undecided);
        let thin = match &rest {
            Some(rest) if short.is_empty() && !undecided => thin(rest, &parts.plans),
            _ => Vec::new(),
        };
        let charge = |system: &SystemRef| SystemCharge { system: system.name.clone(), charge: system.believed };
        let planned = Planned {
            systems: day.systems.iter().map(charge).collect(),
            steps: plans().flat_map(|plan| steps(plan, |lot| name_of(day, plan, lot))).collect(),
            short: short.iter().map(|short| (short.lot.clone(), short.missing)).collect(),
            ..found(day, changes)
        };
        // Of all parts together it is said how they are carried and what is spare.
        let of_part = ["no-allowance", "lift", "one-person", "crew", THIN_SPARE];
        let told_afresh = ["shortage-not-proved", NOT_FOLLOWED];
        let afresh = fresh.into_iter().flat_map(|fresh| &fresh.warnings);
        let afresh = afresh.filter(|warning| told_afresh.contains(&warning.code.as_str()));
        let of_parts = plans().flat_map(|plan| &plan.warnings);
        let of_parts = of_parts.filter(|warning| !of_part.contains(&warning.code.as_str()));
        let warnings = afresh.chain(of_parts).cloned().chain(carrying(day, &planned.steps)).chain(thin);
        Ok(Self {
            proved: fresh.is_none_or(proved),
            short,
            remedy: fresh.and_then(|fresh| remedy(day, fresh)),
            warnings: warnings.fold(Vec::new(), joined),
            told: told(day, changes),
            changes: changed(day, &planned, &changes.without),
            more: Vec::new(),
            failed: failed(day, &changes.without, &planned),
            undecided,
            planned,
            parts: parts.plans,
            fresh: parts.fresh,
        })
    }
}

/// What was found out of systems, now and before; how much is left of one is the last word on it.
fn found(day: &Day, changes: &Changes) -> Planned {
    let before = day.planned().cloned().unwrap_or_default();
    let spoken = || changes.left.iter().map(|(system, _)| system).chain(&changes.dry).chain(&changes.more);
    let name = |system: &usize| day.systems[*system].name.clone();
    let still = |known: Vec<String>, new: &[usize]| {
        let kept = known.into_iter().filter(|one| !spoken().any(|system| day.systems[*system].name == *one));
        kept.chain(new.iter().map(name)).collect::<Vec<String>>()
    };
    Planned { dry: still(before.dry, &changes.dry), more: still(before.more, &changes.more), ..Planned::default() }
}

/// Whether the number of cylinders, or what is left over, is proved.
fn proved(plan: &Plan) -> bool {
    match plan.status {
        Status::Proved => true,
        Status::Bounded => plan.bounds.cylinders == plan.totals.cylinders,
        Status::Short => !plan.warnings.iter().any(|warning| warning.code == "shortage-not-proved"),
        Status::Undecided => false,
    }
}

/// The warnings with one more. Where the same sentence is there of others, its names are added to theirs: what is left is
/// planned in several parts, and each has its own list.
fn joined(mut all: Vec<Reason>, warning: Reason) -> Vec<Reason> {
    let parts = |text: &str| text.split_once(": ").map(|(who, why)| (who.to_owned(), why.to_owned()));
    let Some((who, why)) = parts(&warning.text).filter(|_| warning.code == "rule-of-thumb") else {
        if !all.contains(&warning) {
            all.push(warning);
        }
        return all;
    };
    let same = |one: &&mut Reason| one.code == warning.code && parts(&one.text).is_some_and(|(_, known)| known == why);
    let Some(earlier) = all.iter_mut().find(same) else {
        all.push(warning);
        return all;
    };
    let (names, _) = parts(&earlier.text).unwrap_or_default();
    let mut names: Vec<&str> = names.split(", ").collect();
    for name in who.split(", ") {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    earlier.text = format!("{}: {why}", names.join(", "));
    all
}

/// How the cylinders of all parts together are carried; one that has been begun stands there already.
fn carrying(day: &Day, steps: &[Step]) -> Vec<Reason> {
    let carried = steps.iter().map(|step| {
        let begun = day.position(&step.cylinder).is_some_and(|index| day.fillings[index].begun());
        Carried { cylinder: step.cylinder.as_str(), up: (!begun).then_some(step.now), down: step.stop }
    });
    let carried: Vec<Carried> = carried.collect();
    let said = day.work.jobs().first().map(|job| lifts(job, day.division(), &carried)).unwrap_or_default();
    said.into_iter().map(|notice| Reason { code: notice.code.into(), text: notice.text }).collect()
}

/// What to do about what is missing.
fn remedy(day: &Day, plan: &Plan) -> Option<Remedy> {
    let mut remedy = plan.remedy.clone()?;
    remedy.missing.iter_mut().for_each(|left| left.lot = name_of(day, plan, &left.lot));
    Some(remedy)
}

fn short(day: &Day, plan: &Plan) -> Vec<Short> {
    let named = |short: &Short| Short { lot: name_of(day, plan, &short.lot), ..short.clone() };
    plan.short.iter().map(named).collect()
}

fn steps(plan: &Plan, name: impl Fn(&str) -> String) -> Vec<Step> {
    let step = |load: &Load| Step {
        cylinder: load.cylinder.clone(),
        lot: name(&load.lot),
        from: load.pours.iter().map(plan::Pour::share).collect(),
        now: load.now,
        add: load.add,
        stop: load.stop,
        limit: load.limit,
    };
    plan.loads.iter().map(step).collect()
}

/// What the whole job calls a lot of this plan: with some systems done the rest may be named otherwise.
pub(super) fn name_of(day: &Day, plan: &Plan, lot: &str) -> String {
    let line = plan.lots.iter().find(|line| line.lot == lot);
    let system = line.and_then(|line| line.systems.first()).and_then(|system| day.system(system));
    system.map_or_else(|| lot.to_owned(), |system| day.lot(day.systems[system].lot).name.clone())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_sentence_of_several_is_said_once() {
        let reason = |code: &str, text: &str| Reason { code: code.into(), text: text.into() };
        let all = [
            reason("rule-of-thumb", "R-448A: never by it"),
            reason("rule-of-thumb", "R-448A, R-404A: never by it"),
            reason("rule-of-thumb", "C-9: the stop is above it"),
            reason("estimate", "the charge of A: a guess"),
            reason("estimate", "the charge of B: a guess"),
            reason("estimate", "the charge of A: a guess"),
        ];
        let all: Vec<String> = all.into_iter().fold(Vec::new(), joined).into_iter().map(|one| one.text).collect();
        let expected = [
            "R-448A, R-404A: never by it",
            "C-9: the stop is above it",
            "the charge of A: a guess",
            "the charge of B: a guess",
        ];
        assert_eq!(all, expected);
    }
}
