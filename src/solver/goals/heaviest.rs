//! The lowest heaviest lift within a number of cylinders, by bisection over divisions.
//!
//! At a lift Z the question is a covering problem: do at most K cylinders, each with room min(top, Z) − base, cover
//! every charge? It is asked of the bound alone first, because that is cheap and nearly always decides; where the
//! bound stops saying no, a plan is looked for, and where there is proved to be none the lift goes up.

use super::amounts::heaviest;
use super::shortage::leftover_cost;
use crate::solver::bound::generation::Memory;
use crate::solver::bound::prices::Bound;
use crate::solver::bound::raise::{Aim, Else, raise};
use crate::solver::bound::relaxed::relaxed;
use crate::solver::bound::worth::Worth;
use crate::solver::field::{Field, Goal, Part, Sets};
use crate::solver::problem::Problem;
use crate::solver::problem::watch::{Stopped, Watch};
use crate::solver::search::answer::{Answer, FULL, Quest};
use crate::solver::search::balance::{SURPLUS, balance};
use crate::solver::search::coarse::{bound_coarser, plan_coarser};
use crate::solver::search::quest::search;
use crate::solver::search::rough::{bound_roughly, plan_roughly};

/// Lifts tried one division after another before bisecting for a plan.
const STEPS_UP: usize = 24;

/// Large problems are bisected roughly at first: by what divisions are worth to such a part of the lift, ...
const FINE: i64 = 2_048;
/// ... and by coarser fields to such a part.
const COARSE: i64 = 512;
/// So far apart plan and bound have to be that coarser fields are asked for a bound, ...
const WIDE: i64 = 100;
/// ... and so far that plans are looked for longer at first.
const NEAR: i64 = 256;
/// The part of the work that branching at one lift may take while bisecting.
const BISECTING: u64 = 8;

/// A way to bound a large field, or to look for a plan of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Bound,
    Plan,
    CoarserBound,
    CoarserPlan,
}

/// What is remembered of fields, and of coarser ones.
type Memories<'m> = (&'m mut Memory, &'m mut Memory);

impl Way {
    /// Goes it, at a number of cylinders.
    fn go(
        self,
        field: &Field,
        number: usize,
        quest: Quest,
        (memory, coarse): &mut Memories<'_>,
        answer: &mut Answer,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        let worth = bound_roughly(field, quest, memory, answer, watch)?;
        match self {
            _ if answer.settled(quest) => Ok(()),
            Self::Bound => Ok(()),
            Self::Plan => plan_roughly(field, &worth, number as i64, quest, answer, watch),
            Self::CoarserBound => bound_coarser(field, &worth, quest, coarse, answer, watch),
            Self::CoarserPlan => plan_coarser(field, &worth, quest, coarse, answer, watch),
        }
    }
}

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
        let large = self.problem.is_large();
        if large && allowance < FULL {
            return self.lower_roughly(allowance, until, memory, watch);
        }
        self.rule_out(memory, watch)?;
        // With little branching first: that mostly settles it, and else brings a good plan.
        if self.go_up(0, until, memory, watch)? {
            return Ok(());
        }
        // Where a proof is worth it each lift is worth a little branching.
        let each = if allowance < FULL || large { 0 } else { allowance / BISECTING };
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

    /// Closes in roughly: what the relaxation rules out, then the lowest lift at which its worth brings a plan; where that isn't
    /// near, the same by coarser fields; and at last by the field's own prices.
    fn lower_roughly(
        &mut self,
        allowance: u64,
        until: u64,
        memory: &mut Memory,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        let mut coarse = Memory::default();
        let mut memories = (memory, &mut coarse);
        self.close_in(Way::Bound, FINE, &mut memories, watch)?;
        self.descend(Way::Plan, FINE, u64::MAX, &mut memories, watch)?;
        // However long that took, coarser fields are asked.
        let until = until.max(watch.spent().saturating_add(allowance));
        if self.open(WIDE) {
            self.close_in(Way::CoarserBound, COARSE, &mut memories, watch)?;
        }
        if self.open(NEAR) {
            self.descend(Way::CoarserPlan, COARSE, until, &mut memories, watch)?;
        }
        if self.open(NEAR) { self.bisect(0, until, memories.0, watch) } else { Ok(()) }
    }

    /// More than such a part of the lift is open.
    fn open(&self, part: i64) -> bool {
        self.high() - self.low > self.high() / part
    }

    /// Raises `low` to within such a part of the lowest lift at which a way to bound doesn't say no.
    fn close_in(
        &mut self,
        way: Way,
        part: i64,
        memories: &mut Memories<'_>,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        let mut open = self.high();
        while self.low + self.high() / part < open {
            let mid = self.low + (open - self.low) / 2;
            if !self.decide_by(way, mid, memories, watch)? {
                open = mid;
            }
            open = open.min(self.high());
        }
        Ok(())
    }

    /// Lowers the plan to within such a part of the lowest lift at which exchanges or a way to plan bring one.
    fn descend(
        &mut self,
        way: Way,
        part: i64,
        until: u64,
        memories: &mut Memories<'_>,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        // Lower lifts were tried in vain.
        let mut tried = self.low;
        while tried + self.high() / part < self.high() && watch.spent() < until {
            let mid = tried + (self.high() - tried) / 2;
            if !self.exchanged(mid, memories.0, watch)? && !self.decide_by(way, mid, memories, watch)? {
                tried = mid + 1;
            }
            tried = tried.max(self.low);
        }
        Ok(())
    }

    /// Asks about a lift in one way; true where it was found or disproved.
    fn decide_by(
        &mut self,
        way: Way,
        lift: i64,
        memories: &mut Memories<'_>,
        watch: &mut Watch<'_>,
    ) -> Result<bool, Stopped> {
        let (field, none) = self.field(lift);
        let quest = Quest { below: none, enough: none - 1, allowance: 0 };
        let mut answer = Answer::default();
        let searched = way.go(&field, self.at_most, quest, memories, &mut answer, watch);
        self.take(lift, none, answer);
        searched.map(|()| self.low > lift || self.high() <= lift)
    }

    /// Takes what is known of a lift.
    fn take(&mut self, lift: i64, none: i64, answer: Answer) {
        if answer.bound >= none {
            self.low = self.low.max(lift + 1);
        }
        if let Some((_, sets)) = answer.plan {
            self.sets = sets;
        }
        self.low = self.low.min(self.high());
    }

    /// Makes the plan known one of a lower lift by exchanges; false where they don't suffice.
    fn exchanged(&mut self, lift: i64, memory: &Memory, watch: &mut Watch<'_>) -> Result<bool, Stopped> {
        let (field, none) = self.field(lift);
        let worth = if field.is_large() {
            relaxed(&field, &memory.prices_for(&field), watch)?
        } else {
            Worth::mean(&field, &self.sets)
        };
        let found = balance(&field, &self.sets, &worth, SURPLUS, watch)?.plan.filter(|(cost, _)| *cost < none);
        let exchanged = found.is_some();
        self.sets = found.map_or_else(|| std::mem::take(&mut self.sets), |(_, sets)| sets);
        Ok(exchanged)
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
        if self.exchanged(lift, memory, watch)? {
            self.low = self.low.min(self.high());
            return Ok(true);
        }
        let (field, none) = self.field(lift);
        let quest = Quest { below: none, enough: none - 1, allowance };
        let mut answer = Answer::default();
        let searched = search(&field, quest, memory, &mut answer, watch);
        self.take(lift, none, answer);
        searched.map(|()| self.low > lift || self.high() <= lift)
    }
}
