//! From jobs and yard to the planner's whole numbers, and back to a loading plan.

use thiserror::Error;

use super::low_end::low_ends;
use super::pours::{Chosen, Free, Poured, Sharing, ease_off, mark_the_last, poured};
use super::remedy::{self, Cures};
use super::visits::visits;
use super::whole::{Allowed, Apart, Looked, more_groups};
use super::{spare, wishes};
use crate::cylinder::{Contents, Cylinder, Finding, Room, RuleOfThumb, Tag, cautions, limit, reasons};
use crate::job::{Carried, Lot, Work, lifts, notices};
use crate::plan::{Against, LeftOut, Load, LotLine, Plan, Reason, Short, Status, Totals};
use crate::quantity::{Decimal, Density, Marks};
use crate::solver::{Demand, Fill, Objectives, Options, Outcome, Problem, Progress, Shortage, Slot, solve};

/// Why there is no plan with the cylinders that the caller insists on, where there is one without.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoPlan {
    /// It takes more cylinders than asked for.
    #[error("{at_most} cylinders aren't enough; it takes {fewest}")]
    TooFew {
        /// The number asked for.
        at_most: usize,
        /// The number that a plan takes.
        fewest: usize,
    },
    /// Cylinders that must be used and can't, or not all of them.
    #[error("no plan can use {}; `yard` and the plan without it say why", .cylinders.join(" and "))]
    CantKeep {
        /// Which.
        cylinders: Vec<String>,
    },
}

/// Plans the work: asks `go_on` again and again while it looks, and stops with the best plan so far when the answer is
/// no. Where the charge doesn't fit, the plan follows `options` as far as that leaves no more over, says what it doesn't
/// follow, and what to do about what is missing.
///
/// # Errors
/// Where it is proved that no plan keeps what `options` insist on, and there is one without.
pub fn plan(work: &Work, options: &Options, go_on: &mut dyn FnMut(&Progress) -> bool) -> Result<Plan, NoPlan> {
    planned(work, options, Cures::Evacuating, go_on)
}

