//! How much more charge the truck could take at each stop, and the one cylinder that would help most.

use crate::cylinder::Id;
use crate::job::{Lot, Work};
use crate::plan::Plan;
use crate::planner::{one_more, room};
use crate::quantity::Marks;

/// What more of a lot could be recovered at a stop, everything else of the day going as planned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spare {
    /// The job.
    pub job: usize,
    /// The lot.
    pub lot: String,
    /// What is planned to be recovered there.
    pub charge: Marks,
    /// What more there is room for in the cylinders on the truck.
    pub spare: Marks,
}

/// The cylinder that would help most: the one with most room for the lot that has the least to spare for its charge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Help {
    /// The cylinder of the yard, or the kind where none of the yard would help.
    pub cylinder: String,
    /// Whether it stands in the yard.
    pub in_yard: bool,
    /// The lot that it would serve.
    pub lot: String,
    /// The room that it adds.
    pub adds: Marks,
}

/// The spare by stop and lot, and the best help. `taken` are cylinders that ride along beside those of the plan.
pub(super) fn spare(work: &Work, plan: &Plan, taken: &[Id]) -> (Vec<Spare>, Option<Help>) {
    let mut all = Vec::new();
    for lot in work.lots() {
        let planned = plan.lots.iter().find(|line| line.lot == lot.name).map_or(0, |line| line.spare);
        // A cylinder that rides along may serve any one lot; it is counted for each, which the report says.
        let riding: Marks = taken
            .iter()
            .filter(|id| !plan.loads.iter().any(|load| load.cylinder == **id))
            .filter_map(|id| in_yard(work, id, lot))
            .sum();
        let mut jobs: Vec<usize> = lot.parts.iter().map(|part| part.job).collect();
        jobs.dedup();
        for job in jobs {
            let charge = lot.parts.iter().filter(|part| part.job == job).map(|part| part.charge).sum();
            all.push(Spare { job, lot: lot.name.clone(), charge, spare: planned + riding });
        }
    }
    all.sort_by_key(|spare| spare.job);
    let help = help(work, plan, taken);
    (all, help)
}

fn in_yard(work: &Work, id: &Id, lot: &Lot) -> Option<Marks> {
    let cylinder = work.yard().iter().find(|cylinder| cylinder.id == *id)?;
    room(cylinder, lot).ok().map(|room| room.size())
}

/// The lots from the tightest on: first those of which something is missing, then by spare for the charge.
fn tightest_first<'w>(work: &'w Work, plan: &Plan) -> Vec<&'w Lot> {
    let missing = |lot: &Lot| plan.short.iter().find(|short| short.lot == lot.name).map_or(0, |short| short.missing);
    let spare = |lot: &Lot| plan.lots.iter().find(|line| line.lot == lot.name).map_or(0, |line| line.spare);
    let mut lots: Vec<&Lot> = work.lots().iter().collect();
    lots.sort_by(|a, b| {
        let share = |one: &Lot, other: &Lot| i128::from(spare(one)) * i128::from(other.charge);
        missing(b).cmp(&missing(a)).then(share(a, b).cmp(&share(b, a)))
    });
    lots
}

fn help(work: &Work, plan: &Plan, taken: &[Id]) -> Option<Help> {
    let idle = || {
        let cylinders = work.yard().iter().filter(|cylinder| plan.not_needed.contains(&cylinder.id));
        cylinders.filter(|cylinder| !taken.contains(&cylinder.id))
    };
    let lots = tightest_first(work, plan);
    let help = |lot: &Lot| {
        let more = one_more(work, lot, idle())?;
        Some(Help { cylinder: more.cylinder, in_yard: more.in_yard, lot: lot.name.clone(), adds: more.adds })
    };
    let from_yard = lots.iter().find_map(|lot| help(lot).filter(|help| help.in_yard));
    from_yard.or_else(|| lots.first().and_then(|lot| help(lot)))
}
