//! Every cover that could be part of a plan within the gap, listed, and the plans made of them.
//!
//! A plan's cost is at least the bound plus, for each lot, what its cover costs above the least that the bound counts
//! for it at its prices (the rest is supply that was charged and not used, never below zero). So a plan of cost t is made
//! only of covers whose excess, summed, is at most t − bound. Where the gap is small these are few: listing them and
//! trying which fit together either finds the best plan or proves that there is none, without any branching on fractions.
//! A cover with a cylinder that it could do without needn't be listed, because leaving that out is never dearer. (Where
//! branching wants more cylinders, the plan without it is a plan of another branch.)

use super::answer::{Answer, Quest};
use crate::solver::bound::generation::Memory;
use crate::solver::bound::prices::{Bound, items};
use crate::solver::cover::table::Covers;
use crate::solver::cover::task::{Rounding, Task};
use crate::solver::field::{Class, Field, Quota, Sets};
use crate::solver::problem::watch::{Stopped, Watch};

/// A listed cover of a lot.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Listed {
    /// Price above the least that the bound counts for the lot.
    excess: i64,
    cost: i64,
    number: i64,
    taken: Vec<(usize, i64)>,
}

/// What listing came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// The best plan within the gap: nothing is cheaper.
    Best(i64, Sets),
    /// No plan costs `at_most` or less.
    Nothing,
    /// Too many covers or combinations to try; a plan that was met on the way.
    TooMany(Option<(i64, Sets)>),
}

/// How much listing may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Covers listed for one lot.
    pub covers: usize,
    /// Steps of one search.
    pub steps: usize,
}

/// The covers that one listing may hold, and its steps: a few milliseconds.
pub const SMALL: Effort = Effort { covers: 3_000, steps: 100_000 };

/// Classes beyond this aren't listed: the recursion is as deep as there are classes.
const MOST_CLASSES: usize = 400;

/// Looks for the cheapest plan of cost `at_most` or less.
pub fn list(
    field: &Field,
    bound: &Bound,
    at_most: i64,
    effort: Effort,
    covers: &mut Covers,
    watch: &mut Watch<'_>,
) -> Result<Verdict, Stopped> {
    let gap = (i128::from(at_most) << field.bits) - i128::from(bound.value);
    let Ok(gap) = i64::try_from(gap) else {
        return Ok(Verdict::TooMany(None));
    };
    if gap < 0 {
        return Ok(Verdict::Nothing);
    }
    if field.classes.len() > MOST_CLASSES {
        return Ok(Verdict::TooMany(None));
    }
    let mut lists = Vec::with_capacity(field.lots.len());
    for lot in 0..field.lots.len() {
        let items = items(field, lot, &bound.prices, |class| field.classes[class].count());
        let leftover = field.leftover_of(lot).map(|each| each << field.bits);
        let (least, budget) = (bound.leasts[lot], bound.leasts[lot].saturating_add(gap));
        let up_to = Some(budget);
        let task = Task { up_to, ..Task::cheapest(field.charges[lot], leftover, Rounding::Outward) };
        covers.fill(items, task, watch)?;
        if covers.core.partial {
            return Ok(Verdict::TooMany(None));
        }
        if covers.table_price() > budget {
            return Ok(Verdict::Nothing);
        }
        let mut lister = Lister {
            field,
            lot,
            covers,
            last_kept: 0,
            budget,
            least,
            taken: Vec::new(),
            found: Vec::new(),
            steps: 0,
            effort,
        };
        lister.last_kept = lister.covers.items.iter().rposition(|item| item.kept).map_or(0, |at| at + 1);
        let complete = lister.go(0, lister.covers.core.rest, lister.covers.core.price);
        let steps = lister.steps;
        let mut found = lister.found;
        watch.work(steps * 8)?;
        if !complete {
            return Ok(Verdict::TooMany(None));
        }
        if found.is_empty() {
            return Ok(Verdict::Nothing);
        }
        found.sort_unstable();
        lists.push(found);
    }
    let mut order: Vec<usize> = (0..lists.len()).collect();
    order.sort_by_key(|&lot| lists[lot].len());
    let mut joiner = Joiner::new(field, &lists, &order, at_most, effort);
    let complete = joiner.go(0, gap, 0, 0, watch)?;
    let best = joiner.best.map(|(cost, chosen)| (cost, sets(field, &lists, &order, &chosen)));
    Ok(match (complete, best) {
        (true, Some((cost, sets))) => Verdict::Best(cost, sets),
        (true, None) => Verdict::Nothing,
        (false, best) => Verdict::TooMany(best),
    })
}

/// Lists the covers in wider and wider parts of the gap, until a plan is found, the gap is closed, or it is too much.
pub fn list_gap(
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

/// Lists covers of one lot within a budget of price.
struct Lister<'a> {
    field: &'a Field,
    lot: usize,
    covers: &'a Covers,
    /// Rows from here on have nothing that must be used.
    last_kept: usize,
    budget: i64,
    least: i64,
    taken: Vec<(usize, i64)>,
    found: Vec<Listed>,
    steps: usize,
    effort: Effort,
}

