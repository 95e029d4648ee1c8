//! Which jobs are planned together. In one plan they share cylinders, and the strictest of their limits holds for all of
//! them; apart each has its own, and no cylinder is begun at one and filled up at the next. Neither is always better.
//!
//! This file only compares: it says which groups of jobs are worth planning, and which of the plans made for them do all of
//! the work together best, no cylinder used twice.

use std::cmp::Ordering;
use std::collections::HashMap;

use super::Pool;
use crate::cylinder::Id;
use crate::job::{Kind, Work};
use crate::quantity::Decimal;

/// Up to so many jobs every group of them is planned.
const EVERY_GROUP: usize = 5;
/// Beyond so many, groups are all of them, one by one, and those alike.
const MOST_JOINED: usize = 12;
/// Steps of one search for plans that go together; a search that needs more takes the best so far.
const MOST_STEPS: usize = 200_000;

/// What a quote is chosen by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Want {
    /// The fewest cylinders; of as few the most that are on hand; then the lowest likely cost.
    Fewest,
    /// The lowest likely cost, with the fewest pieces that have no price: what isn't priced isn't cheap.
    Cheapest,
}

/// What ways are compared by, the first figure before the second; the figures of two pools add up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Rank([Decimal; 4]);

impl Rank {
    const NONE: Self = Self([Decimal::ZERO; 4]);

    fn of(pool: &Pool, want: Want) -> Self {
        let cylinders = Decimal::from(pool.plan.plan().totals.cylinders);
        let hired = Decimal::from(pool.hired());
        let cost = pool.cost.as_ref();
        let unpriced = Decimal::from(cost.map_or(0, super::Cost::pieces_unpriced));
        let likely = cost.map_or(Decimal::ZERO, |cost| cost.total.likely.amount());
        Self(match want {
            Want::Fewest => [cylinders, hired, unpriced, likely],
            Want::Cheapest => [unpriced, likely, cylinders, hired],
        })
    }

    fn with(self, other: Self) -> Self {
        Self(std::array::from_fn(|index| self.0[index] + other.0[index]))
    }
}

/// The groups of jobs to begin with, by position, the whole of them first; and whether these are all that there are.
pub fn groups(work: &Work) -> (Vec<Vec<usize>>, bool) {
    let count = work.jobs().len();
    let whole: Vec<usize> = (0..count).collect();
    let mut all = vec![whole.clone()];
    let mut add = |group: Vec<usize>| {
        if !group.is_empty() && !all.contains(&group) {
            all.push(group);
        }
    };
    if count <= EVERY_GROUP {
        subsets(&whole).into_iter().for_each(&mut add);
        return (all, true);
    }
    whole.iter().for_each(|job| add(vec![*job]));
    for together in meeting(work) {
        if together.len() <= EVERY_GROUP && count <= MOST_JOINED {
            subsets(&together).into_iter().for_each(&mut add);
        }
        alike(work, &together).into_iter().for_each(&mut add);
        add(together);
    }
    alike(work, &whole).into_iter().for_each(&mut add);
    (all, false)
}

/// Every group of some of these jobs, the small ones first.
fn subsets(jobs: &[usize]) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = (1_u32..1 << jobs.len().min(20))
        .map(|which| jobs.iter().enumerate().filter(|(bit, _)| which >> bit & 1 == 1).map(|(_, job)| *job).collect())
        .collect();
    all.sort_by_key(Vec::len);
    all
}

/// Every way to split so many jobs into groups, the whole first: with 5 jobs 52, so of few only.
pub fn partitions(jobs: usize) -> Vec<Vec<Vec<usize>>> {
    let mut all: Vec<Vec<Vec<usize>>> = vec![Vec::new()];
    for job in 0..jobs {
        let grown = |split: Vec<Vec<usize>>| {
            let into = (0..split.len()).map(|group| {
                let mut split = split.clone();
                split[group].push(job);
                split
            });
            let into: Vec<_> = into.collect();
            let mut alone = split;
            alone.push(vec![job]);
            into.into_iter().chain([alone])
        };
        all = all.into_iter().flat_map(grown).collect();
    }
    all
}

