//! The numbers on the shoulder: whether a cylinder can have this tare and this water capacity, figured again.

use crate::cylinder::Cylinder;
use crate::quantity::{Decimal, Weight};

/// Where a band of water capacities ends, with the least and the most tare in it, all in pounds. A band begins where the one
/// before it ends; the first begins at 10 lb. Common practice, no source.
const UP_TO: [[i64; 3]; 15] = [
    [18, 6, 18],
    [24, 8, 22],
    [32, 12, 28],
    [44, 18, 36],
    [52, 20, 46],
    [66, 22, 52],
    [90, 32, 66],
    [112, 38, 88],
    [145, 45, 105],
    [225, 58, 160],
    [275, 80, 190],
    [450, 100, 300],
    [560, 150, 390],
    [900, 190, 560],
    [1000, 270, 680],
];

/// What most stamps say of the water capacity, in pounds (59.5 is 27 l). Common practice, no source.
const MOST_STAMPS: [&str; 14] =
    ["13", "20", "26.2", "38", "47.6", "57", "59.5", "95", "123", "134", "239", "260", "485", "985"];

fn lb(number: Decimal) -> Weight {
    Weight::pounds(number)
}

/// The water capacity is a nominal size of the trade to the letter.
pub(super) fn nominal(cylinder: &Cylinder) -> bool {
    [15, 20, 30, 40, 50, 100, 125].iter().any(|size| cylinder.water_capacity == lb(Decimal::from(*size)))
}

/// Up to 1,000 lb of water: the pair is in no band, or it is an unusual one that would be usual with pounds and kilograms
/// exchanged.
pub(super) fn no_pair(cylinder: &Cylinder) -> bool {
    let (tare, water) = (cylinder.tare, cylinder.water_capacity);
    if water > lb(Decimal::from(1000)) {
        return false;
    }
    let exchanged = |number: Decimal| usual(tare.times(number), water.times(number));
    let in_the_other_unit = exchanged(Decimal::new(22046, 4)) || exchanged(Decimal::ONE / Decimal::new(22046, 4));
    !banded(tare, water) || (in_the_other_unit && !usual(tare, water))
}

/// Some band has both.
fn banded(tare: Weight, water: Weight) -> bool {
    let mut from = 10;
    for [to, least, most] in UP_TO {
        let of = |low: i64, weight: Weight, high: i64| lb(low.into()) <= weight && weight <= lb(high.into());
        if of(from, water, to) && of(least, tare, most) && water > tare {
            return true;
        }
        from = to;
    }
    false
}

/// Some band has both, and the water capacity is that of most stamps, give or take 4 %.
fn usual(tare: Weight, water: Weight) -> bool {
    let near = |stamp: &str| {
        let stamp = lb(stamp.parse().unwrap_or_default());
        let apart = if water > stamp { water - stamp } else { stamp - water };
        apart <= stamp.times(Decimal::new(4, 2))
    };
    banded(tare, water) && MOST_STAMPS.into_iter().any(near)
}
