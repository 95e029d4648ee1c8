//! Whether a plan is the best: asked a second way, from the limits that the audit figured itself.
//!
//! The problem is stated to another solver (`solver::direct`) and never to the planner. That is floating-point
//! arithmetic: a second opinion, no proof.

use super::fullness::{Fullness, together};
use super::sameness::{Group, groups};
use super::{Audited, fitness};
use crate::cylinder::{Contents, Cylinder};
use crate::job::Work;
use crate::plan::{Plan, Status, Totals};
use crate::quantity::Marks;
use crate::solver::direct::{self, Demand, Objectives, Options, Priority, Problem, Slot};

/// What the second way says of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Second {
    /// It comes to the same totals.
    Best,
    /// It comes to better ones, or places what the plan leaves over.
    Better(Totals),
    /// It finds no plan either that places every charge; how little is left over isn't asked.
    NoneFits,
    /// It came to nothing, or to less than the plan itself.
    NotDecided(&'static str),
}

/// Asks a second way whether an audited plan is the best for what was asked of it. Each of the three objectives may take
/// so many seconds.
pub fn second(work: &Work, audited: &Audited, options: &Options, seconds: f64) -> Second {
    let plan = audited.plan();
    let found = match direct::best(&stated(work), options, seconds) {
        Ok(found) => found,
        Err(direct::Undecided::Time) => return Second::NotDecided("the time ran out"),
        Err(direct::Undecided::Failed) => return Second::NotDecided("the other solver failed"),
    };
    match (found.map(totals), plan.status) {
        (None, Status::Short) => Second::NoneFits,
        (None, _) => Second::NotDecided("the other solver finds no plan at all"),
        (Some(found), Status::Short | Status::Undecided) => Second::Better(found),
        (Some(found), Status::Proved | Status::Bounded) => compared(plan, found, options),
    }
}

fn compared(plan: &Plan, found: Totals, options: &Options) -> Second {
    let lift_first = options.priority == Priority::Lightest || options.at_most.is_some();
    let order = |totals: Totals| {
        let number = Marks::try_from(totals.cylinders).unwrap_or(Marks::MAX);
        let first = if lift_first { [totals.heaviest, number] } else { [number, totals.heaviest] };
        (first, totals.carried)
    };
    match order(found).cmp(&order(plan.totals)) {
        std::cmp::Ordering::Less => Second::Better(found),
        std::cmp::Ordering::Equal => Second::Best,
        std::cmp::Ordering::Greater => Second::NotDecided(
            "the other solver comes to a worse plan: this one was planned for something else, or it erred",
        ),
    }
}

fn totals(objectives: Objectives) -> Totals {
    let Objectives { cylinders, heaviest, carried } = objectives;
    Totals { cylinders, heaviest, carried, pours: 0, missing: None }
}

/// The work as cylinders, lots, rooms and charges.
fn stated(work: &Work) -> Problem {
    let division = work.division();
    let groups = groups(work.jobs(), division, work.names_jobs());
    let slot = |cylinder: &Cylinder| Slot {
        base: division.ceil(cylinder.gross),
        tops: groups.iter().map(|group| top(work, cylinder, group)).collect(),
        keeps_evacuated: false,
        reserved: groups.iter().map(|group| reserved(cylinder, group)).collect(),
    };
    Problem {
        lots: groups.iter().map(|group| Demand { charge: group.charge }).collect(),
        cylinders: work.yard().iter().map(slot).collect(),
    }
}

/// One meant for flammables, with nothing in it yet, is kept from what doesn't burn.
fn reserved(cylinder: &Cylinder, group: &Group) -> bool {
    cylinder.flammable && cylinder.contents == Contents::Evacuated && !group.fluid.is_flammable()
}

/// The reading never to pass, where no rule is against it.
fn top(work: &Work, cylinder: &Cylinder, group: &Group) -> Option<Marks> {
    let fullness = Fullness::of(cylinder, &together(cylinder, group), &group.strictest).ok()?;
    let base = work.division().ceil(cylinder.gross);
    fitness::broken(cylinder, group).is_empty().then(|| base + fullness.room(cylinder, &group.strictest))
}
