//! When the charge doesn't fit: the plan that leaves the least over.
//!
//! The same search with charges that may stay uncovered: a division left over costs more than all cylinders
//! together, so the least weight left over comes first and the fewest cylinders second.

use super::amounts::fills;
use super::rounds::{quick, rounds};
use crate::solver::bound::restricted::Memory;
use crate::solver::field::{Field, Goal, Part, Sets, charge};
use crate::solver::problem::watch::{Stopped, Watch};
use crate::solver::problem::{Options, Problem, Shortage};
use crate::solver::search::answer::{Answer, FULL, Target};
use crate::solver::search::neighbourhood::improve;
use crate::solver::search::root::search;

/// So many times the work of a first round goes into the last division, too.
const EXACT: u64 = 3;
/// Costs of all that is left over that sums and prices are made for.
const DEAREST: i64 = 1 << 50;

/// The cost of one division left over: more than all cylinders.
pub fn leftover_cost(problem: &Problem) -> i64 {
    problem.cylinders.len() as i64 + 1
}

/// The best partial plan of a problem that is proved not to fit. When stopped, the best found so far.
pub fn shortage(problem: &Problem, options: &Options, parts: &[Part], watch: &mut Watch<'_>) -> Shortage {
    let free = vec![false; problem.cylinders.len()];
    let mut result = Shortage { missing: vec![0; problem.lots.len()], proved: true, ..Shortage::default() };
    for part in parts {
        let field = |goal| Field::new(problem, &free, part, i64::MAX, goal, options.at_most);
        let mut lacking = Lacking { problem, part, sets: vec![Vec::new(); part.lots.len()], least: 0 };
        // Stopped or not, what is known by then is the answer.
        let _stopped = lacking.find(&field, options, watch);
        result.least_missing += lacking.least;
        result.proved &= lacking.least == lacking.total();
        for (&lot, missing) in part.lots.iter().zip(lacking.missing()) {
            result.missing[lot] = missing;
        }
        result.fills.extend(fills(problem, &part.lots, &lacking.sets, options.amounts, i64::MAX));
    }
    result.fills.sort_by_key(|fill| (fill.lot, fill.cylinder));
    let used = |cylinder: usize| result.fills.iter().any(|fill| fill.cylinder == cylinder);
    result.unused = options.must_use.iter().copied().filter(|&cylinder| !used(cylinder)).collect();
    result.unused.sort_unstable();
    result.unused.dedup();
    result
}

/// What is known of the least that a part leaves over.
struct Lacking<'p> {
    problem: &'p Problem,
    part: &'p Part,
    /// The best found.
    sets: Sets,
    /// No sets leave less over.
    least: i64,
}

impl Lacking<'_> {
    /// What is left over of each lot of the part.
    fn missing(&self) -> Vec<i64> {
        let over = |(&lot, set): (&usize, &Vec<usize>)| {
            let room: i64 = set.iter().map(|&slot| self.problem.cylinders[slot].room(lot, i64::MAX)).sum();
            (charge(self.problem, lot) - room).max(0)
        };
        self.part.lots.iter().zip(&self.sets).map(over).collect()
    }

    fn total(&self) -> i64 {
        self.missing().iter().sum()
    }

    /// Looks for sets that leave the least over, then among those for the later lots to wait and the fewest cylinders.
    fn find(
        &mut self,
        field: &impl Fn(Goal) -> Field,
        options: &Options,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        let each = leftover_cost(self.problem);
        let by_weight = field(Goal::Leftover(each));
        let quick = quick(self.problem);
        let mut answer = Answer::default();
        let longer = (EXACT * quick).min(FULL / 2);
        for allowance in [0, quick, longer].into_iter().chain(rounds(options.effort.steps(self.problem))) {
            // How many cylinders that takes is asked later; and a division isn't worth seconds.
            let open = i64::from(allowance > longer);
            if self.total() <= self.least + open {
                break;
            }
            let enough = (answer.bound / each + open + 1) * each - 1;
            let searched = self.search(&by_weight, Target { cutoff: 0, enough, allowance }, &mut answer, watch);
            self.least = answer.bound / each;
            searched?;
        }
        let late = self.waiting(each).map_or(by_weight, field);
        let target = Target { cutoff: 0, enough: 0, allowance: quick };
        self.search(&late, target, &mut Answer::default(), watch)
    }

    /// Looks for cheaper sets than those known. When stopped, what was found by then is kept.
    fn search(
        &mut self,
        field: &Field,
        target: Target,
        answer: &mut Answer,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        let Some(cost) = field.cost(&self.sets) else { return Ok(()) };
        let target = Target { cutoff: cost, ..target };
        answer.plan = None;
        let mut searched = search(field, target, &mut Memory::default(), answer, watch);
        if searched.is_ok() && target.allowance == 0 && !answer.settled(target) {
            searched = improve(field, quick(self.problem), answer, watch);
        }
        if let Some((_, sets)) = answer.plan.take() {
            self.sets = sets;
        }
        searched
    }

    /// The goal of leaving no more over, with as much of it as can be in later lots; `None` where nothing is left over, or so
    /// much that costs would be too large.
    ///
    /// With T left over in all and L lots, a division of lot l (from 0) left over costs L(T + 1) − l: T + 1 divisions cost
    /// more than T, whichever they are, so no more is left over; and of T divisions the later are cheaper.
    fn waiting(&self, each: i64) -> Option<Goal> {
        let total = self.total();
        let weight = (self.problem.lots.len() as i64).saturating_mul(total + 1).saturating_mul(each);
        let charges: i64 = (0..self.problem.lots.len()).map(|lot| charge(self.problem, lot).max(0)).sum();
        (total > 0 && weight.saturating_mul(charges) <= DEAREST).then_some(Goal::Waiting(weight, each))
    }
}
