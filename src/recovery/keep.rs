//! Which stops of the plan in force stay, where what is left is placed with as few further cylinders as it can be.
//!
//! A fresh plan of what is left, with every begun cylinder filled to its top, says how few further cylinders it takes. Then as
//! much as possible is left alone without taking one more: first each stop of a cylinder that is on its way or untouched, then
//! finished cylinders stay closed. What is given up is given up one by one, so that no stop changes that needn't.

use super::rest::{OfLot, Own, Rest};
use crate::planner::{Options, Problem, Progress};
use crate::quantity::Marks;
use crate::solver::{Amounts, Fill, Outcome, Priority, solve};

/// What goes into the cylinders that a lot has already, and into others.
#[derive(Debug, Clone)]
pub(super) struct Placed {
    /// For each lot of the rest, what goes into each of its own cylinders.
    pub own: Vec<Vec<Marks>>,
    /// Cylinders of the rest's problem that nothing has gone into, and weren't kept.
    pub fills: Vec<Fill>,
}

/// Whether to go on looking.
pub(super) type GoOn<'g> = dyn FnMut(&Progress) -> bool + 'g;

/// Places what is left in at most so many cylinders that nothing has gone into. `None` where the time ran out.
pub(super) fn keep(rest: &Rest, most: usize, options: &Options, go_on: &mut GoOn) -> Option<Placed> {
    let mut keep = Keep { rest, most, kept: Vec::new(), more: Vec::new() };
    keep.kept = rest.lots.iter().map(|lot| that_fit(lot, |_| true)).collect();
    keep.more = (0..rest.lots.len()).map(|lot| keep.room_above(lot)).collect();
    if !keep.is_enough(go_on) {
        keep.one_by_one(go_on);
    }
    keep.least_above(go_on);
    keep.placed(options, go_on)
}

/// The plan's cylinders whose stops together are no more than what is left: those that are begun first.
fn that_fit(lot: &OfLot, may: impl Fn(&Own) -> bool) -> Vec<bool> {
    let mut left = lot.left;
    let mut kept = vec![false; lot.own.len()];
    let begun = (0..lot.own.len()).filter(|at| lot.own[*at].begun);
    let untouched = (0..lot.own.len()).filter(|at| !lot.own[*at].begun);
    for at in begun.chain(untouched) {
        let own = &lot.own[at];
        if own.to_go() > 0 && own.to_go() <= left && may(own) {
            kept[at] = true;
            left -= own.to_go();
        }
    }
    kept
}

struct Keep<'r, 'd, 'w> {
    rest: &'r Rest<'d, 'w>,
    /// Further cylinders, those of the plan among them.
    most: usize,
    /// For each lot whether each of its own cylinders keeps its stop, or takes at least that.
    kept: Vec<Vec<bool>>,
    /// For each lot what goes into its own cylinders beyond the stops that are kept.
    more: Vec<Marks>,
}

impl Keep<'_, '_, '_> {
    fn own(&self, lot: usize) -> impl Iterator<Item = (&Own, bool)> {
        self.rest.lots[lot].own.iter().zip(self.kept[lot].iter().copied())
    }

    /// What goes in by the stops that are kept.
    fn to_stops(&self, lot: usize) -> Marks {
        self.own(lot).filter(|(_, kept)| *kept).map(|(own, _)| own.to_go()).sum()
    }

    /// What an own cylinder takes beyond what it keeps, without another being opened.
    fn above(own: &Own, kept: bool) -> Marks {
        match (kept, own.begun) {
            (true, _) => own.top - own.stop,
            (false, true) => own.top - own.now,
            (false, false) => 0,
        }
    }

    fn room_above(&self, lot: usize) -> Marks {
        let all: Marks = self.own(lot).map(|(own, kept)| Self::above(own, kept)).sum();
        all.min(self.rest.lots[lot].left - self.to_stops(lot))
    }

    /// What cylinders that aren't kept have to take.
    fn problem(&self) -> Problem {
        let mut problem = self.rest.problem.clone();
        for (index, lot) in self.rest.lots.iter().enumerate() {
            problem.lots[lot.row].charge = lot.left - self.to_stops(index) - self.more[index];
            for (own, _) in self.own(index).filter(|(_, kept)| *kept) {
                if let Some(slot) = own.slot {
                    problem.cylinders[slot].tops.clear();
                }
            }
        }
        problem
    }

    /// Further cylinders that are kept.
    fn opened(&self) -> usize {
        let untouched = |lot: usize| self.own(lot).filter(|(own, kept)| *kept && !own.begun).count();
        (0..self.rest.lots.len()).map(untouched).sum()
    }

    /// Whether what is kept takes no cylinder more.
    fn is_enough(&self, go_on: &mut GoOn) -> bool {
        let Some(most) = self.most.checked_sub(self.opened()) else { return false };
        fewest(&self.problem(), most, go_on).is_some_and(|number| number <= most)
    }

    /// Keeps untouched cylinders one after the other, as long as that takes no cylinder more.
    fn one_by_one(&mut self, go_on: &mut GoOn) {
        for (index, lot) in self.rest.lots.iter().enumerate() {
            self.kept[index] = that_fit(lot, |own| own.begun);
            self.more[index] = self.room_above(index);
        }
        for (index, lot) in self.rest.lots.iter().enumerate() {
            for at in (0..lot.own.len()).filter(|at| !lot.own[*at].begun) {
                let before = self.more[index];
                if self.to_stops(index) + lot.own[at].to_go() > lot.left {
                    continue;
                }
                self.kept[index][at] = true;
                self.more[index] = self.room_above(index);
                if !self.is_enough(go_on) {
                    self.kept[index][at] = false;
                    self.more[index] = before;
                }
            }
        }
    }

    /// Lot by lot the least that has to go in above stops: what others that are opened anyway can take, they take.
    fn least_above(&mut self, go_on: &mut GoOn) {
        for lot in 0..self.rest.lots.len() {
            let (mut low, mut enough) = (0, self.more[lot]);
            while low < enough {
                // First whether nothing has to.
                let middle = if low == 0 { 0 } else { low + (enough - low) / 2 };
                self.more[lot] = middle;
                if self.is_enough(go_on) {
                    enough = middle;
                } else {
                    low = middle + 1;
                }
            }
            self.more[lot] = enough;
        }
    }

    /// The amounts: of cylinders that stay under their tops as few as can be get more than their stops.
    fn placed(mut self, options: &Options, go_on: &mut GoOn) -> Option<Placed> {
        let mut own = Vec::new();
        for (index, lot) in self.rest.lots.iter().enumerate() {
            let most = lot.left - self.to_stops(index);
            let above = share_out(&lot.own, &self.kept[index], self.more[index], most);
            self.more[index] = above.iter().sum();
            let adds =
                self.own(index).zip(above).map(|((own, kept), above)| above + if kept { own.to_go() } else { 0 });
            own.push(adds.collect::<Vec<Marks>>());
        }
        let mut problem = self.problem();
        let most = self.most - self.opened();
        // Where they are enough, cylinders of the plan come before others.
        let planned: Vec<usize> = self.rest.lots.iter().flat_map(|lot| &lot.own).filter_map(|own| own.slot).collect();
        let mut of_plan = problem.clone();
        for (slot, cylinder) in of_plan.cylinders.iter_mut().enumerate() {
            if !planned.contains(&slot) {
                cylinder.tops.clear();
            }
        }
        if fewest(&of_plan, most, go_on).is_some_and(|number| number <= most) {
            problem = of_plan;
        }
        let at_most = (options.priority == Priority::Lightest).then_some(most);
        let options = Options { at_most, must_use: Vec::new(), ..options.clone() };
        match solve(&problem, &options, go_on) {
            Outcome::Planned(solution) if solution.totals.cylinders <= most => {
                Some(Placed { own, fills: solution.fills })
            }
            Outcome::Planned(_) | Outcome::Short(_) | Outcome::Undecided => None,
        }
    }
}

