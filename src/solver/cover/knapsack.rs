//! The cheapest cover of one lot: a bounded knapsack, solved by states grown outward from its break item.
//!
//! In words: take the classes by price for room until the charge is covered. A cheapest cover differs from that only
//! near the break, so cylinders are tried out one at a time, alternately the next one behind the break (taken or not)
//! and the next one before it (given back or not). A state is what is still uncovered and what is spent; one that
//! leaves no less uncovered at no lower price than another is dropped, and so is one that can't come under the
//! cheapest cover known: what it lacks costs at least the next efficiency behind, what it has too much saves at most
//! the next one before. All in integers, so what remains is exact. (The literature calls this a core or expanding-core
//! method with dominance; a full table over divisions was ten times slower at 0.1 lb and far worse at finer scales.)

use super::greedy::greedy;
use super::state::{Ranked, State};
use super::task::{Item, Task};
use crate::solver::problem::watch::{Stopped, Watch};

/// States beyond which the search stops at the bound that it has: some seconds, and 24 MB.
const MOST_STATES: usize = 1 << 20;
/// Rounding of a sum, as a part of what goes into it.
const ROUNDING: f64 = 1e-14;
/// Steps of work for a state.
const STEPS: usize = 4;
/// Steps of work for an item before there are states.
const STEPS_SORTING: usize = 32;
/// No state before this one.
const START: u32 = u32::MAX;

/// What is known of the covers below a price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cheapest {
    /// No cover costs less (at most the price asked for).
    pub least: i64,
    /// A cover within the tolerance of the cheapest, with its price: (class, how many) by class. `None` where none
    /// below the price asked for comes so close.
    pub cover: Option<(i64, Vec<(usize, i64)>)>,
}

/// The states of one search; their memory is used again for the next.
#[derive(Debug, Default)]
pub struct States {
    now: Vec<State>,
    next: Vec<State>,
    /// (step before, item, taken rather than given back)
    steps: Vec<(u32, u32, bool)>,
    best: Option<State>,
    /// Only covers of a lower price are looked for.
    below: i64,
    /// States whose covers can't come below this are dropped.
    worth: f64,
    /// What `worth` is under `below`.
    margin: f64,
    leftover: Option<i64>,
}

