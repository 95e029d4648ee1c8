//! The search in one field: raise the bound, dive for a plan, list what the gap leaves.

use super::branch::branch;
use super::dive::dive;
use super::field::{Field, Sets};
use super::generation::Memory;
pub(super) use super::listing::Effort;
use super::listing::{Verdict, list};
use super::pairs::improve;
use super::prices::{Aim, Bound, Else, raise};
use super::watch::{Stopped, Watch};

/// Steps of work for branching where a proof is worth it: a second or two.
pub(super) const FULL: u64 = 1_000_000_000;
/// Steps of work for improving a plan that was dived for: a tenth of a second or so.
const IMPROVING: u64 = 100_000_000;
/// Steps of work that a bound may take, however little is allowed.
const BOUNDING: u64 = 200_000_000;
/// The covers that one listing may hold, and its steps: a few milliseconds.
pub(super) const SMALL: Effort = Effort { covers: 3_000, steps: 100_000 };

/// What is asked of a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Quest {
    /// Only plans cheaper than this count.
    pub below: i64,
    /// A plan of this cost or less is good enough, proved best or not.
    pub enough: i64,
    /// Steps of work that branching may take.
    pub allowance: u64,
}

/// What is known: kept up to date, so that it stands when the search is stopped.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Answer {
    /// No plan costs less (never above `below`).
    pub bound: i64,
    /// The cheapest plan found below `below`, with its cost.
    pub plan: Option<(i64, Sets)>,
}

impl Answer {
    /// Nothing more to find.
    pub fn settled(&self, quest: Quest) -> bool {
        let least = self.least(quest);
        self.bound >= least || (self.plan.is_some() && least <= quest.enough)
    }

    /// Only plans cheaper than this are still of use.
    pub fn least(&self, quest: Quest) -> i64 {
        self.plan.as_ref().map_or(quest.below, |(cost, _)| *cost)
    }

    /// Takes a plan if it is the cheapest so far.
    pub fn offer(&mut self, quest: Quest, plan: Option<(i64, Sets)>) {
        let Some((cost, sets)) = plan else { return };
        if cost < self.least(quest) {
            self.plan = Some((cost, sets));
        }
    }

    /// Raises the bound, never past what a plan shows to be possible.
    pub fn prove(&mut self, quest: Quest, bound: i64) {
        self.bound = self.bound.max(bound).min(self.least(quest));
    }
}

/// Searches until the quest is settled or the effort is spent.
pub(super) fn search(
    field: &Field,
    quest: Quest,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let mut bound = Bound::default();
    if !bound_below(field, quest, memory, answer, &mut bound, watch)? {
        return Ok(());
    }
    let enough = quest.enough.max(answer.bound);
    // A plan that is known is mostly better than what a dive would bring.
    let dived =
        if answer.plan.is_some() { None } else { dive(field, &bound.prices, enough, &mut memory.covers, watch)? };
    if let Some(mut plan) = dived {
        let improved =
            if field.lots.len() > 2 { improve(field, &mut plan, enough, SMALL, IMPROVING, watch) } else { Ok(()) };
        answer.offer(quest, Some(plan));
        answer.prove(quest, 0);
        improved?;
    }
    if answer.settled(quest) || quest.allowance == 0 {
        return Ok(());
    }
    branch(field, quest, SMALL, memory, answer, watch)
}

/// A plan below `quest.below`, with little effort.
pub(super) fn first_plan(
    field: &Field,
    quest: Quest,
    memory: &mut Memory,
    effort: Effort,
    watch: &mut Watch<'_>,
) -> Result<Option<(i64, Sets)>, Stopped> {
    let (mut answer, mut bound) = (Answer::default(), Bound::default());
    if !bound_below(field, quest, memory, &mut answer, &mut bound, watch)? {
        return Ok(None);
    }
    let plan = dive(field, &bound.prices, answer.bound, &mut memory.covers, watch)?;
    answer.offer(quest, plan);
    if answer.plan.is_none() {
        list_gap(field, quest, &bound, memory, effort, &mut answer, watch)?;
    }
    Ok(answer.plan)
}

/// Raises the bound; true where it leaves the quest open.
fn bound_below(
    field: &Field,
    quest: Quest,
    memory: &mut Memory,
    answer: &mut Answer,
    bound: &mut Bound,
    watch: &mut Watch<'_>,
) -> Result<bool, Stopped> {
    if field.hopeless() {
        answer.prove(quest, quest.below);
        return Ok(false);
    }
    let aim = Aim { enough: quest.below, else_to: Else::Whole, most: quest.allowance.max(BOUNDING) };
    let raised = raise(field, memory, aim, bound, watch);
    let covered = !matches!(raised, Ok(None));
    answer.prove(quest, if covered { bound.cost(field) } else { quest.below });
    raised?;
    Ok(!answer.settled(quest))
}

/// Lists the covers in wider and wider parts of the gap, until a plan is found, the gap is closed, or it is too much.
pub(super) fn list_gap(
    field: &Field,
    quest: Quest,
    bound: &Bound,
    memory: &mut Memory,
    effort: Effort,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let mut step = 0;
    while !answer.settled(quest) {
        let at_most = (answer.bound + step).min(answer.least(quest) - 1);
        match list(field, bound, at_most, effort, &mut memory.covers, watch)? {
            Verdict::Best(cost, sets) => {
                answer.offer(quest, Some((cost, sets)));
                answer.prove(quest, cost);
            }
            Verdict::Nothing => answer.prove(quest, at_most + 1),
            Verdict::TooMany(plan) => {
                answer.offer(quest, plan);
                answer.prove(quest, 0);
                break;
            }
        }
        step = 2 * step + 1;
    }
    Ok(())
}
