//! Water capacities of a yard that stray from the others, or from what most cylinders have: something to read again, and
//! no reason to leave a cylinder out.

use crate::cylinder::{Cylinder, doubts, is_a_tanks, is_usual_capacity};
use crate::quantity::{Decimal, Unit, Weight};

/// At least so many cylinders must agree before another strays from them. A judgement, no source.
const FEWEST: usize = 3;
/// Names in one sentence.
const NAMED: usize = 6;

/// What is to be said of the water capacities of a yard: a sentence for those that stray from cylinders of about the same
/// tare, and one for those that are far from every usual stamp.
pub fn unusual_capacities(yard: &[Cylinder], unit: Unit) -> Vec<String> {
    let asked = |cylinder: &Cylinder| {
        let doubtful = !doubts(cylinder.tare, cylinder.water_capacity, unit).is_empty();
        !(cylinder.confirmed || doubtful || is_a_tanks(cylinder.water_capacity))
    };
    let others = of_about_its_tare(yard);
    let (mut stray, mut unusual) = (Vec::new(), Vec::new());
    for (cylinder, others) in yard.iter().zip(&others).filter(|(cylinder, _)| asked(cylinder)) {
        let (id, capacity) = (&cylinder.id, cylinder.water_capacity);
        match others {
            Some(others) if others.are_left_by(capacity) => {
                let (from, to) = (unit.text(others.from), unit.text(others.to));
                let number = others.number;
                stray.push(format!(
                    "{id} ({}, yet {number} others of its tare have {from} to {to})",
                    unit.text(capacity)
                ));
            }
            _ if !is_usual_capacity(capacity) => unusual.push(format!("{id} ({})", unit.text(capacity))),
            _ => {}
        }
    }
    let say = |what: &str, mut named: Vec<String>| {
        let more = named.len().saturating_sub(NAMED);
        named.truncate(NAMED);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        (!named.is_empty()).then(|| format!("{what}; read WC again: {}{more}", named.join(", ")))
    };
    let stray = say("water capacities that stray from the rest of the yard", stray);
    stray.into_iter().chain(say("water capacities that few cylinders have", unusual)).collect()
}

/// Cylinders that agree on their water capacity.
#[derive(Clone, Copy)]
struct Agreeing {
    number: usize,
    from: Weight,
    to: Weight,
}

impl Agreeing {
    /// Whether a water capacity lies over 4 % from theirs.
    fn are_left_by(&self, capacity: Weight) -> bool {
        capacity < self.from.times(Decimal::new(96, 2)) || capacity > self.to.times(Decimal::new(104, 2))
    }
}

/// For each cylinder of a yard, those within 1 lb of its tare whose water capacities lie within 2 % of each other's
/// middle: where they are at least three, and three quarters of all within 1 lb, itself among them.
fn of_about_its_tare(yard: &[Cylinder]) -> Vec<Option<Agreeing>> {
    let pound = Weight::pounds(Decimal::ONE);
    let mut by_tare: Vec<usize> = (0..yard.len()).collect();
    by_tare.sort_by_key(|index| yard[*index].tare);
    let mut found = vec![None; yard.len()];
    // The water capacities of those within 1 lb, in order; cylinders come into it and leave it as the tare grows.
    let mut near: Vec<Weight> = Vec::new();
    let (mut next, mut first) = (0, 0);
    for index in &by_tare {
        let tare = yard[*index].tare;
        while let Some(cylinder) = by_tare.get(next).map(|index| &yard[*index]).filter(|it| it.tare <= tare + pound) {
            let place = near.partition_point(|capacity| *capacity < cylinder.water_capacity);
            near.insert(place, cylinder.water_capacity);
            next += 1;
        }
        while let Some(cylinder) = by_tare.get(first).map(|index| &yard[*index]).filter(|it| it.tare + pound < tare) {
            near.remove(near.partition_point(|capacity| *capacity < cylinder.water_capacity));
            first += 1;
        }
        found[*index] = agreeing(&near);
    }
    found
}

/// The cylinders about the middle one, of water capacities in order.
fn agreeing(near: &[Weight]) -> Option<Agreeing> {
    let middle = *near.get(near.len() / 2)?;
    let (less, more) = (middle.times(Decimal::new(98, 2)), middle.times(Decimal::new(102, 2)));
    let from = near.partition_point(|capacity| *capacity < less);
    let until = near.partition_point(|capacity| *capacity <= more);
    let alike = near.get(from..until)?;
    let enough = alike.len() >= FEWEST && alike.len() * 4 >= near.len() * 3;
    enough.then_some(Agreeing { number: alike.len(), from: *alike.first()?, to: *alike.last()? })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::job::Kind;

    /// Evacuated cylinders of these tares and water capacities in tenths of a pound, named by their place.
    fn yard(stamps: &[(i64, i64)]) -> Vec<Cylinder> {
        let tenths = |tenths: i64| Weight::pounds(Decimal::new(tenths, 1));
        let cylinder = |(place, (tare, water_capacity)): (usize, &(i64, i64))| {
            let kind = Kind {
                name: String::new(),
                tare: tenths(*tare),
                water_capacity: tenths(*water_capacity),
                mark: None,
                flammable: false,
                confirmed: false,
                count: None,
                hire: None,
            };
            kind.specimen(place.to_string(), date(2026, 12, 1)).unwrap()
        };
        stamps.iter().enumerate().map(cylinder).collect()
    }

    fn said(stamps: &[(i64, i64)]) -> String {
        unusual_capacities(&yard(stamps), Unit::Lb).join(" | ")
    }

    #[test]
    fn one_strays_where_three_agree_and_most_do() {
        let fifty = (280, 476);
        let strays = "water capacities that stray from the rest of the yard; read WC again: ";
        let line = format!("{strays}3 (57.6 lb, yet 3 others of its tare have 47.6 lb to 47.6 lb)");
        assert_eq!(said(&[fifty, fifty, fifty, (280, 576)]), line);
        assert_eq!(said(&[fifty, fifty, (280, 576)]), "", "two are too few");
        assert_eq!(said(&[fifty, fifty, fifty, (280, 576), (280, 576)]), "", "three of five are too few");
        // 1 lb of tare apart and more: 28.0 and 29.0, 29.1.
        assert_eq!(said(&[fifty, fifty, fifty, (290, 576)]), line);
        assert_eq!(said(&[fifty, fifty, fifty, (291, 576)]), "");
        // 4 % of 47.6 lb are 1.9 lb.
        assert_eq!(said(&[fifty, fifty, fifty, (280, 495)]), "");
        assert_eq!(said(&[(165, 262), (165, 262), (165, 262), fifty, fifty, fifty]), "");
    }

    #[test]
    fn what_few_cylinders_have_is_one_line_of_six_names_at_most() {
        assert_eq!(said(&[(400, 700)]), "water capacities that few cylinders have; read WC again: 0 (70 lb)");
        let many: Vec<(i64, i64)> = (0..8).map(|place| (350 + 20 * place, 700)).collect();
        let line = said(&many);
        assert!(line.ends_with("5 (70 lb) and 2 more") && !line.contains("stray"), "{line}");
        // A tank, and what is held out for its stamp anyway, aren't asked for twice.
        assert_eq!(said(&[(3_000, 15_000), (170, 476)]), "");
    }
}
