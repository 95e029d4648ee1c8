//! The objectives one after another, each held while the next is improved.

use super::amounts::{fills, heaviest, totals};
use super::heaviest::Lifting;
use super::rounds::{quick, rounds};
use super::shortage::{leftover_cost, shortage};
use super::state::State;
use super::ties::settle;
use crate::solver::bound::restricted::Memory;
use crate::solver::field::{Field, Goal, Part, charge};
use crate::solver::problem::effort::Effort;
use crate::solver::problem::reserve::hold_back;
use crate::solver::problem::watch::{Stopped, Watch};
use crate::solver::problem::{Objectives, Options, Outcome, Priority, Problem, Progress, Proved, Solution, Stage};
use crate::solver::search::answer::{Answer, FULL, Target};
use crate::solver::search::root::search;
use crate::solver::search::sequence::greedy_plan;

/// Plans a problem: the objectives in the order of `options`, each proved or bounded.
///
/// `go_on` is asked every few milliseconds of work; once it answers false, or the work of `options.effort` is done, the best
/// plan found so far is returned with the bounds proved so far. The answer depends on nothing else: not on clock, threads or
/// hashes.
pub fn solve(problem: &Problem, options: &Options, go_on: &mut dyn FnMut(&Progress) -> bool) -> Outcome {
    let mut watch = Watch::new(go_on);
    let held = held(problem, options, &mut watch);
    watch.allow(options.effort.steps(problem));
    let mut solver = Solver::new(&held, options);
    let fit = solver.fit(&mut watch);
    match fit {
        Err(Stopped) if solver.parts.iter().any(|state| state.sets.is_none()) => Outcome::Undecided,
        Ok(Fit::Unknown) => Outcome::Undecided,
        Ok(Fit::No) => {
            watch.progress.stage = Stage::Shortage;
            // Where it doesn't fit nothing is held back.
            let parts: Vec<Part> = Solver::new(problem, options).parts.into_iter().map(|state| state.part).collect();
            Outcome::Short(shortage(problem, options, &parts, &mut watch))
        }
        Err(Stopped) => Outcome::Planned(solver.solution()),
        Ok(Fit::Yes) => {
            // Stopped or not, what is known by then is the answer.
            let _stopped = solver.improve(&mut watch);
            Outcome::Planned(solver.solution())
        }
    }
}

/// The problem that is solved for these options: with the cylinders kept from the lots that they are reserved from, as far
/// as the number of cylinders isn't larger for that; nothing is reserved any more.
pub fn held_back(problem: &Problem, options: &Options, go_on: &mut dyn FnMut(&Progress) -> bool) -> Problem {
    let mut held = held(problem, options, &mut Watch::new(go_on));
    held.cylinders.iter_mut().for_each(|slot| slot.reserved.clear());
    held
}

fn held(problem: &Problem, options: &Options, watch: &mut Watch<'_>) -> Problem {
    hold_back(problem, &options.must_use, |problem| {
        // One round: there are many numbers to find.
        let (must_use, effort) = (options.must_use.clone(), Effort::within(0.0));
        let options = Options { must_use, effort, ..Options::default() };
        let mut solver = Solver::new(problem, &options);
        let fits = solver.fit(watch) == Ok(Fit::Yes);
        fits.then(|| solver.parts.iter().map(State::number).sum())
    })
}

/// Cylinders times lots beyond which a plan is close enough where so small a part of the weight carried is open.
const MANY: u64 = 1_000;
const CLOSE: i128 = 1_000;

/// Whether everything fits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fit {
    Yes,
    No,
    Unknown,
}

struct Solver<'p> {
    problem: &'p Problem,
    options: &'p Options,
    kept: Vec<bool>,
    parts: Vec<State>,
    /// No plan has a lower heaviest lift.
    low: i64,
    /// The heaviest lift in force.
    lift: i64,
}

impl<'p> Solver<'p> {
    fn new(problem: &'p Problem, options: &'p Options) -> Self {
        let mut kept = vec![false; problem.cylinders.len()];
        for &cylinder in &options.must_use {
            if let Some(kept) = kept.get_mut(cylinder) {
                *kept = true;
            }
        }
        let parts = match options.at_most {
            // A common number of cylinders binds all lots together.
            Some(_) => vec![Part::whole(problem)],
            None => Part::separate(problem),
        };
        let parts = parts.into_iter().filter(|part| !part.lots.is_empty()).map(State::new).collect();
        Self { problem, options, kept, parts, low: 0, lift: i64::MAX }
    }

    /// The heaviest lift comes before the number of cylinders.
    fn lift_first(&self) -> bool {
        self.options.priority == Priority::Lightest || self.options.at_most.is_some()
    }

