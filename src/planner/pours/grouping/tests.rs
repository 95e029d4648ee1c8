//! Groups against every way of making some.

use fastrand::Rng;

use super::{Grouping, grouped};
use crate::quantity::Marks;

/// The most groups of all: every subset of systems with the first one beside every subset of cylinders.
fn most_groups(charges: &[Marks], rooms: &[Marks]) -> usize {
    fn of(all: &[Marks], set: usize) -> Marks {
        all.iter().enumerate().filter(|(bit, _)| set >> bit & 1 == 1).map(|(_, one)| one).sum()
    }
    fn most(charges: &[Marks], rooms: &[Marks], systems: usize, cylinders: usize) -> Option<usize> {
        if systems == 0 {
            return (cylinders == 0).then_some(0);
        }
        let first = systems & systems.wrapping_neg();
        let mut best = None;
        for group in (1..=systems).filter(|group| group & !systems == 0 && group & first > 0) {
            for own in (1..=cylinders).filter(|own| own & !cylinders == 0) {
                if of(charges, group) <= of(rooms, own) {
                    let others = most(charges, rooms, systems & !group, cylinders & !own);
                    best = best.max(others.map(|others| others + 1));
                }
            }
        }
        best
    }
    most(charges, rooms, (1 << charges.len()) - 1, (1 << rooms.len()) - 1).unwrap()
}

/// Every system and every cylinder stands in one group, and each group's cylinders hold its systems.
fn holds(charges: &[Marks], rooms: &[Marks], grouping: &Grouping) {
    let mut systems: Vec<usize> = grouping.groups.iter().flat_map(|group| group.systems.clone()).collect();
    let mut cylinders: Vec<usize> = grouping.groups.iter().flat_map(|group| group.cylinders.clone()).collect();
    systems.sort_unstable();
    cylinders.sort_unstable();
    assert!(systems.into_iter().eq(0..charges.len()) && cylinders.into_iter().eq(0..rooms.len()));
    for group in &grouping.groups {
        let charge: Marks = group.systems.iter().map(|&system| charges[system]).sum();
        let room: Marks = group.cylinders.iter().map(|&cylinder| rooms[cylinder]).sum();
        assert!(!group.systems.is_empty() && !group.cylinders.is_empty() && charge <= room);
    }
    assert!(grouping.groups.len() <= grouping.most);
}

/// Charges, and rooms that hold them: with little to spare, with none, or with much.
fn lot(rng: &mut Rng, systems: usize, cylinders: usize) -> (Vec<Marks>, Vec<Marks>) {
    let sizes = [rng.i64(20..400), rng.i64(20..400), rng.i64(20..400)];
    let alike = rng.bool();
    let room = |rng: &mut Rng| if alike { sizes[rng.usize(0..3)] } else { rng.i64(20..400) };
    let rooms: Vec<Marks> = (0..cylinders).map(|_| room(rng)).collect();
    let spare = [0, rng.i64(0..20), rng.i64(0..200)][rng.usize(0..3)];
    let mut left = (rooms.iter().sum::<Marks>() - spare).max(cylinders as Marks + systems as Marks);
    let mut charges: Vec<Marks> = Vec::new();
    for place in 1..systems {
        let others = (systems - place) as Marks;
        // Often just what some cylinders hold.
        let exact: Marks = rooms.iter().filter(|_| rng.u8(0..3) == 0).sum();
        let share = if rng.bool() && exact > 0 { exact } else { rng.i64(1..=2 * left / others) };
        let charge = share.clamp(1, left - others);
        charges.push(charge);
        left -= charge;
    }
    charges.push(left);
    rng.shuffle(&mut charges);
    (charges, rooms)
}

#[test]
fn there_are_as_many_groups_as_any_way_has() {
    let mut rng = Rng::with_seed(61);
    let mut of_several = 0;
    for round in 0..1_500 {
        let (systems, cylinders) = (rng.usize(1..=5), rng.usize(1..=6));
        let (charges, rooms) = lot(&mut rng, systems, cylinders);
        if charges.iter().sum::<Marks>() > rooms.iter().sum() {
            continue;
        }
        let grouping = grouped(&charges, &rooms);
        holds(&charges, &rooms, &grouping);
        let most = most_groups(&charges, &rooms);
        assert_eq!((grouping.groups.len(), grouping.most), (most, most), "{round}: {charges:?} into {rooms:?}");
        of_several += usize::from(most > 1 && most < systems.min(cylinders));
    }
    assert!(of_several > 200, "{of_several} had to be searched");
}

/// Of fifty cylinders that differ by tenths there are so many sums that nearly every system finds cylinders of its own.
#[test]
fn among_many_cylinders_nearly_every_system_has_its_own() {
    let mut rng = Rng::with_seed(3);
    for slack in [0, 5, 20, 49] {
        let rooms: Vec<Marks> = (0..50).map(|number| [260, 310, 420][number % 3] + rng.i64(-8..=8)).collect();
        let total = rooms.iter().sum::<Marks>() - slack;
        let mut charges: Vec<Marks> = (0..11).map(|_| total / 12 + rng.i64(-300..300)).collect();
        charges.push(total - charges.iter().sum::<Marks>());
        let grouping = grouped(&charges, &rooms);
        holds(&charges, &rooms, &grouping);
        assert!(grouping.groups.len() >= 9, "{} groups with {slack} to spare", grouping.groups.len());
    }
}
