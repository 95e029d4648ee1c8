//! Where a charge is a range or a guess: which cylinders stay empty at its low end, and from which weight on the last one is
//! needed.

use crate::job::{Charge, Lot, System, Work};
use crate::plan::{Load, Plan, Reason};
use crate::quantity::{Marks, Weight};

/// The code of the line.
pub const LOW_END: &str = "low-end";

/// A line for each group of systems that share cylinders, one of which has an estimated charge.
pub(super) fn low_ends(work: &Work, plan: &Plan) -> Vec<Reason> {
    let mut said = Vec::new();
    for lot in work.lots() {
        let mut loads: Vec<&Load> = plan.loads.iter().filter(|load| load.lot == lot.name).collect();
        while !loads.is_empty() {
            let (group, rest) = first_group(loads);
            said.extend(low_end(work, lot, &group));
            loads = rest;
        }
    }
    said
}

/// The first load with all that it shares systems with, over however many others, and the rest.
fn first_group(loads: Vec<&Load>) -> (Vec<&Load>, Vec<&Load>) {
    let share = |one: &Load, other: &Load| {
        one.pours.iter().any(|pour| other.pours.iter().any(|other| other.system == pour.system))
    };
    let mut within = vec![false; loads.len()];
    within.iter_mut().take(1).for_each(|first| *first = true);
    loop {
        let joins = |at: &usize| {
            !within[*at] && loads.iter().zip(&within).any(|(load, within)| *within && share(load, loads[*at]))
        };
        let Some(next) = (0..loads.len()).find(joins) else { break };
        within[next] = true;
    }
    let (group, rest): (Vec<_>, Vec<_>) = loads.into_iter().zip(within).partition(|(_, within)| *within);
    (group.into_iter().map(|(load, _)| load).collect(), rest.into_iter().map(|(load, _)| load).collect())
}

/// What is said of a group: nothing where no charge of it is estimated, or it has one cylinder.
fn low_end(work: &Work, lot: &Lot, group: &[&Load]) -> Option<Reason> {
    let (last, before) = group.split_last().filter(|(_, before)| !before.is_empty())?;
    let ours = |system: &str| group.iter().flat_map(|load| &load.pours).any(|pour| pour.system == system);
    let mut names: Vec<&str> = Vec::new();
    let mut low = Weight::ZERO;
    let mut estimated = false;
    for part in lot.parts.iter().filter(|part| ours(&part.system)) {
        let system = system(work, part.job, &part.system)?;
        estimated |= matches!(system.charge, Charge::Estimated { .. });
        low = low + system.least_charge();
        names.push(&part.system);
    }
    let low = work.division().ceil(low);
    let filled = |loads: &[&Load]| loads.iter().map(|load| load.add).sum::<Marks>();
    let empty = (0..group.len()).filter(|at| filled(&group[..*at]) >= low);
    let empty: Vec<&str> = empty.filter_map(|at| group.get(at)).map(|load| load.cylinder.as_str()).collect();
    let text = |marks: Marks| work.division().text(marks);
    let at_low = match empty.as_slice() {
        [] => "every cylinder is needed".to_owned(),
        [one] => format!("{one} stays empty"),
        several => format!("{} stay empty", several.join(", ")),
    };
    estimated.then(|| Reason {
        code: LOW_END.into(),
        text: format!(
            "{}: at the low end, {}, filled in this order, {at_low}; the last, {}, is needed from {} on",
            names.join(", "),
            text(low),
            last.cylinder,
            text(filled(before) + 1)
        ),
    })
}

/// The system that a part of a lot stands for.
fn system<'a>(work: &'a Work, job: usize, name: &str) -> Option<&'a System> {
    let job = work.jobs().get(job)?;
    job.systems.iter().find(|system| work.part_name(job, system) == name)
}
