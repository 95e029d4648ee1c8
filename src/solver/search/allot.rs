//! Sets of cylinders by what divisions are worth: near a plan where lots have dozens of cylinders each.
//!
//! In words: every cylinder goes where its room is worth most, if that is more than it costs. Then the lot that lacks most bids:
//! its divisions become worth so much more that cylinders come to it, from where that takes least; and so on, until no lot
//! lacks more than the next cylinder would bring too much. Where there are too many cylinders then, those that gain least go;
//! where there may be more and something lacks, those come that gain most. What lacks after that is for exchanges
//! (`balance`). It proves nothing.

use crate::solver::bound::worth::Worth;
use crate::solver::field::{Class, Field, Sets};
use crate::solver::problem::watch::{Stopped, Watch};

/// Bids at most, for each lot.
const BIDS: usize = 60;
/// Steps of work for a cylinder in a bid.
const STEPS: usize = 8;

/// Sets of at most so many cylinders. A bid passes what it must by the part `raise`: a large one ends sooner, further from the best.
pub fn allot(field: &Field, worth: &Worth, number: usize, raise: f64, watch: &mut Watch<'_>) -> Result<Sets, Stopped> {
    let mut allotment = Allotment::new(field, worth.clone());
    allotment.bid(raise, watch)?;
    allotment.keep_to(number);
    Ok(allotment.sets())
}

/// Cylinders between bids.
struct Allotment<'f> {
    field: &'f Field,
    worth: Worth,
    /// The cylinders with their classes.
    slots: Vec<(usize, &'f Class)>,
    /// Where each of them is.
    place: Vec<Option<usize>>,
    /// Room beyond the charge of each lot.
    spare: Vec<i64>,
}

impl<'f> Allotment<'f> {
    /// Every cylinder where it is worth most.
    fn new(field: &'f Field, worth: Worth) -> Self {
        let of = |class: &'f Class| class.members.iter().map(move |&slot| (slot, class));
        let slots: Vec<(usize, &Class)> = field.classes.iter().flat_map(of).collect();
        let best = |&(_, class): &(usize, &Class)| Some(worth.gain(class)).filter(|best| best.0 > 0.0 || class.kept);
        let place: Vec<Option<usize>> = slots.iter().map(|slot| best(slot).map(|best| best.1)).collect();
        let mut spare: Vec<i64> = field.charges.iter().map(|charge| -charge).collect();
        for ((_, class), place) in slots.iter().zip(&place) {
            if let &Some(lot) = place {
                spare[lot] += class.rooms[lot];
            }
        }
        Self { field, worth, slots, place, spare }
    }

    /// What a place of its own is worth to a cylinder: what it is worth where it is, or what using it costs.
    fn holds(&self, at: usize) -> f64 {
        let class = self.slots[at].1;
        let idle = class.cost as f64 + self.worth.number;
        self.place[at].map_or(idle, |lot| class.rooms[lot] as f64 * self.worth.lots[lot])
    }

    /// Lots bid in turn, the one that lacks most first.
    fn bid(&mut self, raise: f64, watch: &mut Watch<'_>) -> Result<(), Stopped> {
        let lots = self.field.lots.len();
        // For some nothing fits as long as the others keep what they have.
        let mut waits = vec![false; lots];
        for _ in 0..BIDS * lots {
            let lacks = |lot: &usize| -self.spare[*lot] as f64 * self.worth.lots[*lot];
            let lacking = (0..lots).filter(|&lot| !waits[lot] && self.spare[lot] < 0);
            let Some(lot) = lacking.max_by(|a, b| lacks(a).total_cmp(&lacks(b))) else { break };
            watch.work(self.slots.len() * STEPS)?;
            if self.fetch(lot, raise) {
                waits.iter_mut().for_each(|waits| *waits = false);
            } else {
                waits[lot] = true;
            }
        }
        Ok(())
    }

    /// Fetches cylinders for a lot from where they are held least; false where none fits.
    fn fetch(&mut self, lot: usize, raise: f64) -> bool {
        let room = |at: usize| self.slots[at].1.rooms[lot];
        let fits = (0..self.slots.len()).filter(|&at| room(at) > 0 && self.place[at] != Some(lot));
        let mut offers: Vec<(f64, usize)> = fits.map(|at| (self.holds(at) / room(at) as f64, at)).collect();
        offers.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut fetched = false;
        for (price, at) in offers {
            let class = self.slots[at].1;
            if self.spare[lot] >= 0 {
                break;
            }
            if class.rooms[lot] > -2 * self.spare[lot] {
                continue;
            }
            if let Some(from) = self.place[at].replace(lot) {
                self.spare[from] -= class.rooms[from];
            }
            self.spare[lot] += class.rooms[lot];
            self.worth.lots[lot] = self.worth.lots[lot].max(price * (1.0 + raise));
            fetched = true;
        }
        fetched
    }

    /// Gives up the cylinders that gain least until there are so many, or where something lacks takes those that gain most: no more
    /// than one for each lot, because none lacks more than a cylinder.
    fn keep_to(&mut self, number: usize) {
        let used = self.place.iter().flatten().count();
        let lacks = self.spare.iter().any(|spare| *spare < 0);
        let number = number.min(if lacks { used + self.spare.len() } else { used });
        let gain = |at: &usize| {
            let class = self.slots[*at].1;
            match self.place[*at] {
                Some(lot) => (class.rooms[lot] as f64 * self.worth.lots[lot] - class.cost as f64, lot),
                None => self.worth.gain(class),
            }
        };
        let free = (0..self.slots.len()).filter(|&at| self.place[at].is_some() == (used > number));
        let mut free: Vec<usize> = free.filter(|&at| self.place[at].is_none() || !self.slots[at].1.kept).collect();
        free.sort_by(|a, b| gain(b).0.total_cmp(&gain(a).0));
        if used > number {
            free.reverse();
        }
        let places = free.iter().take(used.abs_diff(number)).map(|at| (*at, (used < number).then(|| gain(at).1)));
        for (at, place) in places.collect::<Vec<_>>() {
            self.place[at] = place;
        }
    }

    /// The cylinders of each lot, in yard order.
    fn sets(&self) -> Sets {
        let mut sets = vec![Vec::new(); self.field.lots.len()];
        for ((slot, _), place) in self.slots.iter().zip(&self.place) {
            if let &Some(lot) = place {
                sets[lot].push(*slot);
            }
        }
        sets.iter_mut().for_each(|set: &mut Vec<usize>| set.sort_unstable());
        sets
    }
}
