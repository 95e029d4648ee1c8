//! Large problems by way of coarser ones, in which contested cylinders that are nearly alike are one class.
//!
//! In words: let every cylinder of such a class be as roomy as the roomiest of it. Every plan of the field is a plan of that
//! one, so what bounds that one bounds the field; and with some dozens of classes in place of thousands, prices and branching
//! settle it. Its plans are plans of the field but for the little that some lots lack; exchanges share it out, and where they
//! can't, those lots are charged so much more and the coarser field is asked again. Let every cylinder be as roomy as they are
//! in the mean, and little lacks, but where cylinders are few such plans are too many.

use std::cmp::Reverse;

use super::answer::{Answer, Quest};
use super::balance::{SURPLUS, balance};
use super::quest::search;
use crate::solver::bound::generation::Memory;
use crate::solver::bound::worth::Worth;
use crate::solver::field::{Class, Field};
use crate::solver::problem::watch::{Stopped, Watch};

/// Rooms of a class differ by less than such a part: the finest of them at which there aren't too many classes, ...
const ALIKE: [i64; 5] = [512, 256, 128, 64, 32];
/// ... contested ones, that is.
const MOST: usize = 32;
/// Steps of work that branching in a coarser field may take.
const ALLOWANCE: u64 = 20_000_000;
/// Turns of charging what lacks, ...
const TURNS: usize = 4;
/// ... none of them begun after so many steps of work.
const PLANNING: u64 = 500_000_000;

/// How roomy each cylinder of a class is taken to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum As {
    Roomiest,
    Mean,
}

/// Bounds a field by a coarser one; may find a plan, too.
pub fn bound_coarser(
    field: &Field,
    worth: &Worth,
    quest: Quest,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let mut found = Answer::default();
    let tried = attempt((field, worth), &coarser(field, As::Roomiest), quest, memory, (&mut found, answer), watch);
    answer.prove(quest, found.bound);
    tried.map(drop)
}

/// Looks for plans of a field by way of coarser ones.
pub fn plan_coarser(
    field: &Field,
    worth: &Worth,
    quest: Quest,
    memory: &mut Memory,
    answer: &mut Answer,
    watch: &mut Watch<'_>,
) -> Result<(), Stopped> {
    let until = watch.spent().saturating_add(PLANNING);
    attempt((field, worth), &coarser(field, As::Mean), quest, memory, (&mut Answer::default(), answer), watch)?;
    let mut coarse = coarser(field, As::Roomiest);
    for _ in 0..TURNS {
        if answer.settled(quest) || watch.spent() > until {
            break;
        }
        let lacks = attempt((field, worth), &coarse, quest, memory, (&mut Answer::default(), answer), watch)?;
        let Some(lacks) = lacks.filter(|lacks| lacks.iter().any(|lacks| *lacks > 0)) else { break };
        coarse.charges.iter_mut().zip(lacks).for_each(|(charge, lacks)| *charge += lacks);
    }
    Ok(())
}

/// Searches a coarser field for a plan cheaper than known and offers what exchanges make of it; what they leave lacking,
/// or `None` where there is no plan.
fn attempt(
    (field, worth): (&Field, &Worth),
    coarse: &Field,
    quest: Quest,
    memory: &mut Memory,
    (found, answer): (&mut Answer, &mut Answer),
    watch: &mut Watch<'_>,
) -> Result<Option<Vec<i64>>, Stopped> {
    let asked = Quest { below: answer.least(quest), enough: quest.enough.max(answer.bound), allowance: ALLOWANCE };
    search(coarse, asked, memory, found, watch)?;
    let Some((_, sets)) = &found.plan else { return Ok(None) };
    let balanced = balance(field, sets, worth, SURPLUS, watch)?;
    answer.offer(quest, balanced.plan);
    answer.prove(quest, 0);
    Ok(Some(balanced.lacks))
}

/// The field (a whole one: without quotas, numbers or a ration) with contested cylinders that are nearly alike in one class,
/// each as cheap as the cheapest.
fn coarser(field: &Field, room: As) -> Field {
    let (mut contested, alone): (Vec<&Class>, Vec<&Class>) = field.classes.iter().partition(|class| class.contested());
    contested.sort_by_key(|class| Reverse(class.rooms.iter().sum::<i64>()));
    let mut groups = Vec::new();
    for part in ALIKE {
        groups = grouped(&contested, part);
        if groups.len() <= MOST {
            break;
        }
    }
    let merged = groups.iter().map(|group| merged(group, room));
    let mut classes: Vec<Class> = alone.into_iter().cloned().chain(merged).collect();
    classes.sort_by_key(|class| class.members.first().copied());
    Field { classes, ..field.clone() }
}

/// Groups of classes that are alike but for such a part of their rooms.
fn grouped<'f>(order: &[&'f Class], part: i64) -> Vec<Vec<&'f Class>> {
    let mut groups: Vec<Vec<&Class>> = Vec::new();
    for &class in order {
        match groups.iter_mut().find(|group| group.first().is_some_and(|first| alike(first, class, part))) {
            Some(group) => group.push(class),
            None => groups.push(vec![class]),
        }
    }
    groups
}

/// Whether two classes have nearly the same room for every lot.
fn alike(first: &Class, class: &Class, part: i64) -> bool {
    let near = |(a, b): (&i64, &i64)| (*a > 0) == (*b > 0) && (a - b).abs().saturating_mul(part) <= *a;
    first.kept == class.kept && first.rooms.iter().zip(&class.rooms).all(near)
}

/// One class of all the members.
fn merged(group: &[&Class], room: As) -> Class {
    let mut members: Vec<usize> = group.iter().flat_map(|class| &class.members).copied().collect();
    members.sort_unstable();
    let lots = group.first().map_or(0, |class| class.rooms.len());
    let room = |lot: usize| match room {
        As::Roomiest => group.iter().map(|class| class.rooms[lot]).max().unwrap_or(0),
        As::Mean => {
            let all: i128 = group.iter().map(|class| i128::from(class.rooms[lot]) * i128::from(class.count())).sum();
            (all / members.len().max(1) as i128) as i64
        }
    };
    Class {
        rooms: (0..lots).map(room).collect(),
        cost: group.iter().map(|class| class.cost).min().unwrap_or(0),
        kept: group.iter().any(|class| class.kept),
        members,
    }
}
