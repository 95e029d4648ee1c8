//! Branching, where bound, dives and listing leave a gap: a number of cylinders is at most so much, or more.
//!
//! The relaxed choice takes a share of each of several covers. Summed up it takes, of the n roomiest cylinders, say 2.4:
//! in every plan that is at most 2 or at least 3. Or a lot's covers have 9 and 11 cylinders: in every plan at most 10 or
//! at least 11. So two fields, each with such a limit, hold every plan between them, and the lower of their two bounds is
//! a bound for all. A limit on roomiest cylinders is a quota with a price of its own; a limit on a lot's cylinders is
//! kept by every cover that is priced, which is sharper. Where no number is broken the choice is itself a plan. The
//! field with the lowest bound is looked at first.

use super::answer::{Answer, Quest};
use super::dive::dive;
use super::divide::{Division, divide};
use super::listing::{Effort, list_gap};
use super::plunge::Plunge;
use crate::solver::bound::generation::{Memory, Remembered};
use crate::solver::bound::prices::Bound;
use crate::solver::bound::raise::{Aim, Else, raise};
use crate::solver::field::Field;
use crate::solver::problem::watch::{Stopped, Watch};

/// A bound is soon raised where it takes less than such a part of the work allowed.
const SOON: u64 = 4;

/// A field that may still hold a better plan.
struct Node {
    field: Field,
    /// No plan of it costs less.
    bound: i64,
    depth: usize,
    /// Prices to begin with.
    prices: Remembered,
}

/// Branches until the quest is settled or its allowance is spent.
pub fn branch(
    root: &Field,
    quest: Quest,
    effort: Effort,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let until = watch.spent() + quest.allowance;
    let prices = memory.last.clone();
    let mut open = vec![Node { field: root.clone(), bound: answer.bound, depth: 0, prices }];
    let mut branching = Branching { quest, effort, memory, listable: i64::MAX };
    // The lowest bound among fields that had to be given up.
    let mut given_up = i64::MAX;
    while let Some(next) = (0..open.len()).min_by_key(|&at| (open[at].bound, std::cmp::Reverse(open[at].depth), at)) {
        let lowest = open[next].bound.min(given_up);
        answer.prove(quest, lowest);
        if answer.settled(quest) || watch.spent() > until {
            return Ok(());
        }
        let node = open.swap_remove(next);
        let mut part = Answer { bound: node.bound, plan: answer.plan.clone() };
        let children = branching.look(&node, true, &mut part, watch);
        answer.plan = part.plan.clone();
        let Some(children) = children? else {
            if !part.settled(quest) {
                given_up = given_up.min(part.bound);
            }
            continue;
        };
        let (fields, prices) = children;
        let child = |field| Node { field, bound: part.bound, depth: node.depth + 1, prices: prices.clone() };
        open.extend(fields.map(child));
    }
    answer.prove(quest, given_up);
    Ok(())
}

/// What looking at one field after another needs.
struct Branching<'a> {
    quest: Quest,
    effort: Effort,
    memory: &'a mut Memory,
    /// Wider gaps aren't listed: it was too much before.
    listable: i64,
}

impl Branching<'_> {
    /// Looks at one field, at first roughly; its two children, unless it is settled (then `answer` says so) or can't
    /// be divided.
    fn look(
        &mut self,
        node: &Node,
        roughly: bool,
        answer: &mut Answer,
        watch: &mut Watch<'_>,
    ) -> Result<Option<([Field; 2], Remembered)>, Stopped> {
        let (field, quest) = (&node.field, self.quest);
        let least = answer.least(quest);
        if field.hopeless() {
            answer.bound = least;
            return Ok(None);
        }
        let mut bound = Bound::default();
        self.memory.last = node.prices.clone();
        let else_to = if roughly { Else::Close } else { Else::Whole };
        let aim = Aim { enough: least, else_to, most: quest.allowance };
        let before = watch.spent();
        let Some(generation) = raise(field, self.memory, aim, &mut bound, watch)? else {
            answer.bound = least;
            return Ok(None);
        };
        let prices = self.memory.last.clone();
        answer.bound = answer.bound.max(bound.cost(field)).min(least);
        if answer.settled(quest) {
            return Ok(None);
        }
        // Where a bound takes long, that many of them take too long.
        let soon = watch.spent() - before < quest.allowance / SOON;
        let plan = match node.depth % 4 {
            0 if soon => {
                Plunge::new(field, least, quest.allowance, watch).go(field, &generation, self.memory, watch)?
            }
            2 => dive(field, &bound.prices, answer.bound, &mut self.memory.covers, watch)?,
            _ => None,
        };
        answer.offer(quest, plan);
        let gap = answer.least(quest) - answer.bound;
        if gap < self.listable {
            list_gap(field, quest, &bound, self.memory, self.effort, answer, watch)?;
            if !answer.settled(quest) {
                self.listable = gap - gap / 4;
            }
        }
        if answer.settled(quest) {
            return Ok(None);
        }
        match divide(field, &generation) {
            Division::Fields(children) => Ok(Some((*children, prices))),
            Division::Plan(plan) => {
                answer.offer(quest, plan);
                answer.prove(quest, 0);
                // What is whole at rough prices needn't be so at the best.
                if roughly && !answer.settled(quest) { self.look(node, false, answer, watch) } else { Ok(None) }
            }
        }
    }
}
