//! Exchanges of up to two cylinders for up to two between a lot that lacks something and one that has room to spare.
//!
//! Cylinders of one size are alike but for a little, and one size differs much from the next, so that single exchanges move a
//! few divisions or hundreds. The sums of two lie closer together: sorted, they are searched for the one that moves just
//! what lacks.

use super::exchange::{Balance, Exchange};
use crate::solver::problem::watch::{Stopped, Watch};

/// Of more cylinders told apart than so many, a part is looked at: pairs of them are as many as their square.
const MOST: usize = 512;
/// Sums looked at on either side of the one that moves just what lacks.
const NEXT: usize = 8;
/// What a division beyond the charge counts of one that lacks: only among exchanges that are else as good.
const SURPLUS: f64 = 1e-3;
/// Steps of work for a sum.
const STEPS: usize = 16;

/// One or two cylinders of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Few {
    /// Their room for the lot that lacks, ...
    room: i64,
    /// ... and for the one with room to spare.
    other: i64,
    slots: (usize, Option<usize>),
}

impl Few {
    fn slots(self) -> impl Iterator<Item = usize> {
        std::iter::once(self.slots.0).chain(self.slots.1)
    }
}

/// The exchange of most gain, with the first lot that has room to spare and any; the one with most of it first.
pub fn trade(balance: &Balance, lot: usize, watch: &mut Watch<'_>) -> Result<Option<Exchange>, Stopped> {
    let lacks = -balance.spare[lot];
    let mut others: Vec<usize> = (0..balance.sets.len()).filter(|&other| balance.spare[other] > 0).collect();
    others.sort_by(|&a, &b| balance.over(b).total_cmp(&balance.over(a)));
    for other in others.into_iter().filter(|_| lacks > 0) {
        let mine = few(balance, lot, (lot, other));
        let mut theirs = few(balance, other, (lot, other));
        theirs.sort_unstable();
        watch.work((mine.len() + theirs.len()) * STEPS)?;
        let mut best: Option<(f64, Few, Few)> = None;
        for &given in &mine {
            let at = theirs.partition_point(|got| got.room - given.room < lacks);
            for &got in &theirs[at.saturating_sub(NEXT)..(at + NEXT).min(theirs.len())] {
                let gain = balance.worth(lot, got.room - given.room, SURPLUS)
                    + balance.worth(other, given.other - got.other, SURPLUS);
                if gain > best.map_or(balance.least, |(most, ..)| most) {
                    best = Some((gain, given, got));
                }
            }
        }
        if let Some((_, given, got)) = best {
            let gives = given.slots().map(|slot| (slot, lot, other));
            let gets = got.slots().map(|slot| (slot, other, lot));
            return Ok(Some(Exchange::of(gives.chain(gets))));
        }
    }
    Ok(None)
}

/// One and two cylinders of a lot with room for both.
fn few(balance: &Balance, of: usize, lots: (usize, usize)) -> Vec<Few> {
    let rooms = |&slot: &usize| (balance.rooms[lots.0][slot], balance.rooms[lots.1][slot], slot);
    let mut slots: Vec<(i64, i64, usize)> =
        balance.sets[of].iter().map(rooms).filter(|(a, b, _)| *a > 0 && *b > 0).collect();
    slots.sort_unstable();
    // Of such as are alike, two are enough.
    let mut told_apart: Vec<(i64, i64, usize)> = Vec::new();
    for slot in slots {
        let alike = |other: &&(i64, i64, usize)| (other.0, other.1) == (slot.0, slot.1);
        if told_apart.iter().rev().take_while(alike).count() < 2 {
            told_apart.push(slot);
        }
    }
    let every = told_apart.len().div_ceil(MOST).max(1);
    let told_apart: Vec<(i64, i64, usize)> = told_apart.into_iter().step_by(every).collect();
    let mut few = Vec::new();
    for (index, &(room, other, slot)) in told_apart.iter().enumerate() {
        few.push(Few { room, other, slots: (slot, None) });
        let with = |second: &(i64, i64, usize)| Few {
            room: room + second.0,
            other: other + second.1,
            slots: (slot, Some(second.2)),
        };
        few.extend(told_apart[..index].iter().map(with));
    }
    few
}
