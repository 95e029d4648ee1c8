//! The lowest heaviest lift within a number of cylinders, by bisection over divisions.
//!
//! At a lift Z the question is a covering problem: do at most K cylinders, each with room min(top, Z) − base, cover
//! every charge? It is asked of the bound alone first, because that is cheap and nearly always decides; where the
//! bound stops saying no, a plan is looked for, and where there is proved to be none the lift goes up.

use super::amounts::heaviest;
use super::shortage::leftover_cost;
use crate::solver::bound::generation::{Aim, Else, raise};
use crate::solver::bound::multipliers::Bound;
use crate::solver::bound::restricted::Memory;
use crate::solver::field::{Field, Goal, Part, Sets};
use crate::solver::problem::Problem;
use crate::solver::problem::watch::{Stopped, Watch};
use crate::solver::search::answer::{Answer, FULL, Target};
use crate::solver::search::root::search;

/// Lifts tried one division after another before bisecting for a plan.
const STEPS_UP: usize = 24;

/// The part of the work that branching at one lift may take while bisecting.
const BISECTING: u64 = 8;

/// What the bisection works on.
pub struct Lifting<'a> {
    /// The problem.
    pub problem: &'a Problem,
    /// Which cylinders must be used.
    pub kept: &'a [bool],
    /// The lots and cylinders.
    pub part: &'a Part,
    /// At most so many cylinders.
    pub at_most: usize,
    /// The number is only a limit, not the fewest.
    pub limit: bool,
    /// No plan has a lower heaviest lift.
    pub low: i64,
    /// The lightest plan known.
    pub sets: Sets,
}

impl Lifting<'_> {
    /// The field at a lift, and the cost from which on a plan is none.
    ///
    /// With the number given, the number is the cost. Where it is only a limit, what is left over is: a bound on
    /// that rises sooner, and a plan is found by leaving less and less over.
    fn field(&self, lift: i64) -> (Field, i64) {
        let field = |goal, most| Field::new(self.problem, self.kept, self.part, lift, goal, most);
        if self.limit {
            let each = leftover_cost(self.problem);
            (field(Goal::Leftover(each), Some(self.at_most)), each)
        } else {
            (field(Goal::Count, None), self.at_most as i64 + 1)
        }
    }

    /// The heaviest lift of the plan known.
    pub fn high(&self) -> i64 {
        heaviest(self.problem, &self.part.lots, &self.sets)
    }

    /// Closes in on the lowest heaviest lift. When stopped, `low` and `sets` hold what is known.
    pub fn lower(&mut self, allowance: u64, memory: &mut Memory, watch: &mut Watch<'_>) -> Result<(), Stopped> {
        let until = watch.spent().saturating_add(allowance.saturating_mul(4));
        self.low = self.low.min(self.high());
        self.rule_out(memory, watch)?;
        // With little branching first: that mostly settles it, and else brings a good plan.
        if self.go_up(0, until, memory, watch)? {
            return Ok(());
        }
        // Where a proof is worth it each lift is worth a little branching.
        let each = if allowance < FULL { 0 } else { allowance / BISECTING };
        self.bisect(each, until, memory, watch)?;
        self.go_up(allowance, until, memory, watch).map(drop)
    }

    /// Bisects for a plan.
    fn bisect(&mut self, each: u64, until: u64, memory: &mut Memory, watch: &mut Watch<'_>) -> Result<(), Stopped> {
        let mut tried = self.low + 1;
        while tried < self.high() && watch.spent() < until {
            let mid = tried + (self.high() - tried) / 2;
            self.decide(mid, each, memory, watch)?;
            // Below what was found and not below what was tried in vain.
            tried = if self.high() <= mid { tried.max(self.low) } else { mid + 1 };
        }
        Ok(())
    }

    /// Goes up from the lowest lift as long as each is disproved; true where that settles it.
    fn go_up(
        &mut self,
        allowance: u64,
        until: u64,
        memory: &mut Memory,
        watch: &mut Watch<'_>,
    ) -> Result<bool, Stopped> {
        for _ in 0..STEPS_UP {
            if self.low >= self.high() {
                return Ok(true);
            }
            if watch.spent() >= until || !self.decide(self.low, allowance, memory, watch)? {
                break;
            }
        }
        Ok(self.low >= self.high())
    }

    /// Raises `low` as far as the bound alone can: to the lowest lift at which it doesn't say no.
    fn rule_out(&mut self, memory: &mut Memory, watch: &mut Watch<'_>) -> Result<(), Stopped> {
        let mut high = self.high();
        while self.low < high {
            let mid = self.low + (high - self.low) / 2;
            let (field, none) = self.field(mid);
            let aim = Aim { enough: none, else_to: Else::GiveUp, most: u64::MAX };
            let mut bound = Bound::default();
            let impossible = field.hopeless()
                || raise(&field, memory, aim, &mut bound, watch)?.is_none()
                || bound.cost(&field) >= none;
            if impossible {
                self.low = mid + 1;
                watch.progress.bounds.heaviest = watch.progress.bounds.heaviest.max(self.low);
            } else {
                high = mid;
            }
        }
        Ok(())
    }

    /// Looks for a plan at a lift; true where it was found or disproved, which moves `sets` or `low`.
    fn decide(
        &mut self,
        lift: i64,
        allowance: u64,
        memory: &mut Memory,
        watch: &mut Watch<'_>,
    ) -> Result<bool, Stopped> {
        let (field, none) = self.field(lift);
        let target = Target { cutoff: none, enough: none - 1, allowance };
        let mut answer = Answer::default();
        let searched = search(&field, target, memory, &mut answer, watch);
        if answer.bound >= none {
            self.low = self.low.max(lift + 1);
        }
        if let Some((_, sets)) = answer.plan {
            self.sets = sets;
        }
        self.low = self.low.min(self.high());
        searched.map(|()| self.low > lift || self.high() <= lift)
    }
}
