//! What has to be said first: cylinders that hold more than they should, and where the surplus can go.

use super::{Cylinder, Id, Intake, Level, Overfull, Terms, limit, overfull, reasons};
use crate::quantity::Marks;

/// A cylinder as it stands now.
#[derive(Debug, Clone)]
pub struct Standing {
    /// The cylinder with what is in it now.
    pub cylinder: Cylinder,
    /// The terms that it is judged by: of whoever would put more of the same into it, at least one.
    pub terms: Vec<Terms>,
    /// We have put something into it.
    pub ours: bool,
    /// More than one thing has gone into it.
    pub mixed: bool,
}

impl Standing {
    /// A cylinder with what its yard and the ledger say of it.
    pub fn of(cylinder: Cylinder, terms: Vec<Terms>) -> Self {
        let (ours, mixed) = (cylinder.ledger.ours, cylinder.ledger.mixed);
        Self { cylinder, terms, ours, mixed }
    }
}

/// What has to come out of a cylinder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Surplus {
    /// What it weighs over our limit.
    pub over: Marks,
    /// What has to come out: the accuracy of the scale is kept free, as in a plan.
    pub take: Marks,
    /// The reading that it has to come down to.
    pub down_to: Marks,
    /// A fit cylinder that has the room and nothing else to do, where there is one.
    pub into: Option<Id>,
}

/// A cylinder that has to be told of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alarm {
    /// The cylinder.
    pub cylinder: Id,
    /// How bad it is.
    pub level: Level,
    /// What it weighs.
    pub gross: Marks,
    /// The rules that it breaks, in words with what they allow; empty where it breaks none.
    pub rules: String,
    /// What is too much; `None` where that isn't what is wrong.
    pub surplus: Option<Surplus>,
    /// More than one thing has gone into it.
    pub mixed: bool,
    /// We put something in, and no limit can be computed.
    pub no_limit: bool,
    /// We put something in.
    pub ours: bool,
}

/// For so many cylinders a place for the surplus is looked for; a yard with more of them needs other help.
const MOST_PLACES: usize = 50;

/// How bad it is with a cylinder, where anything is.
pub fn level(standing: &Standing) -> Option<Level> {
    if standing.mixed || no_limit(standing) {
        return Some(Level::Danger);
    }
    too_much(standing).map(|(level, _)| level)
}

/// Every cylinder that has to be told of, in the order of the yard. `may_take` says whether the one at the second position
/// may get so much from the one at the first, as far as a plan is concerned; that it is fit and has room is seen to here.
pub fn alarms(yard: &[Standing], may_take: &dyn Fn(usize, usize, Marks) -> bool) -> Vec<Alarm> {
    let levels: Vec<Option<Level>> = yard.iter().map(level).collect();
    // A cylinder takes one surplus: with it there may be no room for another, and it holds something.
    let mut taken: Vec<usize> = Vec::new();
    let mut looked_for = 0;
    let mut found = Vec::new();
    for (index, (standing, level)) in yard.iter().zip(&levels).enumerate() {
        let Some(level) = *level else { continue };
        let mut alarm = alarm(standing, level);
        let wanted = (level == Level::Danger || standing.ours) && looked_for < MOST_PLACES;
        if let Some(surplus) = alarm.surplus.as_mut().filter(|_| wanted) {
            looked_for += 1;
            let free = |other: &usize| levels[*other].is_none() && !taken.contains(other);
            let others = (0..yard.len()).filter(free).filter(|other| may_take(index, *other, surplus.take));
            let lifts = others.filter_map(|other| Some((lift(standing, &yard[other].cylinder, surplus.take)?, other)));
            if let Some((_, other)) = lifts.min() {
                taken.push(other);
                surplus.into = Some(yard[other].cylinder.id.clone());
            }
        }
        found.push(alarm);
    }
    found
}

fn alarm(standing: &Standing, level: Level) -> Alarm {
    let cylinder = &standing.cylinder;
    // Every standing has terms; without, nothing could be told of it.
    let scale = standing.terms.first().map(|terms| terms.scale);
    let gross = scale.map_or(0, |scale| scale.division.ceil(cylinder.gross));
    let over = too_much(standing).map(|(_, over)| over).zip(scale);
    let accuracy = standing.terms.iter().map(|terms| terms.scale.accuracy).max();
    let surplus = over.as_ref().map(|(over, scale)| {
        let least = scale.division.ceil(cylinder.working_tare().min(cylinder.gross));
        let most = accuracy.map_or(over.limit.gross, |accuracy| over.limit.gross - accuracy);
        let down_to = scale.division.floor(most).max(least);
        Surplus { over: gross - scale.division.floor(over.limit.gross), take: gross - down_to, down_to, into: None }
    });
    Alarm {
        cylinder: cylinder.id.clone(),
        level,
        gross,
        rules: over.map_or_else(String::new, |(over, scale)| over.broken_rules(scale.division)),
        surplus,
        mixed: standing.mixed,
        no_limit: no_limit(standing),
        ours: standing.ours,
    }
}

/// How much too much it holds: danger by the terms of anybody; over the fill only by everybody's, as a cylinder that one
/// lot may fill on isn't one that nothing more goes into.
fn too_much(standing: &Standing) -> Option<(Level, Overfull)> {
    let found: Vec<Option<Overfull>> = standing.terms.iter().map(|terms| overfull(&standing.cylinder, terms)).collect();
    let all = found.iter().all(Option::is_some);
    let found = found.into_iter().flatten();
    let (danger, over_fill): (Vec<_>, Vec<_>) = found.partition(|over| over.level() == Level::Danger);
    let lowest = |all: Vec<Overfull>| all.into_iter().min_by_key(|over| over.limit.gross);
    if !danger.is_empty() {
        return lowest(danger).map(|over| (Level::Danger, over));
    }
    over_fill.into_iter().max_by_key(|over| over.limit.gross).filter(|_| all).map(|over| (Level::OverFill, over))
}

/// What we filled has to have a limit.
fn no_limit(standing: &Standing) -> bool {
    let cylinder = &standing.cylinder;
    let fluid = cylinder.contents.fluid();
    let has_limit = |terms: &Terms| fluid.as_ref().is_some_and(|fluid| limit(cylinder, fluid, terms).is_ok());
    standing.ours && !standing.terms.iter().all(has_limit)
}

/// What the other cylinder would weigh with the surplus in it; `None` where it isn't fit for it or hasn't the room.
fn lift(from: &Standing, into: &Cylinder, take: Marks) -> Option<Marks> {
    let lifts = from.terms.iter().map(|terms| {
        let intake = Intake::more_of(&from.cylinder, *terms)?;
        let room = limit(into, &intake.with(into), terms).ok()?.room(into, terms);
        let fit = room.size() >= take && reasons(into, &intake).is_empty();
        fit.then_some(room.base + take)
    });
    lifts.collect::<Option<Vec<Marks>>>()?.into_iter().max()
}
