//! Sets of cylinders between exchanges: what each exchange would gain, and the best of them.

use crate::solver::bound::worth::Worth;
use crate::solver::field::{Field, Sets};

/// Gains below this part of the dearest cost are rounding.
const LEAST: f64 = 1e-9;
/// Of more cylinders than so many of its own, or of other lots, a lot looks at a part each time.
pub const OWN: usize = 32;
pub const OTHERS: usize = 512;
/// Unused cylinders that a lot looks at.
const UNUSED: usize = 48;

/// One exchange: up to four cylinders, each with the lot that it leaves and the one that it joins, if any.
#[derive(Debug, Clone, Copy)]
pub struct Exchange([Option<Move>; 4]);

/// Cylinder, the lot it leaves, the lot it joins.
type Move = (usize, Option<usize>, Option<usize>);

impl Exchange {
    /// The first four of these.
    pub fn of(moves: impl IntoIterator<Item = (usize, usize, usize)>) -> Self {
        Self::with(moves.into_iter().map(|(slot, leaves, joins)| (slot, Some(leaves), Some(joins))))
    }

    fn with(moves: impl IntoIterator<Item = Move>) -> Self {
        let mut all = [None; 4];
        all.iter_mut().zip(moves).for_each(|(to, of)| *to = Some(of));
        Self(all)
    }
}

/// A cylinder of another lot, and which unused one would best take its place there, with the gain.
#[derive(Debug, Clone, Copy)]
struct Other {
    from: usize,
    slot: usize,
    filled: Option<(f64, usize)>,
}

/// Sets of cylinders between exchanges.
pub struct Balance {
    pub sets: Sets,
    /// Room by lot and cylinder.
    pub rooms: Vec<Vec<i64>>,
    costs: Vec<i64>,
    /// For each lot the cylinders with room, the roomiest first.
    order: Vec<Vec<usize>>,
    /// For each lot the unused cylinders than which none is roomier and as cheap; empty where they have to be found.
    pub unused: Vec<Vec<usize>>,
    taken: Vec<bool>,
    kept: Vec<bool>,
    /// Room beyond the charge; below 0: what lacks.
    pub spare: Vec<i64>,
    /// What a division that lacks is charged.
    charged: Vec<f64>,
    /// The part of that which a division beyond the charge is worth.
    pub surplus: f64,
    /// Gains up to this are none.
    pub least: f64,
    /// Cylinders used.
    pub used: usize,
    /// How often a lot has looked.
    pub visit: usize,
}

impl Balance {
    /// Sets of a field, whose lots are charged so much for what they lack.
    pub fn new(field: &Field, sets: &Sets, worth: &Worth, lacking: f64) -> Self {
        let lots = sets.len();
        let mut rooms = vec![vec![0; field.cylinders]; lots];
        let mut costs = vec![0; field.cylinders];
        let mut kept = vec![false; field.cylinders];
        for class in &field.classes {
            for &slot in &class.members {
                (costs[slot], kept[slot]) = (class.cost, class.kept);
                (0..lots).for_each(|lot| rooms[lot][slot] = class.rooms[lot]);
            }
        }
        let order = |rooms: &Vec<i64>| {
            let mut order: Vec<usize> = (0..rooms.len()).filter(|&slot| rooms[slot] > 0).collect();
            order.sort_by_key(|&slot| (std::cmp::Reverse(rooms[slot]), costs[slot], slot));
            order
        };
        let order: Vec<Vec<usize>> = rooms.iter().map(order).collect();
        let mut taken = vec![false; field.cylinders];
        let mut spare: Vec<i64> = field.charges.iter().map(|charge| -charge).collect();
        for (lot, set) in sets.iter().enumerate() {
            set.iter().for_each(|&slot| taken[slot] = true);
            spare[lot] += set.iter().map(|&slot| rooms[lot][slot]).sum::<i64>();
        }
        Self {
            used: sets.iter().map(Vec::len).sum(),
            least: LEAST * costs.iter().copied().max().unwrap_or(0) as f64,
            sets: sets.clone(),
            rooms,
            costs,
            order,
            unused: vec![Vec::new(); lots],
            taken,
            kept,
            spare,
            charged: worth.lots.iter().map(|each| lacking * each).collect(),
            surplus: 0.0,
            visit: 0,
        }
    }

    /// The sets with their cost, where they are a plan.
    pub fn plan(mut self, field: &Field) -> Option<(i64, Sets)> {
        self.sets.iter_mut().for_each(|set| set.sort_unstable());
        Some((field.cost(&self.sets)?, self.sets))
    }

    pub fn lacks_nothing(&self) -> bool {
        self.spare.iter().all(|spare| *spare >= 0)
    }

    /// What a lot's room beyond its charge is worth.
    pub fn over(&self, lot: usize) -> f64 {
        self.spare[lot] as f64 * self.charged[lot]
    }

