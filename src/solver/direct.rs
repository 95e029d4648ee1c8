//! The whole problem in its own words, through good_lp: a second opinion on what is best.
//!
//! In words: cylinder i takes lot l or not (u_il), and so many divisions of it (a_il).
//!
//!   Σ_l u_il ≤ 1                           a cylinder takes one lot at most
//!   u_il ≤ a_il ≤ room_il · u_il           a division of it at least, its room at most
//!   Σ_i a_il = charge_l                    every charge is placed
//!   now_i · u_il + a_il ≤ lift             no reading to stop at is above the lift
//!   cylinders = Σ u,  heaviest = lift,  carried = Σ now_i · u_il + Σ charge_l
//!
//! A cylinder that is reserved from a lot is kept from it first, where that takes no cylinder more. Then the three are made
//! as small as can be one after another, in the order of the options, each held while the next is looked for. Nothing of
//! this is in whole numbers: it is floating-point arithmetic with tolerances, no proof. It shares
//! nothing with the rest of the solver but what a problem is, and it is slow: for a dozen cylinders.

use good_lp::{
    Expression, ResolutionError, Solution as _, SolutionStatus, SolverModel as _, Variable, WithTimeLimit as _,
    microlp, variable, variables,
};
use thiserror::Error;

use super::problem::reserve::hold_back;
pub use super::problem::{Demand, Objectives, Options, Priority, Problem, Slot};

/// How far from a whole number an answer may be and still mean it.
const WHOLE: f64 = 1e-3;

/// Why there is no second opinion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum Undecided {
    /// The seconds allowed were over.
    #[error("the time ran out")]
    Time,
    /// The other solver failed, or contradicted itself.
    #[error("the other solver failed")]
    Failed,
}

/// The best objectives in the order of the options, or `None` where no plan places every charge. Each objective may take
/// so many seconds; a number beyond 2⁵³ isn't told from its neighbours.
///
/// # Errors
/// Where the time runs out or the other solver fails.
pub fn best(problem: &Problem, options: &Options, seconds: f64) -> Result<Option<Objectives>, Undecided> {
    let mut failed = None;
    let problem = &hold_back(problem, &options.must_use, |problem| {
        let number = least(problem, options, Aim::Cylinders, Held { at_most: None, lift: i64::MAX }, seconds);
        number.map_err(|why| failed = Some(why)).ok().flatten().and_then(|number| usize::try_from(number).ok())
    });
    if let Some(why) = failed {
        return Err(why);
    }
    let mut held = Held { at_most: options.at_most, lift: i64::MAX };
    let lift_first = options.priority == Priority::Lightest || options.at_most.is_some();
    let order = if lift_first { [Aim::Heaviest, Aim::Cylinders] } else { [Aim::Cylinders, Aim::Heaviest] };
    for (at, aim) in order.into_iter().enumerate() {
        match (least(problem, options, aim, held, seconds)?, aim) {
            (None, _) if at == 0 => return Ok(None),
            (None, _) => return Err(Undecided::Failed),
            (Some(most), Aim::Cylinders) => held.at_most = usize::try_from(most).ok(),
            (Some(lift), Aim::Heaviest | Aim::Carried) => held.lift = lift,
        }
    }
    let carried = least(problem, options, Aim::Carried, held, seconds)?.ok_or(Undecided::Failed)?;
    Ok(Some(Objectives { cylinders: held.at_most.unwrap_or(0), heaviest: held.lift, carried }))
}

/// What is to be as small as can be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Aim {
    Cylinders,
    Heaviest,
    Carried,
}

/// What is held of the objectives before.
#[derive(Debug, Clone, Copy)]
struct Held {
    at_most: Option<usize>,
    lift: i64,
}

/// A cylinder's part in a lot: what it weighs now, its room, whether it takes the lot, and how much.
struct Pair {
    cylinder: usize,
    lot: usize,
    now: f64,
    room: f64,
    takes: Variable,
    adds: Variable,
}

/// The least value of one objective, in whole divisions; `None` where there is no plan.
fn least(problem: &Problem, options: &Options, aim: Aim, held: Held, seconds: f64) -> Result<Option<i64>, Undecided> {
    let mut all = variables!();
    let mut pairs = Vec::new();
    for (cylinder, slot) in problem.cylinders.iter().enumerate() {
        for lot in (0..problem.lots.len()).filter(|&lot| problem.lots[lot].charge > 0) {
            let room = slot.room(lot, held.lift);
            if room > 0 {
                let (takes, adds) = (all.add(variable().binary()), all.add(variable().min(0.0).max(room as f64)));
                pairs.push(Pair { cylinder, lot, now: slot.now() as f64, room: room as f64, takes, adds });
            }
        }
    }
    let lift = all.add(variable().min(0.0));
    let number: Expression = pairs.iter().map(|pair| pair.takes).sum();
    let weight: Expression = pairs.iter().map(|pair| pair.now * pair.takes).sum();
    let aimed = match aim {
        Aim::Cylinders => number.clone(),
        Aim::Heaviest => lift.into(),
        Aim::Carried => weight,
    };
    let mut model = all.minimise(aimed.clone()).using(microlp).with_time_limit(seconds);
    for pair in &pairs {
        model = model.with((pair.adds - pair.room * pair.takes).leq(0.0));
        model = model.with((pair.takes - pair.adds).leq(0.0));
        if aim == Aim::Heaviest {
            model = model.with((pair.now * pair.takes + pair.adds - lift).leq(0.0));
        }
    }
    for cylinder in 0..problem.cylinders.len() {
        let taken: Expression = pairs.iter().filter(|pair| pair.cylinder == cylinder).map(|pair| pair.takes).sum();
        model = model.with(if options.must_use.contains(&cylinder) { taken.eq(1.0) } else { taken.leq(1.0) });
    }
    for (lot, demand) in problem.lots.iter().enumerate().filter(|(_, demand)| demand.charge > 0) {
        let placed: Expression = pairs.iter().filter(|pair| pair.lot == lot).map(|pair| pair.adds).sum();
        model = model.with(placed.eq(demand.charge as f64));
    }
    if let Some(most) = held.at_most {
        model = model.with(number.leq(most as f64));
    }
    let found = match model.solve() {
        Ok(found) => found,
        Err(ResolutionError::Infeasible) => return Ok(None),
        Err(ResolutionError::Other(_)) => return Err(Undecided::Time),
        Err(ResolutionError::Unbounded | ResolutionError::Str(_)) => return Err(Undecided::Failed),
    };
    match found.status() {
        SolutionStatus::Optimal => {}
        SolutionStatus::TimeLimit | SolutionStatus::GapLimit => return Err(Undecided::Time),
    }
    let charges: i64 = problem.lots.iter().map(|lot| lot.charge.max(0)).sum();
    let value = found.eval(&aimed);
    let meant = match aim {
        // Readings are whole divisions: the lowest lift is the next whole one.
        Aim::Heaviest => Some((value - WHOLE).ceil() as i64),
        Aim::Cylinders => whole(value),
        Aim::Carried => whole(value).map(|weight| weight + charges),
    };
    meant.map(Some).ok_or(Undecided::Failed)
}

/// The whole number that a value means; `None` where it is near none.
fn whole(value: f64) -> Option<i64> {
    ((value - value.round()).abs() < WHOLE).then(|| value.round() as i64)
}
