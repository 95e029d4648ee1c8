//! What to do where the charge doesn't fit: first what costs nothing, to evacuate cylinders that hold nitrogen; then the
//! fewest cylinders to add to that yard.
//!
//! Everything that is suggested was planned with: the cylinders evacuated, at their tare, and the additions beside them.

use super::additions::{self, Additions};
use super::assemble::Place;
use crate::cylinder::{Contents, Cylinder, EVACUATE_FIRST, Facts, reasons};
use crate::job::{Lot, Work};
use crate::plan::{Leftover, Remedy, Suggestion};
use crate::quantity::Marks;
use crate::solver::{Options, Outcome, Problem, Progress, Shortage, Slot, solve};

/// What may be done to cylinders of the yard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cures {
    /// Those that hold nitrogen may be evacuated.
    Evacuating,
    /// Nothing.
    None,
}

/// The most sets of cylinders to evacuate that are looked at for the fewest, and the most that are planned with.
const MOST_SETS: usize = 50_000;
const MOST_TRIED: usize = 500;

/// The remedy of a shortage, and for each lot which of the added cylinders it would get.
pub(super) fn find(
    work: &Work,
    problem: &Problem,
    shortage: &Shortage,
    cures: Cures,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> (Remedy, Vec<Vec<Suggestion>>) {
    let curable = match cures {
        Cures::Evacuating => curable(work),
        Cures::None => Vec::new(),
    };
    let mut search = Search { problem, curable, go_on };
    let mut evacuate: Vec<usize> = (0..search.curable.len()).collect();
    let mut missing = shortage.missing.clone();
    let mut additions = Additions::none(work);
    let with_all = (!evacuate.is_empty()).then(|| search.outcome(&evacuate, &[]));
    match with_all {
        Some(Outcome::Planned(_)) => {
            missing.fill(0);
            evacuate = search.fewest(shortage.least_missing);
        }
        Some(Outcome::Short(less)) if sum(&less.missing) < sum(&missing) => {
            let with_all = search.with(&evacuate, &[]);
            additions = additions::fewest(work, &with_all, less.least_missing, search.go_on);
            let most = if additions.slots.is_empty() { sum(&less.missing) } else { 0 };
            let needed = search.needed(evacuate.clone(), &additions.slots, most);
            (evacuate, missing) = match search.outcome(&needed, &[]) {
                _ if needed.is_empty() => (needed, missing),
                Outcome::Short(left) if sum(&left.missing) < sum(&missing) => (needed, left.missing),
                // What was pruned by itself leaves no less, or the time ran out.
                Outcome::Short(_) | Outcome::Planned(_) | Outcome::Undecided => (evacuate, less.missing),
            };
        }
        Some(Outcome::Short(_) | Outcome::Undecided) | None => {
            evacuate.clear();
            additions = additions::fewest(work, problem, shortage.least_missing, search.go_on);
        }
    }
    let ids = evacuate.iter().filter_map(|index| search.curable.get(*index));
    let mut positions: Vec<usize> = ids.map(|(position, _)| *position).collect();
    positions.sort_unstable();
    let ids = positions.iter().filter_map(|position| work.yard().get(*position)).map(|cylinder| cylinder.id.clone());
    let left = work.lots().iter().zip(&missing).filter(|(_, missing)| **missing > 0);
    let missing = left.map(|(lot, missing)| Leftover { lot: lot.name.clone(), missing: *missing }).collect();
    (Remedy { evacuate: ids.collect(), missing, add: additions.all }, additions.by_lot)
}

fn sum(missing: &[Marks]) -> Marks {
    missing.iter().sum()
}

/// The cylinders that are fit for some lot once they are evacuated, by their positions in the yard, the roomiest first.
fn curable(work: &Work) -> Vec<(usize, Slot)> {
    let cured = |(position, cylinder)| Some((position, cured(cylinder, work.lots())?));
    let mut curable: Vec<(usize, Slot)> = work.yard().iter().enumerate().filter_map(cured).collect();
    curable.sort_by_key(|(_, slot)| std::cmp::Reverse(additions::largest_room(slot)));
    curable
}

/// A cylinder that holds nitrogen as it would be evacuated: for the lots that nothing else keeps it from, before and
/// after. `None` where there is none.
fn cured(cylinder: &Cylinder, lots: &[Lot]) -> Option<Slot> {
    if cylinder.contents != Contents::Nitrogen {
        return None;
    }
    let evacuated = Cylinder::new(Facts {
        contents: Contents::Evacuated,
        gross: cylinder.tare,
        measured: None,
        ..Facts::clone(cylinder)
    });
    let evacuated = evacuated.ok()?;
    let mut slot = Place::new(&evacuated, lots).slot();
    for (lot, top) in lots.iter().zip(&mut slot.tops) {
        let only_nitrogen = reasons(cylinder, &lot.intake).iter().all(|finding| finding.rule.code == EVACUATE_FIRST);
        if !only_nitrogen {
            *top = None;
        }
    }
    slot.tops.iter().any(Option::is_some).then_some(slot)
}

struct Search<'a, 'g> {
    problem: &'a Problem,
    curable: Vec<(usize, Slot)>,
    go_on: &'g mut dyn FnMut(&Progress) -> bool,
}

impl Search<'_, '_> {
    /// The problem with some of the curable cylinders evacuated, and further ones beside them.
    fn with(&self, evacuated: &[usize], added: &[Slot]) -> Problem {
        let mut problem = self.problem.clone();
        for (position, slot) in evacuated.iter().filter_map(|index| self.curable.get(*index)) {
            if let Some(place) = problem.cylinders.get_mut(*position) {
                *place = slot.clone();
            }
        }
        problem.cylinders.extend_from_slice(added);
        problem
    }

    fn outcome(&mut self, evacuated: &[usize], added: &[Slot]) -> Outcome {
        solve(&self.with(evacuated, added), &Options::default(), self.go_on)
    }

    /// Whether no more than so much is left over.
    fn leaves_at_most(&mut self, most: Marks, evacuated: &[usize], added: &[Slot]) -> bool {
        match self.outcome(evacuated, added) {
            Outcome::Planned(_) => true,
            Outcome::Short(shortage) => sum(&shortage.missing) <= most,
            Outcome::Undecided => false,
        }
    }

    /// Those of the evacuated cylinders that are needed, so that no more than so much is left over: one after the other
    /// is left as it is, the smallest first.
    fn needed(&mut self, mut evacuated: Vec<usize>, added: &[Slot], most: Marks) -> Vec<usize> {
        for index in evacuated.clone().into_iter().rev() {
            let without: Vec<usize> = evacuated.iter().copied().filter(|other| *other != index).collect();
            if self.leaves_at_most(most, &without, added) {
                evacuated = without;
            }
        }
        evacuated
    }

    /// The fewest curable cylinders with which everything fits; where there are too many sets to try, few. Each takes at
    /// most its largest room off the least that is missing.
    fn fewest(&mut self, least_missing: Marks) -> Vec<usize> {
        let all: Vec<usize> = (0..self.curable.len()).collect();
        let few = self.needed(all, &[], 0);
        let rooms: Vec<Marks> = self.curable.iter().map(|(_, slot)| additions::largest_room(slot)).collect();
        let (mut looked_at, mut tried) = (0, 0);
        for number in 1..few.len() {
            let mut set = Vec::new();
            while let Some(next) = next_set(&mut set, number, rooms.len()) {
                looked_at += 1;
                if looked_at > MOST_SETS || tried >= MOST_TRIED {
                    return few;
                }
                if next.iter().filter_map(|index| rooms.get(*index)).sum::<Marks>() < least_missing {
                    continue;
                }
                tried += 1;
                if self.leaves_at_most(0, next, &[]) {
                    return next.to_vec();
                }
            }
        }
        few
    }
}

/// The next set of so many of the first `end` numbers, in the order of their digits; the first where it is empty.
fn next_set(set: &mut Vec<usize>, number: usize, end: usize) -> Option<&[usize]> {
    if set.is_empty() {
        set.extend(0..number);
    } else {
        let position = (0..number).rev().find(|position| set[*position] < end - number + position)?;
        set[position] += 1;
        for later in position + 1..number {
            set[later] = set[later - 1] + 1;
        }
    }
    Some(set)
}
