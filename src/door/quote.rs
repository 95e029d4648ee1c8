//! A quote: the ways to do the work, and the one that is quoted.

use std::ops::Range;

use super::{NotPlanned, audited};
use crate::cylinder::Id;
use crate::estimate::{
    Choice, Pool, Source, Supply, Terms, Want, Way, best, groups, is_better, joined, partitions, supply,
};
use crate::job::{Lot, Work};
use crate::plan::{Load, Plan};
use crate::planner::{self, Effort, Options, Progress};
use crate::quantity::Marks;

/// Ways that are looked at with the same cylinders: beyond the first few each one more lightens the lifts by little.
const MOST_WAYS: usize = 6;
/// The same for a group that is neither one job nor all, where there are too many groups to look at each for long.
const FEW_WAYS: usize = 2;
/// Searches for a better split, each beginning with what the last one found.
const MOST_ROUNDS: usize = 12;

/// What is to be quoted.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// The work.
    pub work: &'a Work,
    /// What each job's file says for a quote.
    pub terms: &'a [Terms],
    /// Where cylinders come from.
    pub source: Source,
    /// What the way is chosen by.
    pub want: Want,
    /// How much work each plan is worth.
    pub effort: Effort,
}

/// The ways that were looked at, and the one that is quoted.
#[derive(Debug, Clone)]
pub struct Quoted {
    /// All jobs in one plan, one way for each number of cylinders worth having; behind them the one that is quoted, where
    /// it isn't among them, and each job by itself.
    pub ways: Vec<Way>,
    /// The one that is quoted, by its position.
    pub chosen: usize,
    /// How many groups of jobs were planned.
    pub groups: usize,
    /// Whether these are all that there are.
    pub every_group: bool,
}

/// The ways to do the work, every plan audited and priced, and the best of those looked at. Of up to five jobs every group is
/// planned by itself, so that no split into separate quotes that can be done together is better; of more those that are
/// named in `estimate::groups`, and then any two of them as one, as long as that is better.
///
/// # Errors
/// A plan that fails the audit.
pub fn quote_work(asked: &Asked, go_on: &mut dyn FnMut(&Progress) -> bool) -> Result<Quoted, NotPlanned> {
    let (mut planned, every_group) = groups(asked.work);
    let mut quoting = Quoting { asked, go_on, full: every_group, planned: Vec::new(), pools: Vec::new() };
    let jobs = asked.work.jobs().len();
    for group in &planned {
        quoting.plan(group, &Taken::default())?;
    }
    let mut chosen = quoting.best(false);
    for _ in 0..MOST_ROUNDS {
        chosen = quoting.on_what_is_left(chosen)?;
        let more = if every_group { Vec::new() } else { joined(asked.work, &quoting.of(&chosen)) };
        let more: Vec<Vec<usize>> = more.into_iter().filter(|group| !planned.contains(group)).collect();
        for group in &more {
            quoting.plan(group, &Taken::default())?;
        }
        planned.extend(more);
        let next = quoting.best(false);
        let better = is_better(&quoting.of(&next), &quoting.of(&chosen), asked.want);
        if !better {
            break;
        }
        chosen = next;
    }
    let Quoting { pools, .. } = quoting;
    let pick = |which: &[usize]| Way::of(which.iter().filter_map(|index| pools.get(*index)).cloned().collect());
    let whole = pools.iter().enumerate().filter(|(_, pool)| pool.jobs.len() == jobs).map(|(index, _)| vec![index]);
    let mut looked_at: Vec<Vec<usize>> = whole.collect();
    if !chosen.is_empty() && !looked_at.contains(&chosen) {
        looked_at.push(chosen.clone());
    }
    let at = looked_at.iter().position(|way| *way == chosen).unwrap_or(0);
    let ways: Vec<Way> = looked_at.iter().filter_map(|way| pick(way)).collect();
    let (ways, chosen) = worth_showing(ways, at);
    Ok(Quoted { ways, chosen, groups: planned.len(), every_group })
}

/// Whether no lot is more than all of the cylinders fit for it could take.
fn may_hold(supply: &Supply) -> bool {
    let room = |lot: &Lot| -> Marks {
        supply.work.yard().iter().filter_map(|cylinder| Some(planner::room(cylinder, lot).ok()?.size())).sum()
    };
    supply.work.lots().iter().all(|lot| room(lot) >= lot.charge)
}