/// Jobs that give to the same lots, or to lots of jobs that do.
fn meeting(work: &Work) -> Vec<Vec<usize>> {
    let mut name: Vec<usize> = (0..work.jobs().len()).collect();
    for lot in work.lots() {
        for part in &lot.parts {
            let (Some(first), Some(own)) = (lot.parts.first().map(|part| name[part.job]), name.get(part.job).copied())
            else {
                continue;
            };
            name.iter_mut().filter(|name| **name == own).for_each(|name| *name = first);
        }
    }
    grouped(&name)
}

/// Jobs under the same limits.
fn alike(work: &Work, jobs: &[usize]) -> Vec<Vec<usize>> {
    let terms = |job: &usize| work.jobs().get(*job).map(|job| job.terms);
    let mut all: Vec<Vec<usize>> = Vec::new();
    for job in jobs {
        match all.iter_mut().find(|group| group.first().map(terms) == Some(terms(job))) {
            Some(group) => group.push(*job),
            None => all.push(vec![*job]),
        }
    }
    all
}

/// Positions of the same name together, in order.
fn grouped(names: &[usize]) -> Vec<Vec<usize>> {
    let mut all: Vec<(usize, Vec<usize>)> = Vec::new();
    for (job, name) in names.iter().enumerate() {
        match all.iter_mut().find(|(known, _)| known == name) {
            Some((_, group)) => group.push(job),
            None => all.push((*name, vec![job])),
        }
    }
    all.into_iter().map(|(_, group)| group).collect()
}

/// The next groups to plan: each two of these that share a lot, as one.
pub fn joined(work: &Work, chosen: &[&Pool]) -> Vec<Vec<usize>> {
    if work.jobs().len() > MOST_JOINED {
        return Vec::new();
    }
    let lots = |pool: &Pool| -> Vec<usize> {
        let of = |(index, lot): (usize, &crate::job::Lot)| {
            lot.parts.iter().any(|part| pool.jobs.contains(&part.job)).then_some(index)
        };
        work.lots().iter().enumerate().filter_map(of).collect()
    };
    let mut all = Vec::new();
    for (index, one) in chosen.iter().enumerate() {
        for other in &chosen[index + 1..] {
            let theirs = lots(other);
            if lots(one).iter().any(|lot| theirs.contains(lot)) {
                let mut jobs = [&one.jobs[..], &other.jobs].concat();
                jobs.sort_unstable();
                all.push(jobs);
            }
        }
    }
    all
}

/// The pools, by position, that do all of `jobs` together best; `None` where no whole ones do. With `sharing` a
/// cylinder may be used by several: no such way can be done, but none that can is better.
pub fn best(pools: &[Pool], jobs: usize, stock: &[Kind], want: Want, sharing: bool) -> Option<Vec<usize>> {
    if jobs >= 128 {
        // Beyond any quote; all jobs in one plan are the way.
        let whole = |pool: &&Pool| pool.is_whole() && pool.jobs.len() == jobs;
        let of = |index: &usize| Rank::of(&pools[*index], want);
        return (0..pools.len()).filter(|index| whole(&&pools[*index])).min_by_key(of).map(|index| vec![index]);
    }
    let all = (1_u128 << jobs) - 1;
    let candidates = candidates(pools, want);
    let mut search = Search {
        least: HashMap::new(),
        bounded: jobs <= MOST_JOINED,
        candidates: &candidates,
        stock,
        sharing,
        steps: 0,
        chosen: Vec::new(),
        own: Vec::new(),
        best: None,
    };
    search.go(all, Rank::NONE);
    search.best.map(|(_, chosen)| chosen)
}

/// Whether the first of these ways is the better one; a way that can't be is never.
pub fn is_better(one: &[&Pool], other: &[&Pool], want: Want) -> bool {
    let rank = |pools: &[&Pool]| pools.iter().fold(Rank::NONE, |sum, pool| sum.with(Rank::of(pool, want)));
    !one.is_empty() && (other.is_empty() || rank(one).cmp(&rank(other)) == Ordering::Less)
}

/// A whole pool as the search sees it.
struct Candidate<'p> {
    index: usize,
    jobs: u128,
    rank: Rank,
    own: Vec<&'p Id>,
    kinds: Vec<(&'p str, u32)>,
}

