//! Which systems go on into which cylinders where a plan has been followed in part and amounts are decided.
//!
//! Three ways are made, and the one with the fewest hose connections is taken, the first of equals: the pours that were
//! planned with what is open spread behind them, one system after the other in the planned order, and one made afresh.

use crate::cylinder::Id;
use crate::plan::{Load, Pour, Share};
use crate::quantity::Marks;

/// What is decided of a cylinder.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Decided {
    /// What is added.
    pub add: Marks,
    /// What was planned to be poured in, in working order.
    pub planned: Vec<Share>,
    /// The system whose hose is on it.
    pub connected: Option<String>,
}

/// The shares of each cylinder, in working order.
type Shares = Vec<Vec<Share>>;

/// Gives the loads of a lot their pours; `left` is what each system gives in all.
pub(super) fn pour_on(left: &[(&str, Marks)], decided: &[(&Id, &Decided)], loads: &mut [Load]) {
    let of = |load: &Load| decided.iter().find(|(id, _)| **id == load.cylinder).map(|(_, decided)| *decided);
    let nothing = Decided::default();
    let each: Vec<(Marks, &Decided)> = loads.iter().map(|load| (load.add, of(load).unwrap_or(&nothing))).collect();
    if each.iter().all(|(_, decided)| decided.planned.is_empty() && decided.connected.is_none()) {
        return;
    }
    let afresh = loads.iter().map(|load| load.pours.iter().map(Pour::share).collect()).collect();
    let ways: [Shares; 3] = [as_planned(left, &each), in_turn(left, &each), afresh];
    let ways = ways.into_iter().map(|shares| connected_first(shares, &each));
    let Some(shares) = ways.min_by_key(|shares| connections(left, shares, &each)) else { return };
    for (load, shares) in loads.iter_mut().zip(shares) {
        let mut from = load.now;
        let pour = |share: Share| {
            let to = from + share.add;
            let from = std::mem::replace(&mut from, to);
            Pour { system: share.system, from, to, add: share.add, vapour_last: false }
        };
        load.pours = shares.into_iter().map(pour).collect();
    }
}

/// How many hoses have to be connected, those that are taken off with something left among them.
fn connections(left: &[(&str, Marks)], shares: &Shares, each: &[(Marks, &Decided)]) -> usize {
    let taken_off = shares.iter().zip(each).filter(|(shares, (_, decided))| {
        let goes_on =
            decided.connected.as_ref().filter(|one| left.iter().any(|(system, left)| system == one && *left > 0));
        goes_on.is_some_and(|one| shares.first().is_none_or(|first| first.system != *one))
    });
    shares.iter().map(Vec::len).sum::<usize>() + taken_off.count()
}

fn connected_first(mut shares: Shares, each: &[(Marks, &Decided)]) -> Shares {
    for (shares, (_, decided)) in shares.iter_mut().zip(each) {
        shares.sort_by_key(|share| decided.connected.as_ref() != Some(&share.system));
    }
    shares
}

/// As planned, as far as that goes; a system with more than was planned goes on where it is connected. What is open is taken
/// from what is left, that of the cylinder's own systems first.
fn as_planned(left: &[(&str, Marks)], each: &[(Marks, &Decided)]) -> Shares {
    let mut left = left.to_vec();
    let planned = |system: &str| -> Marks {
        let shares = each.iter().flat_map(|(_, decided)| &decided.planned);
        shares.filter(|share| share.system == system).map(|share| share.add).sum()
    };
    let mut all = Shares::new();
    for (add, decided) in each {
        let mut shares = Vec::new();
        let mut open = *add;
        if let Some(connected) = &decided.connected {
            let left = left.iter_mut().find(|(system, _)| system == connected);
            left.into_iter().for_each(|(system, left)| {
                let more = (*left - planned(system)).clamp(0, open);
                give(&mut shares, system, more, &mut open, left);
            });
        }
        for share in &decided.planned {
            let left = left.iter_mut().find(|(system, _)| *system == share.system);
            left.into_iter().for_each(|(system, left)| give(&mut shares, system, share.add, &mut open, left));
        }
        all.push(shares);
    }
    for (shares, (add, _)) in all.iter_mut().zip(each) {
        let mut open = add - shares.iter().map(|share| share.add).sum::<Marks>();
        let ours = |system: &str| shares.iter().any(|share| share.system == system);
        let (own, others): (Vec<_>, Vec<_>) = left.iter_mut().partition(|(system, _)| ours(system));
        for (system, left) in own.into_iter().chain(others) {
            give(shares, system, open, &mut open, left);
        }
    }
    all
}