/// The ways that are better in something than each other one, by their number of cylinders, and where the chosen one
/// stands among them.
fn worth_showing(ways: Vec<Way>, chosen: usize) -> (Vec<Way>, usize) {
    let figures: Vec<_> = ways.iter().map(Way::figures).collect();
    let no_better =
        |one: usize, other: usize| figures[one].iter().zip(&figures[other]).all(|(one, other)| one >= other);
    let beaten = |one: usize| {
        (0..ways.len()).any(|other| other != one && no_better(one, other) && (other < one || !no_better(other, one)))
    };
    let mut order: Vec<usize> = (0..ways.len()).filter(|way| *way == chosen || !beaten(*way)).collect();
    order.sort_by_key(|way| figures[*way]);
    let at = order.iter().position(|way| *way == chosen).unwrap_or(0);
    let mut ways: Vec<Option<Way>> = ways.into_iter().map(Some).collect();
    (order.into_iter().filter_map(|way| ways[way].take()).collect(), at)
}

/// What a plan puts where, whichever of the cylinders of a kind it takes.
fn filled<'a>(supply: &'a Supply, plan: &'a Plan) -> Vec<(&'a str, &'a str, Marks)> {
    let kind = |load: &'a Load| supply.hired.iter().find(|hired| hired.id == load.cylinder).map(|hired| &*hired.kind);
    let name = |load: &'a Load| kind(load).unwrap_or(load.cylinder.as_str());
    let mut all: Vec<_> = plan.loads.iter().map(|load| (name(load), load.lot.as_str(), load.add)).collect();
    all.sort_unstable();
    all
}

/// What earlier pools of a way use.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
struct Taken {
    own: Vec<Id>,
    kinds: Vec<String>,
}

impl Taken {
    fn by(&mut self, pool: &Pool, work: &Work) {
        for load in &pool.plan.plan().loads {
            match pool.supply.hired.iter().find(|hired| hired.id == load.cylinder) {
                None => self.own.push(load.cylinder.clone()),
                // Of others there are as many as anybody wants.
                Some(hired) if work.stock().iter().any(|kind| kind.name == hired.kind && kind.count.is_some()) => {
                    self.kinds.push(hired.kind.clone());
                }
                Some(_) => {}
            }
        }
        self.own.sort_by(|one, other| one.as_str().cmp(other.as_str()));
        self.kinds.sort();
    }
}

struct Quoting<'a, 'g> {
    asked: &'a Asked<'a>,
    go_on: &'g mut dyn FnMut(&Progress) -> bool,
    /// There are few enough groups to look at each for long.
    full: bool,
    /// The groups with what was taken, and which pools came of them.
    planned: Vec<(Vec<usize>, Taken, Range<usize>)>,
    pools: Vec<Pool>,
}

impl Quoting<'_, '_> {
    fn best(&self, sharing: bool) -> Vec<usize> {
        let jobs = self.asked.work.jobs().len();
        best(&self.pools, jobs, &self.asked.work.stock(), self.asked.want, sharing).unwrap_or_default()
    }

    fn of(&self, which: &[usize]) -> Vec<&Pool> {
        which.iter().filter_map(|index| self.pools.get(*index)).collect()
    }

