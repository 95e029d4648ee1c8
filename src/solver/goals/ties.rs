//! Ties: among plans equal in the three objectives, the one by the fourth priority and the yard's order.
//!
//! It only exchanges cylinders of equal weight for one another, so that none of the three totals changes. It is
//! deterministic and proves nothing.

use crate::solver::field::{Part, Sets, charge};
use crate::solver::problem::Problem;

/// Where a cylinder stands among equals: held refrigerant before evacuated, then yard order.
fn rank(problem: &Problem, slot: usize) -> (bool, usize) {
    (problem.cylinders[slot].keeps_evacuated, slot)
}

/// Exchanges cylinders of a plan for better placed ones of the same weight, as long as the lot stays covered at the
/// lift, and gives earlier lots the earlier of two alike cylinders.
pub fn settle(problem: &Problem, kept: &[bool], part: &Part, sets: &mut Sets, lift: i64) {
    let room = |slot: usize, lot: usize| problem.cylinders[slot].room(part.lots[lot], lift);
    let mut used = vec![false; problem.cylinders.len()];
    sets.iter().flatten().for_each(|&slot| used[slot] = true);
    for (lot, set) in sets.iter_mut().enumerate() {
        let need = charge(problem, part.lots[lot]);
        for place in (0..set.len()).rev() {
            let have = set[place];
            if kept[have] {
                continue;
            }
            let others: i64 = set.iter().filter(|&&slot| slot != have).map(|&slot| room(slot, lot)).sum();
            let better = part.cylinders.iter().copied().filter(|&slot| {
                !used[slot]
                    && problem.cylinders[slot].now() == problem.cylinders[have].now()
                    && rank(problem, slot) < rank(problem, have)
                    && room(slot, lot) > 0
                    && others + room(slot, lot) >= need
            });
            if let Some(slot) = better.min_by_key(|&slot| rank(problem, slot)) {
                used[have] = false;
                used[slot] = true;
                set[place] = slot;
            }
        }
    }
    for first in 0..sets.len() {
        for second in first + 1..sets.len() {
            for a in 0..sets[first].len() {
                for b in 0..sets[second].len() {
                    let (x, y) = (sets[first][a], sets[second][b]);
                    let alike = [first, second].iter().all(|&lot| room(x, lot) == room(y, lot))
                        && problem.cylinders[x].now() == problem.cylinders[y].now();
                    if y < x && alike {
                        sets[first][a] = y;
                        sets[second][b] = x;
                    }
                }
            }
        }
    }
    sets.iter_mut().for_each(|set| set.sort_unstable());
}