impl Lister<'_> {
    /// Goes through the choices from `row` on with `rest` uncovered and `price` spent; false where it is too much.
    fn go(&mut self, row: usize, rest: i64, price: i64) -> bool {
        self.steps += 1;
        if self.steps > self.effort.steps || self.found.len() > self.effort.covers {
            return false;
        }
        if row == self.covers.items.len() || (rest == 0 && row >= self.last_kept) {
            self.record(rest, price);
            return true;
        }
        let item = self.covers.items[row];
        let mut rest = rest;
        let mut price = price;
        for number in 0..=item.most {
            if number > 0 {
                if rest == 0 && !item.kept {
                    break;
                }
                rest = (rest - item.room).max(0);
                price += item.price;
            }
            if price + self.covers.at(row + 1, rest) <= self.budget {
                if number > 0 {
                    self.taken.push((row, number));
                }
                let complete = self.go(row + 1, rest, price);
                if number > 0 {
                    self.taken.pop();
                }
                if !complete {
                    return false;
                }
            }
        }
        true
    }

    /// Takes down a cover, unless it could do without one of its cylinders.
    fn record(&mut self, rest: i64, price: i64) {
        let (field, lot) = (self.field, self.lot);
        let mut taken = self.covers.core.taken.clone();
        taken.extend(self.taken.iter().map(|&(row, number)| (self.covers.items[row].class, number)));
        taken.sort_unstable();
        let class = |class: usize| &field.classes[class];
        let sum = |value: &dyn Fn(&Class) -> i64| -> i64 {
            taken.iter().map(|&(at, number)| number * value(class(at))).sum()
        };
        let covered = sum(&|class| class.rooms[lot]);
        let spare = covered - field.charges[lot];
        let needless = taken.iter().any(|&(at, _)| !class(at).kept && class(at).rooms[lot] <= spare);
        let number = sum(&|_| 1);
        let delivered = covered.min(field.charges[lot]);
        let price = price + field.leftover_of(lot).map_or(0, |each| (each * rest) << field.bits);
        let outside = |quota: &Quota| quota.lot == Some(lot) && quota.taken(lot, &taken) > quota.supply();
        if needless
            || number > delivered
            || price > self.budget
            || !field.allows(lot, &taken)
            || field.quotas.iter().any(outside)
        {
            return;
        }
        let cost = sum(&|class| class.cost) + field.leftover_of(lot).unwrap_or(0) * (field.charges[lot] - delivered);
        self.found.push(Listed { excess: price - self.least, cost, number, taken });
    }
}

/// Tries which covers fit together, one lot after another.
struct Joiner<'a> {
    field: &'a Field,
    lists: &'a [Vec<Listed>],
    order: &'a [usize],
    /// The least number of cylinders that the lots from a depth on need.
    least_after: Vec<i64>,
    left: Vec<i64>,
    /// How many that must be used are not used yet.
    kept_left: i64,
    chosen: Vec<usize>,
    best: Option<(i64, Vec<usize>)>,
    below: i64,
    steps: usize,
    effort: Effort,
}

impl<'a> Joiner<'a> {
    fn new(field: &'a Field, lists: &'a [Vec<Listed>], order: &'a [usize], at_most: i64, effort: Effort) -> Self {
        let mut least_after = vec![0; order.len() + 1];
        for depth in (0..order.len()).rev() {
            let least = lists[order[depth]].iter().map(|cover| cover.number).min().unwrap_or(0);
            least_after[depth] = least_after[depth + 1] + least;
        }
        Self {
            field,
            lists,
            order,
            least_after,
            left: field.classes.iter().map(Class::count).collect(),
            kept_left: field.classes.iter().filter(|class| class.kept).map(Class::count).sum(),
            chosen: Vec::new(),
            best: None,
            below: at_most + 1,
            steps: 0,
            effort,
        }
    }

    /// Goes on from `depth` with so much of the gap left; false where it is too much.
    fn go(&mut self, depth: usize, gap: i64, cost: i64, number: i64, watch: &mut Watch<'_>) -> Result<bool, Stopped> {
        if depth == self.order.len() {
            if self.kept_left == 0 && cost < self.below {
                self.below = cost;
                self.best = Some((cost, self.chosen.clone()));
            }
            return Ok(true);
        }
        let lists = self.lists;
        for (index, cover) in lists[self.order[depth]].iter().enumerate() {
            if cover.excess > gap {
                break;
            }
            self.steps += 1;
            if self.steps > self.effort.steps {
                return Ok(false);
            }
            if self.steps.is_multiple_of(1024) {
                watch.work(1024 * 8)?;
            }
            let number = number + cover.number;
            let over = self.field.at_most.is_some_and(|most| number + self.least_after[depth + 1] > most);
            if over || cover.taken.iter().any(|&(class, number)| self.left[class] < number) {
                continue;
            }
            self.take(cover, 1);
            self.chosen.push(index);
            let complete = self.go(depth + 1, gap - cover.excess, cost + cover.cost, number, watch)?;
            self.chosen.pop();
            self.take(cover, -1);
            if !complete {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Takes a cover's cylinders from what is left, or gives them back.
    fn take(&mut self, cover: &Listed, sign: i64) {
        for &(class, number) in &cover.taken {
            self.left[class] -= sign * number;
            if self.field.classes[class].kept {
                self.kept_left -= sign * number;
            }
        }
    }
}

/// Chosen covers as cylinders.
fn sets(field: &Field, lists: &[Vec<Listed>], order: &[usize], chosen: &[usize]) -> Sets {
    let mut next = vec![0_usize; field.classes.len()];
    let mut sets: Sets = vec![Vec::new(); lists.len()];
    let mut by_lot: Vec<(usize, usize)> = order.iter().copied().zip(chosen.iter().copied()).collect();
    by_lot.sort_unstable();
    for (lot, index) in by_lot {
        for &(class, number) in &lists[lot][index].taken {
            let members = &field.classes[class].members;
            sets[lot].extend(&members[next[class]..next[class] + number as usize]);
            next[class] += number as usize;
        }
        sets[lot].sort_unstable();
    }
    sets
}
