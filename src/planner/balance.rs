//! Makes sets of cylinders a plan by exchanges, where some lots lack a little: what is left when a heaviest lift falls.
//!
//! The lot that lacks most (and can be helped) gives one of its cylinders for a roomier one of another lot, or one that isn't used, whichever
//! leaves least lacking over all lots. The number of cylinders stays. It proves nothing.

use super::field::{Field, Sets};
use super::watch::{Stopped, Watch};

/// Exchanges at most.
const EXCHANGES: usize = 1_000;

/// The sets with exchanges that leave nothing lacking, with their cost; `None` where no exchange helps any more.
pub(super) fn balance(field: &Field, sets: &Sets, watch: &mut Watch<'_>) -> Result<Option<(i64, Sets)>, Stopped> {
    let of = field.class_of();
    let room = |slot: usize, lot: usize| of[slot].map_or(0, |class| field.classes[class].rooms[lot]);
    let mut owner: Vec<Option<usize>> = vec![None; field.cylinders];
    let mut spare: Vec<i64> = field.charges.iter().map(|charge| -charge).collect();
    for (lot, set) in sets.iter().enumerate() {
        for &slot in set {
            owner[slot] = Some(lot);
            spare[lot] += room(slot, lot);
        }
    }
    let others: Vec<usize> = (0..field.cylinders).filter(|&slot| of[slot].is_some()).collect();
    let mut sets = sets.clone();
    for _ in 0..EXCHANGES {
        let mut lacking: Vec<usize> = (0..spare.len()).filter(|&lot| spare[lot] < 0).collect();
        if lacking.is_empty() {
            break;
        }
        lacking.sort_by_key(|&lot| spare[lot]);
        let mut best: Option<Exchange> = None;
        for lot in lacking {
            watch.work(sets[lot].len() * others.len())?;
            best = exchange(&sets[lot], lot, &others, &owner, &spare, &room);
            if best.is_some() {
                break;
            }
        }
        let Some(Exchange { lot, place, got }) = best else { return Ok(None) };
        let given = std::mem::replace(&mut sets[lot][place], got);
        spare[lot] += room(got, lot) - room(given, lot);
        if let Some(from) = owner[got] {
            spare[from] += room(given, from) - room(got, from);
            sets[from].iter_mut().filter(|slot| **slot == got).for_each(|slot| *slot = given);
        }
        owner[given] = owner[got];
        owner[got] = Some(lot);
    }
    sets.iter_mut().for_each(|set| set.sort_unstable());
    Ok(field.cost(&sets).map(|cost| (cost, sets)))
}

/// A lot gives one of its cylinders and gets another.
struct Exchange {
    lot: usize,
    /// Of the one that it gives, among the lot's.
    place: usize,
    got: usize,
}

/// The exchange for a lot that leaves least lacking over all lots; `None` where none leaves less than now.
fn exchange(
    set: &[usize],
    lot: usize,
    others: &[usize],
    owner: &[Option<usize>],
    spare: &[i64],
    room: &impl Fn(usize, usize) -> i64,
) -> Option<Exchange> {
    let mut best = None;
    let mut most = 0;
    for (place, &given) in set.iter().enumerate() {
        let less = room(given, lot);
        for &got in others {
            let more = room(got, lot) - less;
            if more <= 0 || owner[got] == Some(lot) {
                continue;
            }
            let lacks = |lot: usize, more: i64| (spare[lot] + more).min(0) - spare[lot].min(0);
            let there = owner[got].map_or(0, |from| lacks(from, room(given, from) - room(got, from)));
            if lacks(lot, more) + there > most {
                most = lacks(lot, more) + there;
                best = Some(Exchange { lot, place, got });
            }
        }
    }
    best
}
