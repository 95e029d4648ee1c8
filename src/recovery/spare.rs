//! Which lots have little to spare in the plan for what is left, begun cylinders and others together.

use super::Day;
use super::replan::name_of;
use crate::audit::Audited;
use crate::cylinder::Id;
use crate::job::Work;
use crate::plan::{LotLine, Plan, Reason};
use crate::planner::{is_thin, one_more, room, warning};
use crate::quantity::Marks;

/// A warning for each lot with little to spare for the whole of its charge: what is left of it is as unsure as all of it.
/// The first `begun` of these parts are those of begun cylinders, which have all their room for their lot.
pub(super) fn thin(day: &Day, works: &[Work], parts: &[Audited], begun: usize) -> Vec<Reason> {
    let plans = || parts.iter().map(Audited::plan);
    let used = |id: &Id| plans().any(|plan| plan.loads.iter().any(|load| load.cylinder == *id));
    let mut idle: Vec<_> =
        day.fillings.iter().filter(|one| !one.begun() && !one.without && !used(&one.start.id)).collect();
    let mut said = Vec::new();
    for (index, lot) in day.work.lots().iter().enumerate() {
        let of_lot = |plan: &Plan, line: &LotLine| name_of(day, plan, &line.lot) == lot.name;
        let mut spare: Option<Marks> = None;
        for (position, (work, plan)) in works.iter().zip(plans()).enumerate() {
            let Some(line) = plan.lots.iter().find(|line| of_lot(plan, line)) else { continue };
            let has = if position < begun { room_in_all(work) - line.charge } else { line.spare };
            spare = Some(spare.unwrap_or(0) + has);
        }
        let Some(spare) = spare else { continue };
        let charge = day.systems.iter().filter(|system| system.lot == index).map(|system| system.believed).sum();
        if is_thin(day.division(), charge, spare) {
            let more = one_more(day.work, lot, idle.iter().map(|one| &one.start));
            said.push(warning(day.division(), &lot.name, charge, spare, more.as_ref()));
            idle.retain(|one| more.as_ref().is_none_or(|more| more.cylinder != one.start.id.as_str()));
        }
    }
    said
}

/// The room of all cylinders of a part that has one lot.
fn room_in_all(work: &Work) -> Marks {
    let Some(lot) = work.lots().first() else { return 0 };
    work.yard().iter().filter_map(|cylinder| room(cylinder, lot).ok()).map(|room| room.size()).sum()
}