    /// Finds a first plan, or proves that there is none; with the fewest first, the fewest cylinders.
    fn fit(&mut self, watch: &mut Watch<'_>) -> Result<Fit, Stopped> {
        watch.progress.stage = Stage::Cylinders;
        let reachable = |cylinder: usize| self.parts.iter().any(|state| state.part.cylinders.contains(&cylinder));
        let roomless = |&cylinder: &usize| cylinder >= self.problem.cylinders.len() || !reachable(cylinder);
        if self.options.must_use.iter().any(roomless) {
            return Ok(Fit::No);
        }
        let any = self.lift_first();
        let most = self.options.at_most.unwrap_or(self.problem.cylinders.len()) as i64;
        for allowance in rounds(self.options.effort.steps(self.problem)) {
            for index in 0..self.parts.len() {
                if self.parts[index].sets.is_some() {
                    continue;
                }
                let target = Target { cutoff: most + 1, enough: if any { most } else { 0 }, allowance };
                self.fewest(index, i64::MAX, target, watch)?;
                let state = &self.parts[index];
                let unknown = state.sets.is_none();
                if unknown && (state.fewest as i64 > most || self.leaves_some(index, allowance, watch)?) {
                    return Ok(Fit::No);
                }
            }
            if self.parts.iter().all(|state| state.sets.is_some()) {
                return Ok(Fit::Yes);
            }
        }
        Ok(Fit::Unknown)
    }

    /// The fewest cylinders of a part at a lift.
    fn fewest(&mut self, index: usize, lift: i64, target: Target, watch: &mut Watch<'_>) -> Result<(), Stopped> {
        let state = &mut self.parts[index];
        let field = Field::new(self.problem, &self.kept, &state.part, lift, Goal::Count, None);
        // Whatever happens, there is this.
        let at_once = if state.sets.is_none() { greedy_plan(&field, watch)? } else { None };
        let at_once = at_once.filter(|(cost, _)| *cost < target.cutoff);
        let mut answer = Answer::default();
        let searched = search(&field, target, &mut state.memory, &mut answer, watch);
        state.fewest = state.fewest.max(usize::try_from(answer.bound).unwrap_or(0));
        if let Some((_, sets)) = answer.plan.or(at_once) {
            state.sets = Some(sets);
        }
        self.report(watch);
        searched
    }

    /// Looks for fewer cylinders at a lift in every part whose number isn't proved.
    fn fewer(&mut self, lift: i64, allowance: u64, watch: &mut Watch<'_>) -> Result<(), Stopped> {
        watch.progress.stage = Stage::Cylinders;
        for index in 0..self.parts.len() {
            let (number, fewest) = (self.parts[index].number(), self.parts[index].fewest);
            let target = Target { cutoff: number as i64, enough: 0, allowance };
            if fewest < number {
                self.fewest(index, lift, target, watch)?;
            }
        }
        Ok(())
    }

    /// Asks in another way whether a part fits: true where it is proved that something is left over. May find a plan.
    fn leaves_some(&mut self, index: usize, allowance: u64, watch: &mut Watch<'_>) -> Result<bool, Stopped> {
        let each = leftover_cost(self.problem);
        let state = &mut self.parts[index];
        let goal = Goal::Leftover(each);
        let field = Field::new(self.problem, &self.kept, &state.part, i64::MAX, goal, self.options.at_most);
        let target = Target { cutoff: each, enough: each - 1, allowance };
        let mut answer = Answer::default();
        search(&field, target, &mut Memory::default(), &mut answer, watch)?;
        let short = answer.plan.is_none() && answer.bound >= each;
        state.sets = answer.plan.map(|(_, sets)| sets);
        Ok(short)
    }

    /// Improves the plan that is there, objective after objective: first with little branching, so that each has a good
    /// plan and bound before one of them takes all the time, then with more and more.
    fn improve(&mut self, watch: &mut Watch<'_>) -> Result<(), Stopped> {
        for allowance in std::iter::once(quick(self.problem)).chain(rounds(self.options.effort.steps(self.problem))) {
            if self.lift_first() {
                let most = self.options.at_most.unwrap_or(self.problem.cylinders.len());
                self.lighten(|_| most, allowance, watch)?;
                // What was asked of it before the lift was known.
                if allowance < FULL {
                    self.parts.iter_mut().for_each(|state| state.fewest = 0);
                }
                self.fewer(self.lift, allowance, watch)?;
                self.merge_unproved();
            } else {
                // Before the first rounds it was looked for as far as in them.
                if allowance > FULL {
                    self.fewer(i64::MAX, allowance, watch)?;
                }
                self.merge_unproved();
                self.lighten(State::number, allowance, watch)?;
            }
            if self.close_enough() {
                break;
            }
            self.relieve(allowance, watch)?;
            if self.solution().proved.all() || self.close_enough() {
                break;
            }
        }
        Ok(())
    }

    /// Many cylinders, and no more than a thousandth of the weight carried is open: not worth seconds. Of more than the usual
    /// effort so much less.
    fn close_enough(&self) -> bool {
        let Solution { totals, bounds, proved, .. } = self.solution();
        let [effort, usual] =
            [self.options.effort, Effort::default()].map(|effort| i128::from(effort.steps(self.problem)));
        self.problem.size() > MANY
            && proved.cylinders
            && proved.heaviest
            && i128::from(totals.carried - bounds.carried) * CLOSE * effort.max(usual)
                <= i128::from(totals.carried) * usual
    }

