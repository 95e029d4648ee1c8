//! Diving: fix the lots that the relaxed choice of columns has decided, price the rest again, and so on to a plan.
//!
//! Slower than `sequence` and mostly better. It proves nothing.

use super::sequence::sequential;
use crate::solver::bound::generation::{Aim, Else, raise};
use crate::solver::bound::multipliers::{Bound, Cover};
use crate::solver::bound::restricted::{Memory, RestrictedMaster};
use crate::solver::field::{Field, Sets};
use crate::solver::problem::watch::{Stopped, Watch};

/// A lot is decided where the relaxed choice takes at least such a share of one column.
const DECIDED: f64 = 0.99;

/// The state of a dive: some lots fixed.
pub struct Dive<'f> {
    whole: &'f Field,
    /// Cylinders of the fixed lots.
    sets: Sets,
    /// Lots of the whole field that are not fixed.
    open: Vec<usize>,
    /// What the fixed lots cost.
    spent: i64,
    /// The best plan met.
    best: Option<(i64, Sets)>,
    /// Only plans cheaper than this are of use.
    cutoff: i64,
    /// Steps of work that the bound of each rest may take.
    most: u64,
    /// Steps of work after which no further lot is fixed.
    until: u64,
}

impl<'f> Dive<'f> {
    /// Nothing fixed yet.
    pub fn new(whole: &'f Field, cutoff: i64, most: u64, watch: &Watch<'_>) -> Self {
        let lots = whole.lots.len();
        Self {
            whole,
            sets: vec![Vec::new(); lots],
            open: (0..lots).collect(),
            spent: 0,
            best: None,
            cutoff,
            most: most / 4,
            until: watch.spent().saturating_add(most),
        }
    }

    /// Dives from a field whose columns are given; the best plan met.
    pub fn go(
        mut self,
        master: &RestrictedMaster<'_>,
        memory: &mut Memory,
        watch: &mut Watch<'_>,
    ) -> Result<Option<(i64, Sets)>, Stopped> {
        self.further(self.whole, master, memory, watch)?;
        Ok(self.best)
    }

    /// Fixes what is decided and goes on with the rest.
    fn further(
        &mut self,
        rest: &Field,
        master: &RestrictedMaster<'_>,
        memory: &mut Memory,
        watch: &mut Watch<'_>,
    ) -> Result<(), Stopped> {
        if !self.fix(rest, &master.shares()) {
            return Ok(());
        }
        if self.open.is_empty() {
            self.offer(self.sets.clone());
            return Ok(());
        }
        let next = self.whole.without_others(&self.open, &self.sets);
        if next.hopeless() || watch.spent() > self.until {
            return Ok(());
        }
        let mut bound = Bound::default();
        let aim = Aim { enough: self.cutoff - self.spent, else_to: Else::Close, most: self.most };
        let Some(master) = raise(&next, memory, aim, &mut bound, watch)? else { return Ok(()) };
        let least = bound.cost(&next) + self.spent;
        if least >= self.cutoff {
            return Ok(());
        }
        if let Some((_, found)) = sequential(&next, &bound.multipliers, least - self.spent, &mut memory.states, watch)?
        {
            let mut sets = self.sets.clone();
            for (&lot, set) in self.open.iter().zip(found) {
                sets[lot] = set;
            }
            self.offer(sets);
        }
        if least < self.cutoff { self.further(&next, &master, memory, watch) } else { Ok(()) }
    }

    /// Fixes the lot that is most decided, and every other that is decided; false where there is none.
    fn fix(&mut self, rest: &Field, shares: &[(usize, &Cover, f64)]) -> bool {
        let mut most: Vec<Option<(f64, &Cover)>> = vec![None; rest.lots.len()];
        for &(lot, cover, share) in shares {
            if most[lot].is_none_or(|(most, _)| share > most) {
                most[lot] = Some((share, cover));
            }
        }
        let mut order: Vec<(usize, f64, &Cover)> =
            most.iter().enumerate().filter_map(|(lot, most)| most.map(|(share, cover)| (lot, share, cover))).collect();
        order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let mut taken = vec![0; rest.classes.len()];
        let mut fixed: Vec<usize> = Vec::new();
        for (lot, share, cover) in order {
            let free = |&(class, number): &(usize, i64)| taken[class] + number <= rest.classes[class].count();
            if !fixed.is_empty() && (share < DECIDED || !cover.iter().all(free)) {
                continue;
            }
            let mut set: Vec<usize> = Vec::new();
            for &(class, number) in cover {
                let from = taken[class] as usize;
                set.extend(&rest.classes[class].members[from..from + number as usize]);
                taken[class] += number;
            }
            set.sort_unstable();
            let room: i64 = cover.iter().map(|&(class, number)| number * rest.classes[class].rooms[lot]).sum();
            self.spent += cover.iter().map(|&(class, number)| number * rest.classes[class].cost).sum::<i64>()
                + rest.leftover_of(lot).unwrap_or(0) * (rest.charges[lot] - room).max(0);
            self.sets[self.open[lot]] = set;
            fixed.push(lot);
        }
        fixed.sort_unstable();
        for &lot in fixed.iter().rev() {
            self.open.remove(lot);
        }
        !fixed.is_empty()
    }

    /// Takes sets that are a plan cheaper than the best.
    fn offer(&mut self, sets: Sets) {
        if let Some(cost) = self.whole.cost(&sets).filter(|&cost| cost < self.cutoff) {
            self.cutoff = cost;
            self.best = Some((cost, sets));
        }
    }
}
