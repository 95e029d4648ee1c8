//! No number and no name of a good plan can be changed without a fault, and no size of a number stops the audit.

use super::codes;
use super::plans::{kilograms, pounds, too_much, undecided};
use crate::cylinder::Id;
use crate::plan::{Plan, Status};
use crate::quantity::Marks;

/// Every number of a plan that the audit figures again. Bounds are, where the plan is proved.
fn numbers(plan: &mut Plan) -> Vec<&mut Marks> {
    let mut numbers = vec![&mut plan.totals.heaviest, &mut plan.totals.carried];
    if plan.status == Status::Proved {
        numbers.extend([&mut plan.bounds.heaviest, &mut plan.bounds.carried]);
    }
    for line in &mut plan.lots {
        numbers.extend([&mut line.charge, &mut line.room, &mut line.spare]);
    }
    for load in &mut plan.loads {
        numbers.extend([&mut load.now, &mut load.add, &mut load.ease_off, &mut load.stop, &mut load.limit]);
        numbers.extend(load.pours.iter_mut().flat_map(|pour| [&mut pour.from, &mut pour.to, &mut pour.add]));
    }
    numbers.extend(plan.short.iter_mut().map(|short| &mut short.missing));
    numbers
}

/// A name in a plan.
enum Name<'p> {
    Text(&'p mut String),
    Id(&'p mut Id),
}

impl Name<'_> {
    fn is(&self, other: &str) -> bool {
        match self {
            Self::Text(text) => *text == other,
            Self::Id(id) => **id == *other,
        }
    }

    fn set(self, other: &str) {
        match self {
            Self::Text(text) => *text = other.into(),
            Self::Id(id) => *id = other.into(),
        }
    }
}

/// Every name of a plan that isn't only for reading.
fn names(plan: &mut Plan) -> Vec<Name<'_>> {
    let mut names: Vec<Name> = plan.jobs.iter_mut().map(Name::Text).collect();
    for line in &mut plan.lots {
        names.extend([&mut line.lot, &mut line.refrigerant].map(Name::Text));
        names.extend(line.systems.iter_mut().map(Name::Text));
    }
    for load in &mut plan.loads {
        names.push(Name::Id(&mut load.cylinder));
        names.extend([&mut load.lot, &mut load.refrigerant, &mut load.ceiling].map(Name::Text));
        names.extend(load.pours.iter_mut().map(|pour| Name::Text(&mut pour.system)));
    }
    for left in &mut plan.left_out {
        names.push(Name::Id(&mut left.cylinder));
        for reason in &mut left.reasons {
            names.push(Name::Text(&mut reason.code));
            names.extend(reason.lots.iter_mut().map(Name::Text));
        }
    }
    names.extend(plan.not_needed.iter_mut().map(Name::Id));
    names.extend(plan.short.iter_mut().map(|short| Name::Text(&mut short.lot)));
    names
}

#[test]
fn no_number_can_be_changed_unseen_and_none_is_too_large() {
    for (work, mut good) in [pounds(), kilograms(), too_much()] {
        for index in 0..numbers(&mut good).len() {
            for change in [-1, 1, Marks::MIN, Marks::MAX] {
                let mut plan = good.clone();
                let number = numbers(&mut plan).remove(index);
                *number = number.saturating_add(change);
                assert!(!codes(&work, plan).is_empty(), "{}: number {index} changed by {change}", good.jobs[0]);
            }
        }
    }
}

#[test]
fn no_name_can_be_changed_unseen() {
    for (work, mut good) in [pounds(), kilograms(), too_much()] {
        for index in 0..names(&mut good).len() {
            for other in ["", "A-1", "R-448A", "Kiosk / Display"] {
                let mut plan = good.clone();
                let name = names(&mut plan).remove(index);
                if name.is(other) {
                    continue;
                }
                name.set(other);
                assert!(!codes(&work, plan).is_empty(), "{}: name {index} changed to `{other}`", good.jobs[0]);
            }
        }
    }
}

#[test]
fn every_number_at_the_end_of_its_range_at_once() {
    for (work, good) in [pounds(), kilograms(), too_much(), undecided()] {
        for extreme in [Marks::MIN, Marks::MAX] {
            let mut plan = good.clone();
            for number in numbers(&mut plan) {
                *number = extreme;
            }
            plan.totals.cylinders = usize::MAX;
            assert!(!codes(&work, plan).is_empty());
        }
    }
}
