//! The cheapest cover of one lot without a table: states grown outward from where greed breaks off.
//!
//! In words: take the classes by price for room until the charge is covered. A cheapest cover differs from that only
//! near the break, so cylinders are tried out one at a time, alternately the next one behind the break (taken or not)
//! and the next one before it (given back or not). A state is what is still uncovered and what is spent; one that
//! leaves no less uncovered at no lower price than another is dropped, and so is one that can't come under the
//! cheapest cover known: what it lacks costs at least the next efficiency behind, what it has too much saves at most
//! the next one before. All in integers, so what remains is exact.

use super::covers::{Item, NONE};
use super::reduction::Task;
use super::watch::{Stopped, Watch};

/// States beyond which a table is the better way.
const MOST_STATES: usize = 1 << 20;
/// No state before this one.
const START: u32 = u32::MAX;

/// A cheapest cover.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Cheapest {
    /// Its price, and (class, how many) by class.
    Cover(i64, Vec<(usize, i64)>),
    /// None costs less than the price known.
    NoCheaper,
    /// The rooms don't reach.
    Uncovered,
    /// Too many states.
    TooMany,
}

/// What is still uncovered (below 0: too much) and what is spent, with the step that led here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct State {
    rest: i64,
    price: i64,
    step: u32,
}

/// The states of one search; their memory is used again for the next.
#[derive(Debug, Default)]
pub(super) struct States {
    now: Vec<State>,
    next: Vec<State>,
    /// (step before, item, taken rather than given back)
    steps: Vec<(u32, u32, bool)>,
    best: Option<State>,
    /// Only covers of a lower price are looked for.
    below: i64,
    leftover: Option<i64>,
}

/// The price for room of what is not tried yet: price and room of one cylinder.
type Edge = Option<(i64, i64)>;

impl States {
    /// The cheapest cover below a price.
    pub fn cheapest(
        &mut self,
        mut items: Vec<Item>,
        task: Task,
        below: i64,
        watch: &mut Watch<'_>,
    ) -> Result<Cheapest, Stopped> {
        // A cylinder dearer than leaving its room uncovered is of no use.
        let useful = |item: &Item| {
            item.price < 0
                || task.leftover.is_none_or(|left| i128::from(item.price) < i128::from(left) * i128::from(item.room))
        };
        items.retain(useful);
        items.sort_by(|a, b| {
            let (a_over, b_over) = (i128::from(a.price) * i128::from(b.room), i128::from(b.price) * i128::from(a.room));
            a_over.cmp(&b_over).then(a.class.cmp(&b.class))
        });
        let mut start = State { rest: task.charge, price: 0, step: START };
        let mut first: Vec<i64> = Vec::with_capacity(items.len());
        for item in &items {
            let wanted = if item.price < 0 { item.most } else { (start.rest.max(0) / item.room).min(item.most) };
            first.push(wanted);
            start.rest -= wanted * item.room;
            start.price += wanted * item.price;
            if start.rest >= 0 && wanted < item.most {
                break;
            }
        }
        first.resize(items.len(), 0);
        self.now.clear();
        self.steps.clear();
        (self.best, self.below, self.leftover) = (None, below, task.leftover);
        self.take(start);
        self.now.push(start);
        if !self.grow(&items, &first, watch)? {
            return Ok(Cheapest::TooMany);
        }
        Ok(match self.best {
            Some(best) => Cheapest::Cover(best.price, self.trace(&items, first, best)),
            None if below < NONE => Cheapest::NoCheaper,
            None => Cheapest::Uncovered,
        })
    }

