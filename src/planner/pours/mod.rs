//! How a lot is poured: which system is connected to which cylinder, from which reading to which.
//!
//! Cylinders, heaviest and carried are given. Who shares with whom is `grouping`'s; within a group liquid goes first into
//! the roomiest cylinder, the one with most to spare comes last, and each is filled from one system after the other. The
//! systems keep their order, which is that of the jobs.

mod grouping;

pub(super) use grouping::Sharing;
use grouping::{Grouping, grouped};

use crate::job::{Lot, Part};
use crate::plan::{Load, Pour};
use crate::quantity::{Decimal, Division, Marks, Unit, Weight};
use crate::solver::{Amounts, Demand, Problem, Slot, spread};

/// A cylinder that is chosen for a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Chosen {
    /// What the scale shows before.
    pub now: Marks,
    /// The stop never to pass.
    pub top: Marks,
    /// What is added.
    pub add: Marks,
}

impl Chosen {
    fn spare(&self) -> Marks {
        self.top - self.now - self.add
    }
}

/// What may be decided anew of what goes into each cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Free {
    /// Everything, with no stop above this lift.
    Within(Marks, Amounts),
    /// Nothing, the order neither.
    Nothing,
}

/// How the lot's cylinders are filled.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Poured {
    /// In working order: the cylinder by its position among the chosen, what is added, its pours.
    pub fills: Vec<(usize, Marks, Vec<Pour>)>,
    /// No other way of filling these cylinders takes fewer pours.
    pub fewest: usize,
}

/// Pours a lot into the cylinders chosen for it; `known` are groups that are known to do.
pub(super) fn poured(lot: &Lot, chosen: &[Chosen], free: Free, known: Option<&[Sharing]>) -> Poured {
    let mut open = chosen.iter().map(|one| one.add).sum::<Marks>();
    let mut parts = Vec::with_capacity(lot.parts.len());
    for part in &lot.parts {
        let charge = part.charge.min(open);
        open -= charge;
        parts.push(Part { charge, ..part.clone() });
    }
    parts.retain(|part| part.charge > 0);
    let (found, most) = groups(&parts, chosen, free);
    let known = known.filter(|known| known.len() > found.len() || most <= known.len());
    let groups = known.map_or(found, <[Sharing]>::to_vec);
    let mut chosen = chosen.to_vec();
    if let Free::Within(lift, amounts) = free {
        spread_anew(&parts, &mut chosen, &groups, (lift, amounts));
    }
    // Where some of the lot is left, another system might be left out altogether.
    let whole = parts.iter().map(|part| part.charge).sum::<Marks>() == lot.charge;
    let fewest = if whole { (parts.len() + chosen.len()).saturating_sub(most) } else { chosen.len() };
    let mut fills = Vec::with_capacity(chosen.len());
    for group in &groups {
        let mut source = Outflow::new(group.systems.iter().map(|&system| &parts[system]));
        for place in order(&group.cylinders, &chosen, free) {
            let one = chosen[place];
            fills.push((place, one.add, source.take(one.now, one.add)));
        }
    }
    if free == Free::Nothing {
        fills.sort_by_key(|(place, ..)| *place);
    }
    Poured { fills, fewest }
}

/// Who shares with whom, and the most groups that there may be.
fn groups(parts: &[Part], chosen: &[Chosen], free: Free) -> (Vec<Sharing>, usize) {
    if parts.len() < 2 || chosen.len() < 2 {
        let one = Sharing { systems: (0..parts.len()).collect(), cylinders: (0..chosen.len()).collect() };
        return (vec![one], 1);
    }
    let room = |one: &Chosen| match free {
        Free::Within(lift, _) => one.top.min(lift) - one.now,
        Free::Nothing => one.add,
    };
    let charges: Vec<Marks> = parts.iter().map(|part| part.charge).collect();
    let rooms: Vec<Marks> = chosen.iter().map(room).collect();
    let Grouping { groups, most } = grouped(&charges, &rooms);
    (groups, most)
}

/// Spreads the charge of each group over its cylinders, as the solver does it for a lot.
fn spread_anew(parts: &[Part], chosen: &mut [Chosen], groups: &[Sharing], (lift, amounts): (Marks, Amounts)) {
    let charge = |group: &Sharing| group.systems.iter().map(|&system| parts[system].charge).sum();
    let slot = |one: &Chosen| Slot {
        base: one.now,
        tops: vec![Some(one.top); groups.len()],
        keeps_evacuated: false,
        reserved: Vec::new(),
    };
    let problem = Problem {
        lots: groups.iter().map(|group| Demand { charge: charge(group) }).collect(),
        cylinders: chosen.iter().map(slot).collect(),
    };
    let sets: Vec<Vec<usize>> = groups.iter().map(|group| group.cylinders.clone()).collect();
    for fill in spread(&problem, &sets, amounts, lift) {
        chosen[fill.cylinder].add = fill.add;
    }
}

/// The cylinders of a group in working order: liquid first into the roomiest, the one with most to spare last.
fn order(cylinders: &[usize], chosen: &[Chosen], free: Free) -> Vec<usize> {
    let mut order = cylinders.to_vec();
    if let Free::Within(..) = free {
        order.sort_by_key(|&place| (std::cmp::Reverse(chosen[place].top - chosen[place].now), place));
        if let Some(last) = (0..order.len()).max_by_key(|&at| chosen[order[at]].spare()) {
            let last = order.remove(last);
            order.push(last);
        }
    }
    order
}

/// Systems, emptied one after the other.
struct Outflow<'a, P: Iterator<Item = &'a Part>> {
    parts: P,
    current: Option<(&'a Part, Marks)>,
}

impl<'a, P: Iterator<Item = &'a Part>> Outflow<'a, P> {
    fn new(mut parts: P) -> Self {
        let current = parts.next().map(|part| (part, part.charge));
        Self { parts, current }
    }

    /// The pours of a cylinder that shows `now` and takes so much.
    fn take(&mut self, now: Marks, mut wanted: Marks) -> Vec<Pour> {
        let mut pours = Vec::new();
        let mut from = now;
        while let Some((part, left)) = self.current.filter(|_| wanted > 0) {
            let add = left.min(wanted);
            pours.push(Pour { system: part.system.clone(), from, to: from + add, add, vapour_last: false });
            from += add;
            wanted -= add;
            self.current =
                if left > add { Some((part, left - add)) } else { self.parts.next().map(|part| (part, part.charge)) };
        }
        pours
    }
}

/// Marks of each system the pour that it ends with.
pub fn mark_the_last(loads: &mut [Load]) {
    let mut ended: Vec<String> = Vec::new();
    for pour in loads.iter_mut().rev().flat_map(|load| load.pours.iter_mut().rev()) {
        pour.vapour_last = !ended.contains(&pour.system);
        if pour.vapour_last {
            ended.push(pour.system.clone());
        }
    }
}

/// The reading from which on a cylinder is filled slowly: 3 lb or 1.4 kg before its stop, or what comes in 90 s, where it
/// is known and that is more (common practice, no source).
pub fn ease_off(division: Division, now: Marks, stop: Marks, in_90_s: Option<Marks>) -> Marks {
    let before = match division.unit() {
        Unit::Lb | Unit::LbOz => Weight::pounds(Decimal::from(3)),
        Unit::Kg => Weight::kilograms(Decimal::new(14, 1)),
    };
    (stop - division.ceil(before).max(in_90_s.unwrap_or(0))).max(now)
}
