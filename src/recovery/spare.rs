//! Which lots have little to spare in the plan for what is left, begun cylinders and others together.

use super::rest::Rest;
use crate::audit::Audited;
use crate::cylinder::Id;
use crate::plan::Reason;
use crate::planner::{is_thin, one_more, warning};
use crate::quantity::Marks;

/// A warning for each lot with little to spare for the whole of its charge: what is left of it is as unsure as all of it.
/// Begun cylinders have all their room for their lot, others that of the plan.
pub(super) fn thin(rest: &Rest, parts: &[Audited]) -> Vec<Reason> {
    let (day, lots) = (rest.day, rest.day.work.lots());
    let loads = || parts.iter().flat_map(|part| &part.plan().loads);
    let used = |id: &Id| loads().any(|load| load.cylinder == *id);
    let mut idle: Vec<_> =
        day.fillings.iter().filter(|one| !one.begun() && !one.without && !used(&one.start.id)).collect();
    let mut said = Vec::new();
    for of_lot in &rest.lots {
        let begun = of_lot.own.iter().filter(|own| own.begun).map(|own| own.top - own.now);
        let slots = rest.together.yard().iter().zip(&rest.problem.cylinders);
        let further = slots.filter(|(cylinder, _)| used(&cylinder.id)).filter_map(|(cylinder, slot)| {
            let ours = |system: &String| day.system(system).is_some_and(|at| day.systems[at].lot == of_lot.lot);
            let mut loads = loads().filter(|load| load.cylinder == cylinder.id);
            let goes = loads.any(|load| load.pours.iter().any(|pour| ours(&pour.system)));
            Some(slot.tops.get(of_lot.row).copied().flatten()? - slot.base).filter(|_| goes)
        });
        let spare = begun.chain(further).sum::<Marks>() - of_lot.left;
        let charge = day.of_lot(of_lot.lot).map(|system| day.systems[system].believed).sum();
        let lot = &lots[of_lot.lot];
        if is_thin(day.division(), charge, spare) {
            let more = one_more(day.work, lot, idle.iter().map(|one| &one.start));
            said.push(warning(day.division(), &lot.name, charge, spare, more.as_ref()));
            idle.retain(|one| more.as_ref().is_none_or(|more| more.cylinder != one.start.id.as_str()));
        }
    }
    said
}