fn candidates(pools: &[Pool], want: Want) -> Vec<Candidate<'_>> {
    let whole = pools.iter().enumerate().filter(|(_, pool)| pool.is_whole());
    let mut all: Vec<Candidate> = whole
        .map(|(index, pool)| {
            let (mut own, mut kinds): (Vec<&Id>, Vec<(&str, u32)>) = (Vec::new(), Vec::new());
            for load in &pool.plan.plan().loads {
                let hired = pool.supply.hired.iter().find(|hired| hired.id == load.cylinder);
                match hired.map(|hired| hired.kind.as_str()) {
                    None => own.push(&load.cylinder),
                    Some(kind) => match kinds.iter_mut().find(|(known, _)| *known == kind) {
                        Some((_, count)) => *count += 1,
                        None => kinds.push((kind, 1)),
                    },
                }
            }
            let jobs = pool.jobs.iter().fold(0, |jobs, job| jobs | 1_u128 << job);
            Candidate { index, jobs, rank: Rank::of(pool, want), own, kinds }
        })
        .collect();
    all.sort_by_key(|one| (one.rank, one.index));
    all
}

/// The search for pools that have every job once.
struct Search<'p> {
    /// The least rank that these jobs take, cylinders used by several.
    least: HashMap<u128, Option<Rank>>,
    bounded: bool,
    candidates: &'p [Candidate<'p>],
    stock: &'p [Kind],
    sharing: bool,
    steps: usize,
    chosen: Vec<usize>,
    own: Vec<&'p Id>,
    best: Option<(Rank, Vec<usize>)>,
}

impl<'p> Search<'p> {
    /// Candidates that begin with the first of these jobs and have none beside these.
    fn beginning(&self, left: u128) -> impl Iterator<Item = (usize, &'p Candidate<'p>)> + use<'p> {
        let first = left & left.wrapping_neg();
        let fits = move |one: &Candidate| one.jobs & first != 0 && one.jobs & !left == 0;
        self.candidates.iter().enumerate().filter(move |(_, one)| fits(one))
    }

    fn least(&mut self, left: u128) -> Option<Rank> {
        if left == 0 || !self.bounded {
            return Some(Rank::NONE);
        }
        if let Some(known) = self.least.get(&left) {
            return *known;
        }
        let mut least: Option<Rank> = None;
        for (_, one) in self.beginning(left) {
            let Some(rest) = self.least(left & !one.jobs) else { continue };
            let rank = one.rank.with(rest);
            least = Some(least.map_or(rank, |least| least.min(rank)));
        }
        self.least.insert(left, least);
        least
    }

    fn go(&mut self, left: u128, so_far: Rank) {
        if left == 0 {
            if self.best.as_ref().is_none_or(|(best, _)| so_far < *best) {
                self.best = Some((so_far, self.chosen.iter().map(|at| self.candidates[*at].index).collect()));
            }
            return;
        }
        let mut next: Vec<(Rank, usize)> = Vec::new();
        for (at, one) in self.beginning(left) {
            let rest = self.least(left & !one.jobs);
            next.extend(rest.map(|rest| (so_far.with(one.rank).with(rest), at)));
        }
        // The cheapest first; ranks without a bound only order.
        next.sort_unstable();
        for (rank, at) in next {
            let beaten = self.bounded && self.best.as_ref().is_some_and(|(best, _)| rank >= *best);
            self.steps += 1;
            if beaten || self.steps > MOST_STEPS {
                return;
            }
            let one = &self.candidates[at];
            if !self.sharing && !self.goes_with(one) {
                continue;
            }
            self.chosen.push(at);
            self.own.extend(&one.own);
            self.go(left & !one.jobs, so_far.with(one.rank));
            self.own.truncate(self.own.len() - one.own.len());
            self.chosen.pop();
        }
    }

    /// Whether it takes no cylinder that is taken, and no more of a kind than there are.
    fn goes_with(&self, one: &Candidate) -> bool {
        let enough = |(kind, count): &(&str, u32)| {
            let Some(most) = self.stock.iter().find(|known| known.name == *kind).and_then(|known| known.count) else {
                return true;
            };
            let taken =
                self.chosen.iter().flat_map(|at| &self.candidates[*at].kinds).filter(|(other, _)| other == kind);
            taken.map(|(_, count)| count).sum::<u32>() + count <= most
        };
        one.own.iter().all(|id| !self.own.contains(id)) && one.kinds.iter().all(enough)
    }
}