    /// What it is worth to a lot to have so much more room, of which such a part counts beyond the charge.
    pub fn worth(&self, lot: usize, more: i64, surplus: f64) -> f64 {
        let value = |spare: i64| spare as f64 * if spare < 0 { 1.0 } else { surplus };
        (value(self.spare[lot] + more) - value(self.spare[lot])) * self.charged[lot]
    }

    /// What it is worth to a lot to have one cylinder for another.
    fn swap(&self, lot: usize, given: usize, got: usize) -> f64 {
        self.worth(lot, self.rooms[lot][got] - self.rooms[lot][given], self.surplus)
    }

    /// What is saved by using one cylinder in the place of another.
    fn saved(&self, given: usize, got: usize) -> f64 {
        (self.costs[given] - self.costs[got]) as f64
    }

    /// Finds the unused cylinders of each lot than which none is roomier and as cheap.
    pub fn find_unused(&mut self) {
        for (order, unused) in self.order.iter().zip(&mut self.unused).filter(|(_, unused)| unused.is_empty()) {
            let mut least = i64::MAX;
            for &slot in order {
                if !self.taken[slot] && self.costs[slot] < least {
                    least = self.costs[slot];
                    unused.push(slot);
                }
                if unused.len() == UNUSED {
                    break;
                }
            }
        }
    }

    /// The unused cylinder of most gain in the place of one of a lot.
    fn best_unused(&self, lot: usize, given: usize) -> Option<(f64, usize)> {
        let gain = |&got: &usize| (self.swap(lot, given, got) + self.saved(given, got), got);
        self.unused[lot].iter().map(gain).max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))
    }

    /// Some cylinders of other lots that a lot could take.
    fn others(&self, lot: usize) -> Vec<Other> {
        let every = self.used.div_ceil(OTHERS).max(1);
        let mut others = Vec::new();
        for (from, set) in self.sets.iter().enumerate().filter(|(from, _)| *from != lot) {
            let looked = set.iter().skip((self.visit + from) % every).step_by(every);
            for &slot in looked.filter(|&&slot| self.rooms[lot][slot] > 0) {
                others.push(Other { from, slot, filled: self.best_unused(from, slot) });
            }
        }
        others
    }

    /// The exchange of most gain in which a lot takes a cylinder.
    pub fn best(&self, lot: usize) -> Option<Exchange> {
        let mut best: Option<Exchange> = None;
        let mut most = self.least;
        let mut offer = |gain: f64, moves: &[Move]| {
            if gain > most {
                most = gain;
                best = Some(Exchange::with(moves.iter().copied()));
            }
        };
        let others = self.others(lot);
        let every = self.sets[lot].len().div_ceil(OWN).max(1);
        for &given in self.sets[lot].iter().skip(self.visit / 3 % every).step_by(every) {
            if let Some((gain, got)) = self.best_unused(lot, given).filter(|_| !self.kept[given]) {
                offer(gain, &[(given, Some(lot), None), (got, None, Some(lot))]);
            }
            for &Other { from, slot: got, filled } in &others {
                let mine = self.swap(lot, given, got);
                let comes = (got, Some(from), Some(lot));
                if self.rooms[from][given] > 0 {
                    offer(mine + self.swap(from, got, given), &[comes, (given, Some(lot), Some(from))]);
                }
                if let Some((gain, filled)) = filled.filter(|_| !self.kept[given]) {
                    // `gain` counts what `got` costs as saved; it is used on, and `given` isn't.
                    let gain = mine + gain + self.saved(given, got);
                    offer(gain, &[comes, (given, Some(lot), None), (filled, None, Some(from))]);
                }
            }
        }
        // One more for this lot, one less for another.
        let smallest: Vec<Option<usize>> = (0..self.sets.len()).map(|gives| self.smallest(gives)).collect();
        for &got in &self.unused[lot] {
            for (gives, given) in smallest.iter().enumerate().filter(|(gives, _)| *gives != lot) {
                if let &Some(given) = given {
                    let worth = self.worth(lot, self.rooms[lot][got], self.surplus)
                        + self.worth(gives, -self.rooms[gives][given], self.surplus);
                    offer(worth + self.saved(given, got), &[(given, Some(gives), None), (got, None, Some(lot))]);
                }
            }
        }
        best
    }

    /// The least roomy cylinder of a lot that needn't be used, where it isn't the lot's last.
    fn smallest(&self, lot: usize) -> Option<usize> {
        let free = self.sets[lot].iter().copied().filter(|&slot| !self.kept[slot] && self.sets[lot].len() > 1);
        free.min_by_key(|&slot| (self.rooms[lot][slot], slot))
    }

    pub fn make(&mut self, exchange: Exchange) {
        for (slot, leaves, joins) in exchange.0.into_iter().flatten() {
            if let Some(lot) = leaves {
                self.sets[lot].retain(|other| *other != slot);
                self.spare[lot] -= self.rooms[lot][slot];
            }
            if let Some(lot) = joins {
                self.sets[lot].push(slot);
                self.spare[lot] += self.rooms[lot][slot];
            }
            self.taken[slot] = joins.is_some();
        }
        self.unused.iter_mut().for_each(Vec::clear);
    }
}
