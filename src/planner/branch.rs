//! Branching, where bound, dives and listing leave a gap: one cylinder is kept for one lot or barred from it.
//!
//! In every plan a cylinder c either doesn't serve lot l, or serves no other lot. So two fields, one with no room of c
//! for l and one with no room of c for any other lot, hold every plan between them, and the lower of their two bounds
//! is a bound for all. The field with the lowest bound is looked at first.

use super::dive::dive;
use super::field::Field;
use super::generation::{Generation, Memory};
use super::plunge::Plunge;
use super::prices::{Aim, Bound, raise};
use super::quest::{Answer, Effort, Quest, list_gap};
use super::watch::{Stopped, Watch};

/// A field that may still hold a better plan.
struct Node {
    field: Field,
    /// No plan of it costs less.
    bound: i64,
    depth: usize,
}

/// Branches until the quest is settled or its allowance is spent.
pub(super) fn branch(
    root: &Field,
    quest: Quest,
    effort: Effort,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let until = watch.spent() + quest.allowance;
    let mut open = vec![Node { field: root.clone(), bound: answer.bound, depth: 0 }];
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
        let children = look(&node, quest, effort, memory, &mut part, watch);
        answer.plan = part.plan.clone();
        let Some(children) = children? else {
            if !part.settled(quest) {
                given_up = given_up.min(part.bound);
            }
            continue;
        };
        open.extend(children.map(|field| Node { field, bound: part.bound, depth: node.depth + 1 }));
    }
    answer.prove(quest, given_up);
    Ok(())
}

/// Looks at one field; its two children, unless it is settled (then `answer` says so) or can't be divided.
fn look(
    node: &Node,
    quest: Quest,
    effort: Effort,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<Option<[Field; 2]>, Stopped> {
    let field = &node.field;
    let least = answer.least(quest);
    if field.hopeless() {
        answer.bound = least;
        return Ok(None);
    }
    let mut bound = Bound::default();
    let Some(mut generation) = raise(field, memory, Aim { enough: least, or_give_up: false }, &mut bound, watch)?
    else {
        answer.bound = least;
        return Ok(None);
    };
    answer.bound = answer.bound.max(bound.cost(field)).min(least);
    if answer.settled(quest) {
        return Ok(None);
    }
    let plan = dive(field, &bound.prices, answer.bound, &mut memory.covers, watch)?;
    answer.offer(quest, plan);
    if node.depth.is_multiple_of(4) && !answer.settled(quest) {
        let plan = Plunge::new(field, answer.least(quest)).go(field, &mut generation, memory, watch)?;
        answer.offer(quest, plan);
    }
    list_gap(field, quest, &bound, memory, effort, answer, watch)?;
    if answer.settled(quest) {
        return Ok(None);
    }
    Ok(divide(field, &bound, &mut generation, watch)?.map(|(slot, lot)| {
        let others: Vec<usize> = (0..field.lots.len()).filter(|&other| other != lot).collect();
        [field.barring(slot, &others), field.barring(slot, &[lot])]
    }))
}

/// The cylinder and lot to branch on: the class that the relaxed choice divides most evenly between a lot and the
/// rest; where it divides none, the dearest that several lots could use.
fn divide(
    field: &Field,
    bound: &Bound,
    generation: &mut Generation<'_>,
    watch: &mut Watch<'_>,
) -> Result<Option<(usize, usize)>, Stopped> {
    let mut taken = vec![vec![0.0; field.classes.len()]; field.lots.len()];
    for (lot, cover, share) in generation.shares(watch)? {
        for &(class, number) in cover {
            taken[lot][class] += share * number as f64;
        }
    }
    let mut best: Option<(f64, i64, usize, usize)> = None;
    for (index, class) in field.classes.iter().enumerate() {
        let lots = class.rooms.iter().filter(|&&room| room > 0).count();
        for lot in (0..field.lots.len()).filter(|&lot| lots > 1 && class.rooms[lot] > 0) {
            let share = taken[lot][index];
            let uneven = (share - share.floor()).min(share.ceil() - share);
            let key = (if uneven > 1e-6 { uneven } else { 0.0 }, bound.prices.classes[index]);
            if best.is_none_or(|(most, price, ..)| key > (most, price)) {
                best = Some((key.0, key.1, index, lot));
            }
        }
    }
    Ok(best.map(|(_, _, class, lot)| (field.classes[class].members[0], lot)))
}
