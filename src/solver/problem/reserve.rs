//! Cylinders that some lots get only where the number of cylinders would be larger without them.
//!
//! This comes before all objectives: one after another, the heaviest first, such a cylinder is kept from the lots that it is
//! reserved from, as long as that takes no cylinder more. (An order by what they are, so that the yard's changes no total.) What is left is the problem that the objectives are about.

use super::Problem;

/// The problem with every cylinder kept from the lots that it is reserved from, unless it must be used, or the number
/// would be larger. `number` says how many cylinders a problem takes; `None` where it doesn't fit or that isn't known, and
/// then nothing is kept.
pub fn hold_back(problem: &Problem, must_use: &[usize], mut number: impl FnMut(&Problem) -> Option<usize>) -> Problem {
    let reserved = |cylinder: &usize| {
        let slot = &problem.cylinders[*cylinder];
        !must_use.contains(cylinder)
            && slot.tops.iter().zip(&slot.reserved).any(|(top, reserved)| top.is_some() && *reserved)
    };
    let mut reserved: Vec<usize> = (0..problem.cylinders.len()).filter(reserved).collect();
    reserved.sort_by_key(|&cylinder| {
        let slot = &problem.cylinders[cylinder];
        (std::cmp::Reverse(slot.base), &slot.tops, &slot.reserved)
    });
    let mut held = problem.clone();
    if reserved.is_empty() {
        return held;
    }
    let Some(fewest) = number(problem) else { return held };
    let all = without(problem, &reserved);
    if number(&all) == Some(fewest) {
        return all;
    }
    for cylinder in reserved {
        let less = without(&held, &[cylinder]);
        if number(&less) == Some(fewest) {
            held = less;
        }
    }
    held
}

/// The problem in which these may take none of the lots that they are reserved from.
fn without(problem: &Problem, cylinders: &[usize]) -> Problem {
    let mut less = problem.clone();
    for &cylinder in cylinders {
        let slot = &mut less.cylinders[cylinder];
        let kept = slot.tops.iter_mut().zip(&slot.reserved).filter(|(_, reserved)| **reserved);
        kept.for_each(|(top, _)| *top = None);
    }
    less
}