impl States {
    /// The cheapest cover below a price, to the task's tolerance; where there are too many states, what is known by then.
    pub fn cheapest(
        &mut self,
        items: &[Item],
        task: Task,
        below: i64,
        watch: &mut Watch<'_>,
    ) -> Result<Cheapest, Stopped> {
        watch.work(items.len() * STEPS_SORTING)?;
        // A cylinder dearer than leaving its room uncovered is of no use.
        let useful = |item: &&Item| {
            item.price < 0
                || task.leftover.is_none_or(|left| i128::from(item.price) < i128::from(left) * i128::from(item.room))
        };
        let rank = |item: &Item| (item.price as f64 / item.room as f64, *item);
        let mut items: Vec<Ranked> = items.iter().filter(useful).map(rank).collect();
        items.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.class.cmp(&b.1.class)));
        let greedy = greedy(items.iter().map(|(_, item)| item), task).filter(|(price, _)| *price < below);
        self.below = greedy.as_ref().map_or(below, |(price, _)| *price);
        (self.best, self.leftover) = (None, task.leftover);
        // Bounds are reckoned in floating point: with this to spare, rounding drops nothing that belongs to the answer.
        let all: f64 = items.iter().map(|(_, item)| item.price.abs() as f64 * item.most as f64).sum();
        self.margin = task.tolerance as f64 - ROUNDING * (all + self.below as f64) - 4.0;
        self.worth = self.below as f64 - self.margin;
        let (start, first) = start(&items, task);
        let next = (0..items.len()).find(|&at| first[at] < items[at].1.most).map(|at| items[at].1);
        let cheaper = |item: &Item| {
            task.leftover.is_none_or(|left| i128::from(item.price) < i128::from(left) * i128::from(item.room))
        };
        let each = next.filter(cheaper).map(|item| (item.price.max(0), item.room));
        let each = each.or(task.leftover.map(|left| (left, 1)));
        // All that is still uncovered costs at least the next price for room; less where two are too close to rank.
        let least = match each {
            _ if start.rest <= 0 => i64::MIN,
            Some((price, room)) => {
                let more = (i128::from(start.rest) * i128::from(price)).div_euclid(i128::from(room)) as i64;
                start.price + more - (more >> 50) - 1
            }
            None => return Ok(Cheapest { least: below, cover: None }),
        };
        self.now.clear();
        self.steps.clear();
        self.take(start);
        self.now.push(start);
        // States that weren't looked at to the end may still come to a cover as cheap as this.
        let open = self.grow(&items, &first, watch)?.map_or(i64::MAX, |open| {
            let rounding = task.tolerance as f64 - self.margin;
            (open - rounding).floor() as i64
        });
        Ok(Cheapest {
            least: least.max((self.below - task.tolerance).min(open)).min(self.below),
            cover: self.best.map(|best| (best.price, self.trace(&items, first, best))).or(greedy),
        })
    }

    /// Tries the cylinders out, those nearest the break first. Where there are too many states, what the covers of those
    /// that are left come to at least.
    fn grow(&mut self, items: &[Ranked], first: &[i64], watch: &mut Watch<'_>) -> Result<Option<f64>, Stopped> {
        // The next item behind the break and before it of which some are not tried yet.
        let behind = |from: usize| (from..items.len()).find(|&at| first[at] < items[at].1.most);
        let before = |until: usize| (0..until).rev().find(|&at| first[at] > 0);
        let (mut add, mut give) = (behind(0), before(items.len()));
        let lacking = self.leftover.map_or(f64::INFINITY, |left| left as f64);
        // The rule: what is under this price for room is worth having. It costs `base`, as if cylinders could be cut.
        // Where what costs nothing covers too much, room is worth nothing.
        let over = self.now.first().is_some_and(|start| start.rest < 0);
        let rule = if over { 0.0 } else { add.map_or(lacking, |at| items[at].0.min(lacking)).max(0.0) };
        let base = self.now.first().map_or(0.0, |start| start.price as f64 + start.rest.max(0) as f64 * rule);
        let mut adding = true;
        while !self.now.is_empty() {
            let edges = Edges {
                up: add.map_or(lacking, |at| items[at].0.min(lacking)),
                down: give.map_or(0.0, |at| items[at].0.max(0.0)),
            };
            self.prune(edges);
            let taking = add.is_some() && (adding || give.is_none());
            adding = !adding;
            let Some(at) = (if taking { add } else { give }) else { break };
            // One cylinder against the rule of the break costs so much at least.
            let against = items[at].1.room as f64 * (items[at].0 - rule).abs();
            let item = items[at].1;
            let copies = if taking { item.most - first[at] } else { first[at] };
            let mut tried = 0;
            while tried < copies && base + against <= self.worth {
                tried += 1;
                watch.work(self.now.len() * STEPS + 16)?;
                let grown = self.merge(item, at, taking, edges);
                if self.steps.len() > MOST_STATES {
                    return Ok(Some(self.now.iter().map(|state| edges.bound(state)).fold(f64::INFINITY, f64::min)));
                }
                if !grown {
                    break;
                }
            }
            if taking {
                add = behind(at + 1);
            } else {
                give = before(at);
            }
        }
        Ok(None)
    }

    /// Tries one more cylinder of an item on every state; false where no new state remains.
    fn merge(&mut self, item: Item, at: usize, taking: bool, edges: Edges) -> bool {
        let sign = if taking { 1 } else { -1 };
        let (room, price) = (sign * item.room, sign * item.price);
        let now = std::mem::take(&mut self.now);
        let mut next = std::mem::take(&mut self.next);
        next.clear();
        let mut grown = false;
        let mut least = i64::MAX;
        let mut kept = now.iter().copied().peekable();
        let mut changed =
            now.iter().map(|state| State { rest: state.rest - room, price: state.price + price, ..*state }).peekable();
        // In the order of what is uncovered, the least first; of equals the cheaper, then the older.
        loop {
            let new = match (kept.peek(), changed.peek()) {
                (Some(kept), Some(changed)) => (changed.rest, changed.price) < (kept.rest, kept.price),
                (None, None) => break,
                (kept, _) => kept.is_none(),
            };
            let Some(mut state) = (if new { changed.next() } else { kept.next() }) else { break };
            // Of states with as much uncovered or less.
            if edges.bound(&state) > self.worth || state.price >= least {
                continue;
            }
            least = state.price;
            if new {
                grown = true;
                self.steps.push((state.step, at as u32, taking));
                state.step = self.steps.len() as u32 - 1;
                self.take(state);
            }
            next.push(state);
        }
        drop(kept);
        drop(changed);
        (self.now, self.next) = (next, now);
        grown
    }

    /// Drops the states from which no cover comes below the price looked for.
    fn prune(&mut self, edges: Edges) {
        let worth = self.worth;
        self.now.retain(|state| edges.bound(state) <= worth);
    }

    /// Takes a state's cover if it is the cheapest so far.
    fn take(&mut self, state: State) {
        let price = match self.leftover {
            Some(left) => state.price + left * state.rest.max(0),
            None if state.rest > 0 => return,
            None => state.price,
        };
        if price < self.below {
            self.below = price;
            self.worth = price as f64 - self.margin;
            self.best = Some(State { price, ..state });
        }
    }

    /// The cover of a state, from what greed took first.
    fn trace(&self, items: &[Ranked], first: Vec<i64>, state: State) -> Vec<(usize, i64)> {
        let mut taken = first;
        let mut step = state.step;
        while let Some(&(earlier, at, taking)) = self.steps.get(step as usize) {
            taken[at as usize] += if taking { 1 } else { -1 };
            step = earlier;
        }
        let mut cover: Vec<(usize, i64)> =
            items.iter().zip(taken).filter(|(_, n)| *n > 0).map(|((_, item), n)| (item.class, n)).collect();
        cover.sort_unstable();
        cover
    }
}

/// The price for room of what is not tried yet: what the uncovered costs at least, what too much saves at most.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Edges {
    up: f64,
    down: f64,
}

impl Edges {
    /// No cover from a state on costs less.
    fn bound(self, state: &State) -> f64 {
        let each = if state.rest > 0 { self.up } else { self.down };
        state.price as f64 + state.rest as f64 * each
    }
}

/// What greed takes until the next cylinder would be too much, and how many of each item that is.
fn start(items: &[Ranked], task: Task) -> (State, Vec<i64>) {
    let mut start = State { rest: task.charge, price: 0, step: START };
    let mut first = vec![0; items.len()];
    for ((each, item), first) in items.iter().zip(&mut first) {
        if task.leftover.is_some_and(|left| *each >= left as f64) {
            break;
        }
        let wanted = if item.price < 0 { item.most } else { (start.rest.max(0) / item.room).min(item.most) };
        *first = wanted;
        start.rest -= wanted * item.room;
        start.price += wanted * item.price;
        if start.rest >= 0 && wanted < item.most {
            break;
        }
    }
    (start, first)
}
