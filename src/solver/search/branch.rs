//! Branching, where bound and heuristics leave a gap: a number of cylinders is at most so much, or more.
//!
//! The relaxed choice takes a share of each of several columns. Summed up it takes, of the n roomiest cylinders, say 2.4:
//! in every plan that is at most 2 or at least 3. Or a lot's columns have 9 and 11 cylinders: in every plan at most 10 or
//! at least 11. So two fields, each with such a limit, hold every plan between them, and the lower of their two bounds is
//! a bound for all. A limit on roomiest cylinders is a quota with a multiplier of its own; a limit on a lot's cylinders is
//! kept by every column that is priced, which is sharper. Where no number is broken the choice is itself a plan. The
//! field with the lowest bound is looked at first (best-first branch and price).

use super::answer::{Answer, Target};
use super::dive::Dive;
use super::divide::{Division, divide};
use super::sequence::sequential;
use crate::solver::bound::generation::{Aim, Else, raise};
use crate::solver::bound::multipliers::Bound;
use crate::solver::bound::restricted::{Memory, Remembered};
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
    /// Multipliers to begin with.
    multipliers: Remembered,
}

/// Branches until the target is settled or its allowance is spent.
pub fn branch(
    root: &Field,
    target: Target,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let until = watch.spent() + target.allowance;
    let multipliers = memory.last.clone();
    let mut open = vec![Node { field: root.clone(), bound: answer.bound, depth: 0, multipliers }];
    let mut branching = Branching { target, memory };
    // The lowest bound among fields that had to be given up.
    let mut given_up = i64::MAX;
    while let Some(next) = (0..open.len()).min_by_key(|&at| (open[at].bound, std::cmp::Reverse(open[at].depth), at)) {
        let lowest = open[next].bound.min(given_up);
        answer.prove(target, lowest);
        if answer.settled(target) || watch.spent() > until {
            return Ok(());
        }
        let node = open.swap_remove(next);
        let mut part = Answer { bound: node.bound, plan: answer.plan.clone() };
        let children = branching.look(&node, true, &mut part, watch);
        answer.plan = part.plan.clone();
        let Some(children) = children? else {
            if !part.settled(target) {
                given_up = given_up.min(part.bound);
            }
            continue;
        };
        let (fields, multipliers) = children;
        let child = |field| Node { field, bound: part.bound, depth: node.depth + 1, multipliers: multipliers.clone() };
        open.extend(fields.map(child));
    }
    answer.prove(target, given_up);
    Ok(())
}

/// What looking at one field after another needs.
struct Branching<'a> {
    target: Target,
    memory: &'a mut Memory,
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
        let (field, target) = (&node.field, self.target);
        let least = answer.least(target);
        if field.hopeless() {
            answer.bound = least;
            return Ok(None);
        }
        let mut bound = Bound::default();
        self.memory.last = node.multipliers.clone();
        let else_to = if roughly { Else::Close } else { Else::Whole };
        let aim = Aim { enough: least, else_to, most: target.allowance };
        let before = watch.spent();
        let Some(master) = raise(field, self.memory, aim, &mut bound, watch)? else {
            answer.bound = least;
            return Ok(None);
        };
        let multipliers = self.memory.last.clone();
        answer.bound = answer.bound.max(bound.cost(field)).min(least);
        if answer.settled(target) {
            return Ok(None);
        }
        // Where a bound takes long, that many of them take too long.
        let soon = watch.spent() - before < target.allowance / SOON;
        let plan = match node.depth % 4 {
            0 if soon || node.depth == 0 => {
                Dive::new(field, least, target.allowance, watch).go(&master, self.memory, watch)?
            }
            2 => sequential(field, &bound.multipliers, answer.bound, &mut self.memory.states, watch)?,
            _ => None,
        };
        answer.offer(target, plan);
        answer.prove(target, 0);
        if answer.settled(target) {
            return Ok(None);
        }
        match divide(field, &master) {
            Division::Fields(children) => Ok(Some((*children, multipliers))),
            Division::Plan(plan) => {
                answer.offer(target, plan);
                answer.prove(target, 0);
                // What is whole at rough multipliers needn't be so at the best.
                if roughly && !answer.settled(target) { self.look(node, false, answer, watch) } else { Ok(None) }
            }
        }
    }
}