/// The fewest cylinders of a problem, or a number over `most` where it is proved that it takes more; `None` where it doesn't
/// fit or the time ran out.
fn fewest(problem: &Problem, most: usize, go_on: &mut GoOn) -> Option<usize> {
    if problem.lots.iter().all(|lot| lot.charge <= 0) {
        return Some(0);
    }
    if most == 0 {
        return None;
    }
    let mut known = |progress: &Progress| {
        let found = progress.best.is_some_and(|best| best.cylinders <= most);
        !found && progress.bounds.cylinders <= most && go_on(progress)
    };
    let options = Options { amounts: Amounts::InTurn, ..Options::default() };
    match solve(problem, &options, &mut known) {
        Outcome::Planned(solution) => Some(solution.totals.cylinders),
        Outcome::Short(_) | Outcome::Undecided => None,
    }
}

/// Spreads so much over a lot's own cylinders, above the stops that are kept: over as few as can be, finished ones among
/// them last. A finished one gets at least what it is connected again for, and for that others get less: up to `most` in all.
fn share_out(own: &[Own], kept: &[bool], more: Marks, most: Marks) -> Vec<Marks> {
    let mut above = vec![0; own.len()];
    if more == 0 {
        return above;
    }
    let room = |at: usize| Keep::above(&own[at], kept[at]);
    let sorted = |which: &dyn Fn(&Own) -> bool| {
        let mut all: Vec<usize> = (0..own.len()).filter(|at| which(&own[*at]) && room(*at) > 0).collect();
        all.sort_by_key(|at| (std::cmp::Reverse(room(*at)), *at));
        all
    };
    let on_the_way = sorted(&|own| !own.is_finished());
    let finished = sorted(&|own| own.is_finished() && own.top - own.now >= own.least);
    let nearly_full = sorted(&|own| own.is_finished() && own.top - own.now < own.least);
    let sum = |all: &[usize]| all.iter().map(|at| room(*at)).sum::<Marks>();
    // So many of each: as few as can be in all, then as few finished ones; what is nearly full only where nothing else is.
    let mut best: Option<(usize, usize)> = None;
    for again in 0..=finished.len() {
        let open = sum(&finished[..again]);
        let floor: Marks = finished[..again].iter().map(|at| own[*at].least).sum();
        let raised = (0..=on_the_way.len()).find(|raised| open + sum(&on_the_way[..*raised]) >= more);
        let Some(raised) = raised.filter(|_| floor <= most) else { continue };
        if best.is_none_or(|(known, other)| raised + again < known + other) {
            best = Some((raised, again));
        }
    }
    let (raised, again, rest) = match best {
        Some((raised, again)) => (raised, again, &nearly_full[..0]),
        None => (on_the_way.len(), finished.len(), &nearly_full[..]),
    };
    let mut left = more;
    let mut give = |at: usize, wanted: Marks, left: &mut Marks| {
        let add = wanted.min(room(at) - above[at]);
        above[at] += add;
        *left -= add;
    };
    // The least first: it may be more than was wanted, where that is there to be had.
    for at in &finished[..again] {
        let wanted = if best.is_some() { own[*at].least } else { own[*at].least.min(left) };
        give(*at, wanted, &mut left);
    }
    for at in on_the_way[..raised].iter().chain(&finished[..again]).chain(rest) {
        let wanted = left.max(0);
        give(*at, wanted, &mut left);
    }
    above
}
