//! Where to divide a field: at a number of cylinders that the relaxed choice of covers doesn't take whole.
//!
//! Numbers of cylinders of a size come before single cylinders: those of a size are nearly alike, and barring one of
//! them changes next to nothing. The roomiest cylinders of all lots together come first, because what they are decides
//! most of the cost. It only chooses; `branch` says why two fields hold every plan between them.

use crate::solver::bound::restricted::RestrictedMaster;
use crate::solver::field::{Field, Quota, Sets};

/// Sums this close to a whole number are one.
const WHOLE: f64 = 1e-6;
/// Cylinders with less than this part of the room are of another size ...
const STEP: f64 = 0.9;
/// ... and a division within a size counts this much.
const SAME: f64 = 0.3;
/// A number of cylinders of all lots that is broken by more than this is divided first.
const CLEARLY: f64 = 0.1;

/// What to do with a field.
pub enum Division {
    /// Look at these two.
    Fields(Box<[Field; 2]>),
    /// The relaxed choice is whole: a plan, unless something else is wrong with it.
    Plan(Option<(i64, Sets)>),
}

/// Divides a field where the relaxed choice breaks a number: of the roomiest cylinders of all lots, else of all
/// cylinders of a lot, else of a lot's roomiest.
pub fn divide(field: &Field, master: &RestrictedMaster<'_>) -> Division {
    let shares = master.shares();
    let mut taken = vec![vec![0.0; field.classes.len()]; field.lots.len()];
    for &(lot, cover, share) in &shares {
        for &(class, number) in cover {
            taken[lot][class] += share * number as f64;
        }
    }
    let all: Vec<f64> = (0..field.classes.len()).map(|class| taken.iter().map(|taken| taken[class]).sum()).collect();
    let most_room = |class: usize| field.classes[class].rooms.iter().copied().max().unwrap_or(0);
    let tells = |(lot, broken): &(Option<usize>, Broken)| !is_settled(field, *lot, broken);
    let of_all = broken(field, most_room, &all).map(|broken| (None, broken)).filter(tells);
    if let Some(divided) = of_all.as_ref().filter(|(_, broken)| broken.score > CLEARLY) {
        return by_quota(field, divided);
    }
    let of_lot = |(lot, taken): (usize, &Vec<f64>)| {
        broken(field, |class| field.classes[class].rooms[lot], taken).map(|broken| (Some(lot), broken))
    };
    let of_lots = taken.iter().enumerate().filter_map(of_lot).filter(tells);
    match of_lots.chain(of_all).max_by(|a, b| a.1.score.total_cmp(&b.1.score)) {
        Some(divided) => by_quota(field, &divided),
        None => Division::Plan(whole(field, &taken)),
    }
}

/// A quota of the field on the same cylinders says what one of the two would say. The relaxed choice passes it where the
/// field has no plan, or where it isn't worked out yet: dividing there would go on for ever.
fn is_settled(field: &Field, lot: Option<usize>, broken: &Broken) -> bool {
    field.quotas.iter().any(|quota| {
        let number = quota.number as f64;
        let passed = if quota.sign > 0 { broken.sum > number } else { broken.sum < number };
        passed && quota.lot == lot && quota.counts == broken.counts
    })
}

/// At most so many of these cylinders for a lot, or all lots, and at least one more.
fn by_quota(field: &Field, (lot, broken): &(Option<usize>, Broken)) -> Division {
    let quota = |sign, number: f64| Quota { lot: *lot, counts: broken.counts.clone(), sign, number: number as i64 };
    let quotas = [quota(1, broken.sum.floor()), quota(-1, broken.sum.ceil())];
    Division::Fields(Box::new(quotas.map(|quota| field.with(quota))))
}

/// A number of roomiest cylinders that the relaxed choice doesn't take whole.
struct Broken {
    score: f64,
    /// What it takes of them.
    sum: f64,
    /// Which classes they are.
    counts: Vec<bool>,
}

/// The number of roomiest cylinders that is broken most.
fn broken(field: &Field, room: impl Fn(usize) -> i64, taken: &[f64]) -> Option<Broken> {
    let mut order: Vec<usize> = (0..field.classes.len()).filter(|&class| room(class) > 0).collect();
    order.sort_by_key(|&class| (std::cmp::Reverse(room(class)), field.classes[class].cost, class));
    let mut sum = 0.0;
    let mut best: Option<(f64, usize, f64)> = None;
    for (place, &class) in order.iter().enumerate() {
        sum += taken[class];
        let next = order.get(place + 1).map_or(0, |&next| room(next));
        let broken = (sum - sum.floor()).min(sum.ceil() - sum);
        let score = broken * if (next as f64) < room(class) as f64 * STEP { 1.0 } else { SAME };
        if broken > WHOLE && best.is_none_or(|(most, ..)| score > most) {
            best = Some((score, place, sum));
        }
    }
    let (score, place, sum) = best?;
    let mut counts = vec![false; field.classes.len()];
    order[..=place].iter().for_each(|&class| counts[class] = true);
    Some(Broken { score, sum, counts })
}

/// The plan that takes these whole numbers of each class.
fn whole(field: &Field, taken: &[Vec<f64>]) -> Option<(i64, Sets)> {
    let mut next = vec![0; field.classes.len()];
    let mut sets: Sets = vec![Vec::new(); taken.len()];
    for (set, taken) in sets.iter_mut().zip(taken) {
        for ((class, next), taken) in field.classes.iter().zip(&mut next).zip(taken) {
            let number = taken.round() as usize;
            set.extend(class.members.get(*next..*next + number)?);
            *next += number;
        }
        set.sort_unstable();
    }
    Some((field.cost(&sets)?, sets))
}