/// As [`plan`], where the state of no cylinder can be changed any more: nothing is to be evacuated.
///
/// # Errors
/// As [`plan`].
pub fn plan_as_it_stands(
    work: &Work,
    options: &Options,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Plan, NoPlan> {
    planned(work, options, Cures::None, go_on)
}

/// As [`plan`], with as few pours as can be right after the fewest cylinders: each system whole, where that is possible.
///
/// # Errors
/// As [`plan`].
pub fn plan_whole(work: &Work, options: &Options, go_on: &mut dyn FnMut(&Progress) -> bool) -> Result<Plan, NoPlan> {
    let plan = plan(work, options, go_on)?;
    if !matches!(plan.status, Status::Proved | Status::Bounded) {
        return Ok(plan);
    }
    Ok(match more_groups(work, &plan, options, Allowed::FULL, go_on) {
        Looked::Found(apart) => apart_plan(work, options, *apart, plan.bounds),
        Looked::None => plan,
        Looked::Unknown => Plan { status: Status::Bounded, bounds: any_pours(work, &plan), ..plan },
    })
}

/// The plan that keeps more systems apart.
pub(super) fn apart_plan(work: &Work, options: &Options, apart: Apart, bounds: Totals) -> Plan {
    let places: Vec<Place> = work.yard().iter().map(|cylinder| Place::new(cylinder, work.lots())).collect();
    let solution = apart.solution;
    let mut plan = bare(work, &places);
    plan.status = if solution.proved.all() && apart.most { Status::Proved } else { Status::Bounded };
    plan.totals = totals(solution.totals);
    plan.bounds = Totals { cylinders: bounds.cylinders, ..totals(solution.bounds) };
    let free = free(&in_divisions(work), &solution.fills, options);
    put(work, &places, &solution.fills, (free, &apart.groups), &mut plan);
    if !apart.most {
        plan.bounds = any_pours(work, &plan);
    }
    plan.warnings.extend(spare::thin(work, &plan, &[]));
    plan.warnings.extend(low_ends(work, &plan));
    plan
}

/// The bounds of a plan with the fewest pours that as many cylinders could do with, whichever they are.
fn any_pours(work: &Work, plan: &Plan) -> Totals {
    let systems = work.lots().iter().flat_map(|lot| &lot.parts).filter(|part| part.charge > 0).count();
    Totals { pours: systems.max(plan.totals.cylinders).min(plan.totals.pours), ..plan.bounds }
}

fn planned(
    work: &Work,
    options: &Options,
    cures: Cures,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Plan, NoPlan> {
    let places: Vec<Place> = work.yard().iter().map(|cylinder| Place::new(cylinder, work.lots())).collect();
    let problem = problem(work, &places);
    let mut outcome = solve(&problem, options, go_on);
    let mut within = None;
    if let (Outcome::Short(kept), true) = (&outcome, options.insist()) {
        let free = solve(&problem, &Options { at_most: None, must_use: Vec::new(), ..options.clone() }, go_on);
        if let Outcome::Planned(solution) = &free {
            return Err(no_plan(work, options, &kept.unused, solution.totals.cylinders));
        }
        within = Some(kept.clone());
        outcome = free;
    }
    let mut plan = bare(work, &places);
    match outcome {
        Outcome::Planned(solution) => {
            plan.status = if solution.proved.all() { Status::Proved } else { Status::Bounded };
            plan.totals = totals(solution.totals);
            plan.bounds = totals(solution.bounds);
            put(work, &places, &solution.fills, (free(&problem, &solution.fills, options), &[]), &mut plan);
            plan.warnings.extend(spare::thin(work, &plan, &[]));
            plan.warnings.extend(low_ends(work, &plan));
        }
        Outcome::Short(mut shortage) => {
            plan.status = Status::Short;
            top_up(&problem, &mut shortage);
            plan.warnings.extend(wishes::heed(work, &problem, options, within.as_ref(), &mut shortage, go_on));
            put(work, &places, &shortage.fills, (free(&problem, &shortage.fills, options), &[]), &mut plan);
            if !shortage.proved {
                plan.warnings.push(unproved(work, &shortage));
            }
            plan.totals.missing = Some(shortage.missing.iter().sum());
            // That something stays is proved in any case.
            plan.bounds.missing = Some(shortage.least_missing.max(1));
            let (remedy, by_lot) = remedy::find(work, &problem, &shortage, cures, go_on);
            let missing = shortage.missing.iter().zip(by_lot);
            plan.short = (work.lots().iter().zip(missing).filter(|(_, (missing, _))| **missing > 0))
                .map(|(lot, (missing, suggest))| Short { lot: lot.name.clone(), missing: *missing, suggest })
                .collect();
            plan.remedy = Some(remedy);
        }
        Outcome::Undecided => plan.status = Status::Undecided,
    }
    Ok(plan)
}

/// The work in whole divisions, as [`plan`] solves it: for whoever wants to solve the same problem in another way.
pub fn in_divisions(work: &Work) -> Problem {
    let places: Vec<Place> = work.yard().iter().map(|cylinder| Place::new(cylinder, work.lots())).collect();
    problem(work, &places)
}

fn problem(work: &Work, places: &[Place]) -> Problem {
    Problem {
        lots: work.lots().iter().map(|lot| Demand { charge: lot.charge }).collect(),
        cylinders: places
            .iter()
            .map(|place| {
                let slot = place.slot();
                // What would have to be hired comes behind what is on hand.
                let hired = work.is_hired(&place.cylinder.id);
                Slot { reserved: slot.reserved.iter().map(|reserved| *reserved || hired).collect(), ..slot }
            })
            .collect(),
    }
}

fn no_plan(work: &Work, options: &Options, unused: &[usize], fewest: usize) -> NoPlan {
    match options.at_most {
        Some(at_most) if at_most < fewest => NoPlan::TooFew { at_most, fewest },
        Some(_) | None => {
            let wanted = if unused.is_empty() { &options.must_use } else { unused };
            let ids = wanted.iter().filter_map(|index| work.yard().get(*index)).map(|cylinder| cylinder.id.to_string());
            NoPlan::CantKeep { cylinders: ids.collect() }
        }
    }
}

/// Where the time ran out, a cylinder may be left that could take some of what is missing: it does.
fn top_up(problem: &Problem, shortage: &mut Shortage) {
    for (lot, missing) in shortage.missing.iter_mut().enumerate() {
        for (cylinder, slot) in problem.cylinders.iter().enumerate() {
            let add = slot.room(lot, i64::MAX).min(*missing);
            if add > 0 && !shortage.fills.iter().any(|fill| fill.cylinder == cylinder) {
                shortage.fills.push(Fill { cylinder, lot, add });
                *missing -= add;
            }
        }
    }
    shortage.fills.sort_by_key(|fill| (fill.lot, fill.cylinder));
}

fn unproved(work: &Work, shortage: &Shortage) -> Reason {
    let division = work.division();
    let (missing, least) = (shortage.missing.iter().sum(), shortage.least_missing);
    let text = format!(
        "{} would be left over by this plan, and it is proved only that no plan leaves less than {}",
        division.text(missing),
        division.text(least)
    );
    Reason { code: "shortage-not-proved".into(), text }
}

/// What may be done anew within the heaviest lift of these fills.
fn free(problem: &Problem, fills: &[Fill], options: &Options) -> Free {
    let stop = |fill: &Fill| problem.cylinders.get(fill.cylinder).map_or(0, |slot| slot.base + fill.add);
    Free::Within(fills.iter().map(stop).max().unwrap_or(0), options.amounts)
}

fn totals(objectives: Objectives) -> Totals {
    let Objectives { cylinders, heaviest, carried } = objectives;
    Totals { cylinders, heaviest, carried, pours: 0, missing: None }
}

/// One cylinder with what it may do for each lot.
pub(super) struct Place<'a> {
    cylinder: &'a Cylinder,
    lots: Vec<Result<Room, Vec<Finding>>>,
    reserved: Vec<bool>,
}

impl<'a> Place<'a> {
    pub(super) fn new(cylinder: &'a Cylinder, lots: &[Lot]) -> Self {
        let rooms: Vec<_> = lots.iter().map(|lot| room(cylinder, lot)).collect();
        // One meant for flammables, with nothing in it yet, is kept from what doesn't burn.
        let kept = cylinder.flammable && cylinder.contents == Contents::Evacuated;
        let reserved = lots.iter().map(|lot| kept && !lot.intake.fluid.is_flammable()).collect();
        Self { cylinder, lots: rooms, reserved }
    }

    pub(super) fn slot(&self) -> Slot {
        Slot {
            base: self.lots.iter().find_map(|room| room.as_ref().ok()).map_or(0, |room| room.base),
            tops: self.lots.iter().map(|room| room.as_ref().ok().map(|room| room.top)).collect(),
            keeps_evacuated: self.cylinder.contents == Contents::Evacuated,
            reserved: self.reserved.clone(),
        }
    }

    /// The room for a lot, where the cylinder is fit for it.
    pub(super) fn room(&self, lot: usize) -> Option<&Room> {
        self.lots.get(lot)?.as_ref().ok()
    }
}

/// The room of a cylinder for a lot.
///
/// # Errors
/// Every rule that keeps the cylinder from taking it.
pub fn room(cylinder: &Cylinder, lot: &Lot) -> Result<Room, Vec<Finding>> {
    let found = reasons(cylinder, &lot.intake);
    match limit(cylinder, &lot.intake.with(cylinder), &lot.intake.terms) {
        Ok(limit) if found.is_empty() => Ok(limit.room(cylinder, &lot.intake.terms)),
        // A limit that can't be computed is one of the reasons.
        Ok(_) | Err(_) => Err(found),
    }
}

/// The plan before anything is filled: which cylinders are fit, and what to know.
pub(super) fn bare(work: &Work, places: &[Place]) -> Plan {
    let left_out = places
        .iter()
        .filter(|place| place.lots.iter().all(Result::is_err))
        .map(|place| LeftOut { cylinder: place.cylinder.id.clone(), reasons: against(work, place) });
    Plan {
        jobs: work.jobs().iter().map(|job| job.name.clone()).collect(),
        division: work.division(),
        status: Status::Undecided,
        bounds: Totals::default(),
        totals: Totals::default(),
        lots: work.lots().iter().map(|lot| lot_line(lot, 0, 0)).collect(),
        loads: Vec::new(),
        left_out: left_out.collect(),
        not_needed: fit(places).map(|place| place.cylinder.id.clone()).collect(),
        short: Vec::new(),
        remedy: None,
        warnings: warnings(work),
    }
}

/// Everything that keeps a cylinder from its lots, each reason once with the lots that it stands against.
fn against(work: &Work, place: &Place) -> Vec<Against> {
    let mut found: Vec<Against> = Vec::new();
    for (lot, room) in work.lots().iter().zip(&place.lots) {
        for Reason { code, text } in room.as_ref().err().into_iter().flatten().map(reason) {
            match found.iter_mut().find(|known| known.code == code && known.text == text) {
                Some(known) => known.lots.push(lot.name.clone()),
                None => found.push(Against { code, text, lots: vec![lot.name.clone()] }),
            }
        }
    }
    found
}

fn fit<'a>(places: &'a [Place<'a>]) -> impl Iterator<Item = &'a Place<'a>> {
    places.iter().filter(|place| place.lots.iter().any(Result::is_ok))
}

fn reason(finding: &Finding) -> Reason {
    Reason { code: finding.rule.code.into(), text: format!("{}; {}", finding.text, finding.rule.remedy) }
}

fn warnings(work: &Work) -> Vec<Reason> {
    notices(work).into_iter().map(|notice| Reason { code: notice.code.into(), text: notice.text }).collect()
}

fn lot_line(lot: &Lot, room: Marks, placed: Marks) -> LotLine {
    LotLine {
        lot: lot.name.clone(),
        refrigerant: lot.intake.fluid.name(),
        systems: lot.parts.iter().map(|part| part.system.clone()).collect(),
        charge: lot.charge,
        room,
        spare: room - placed,
    }
}

/// Puts the fills into the plan as loads, and what follows from them.
pub(super) fn put(
    work: &Work,
    places: &[Place],
    fills: &[Fill],
    (free, known): (Free, &[Vec<Sharing>]),
    plan: &mut Plan,
) {
    let mut lines = Vec::new();
    for (index, lot) in work.lots().iter().enumerate() {
        let chosen: Vec<(&Place, &Room, Marks)> = fills
            .iter()
            .filter(|fill| fill.lot == index)
            .filter_map(|fill| {
                let place = places.get(fill.cylinder)?;
                Some((place, place.room(index)?, fill.add))
            })
            .collect();
        let each = chosen.iter().map(|(_, room, add)| Chosen { now: room.base, top: room.top, add: *add });
        let Poured { fills, fewest } =
            poured(lot, &each.collect::<Vec<Chosen>>(), free, known.get(index).map(Vec::as_slice));
        plan.bounds.pours += fewest;
        for (at, add, pours) in fills {
            let (place, room, _) = chosen[at];
            let stop = room.base + add;
            plan.loads.push(Load {
                order: plan.loads.len() + 1,
                cylinder: place.cylinder.id.clone(),
                lot: lot.name.clone(),
                refrigerant: lot.intake.fluid.name(),
                tags: Tag::inside(place.cylinder, &[&lot.intake]),
                pours,
                now: room.base,
                add,
                ease_off: ease_off(work.division(), room.base, stop, None),
                stop,
                limit: room.limit,
                ceiling: room.bound.name().into(),
                liquid_full: liquid_full(work.division(), place.cylinder, lot, stop),
            });
            for finding in cautions(place.cylinder, &lot.intake) {
                let said = reason(&finding);
                plan.warnings.push(Reason { text: format!("{}: {}", place.cylinder.id, said.text), ..said });
            }
        }
        let room_in_all = chosen.iter().map(|(_, room, _)| room.size()).sum();
        lines.push(lot_line(lot, room_in_all, chosen.iter().map(|(.., add)| add).sum()));
    }
    mark_the_last(&mut plan.loads);
    plan.totals.pours = plan.loads.iter().map(|load| load.pours.len()).sum();
    plan.lots = lines;
    plan.not_needed.retain(|id| !plan.loads.iter().any(|load| load.cylinder == *id));
    if plan.status == Status::Short {
        plan.totals = Totals {
            cylinders: plan.loads.len(),
            heaviest: plan.loads.iter().map(|load| load.stop).max().unwrap_or(0),
            carried: plan.loads.iter().map(|load| load.stop).sum(),
            ..plan.totals
        };
    }
    plan.warnings.extend(rule_of_thumb(work, plan));
    let carrying = carrying(work, plan);
    plan.warnings.extend(carrying);
}

/// The temperature at which liquid fills the cylinder at this gross weight, in words.
pub fn liquid_full(division: crate::quantity::Division, cylinder: &Cylinder, lot: &Lot, stop: Marks) -> String {
    let net = division.weight(stop) - cylinder.working_tare();
    let share = net.ratio_to(cylinder.water_capacity).and_then(|share| f64::try_from(share).ok()).unwrap_or(f64::MAX);
    let full = lot.intake.with(cylinder).liquid_full_temperature(Density::WATER.scaled(share));
    lot.intake.terms.scale.liquid_full(full)
}

/// Where a stop lies above tare + 0.8 × water capacity, which the trade teaches for every refrigerant, and what that rule
/// would do where it goes too far.
fn rule_of_thumb(work: &Work, plan: &Plan) -> Vec<Reason> {
    let mut above: Vec<&str> = Vec::new();
    let mut too_far: Vec<(String, Vec<&str>)> = Vec::new();
    for load in &plan.loads {
        let Some(cylinder) = work.yard().iter().find(|cylinder| cylinder.id == load.cylinder) else { continue };
        let taught = work.division().floor(cylinder.tare + cylinder.water_capacity.times(Decimal::new(8, 1)));
        if load.stop > taught {
            above.push(load.cylinder.as_str());
        }
        let Some(lot) = work.lots().iter().find(|lot| lot.name == load.lot) else { continue };
        let (fluid, terms) = (lot.intake.with(cylinder), &lot.intake.terms);
        let Some(rule) = RuleOfThumb::of(&fluid, terms) else { continue };
        let said = rule.says(terms);
        match too_far.iter_mut().find(|(text, _)| *text == said) {
            Some((_, names)) if names.contains(&load.refrigerant.as_str()) => {}
            Some((_, names)) => names.push(&load.refrigerant),
            None => too_far.push((said, vec![&load.refrigerant])),
        }
    }
    let may_be = "the stop is above tare + 0.8 x water capacity, and is right: this liquid is heavier than water";
    let above = (!above.is_empty()).then(|| (may_be.to_owned(), above));
    let say = |(text, names): (String, Vec<&str>)| Reason {
        code: "rule-of-thumb".into(),
        text: format!("{}: {text}", names.join(", ")),
    };
    above.into_iter().chain(too_far).map(say).collect()
}

/// How the cylinders of each job are carried, and where its crew is too small for that.
fn carrying(work: &Work, plan: &Plan) -> Vec<Reason> {
    let mut found: Vec<Reason> = Vec::new();
    for visit in visits(work, plan) {
        let Some(job) = work.jobs().get(visit.job) else { continue };
        let carried = visit.fills.iter().filter_map(|fill| {
            let cylinder = plan.loads.get(fill.load)?.cylinder.as_str();
            Some(Carried { cylinder, up: Some(fill.before), down: fill.after() })
        });
        let carried: Vec<Carried> = carried.collect();
        for notice in lifts(job, work.division(), &carried) {
            let of_job = work.jobs().len() > 1 && notice.code != "one-person";
            let place = if of_job { format!("{}: ", job.name) } else { String::new() };
            let reason = Reason { code: notice.code.into(), text: format!("{place}{}", notice.text) };
            if !found.contains(&reason) {
                found.push(reason);
            }
        }
    }
    // What the day can't be done with comes first, what is assumed last.
    found.sort_by_key(|reason| ["crew", "lift", "one-person"].iter().position(|code| *code == reason.code));
    found
}