    /// Tries the cylinders out, those nearest the break first; false where there are too many states.
    fn grow(&mut self, items: &[Item], first: &[i64], watch: &mut Watch<'_>) -> Result<bool, Stopped> {
        // The next item behind the break and before it, with how many of it are not tried yet.
        let behind = |from: usize| (from..items.len()).find(|&at| first[at] < items[at].most);
        let before = |until: usize| (0..until).rev().find(|&at| first[at] > 0);
        let (mut add, mut give) = (behind(0), before(items.len()));
        let edge = |at: Option<usize>| at.map(|at| (items[at].price, items[at].room));
        let mut adding = true;
        while !self.now.is_empty() && (add.is_some() || give.is_some()) {
            let taking = add.is_some() && (adding || give.is_none());
            adding = !adding;
            let Some(at) = (if taking { add } else { give }) else { break };
            let copies = if taking { items[at].most - first[at] } else { first[at] };
            if taking {
                add = behind(at + 1);
            } else {
                give = before(at);
            }
            let same = Some((items[at].price, items[at].room));
            for copy in 1..=copies {
                let here = if copy < copies { same } else { None };
                let (up, down) =
                    if taking { (here.or(edge(add)), edge(give)) } else { (edge(add), here.or(edge(give))) };
                watch.work(self.now.len() * 4 + 16)?;
                let grown = self.merge(items[at], at, taking, up, down);
                if self.steps.len() > MOST_STATES {
                    return Ok(false);
                }
                if !grown {
                    break;
                }
            }
            self.prune(edge(add), edge(give));
        }
        Ok(true)
    }

    /// Tries one more cylinder of an item on every state; false where no new state remains.
    fn merge(&mut self, item: Item, at: usize, taking: bool, up: Edge, down: Edge) -> bool {
        let sign = if taking { 1 } else { -1 };
        let (room, price) = (sign * item.room, sign * item.price);
        let mut next = std::mem::take(&mut self.next);
        next.clear();
        let (mut old, mut new, mut least, mut grown) = (0, 0, i64::MAX, false);
        let count = self.now.len();
        // In the order of what is uncovered, the least first; of equals the older and cheaper.
        while old < count || new < count {
            let shifted = |state: &State| State { rest: state.rest - room, price: state.price + price, ..*state };
            let kept = self.now.get(old);
            let changed = self.now.get(new).map(shifted);
            let (state, is_new) = match (kept, changed) {
                (Some(kept), Some(changed)) if (changed.rest, changed.price) < (kept.rest, kept.price) => {
                    (changed, true)
                }
                (Some(kept), _) => (*kept, false),
                (None, Some(changed)) => (changed, true),
                (None, None) => break,
            };
            if is_new {
                new += 1
            } else {
                old += 1
            }
            if state.price >= least || self.hopeless(&state, up, down) {
                continue;
            }
            least = state.price;
            if is_new {
                grown = true;
                let step = self.steps.len() as u32;
                self.steps.push((state.step, at as u32, taking));
                let state = State { step, ..state };
                self.take(state);
                next.push(state);
            } else {
                next.push(state);
            }
        }
        self.next = std::mem::replace(&mut self.now, next);
        grown
    }

    /// Whether no cover from a state on comes below the price looked for.
    fn hopeless(&self, state: &State, up: Edge, down: Edge) -> bool {
        let spare = i128::from(self.below) - 1 - i128::from(state.price);
        let (price, room) = if state.rest > 0 {
            match up.or(self.leftover.map(|left| (left, 1))) {
                Some(edge) => edge,
                None => return true,
            }
        } else {
            down.filter(|&(price, _)| price > 0).unwrap_or((0, 1))
        };
        i128::from(state.rest) * i128::from(price) > spare * i128::from(room)
    }

    /// Drops the states that have become hopeless.
    fn prune(&mut self, up: Edge, down: Edge) {
        let mut now = std::mem::take(&mut self.now);
        now.retain(|state| !self.hopeless(state, up, down));
        self.now = now;
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
            self.best = Some(State { price, ..state });
        }
    }

    /// The cover of a state, from what greed took first.
    fn trace(&self, items: &[Item], first: Vec<i64>, state: State) -> Vec<(usize, i64)> {
        let mut taken = first;
        let mut step = state.step;
        while let Some(&(earlier, at, taking)) = self.steps.get(step as usize) {
            taken[at as usize] += if taking { 1 } else { -1 };
            step = earlier;
        }
        let mut cover: Vec<(usize, i64)> =
            items.iter().zip(taken).filter(|(_, taken)| *taken > 0).map(|(item, taken)| (item.class, taken)).collect();
        cover.sort_unstable();
        cover
    }
}
