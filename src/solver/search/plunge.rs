//! Plans by fixing one lot after another to the cover that the relaxed choice takes most of, and pricing the rest
//! again. Slower than `dive` and mostly better. It proves nothing.

use super::dive::dive;
use crate::solver::bound::generation::{Generation, Memory};
use crate::solver::bound::prices::Bound;
use crate::solver::bound::raise::{Aim, Else, raise};
use crate::solver::field::{Field, Sets};
use crate::solver::problem::watch::{Stopped, Watch};

/// The state of a plunge: some lots fixed.
pub struct Plunge<'f> {
    whole: &'f Field,
    /// Cylinders of the fixed lots.
    sets: Sets,
    /// Lots of the whole field that are not fixed.
    open: Vec<usize>,
    /// What the fixed lots cost.
    spent: i64,
    /// Only plans cheaper than this are of use.
    below: i64,
    /// Steps of work that the bound of each rest may take.
    most: u64,
    /// Steps of work after which no further lot is fixed.
    until: u64,
}

impl<'f> Plunge<'f> {
    /// Nothing fixed yet.
    pub fn new(whole: &'f Field, below: i64, most: u64, watch: &Watch<'_>) -> Self {
        let lots = whole.lots.len();
        Self {
            whole,
            sets: vec![Vec::new(); lots],
            open: (0..lots).collect(),
            spent: 0,
            below,
            most: most / lots as u64,
            until: watch.spent().saturating_add(most),
        }
    }

    /// Fixes the lot that is most decided and goes on with the rest, whose field and covers are given.
    pub fn go(
        &mut self,
        rest: &Field,
        generation: &Generation<'_>,
        memory: &mut Memory,
        watch: &mut Watch<'_>,
    ) -> Result<Option<(i64, Sets)>, Stopped> {
        let shares = generation.shares();
        let most = shares.iter().max_by(|a, b| a.2.total_cmp(&b.2).then(b.0.cmp(&a.0)));
        let Some(&(lot, cover, _)) = most else { return Ok(None) };
        let taken = |&(class, number): &(usize, i64)| rest.classes[class].members[..number as usize].iter();
        let mut set: Vec<usize> = cover.iter().flat_map(taken).copied().collect();
        set.sort_unstable();
        let room: i64 = cover.iter().map(|&(class, number)| number * rest.classes[class].rooms[lot]).sum();
        self.spent += cover.iter().map(|&(class, number)| number * rest.classes[class].cost).sum::<i64>()
            + rest.leftover_of(lot).unwrap_or(0) * (rest.charges[lot] - room).max(0);
        let fixed = self.open.remove(lot);
        self.sets[fixed] = set;
        if self.open.is_empty() {
            return Ok(self.whole.cost(&self.sets).map(|cost| (cost, self.sets.clone())));
        }
        let next = self.whole.without_others(&self.open, &self.sets);
        if next.hopeless() || watch.spent() > self.until {
            return Ok(None);
        }
        let mut bound = Bound::default();
        let aim = Aim { enough: self.below - self.spent, else_to: Else::Close, most: self.most };
        let Some(generation) = raise(&next, memory, aim, &mut bound, watch)? else {
            return Ok(None);
        };
        if bound.cost(&next) + self.spent >= self.below {
            return Ok(None);
        }
        if let Some((_, found)) = dive(&next, &bound.prices, bound.cost(&next), &mut memory.covers, watch)? {
            let mut sets = self.sets.clone();
            for (&lot, set) in self.open.iter().zip(found) {
                sets[lot] = set;
            }
            if let Some(cost) = self.whole.cost(&sets).filter(|&cost| cost < self.below) {
                return Ok(Some((cost, sets)));
            }
        }
        self.go(&next, &generation, memory, watch)
    }
}