    /// The ways of a group on what others leave, by the positions of their pools.
    fn plan(&mut self, group: &[usize], taken: &Taken) -> Result<Range<usize>, NotPlanned> {
        if let Some((.., known)) = self.planned.iter().find(|(jobs, by, _)| jobs == group && by == taken) {
            return Ok(known.clone());
        }
        let Asked { work, terms, .. } = self.asked;
        let begin = self.pools.len();
        let Ok(own) = work.of_jobs(group).map(|own| own.without(&taken.own)) else { return Ok(begin..begin) };
        let whole = group.len() == work.jobs().len();
        let most = match self.asked.want {
            // More cylinders than the fewest are shown of the whole, and never quoted.
            Want::Fewest if !whole => 1,
            _ if self.full || whole || group.len() == 1 => MOST_WAYS,
            _ => FEW_WAYS,
        };
        for (index, mut choice) in self.choices().into_iter().enumerate() {
            choice.site = (!whole).then(|| group.first().map(|job| job + 1)).flatten();
            choice.taken.clone_from(&taken.kinds);
            let supply = supply(&own, &choice);
            // Where these can't hold it, others of the choices have to; why not is said of the first.
            if index > 0 && !may_hold(&supply) {
                continue;
            }
            let options = Options { effort: self.asked.effort, ..Options::default() };
            let plans = planner::first_of_tradeoff(&supply.work, &options, most, self.go_on)?;
            for plan in plans {
                let made = filled(&supply, &plan);
                if !self.pools[begin..].iter().any(|pool| filled(&pool.supply, pool.plan.plan()) == made) {
                    self.pools.push(Pool::new(group, &supply, audited(&supply.work, plan)?, terms));
                }
            }
        }
        let made = begin..self.pools.len();
        self.planned.push((group.to_vec(), taken.clone(), made.clone()));
        Ok(made)
    }

    /// The best whole pool of a group on what others leave, by its position.
    fn best_of(&mut self, group: &[usize], taken: &Taken) -> Result<Option<usize>, NotPlanned> {
        let made = self.plan(group, taken)?;
        let whole = made.filter(|index| self.pools[*index].is_whole());
        Ok(whole.reduce(|best, index| {
            let better = is_better(&[&self.pools[index]], &[&self.pools[best]], self.asked.want);
            if better { index } else { best }
        }))
    }

    /// Where plans made apart want the same cylinders, the groups of a split get them one after another, each the best of
    /// what the ones before leave; returns the best way that there is then.
    fn on_what_is_left(&mut self, chosen: Vec<usize>) -> Result<Vec<usize>, NotPlanned> {
        let (want, jobs) = (self.asked.want, self.asked.work.jobs().len());
        let wished = self.best(true);
        if !is_better(&self.of(&wished), &self.of(&chosen), want) {
            return Ok(chosen);
        }
        let wished = self.of(&wished).iter().map(|pool| pool.jobs.clone()).collect();
        let splits = if self.full { partitions(jobs) } else { vec![wished, (0..jobs).map(|job| vec![job]).collect()] };
        let mut chosen = chosen;
        for split in splits {
            let mut least = Vec::new();
            for group in &split {
                least.extend(self.best_of(group, &Taken::default())?);
            }
            if least.len() < split.len() || !is_better(&self.of(&least), &self.of(&chosen), want) {
                continue;
            }
            let (mut taken, mut way) = (Taken::default(), Vec::new());
            for group in &split {
                let Some(first) = self.best_of(group, &taken)? else { break };
                taken.by(&self.pools[first], self.asked.work);
                way.push(first);
            }
            if way.len() == split.len() && is_better(&self.of(&way), &self.of(&chosen), want) {
                chosen = way;
            }
        }
        let best = self.best(false);
        Ok(if is_better(&self.of(&best), &self.of(&chosen), want) { best } else { chosen })
    }

    /// The cylinders that ways are made from: all; those on hand first, so that none is hired for a little less to lift;
    /// each kind for hire by itself, since a dear one may be a little lighter, too. What is chosen by its cost is also
    /// looked for in the yard and in the stock alone.
    fn choices(&self) -> Vec<Choice> {
        let Asked { work, source, want, .. } = self.asked;
        let stock = work.stock();
        let mut all = vec![Choice::of(*source)];
        let has_both = *source == Source::Both && !work.yard().is_empty() && !stock.is_empty();
        let own_first = has_both;
        if has_both {
            all.push(Choice { own_first, ..Choice::of(*source) });
        }
        if *want == Want::Cheapest && has_both {
            all.push(Choice::of(Source::Yard));
            all.push(Choice::of(Source::Stock));
        }
        if *source != Source::Yard && stock.len() > 1 && stock.iter().any(|kind| kind.hire.is_some()) {
            for kind in &stock {
                let only = Some(kind.name.clone());
                all.push(Choice { only: only.clone(), own_first, ..Choice::of(*source) });
                if *want == Want::Cheapest && has_both {
                    all.push(Choice { only, ..Choice::of(Source::Stock) });
                }
            }
        }
        all
    }
}