    /// Where a part's number isn't proved, one part could give up a cylinder for another: the bounds of what follows
    /// hold only for all together.
    fn merge_unproved(&mut self) {
        if self.parts.len() < 2 || self.parts.iter().all(|state| state.fewest == state.number()) {
            return;
        }
        let mut whole = State::new(Part::whole(self.problem));
        whole.fewest = self.parts.iter().map(|state| state.fewest).sum();
        let mut by_lot: Vec<(usize, Vec<usize>)> = Vec::new();
        for state in std::mem::take(&mut self.parts) {
            by_lot.extend(state.part.lots.into_iter().zip(state.sets.unwrap_or_default()));
        }
        by_lot.sort();
        whole.sets = Some(by_lot.into_iter().map(|(_, set)| set).collect());
        self.parts.push(whole);
    }

    /// The lowest heaviest lift of all parts, each within its number of cylinders.
    fn lighten(
        &mut self,
        most: impl Fn(&State) -> usize,
        allowance: u64,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        watch.progress.stage = Stage::Heaviest;
        // The part that is heaviest now first: what it needs at least, the others may use.
        let mut order: Vec<usize> = (0..self.parts.len()).collect();
        order.sort_by_key(|&index| std::cmp::Reverse(self.heaviest(index)));
        let limit = self.lift_first();
        for index in order {
            let at_most = most(&self.parts[index]);
            let state = &mut self.parts[index];
            let Some(sets) = state.sets.clone() else { continue };
            let mut lifting = Lifting {
                problem: self.problem,
                kept: &self.kept,
                part: &state.part,
                at_most,
                limit,
                low: self.low,
                sets,
            };
            let mut stopped = Ok(());
            if lifting.high() > self.low {
                stopped = lifting.lower(allowance, &mut state.memory, watch);
            }
            self.low = self.low.max(lifting.low);
            state.sets = Some(lifting.sets);
            self.report(watch);
            stopped?;
        }
        self.lift = self.heaviest_of_all();
        Ok(())
    }

    /// The heaviest lift of a part's plan.
    fn heaviest(&self, index: usize) -> i64 {
        let state = &self.parts[index];
        state.sets.as_ref().map_or(0, |sets| heaviest(self.problem, &state.part.lots, sets))
    }

    fn heaviest_of_all(&self) -> i64 {
        (0..self.parts.len()).map(|index| self.heaviest(index)).max().unwrap_or(0)
    }

    /// The least weight carried, at the number of cylinders and the heaviest lift found.
    fn relieve(&mut self, allowance: u64, watch: &mut Watch<'_>) -> Result<(), Stopped> {
        watch.progress.stage = Stage::Carried;
        let mut result = Ok(());
        for state in &mut self.parts {
            let Some(sets) = &state.sets else { continue };
            let number = state.number();
            let field = Field::new(self.problem, &self.kept, &state.part, self.lift, Goal::Gross, Some(number));
            let Some(now) = field.cost(sets) else { continue };
            if !state.holds(self.lift, number) {
                state.gross = 0;
            }
            state.within = (self.lift, number);
            let mut answer = Answer { bound: state.gross, plan: Some((now, sets.clone())) };
            if result.is_ok() && state.gross < now {
                result = state.relieve(&field, allowance, &mut answer, watch);
            }
            state.gross = state.gross.max(answer.bound);
            state.sets = answer.plan.map(|(_, sets)| sets);
        }
        self.report(watch);
        result
    }

    /// Tells the caller's progress what is known.
    fn report(&self, watch: &mut Watch<'_>) {
        watch.progress.bounds = self.bounds();
        if self.parts.iter().all(|state| state.sets.is_some()) {
            watch.progress.best = Some(self.solution().totals);
        }
    }

    /// What is proved.
    fn bounds(&self) -> Objectives {
        let cylinders: usize = self.parts.iter().map(|state| state.fewest).sum();
        let lots = self.parts.iter().flat_map(|state| &state.part.lots);
        let charges: i64 = lots.map(|&lot| charge(self.problem, lot)).sum();
        // What was proved within a lift and a number says nothing of plans beyond them.
        let heaviest = self.heaviest_of_all();
        let gross = |state: &State| if state.holds(heaviest, state.number()) { state.gross } else { 0 };
        Objectives { cylinders, heaviest: self.low, carried: charges + self.parts.iter().map(gross).sum::<i64>() }
    }

    /// The plan, with ties settled.
    fn solution(&self) -> Solution {
        let lift = self.heaviest_of_all();
        let mut all = Vec::new();
        for state in &self.parts {
            let Some(mut sets) = state.sets.clone() else { continue };
            settle(self.problem, &self.kept, &state.part, &mut sets, lift);
            all.extend(fills(self.problem, &state.part.lots, &sets, self.options.amounts, lift));
        }
        all.sort_by_key(|fill| (fill.lot, fill.cylinder));
        let totals = totals(self.problem, &all);
        let bounds = self.bounds();
        let proved = Proved {
            cylinders: totals.cylinders == bounds.cylinders,
            heaviest: totals.heaviest == bounds.heaviest,
            carried: totals.carried == bounds.carried,
        };
        Solution { fills: all, totals, bounds, proved }
    }
}