/// One system after the other, those that are connected first, then in the order in which they were planned.
fn in_turn(left: &[(&str, Marks)], each: &[(Marks, &Decided)]) -> Shares {
    let mut order: Vec<&str> = each.iter().filter_map(|(_, decided)| decided.connected.as_deref()).collect();
    order.extend(each.iter().flat_map(|(_, decided)| &decided.planned).map(|share| share.system.as_str()));
    let place = |system: &str| order.iter().position(|known| *known == system).unwrap_or(order.len());
    let mut left = left.to_vec();
    left.sort_by_key(|(system, _)| place(system));
    let mut all = Shares::new();
    for (add, _) in each {
        let (mut shares, mut open) = (Vec::new(), *add);
        for (system, left) in &mut left {
            give(&mut shares, system, open, &mut open, left);
        }
        all.push(shares);
    }
    all
}

/// Gives so much of a system, no more than is left of it and open in the cylinder.
fn give(shares: &mut Vec<Share>, system: &str, wanted: Marks, open: &mut Marks, left: &mut Marks) {
    let add = wanted.min(*open).min(*left).max(0);
    match shares.iter_mut().find(|share| share.system == system) {
        Some(share) => share.add += add,
        None if add > 0 => shares.push(Share { system: system.to_owned(), add }),
        None => {}
    }
    (*open, *left) = (*open - add, *left - add);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(system: &str, add: Marks) -> Share {
        Share { system: system.into(), add }
    }

    fn poured(left: &[(&str, Marks)], each: Vec<Decided>) -> Vec<Vec<(String, Marks)>> {
        let ids: Vec<Id> = (0..each.len()).map(|number| Id::from(format!("C-{number}"))).collect();
        let load = |(id, decided): (&Id, &Decided)| Load { cylinder: id.clone(), add: decided.add, ..Load::blank() };
        let mut loads: Vec<Load> = ids.iter().zip(&each).map(load).collect();
        // Afresh nothing better is there than each system in every cylinder.
        for load in &mut loads {
            let pour = |(system, _): &(&str, Marks)| Pour {
                system: (*system).into(),
                from: 0,
                to: 1,
                add: 1,
                vapour_last: false,
            };
            load.pours = left.iter().chain(left).chain(left).map(pour).collect();
        }
        let decided: Vec<(&Id, &Decided)> = ids.iter().zip(&each).collect();
        pour_on(left, &decided, &mut loads);
        let shares = |load: &Load| load.pours.iter().map(|pour| (pour.system.clone(), pour.add)).collect();
        loads.iter().map(shares).collect()
    }

    fn decided(add: Marks, planned: &[(&str, Marks)], connected: Option<&str>) -> Decided {
        let planned = planned.iter().map(|(system, add)| share(system, *add)).collect();
        Decided { add, planned, connected: connected.map(str::to_owned) }
    }

    fn said(all: &[&[(&str, Marks)]]) -> Vec<Vec<(String, Marks)>> {
        all.iter().map(|one| one.iter().map(|(system, add)| ((*system).to_owned(), *add)).collect()).collect()
    }

    #[test]
    fn what_was_planned_goes_on_as_it_was_planned() {
        // Two machines: A on the first and C on the second cylinder; one after the other would take C off.
        let each =
            vec![decided(30, &[("A", 10), ("B", 20)], Some("A")), decided(25, &[("C", 15), ("D", 10)], Some("C"))];
        let left = [("A", 10), ("B", 20), ("C", 15), ("D", 10)];
        let as_it_was = said(&[&[("A", 10), ("B", 20)], &[("C", 15), ("D", 10)]]);
        assert_eq!(poured(&left, each), as_it_was);
    }

    #[test]
    fn a_system_with_more_goes_on_where_it_is_connected() {
        // 3 more of A than was planned, for which the last cylinder gets 3 more.
        let each = vec![decided(25, &[("A", 10), ("B", 15)], Some("A")), decided(23, &[("C", 20)], None)];
        let left = [("A", 13), ("B", 15), ("C", 20)];
        assert_eq!(poured(&left, each), said(&[&[("A", 13), ("B", 12)], &[("C", 20), ("B", 3)]]));
    }

    #[test]
    fn where_a_system_is_dry_the_next_ones_move_up() {
        // A is empty 5 before it was planned: the last cylinder gets 5 less, and nobody is connected once more for that.
        let each = vec![
            decided(20, &[("A", 5), ("B", 15)], Some("A")),
            decided(20, &[("B", 10), ("C", 10)], None),
            decided(7, &[("C", 7)], None),
        ];
        let left = [("A", 0), ("B", 25), ("C", 22)];
        let moved = said(&[&[("B", 20)], &[("B", 5), ("C", 15)], &[("C", 7)]]);
        assert_eq!(poured(&left, each), moved);
    }
}
