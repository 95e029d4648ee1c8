//! What to add when the charge doesn't fit: the fewest cylinders from the stock, or from a list of trade sizes; of as few
//! the cheapest to hire, where every kind of the stock has a price, else the lightest.

use super::assemble::Place;
use crate::job::{Kind, Work, trade_sizes};
use crate::plan::Suggestion;
use crate::quantity::{Decimal, Marks, Money};
use crate::solver::{Fill, Options, Outcome, Problem, Progress, Slot, solve};

/// The most cylinders that are suggested; beyond it the yard isn't the place to begin.
const MOST: usize = 200;

/// The most ways of making up a number of cylinders out of kinds of limited count that are tried.
const MOST_WAYS: usize = 2_000;

/// The most added cylinders that are made lighter one by one.
const MOST_LIGHTENED: usize = 24;

/// The cylinders to add: one list for all lots.
pub(super) struct Additions {
    /// How many of which kind in all; empty where nothing helps, or the time ran out.
    pub(super) all: Vec<Suggestion>,
    /// For each lot those of them that it would get.
    pub(super) by_lot: Vec<Vec<Suggestion>>,
    /// Each of them as a cylinder of the problem.
    pub(super) slots: Vec<Slot>,
}

/// An added cylinder: the lot that it would get, and its kind.
type Chosen = (usize, usize);

impl Additions {
    /// Nothing to add.
    pub(super) fn none(work: &Work) -> Self {
        Self { all: Vec::new(), by_lot: vec![Vec::new(); work.lots().len()], slots: Vec::new() }
    }

    fn new(work: &Work, stock: &[Offer], chosen: &[Chosen], cheapest: bool) -> Self {
        let kinds = |of: &dyn Fn(usize) -> bool| -> Vec<usize> {
            chosen.iter().filter(|(lot, _)| of(*lot)).map(|(_, kind)| *kind).collect()
        };
        Self {
            all: counted(stock, &kinds(&|_| true), cheapest),
            by_lot: (0..work.lots().len()).map(|lot| counted(stock, &kinds(&|of| of == lot), cheapest)).collect(),
            slots: chosen.iter().map(|(_, kind)| stock[*kind].slot.clone()).collect(),
        }
    }
}

/// The kinds to add: as few cylinders as do it over all lots together, and of the kinds that do it with that number, the
/// cheapest or light ones. No plan of `problem` leaves less than `least_missing` over.
pub(super) fn fewest(
    work: &Work,
    problem: &Problem,
    least_missing: Marks,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Additions {
    let stock = offers(work);
    let largest = stock.iter().map(|offer| largest_room(&offer.slot)).max().unwrap_or(0);
    // Where all of the stock isn't enough, no choice of it is.
    let everything = everything(&stock);
    if largest == 0 || everything.is_some_and(|all| !matches!(filled(problem, &all, go_on), Outcome::Planned(_))) {
        return Additions::none(work);
    }
    // Every cylinder takes at most the largest room, so fewer than this can't do it.
    let least = least_missing.div_euclid(largest) + i64::from(least_missing.rem_euclid(largest) > 0);
    for number in usize::try_from(least).unwrap_or(MOST).max(1)..=MOST {
        let Some(ways) = ways(&stock, number, problem.lots.len()) else { break };
        for way in ways {
            match filled(problem, &way, go_on) {
                Outcome::Planned(solution) => {
                    if let Some(chosen) = cheapest(problem, &stock, number, go_on) {
                        return Additions::new(work, &stock, &chosen, true);
                    }
                    let chosen = chosen(problem, &stock, &way, &solution.fills, go_on);
                    return Additions::new(work, &stock, &chosen, false);
                }
                Outcome::Short(_) => {}
                Outcome::Undecided => return Additions::none(work),
            }
        }
    }
    Additions::none(work)
}

/// The kinds whose hire is cheapest, each cheaper way proved not to do; `None` where not every kind has a price, there
/// are too many ways, or the time runs out.
fn cheapest(
    problem: &Problem,
    stock: &[Offer],
    number: usize,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Option<Vec<Chosen>> {
    if stock.iter().any(|offer| offer.hire.is_none()) {
        return None;
    }
    for way in every_way(stock, number)? {
        match filled(problem, &way, go_on) {
            Outcome::Planned(solution) => return Some(chosen(problem, stock, &way, &solution.fills, go_on)),
            Outcome::Short(_) => {}
            Outcome::Undecided => return None,
        }
    }
    None
}

/// A kind that fits some lot.
struct Offer {
    kind: String,
    slot: Slot,
    count: Option<u32>,
    /// A day's hire; of every kind or of none, because what has no price isn't cheap.
    hire: Option<Decimal>,
}

fn offers(work: &Work) -> Vec<Offer> {
    let offer = |kind: &Kind| {
        let cylinder = kind.specimen(kind.name.clone(), work.date()).ok()?;
        let place = Place::new(&cylinder, work.lots());
        let fits = (0..work.lots().len()).any(|lot| place.room(lot).is_some());
        fits.then(|| Offer { kind: describe(work, kind), slot: place.slot(), count: kind.count, hire: kind.hire })
    };
    let mut offers: Vec<Offer> = kinds(work).iter().filter_map(offer).collect();
    // The prices of several jobs needn't be of one currency.
    let comparable = work.jobs().iter().filter(|job| !job.stock.is_empty()).count() == 1;
    if !comparable || offers.iter().any(|offer| offer.hire.is_none()) {
        offers.iter_mut().for_each(|offer| offer.hire = None);
    }
    offers
}

/// A cylinder to add: of a kind, or of whichever kind is the roomiest for the lot that it gets.
#[derive(Clone)]
struct Added {
    slot: Slot,
    kind: Option<usize>,
}

/// The whole stock, where it has an end within reach.
fn everything(stock: &[Offer]) -> Option<Vec<Added>> {
    let mut all = Vec::new();
    for (kind, offer) in stock.iter().enumerate() {
        let count = usize::try_from(offer.count?).ok().filter(|count| *count <= MOST)?;
        all.extend(std::iter::repeat_n(Added { slot: offer.slot.clone(), kind: Some(kind) }, count));
    }
    Some(all)
}

/// The ways of adding so many cylinders, each tried until one does. Where the counts are unlimited one way is enough: each
/// cylinder as roomy for every lot as the roomiest kind, since whatever lot it gets, that kind does the same. `None`
/// where the stock has no more, or there are too many ways to try.
fn ways(stock: &[Offer], number: usize, lots: usize) -> Option<Vec<Vec<Added>>> {
    if stock.iter().all(|offer| offer.count.is_none()) {
        let tops = (0..lots).map(|lot| stock.iter().filter_map(|offer| room(&offer.slot, lot)).max()).collect();
        let roomiest = Slot { base: 0, tops, keeps_evacuated: true, reserved: Vec::new() };
        return Some(vec![vec![Added { slot: roomiest, kind: None }; number]]);
    }
    every_way(stock, number)
}

/// Every way of adding so many cylinders of the kinds, the cheapest first, of equals the lightest. `None` where the stock
/// has no more, or there are too many ways to try.
fn every_way(stock: &[Offer], number: usize) -> Option<Vec<Vec<Added>>> {
    let mut counts: Vec<Vec<usize>> = vec![Vec::new()];
    for offer in stock {
        let most = offer.count.map_or(number, |count| usize::try_from(count).unwrap_or(number)).min(number);
        let longer = counts.iter().flat_map(|so_far| {
            let left = number - so_far.iter().sum::<usize>();
            (0..=most.min(left)).map(|count| so_far.iter().copied().chain([count]).collect::<Vec<_>>())
        });
        counts = longer.collect();
        if counts.len() > MOST_WAYS {
            return None;
        }
    }
    counts.retain(|counts| counts.iter().sum::<usize>() == number);
    let tare = |counts: &Vec<usize>| -> Marks {
        counts
            .iter()
            .zip(stock)
            .map(|(count, offer)| offer.slot.base * Marks::try_from(*count).unwrap_or(Marks::MAX))
            .sum()
    };
    let hire = |counts: &Vec<usize>| -> Decimal {
        counts.iter().zip(stock).map(|(count, offer)| offer.hire.unwrap_or_default() * Decimal::from(*count)).sum()
    };
    counts.sort_by_cached_key(|counts| (hire(counts), tare(counts)));
    let added = |(kind, count): (usize, &usize)| {
        std::iter::repeat_n(Added { slot: stock[kind].slot.clone(), kind: Some(kind) }, *count)
    };
    let ways: Vec<Vec<Added>> =
        counts.iter().map(|counts| counts.iter().enumerate().flat_map(added).collect()).collect();
    (!ways.is_empty()).then_some(ways)
}

/// Plans the problem with these cylinders beside the yard's.
fn filled(problem: &Problem, way: &[Added], go_on: &mut dyn FnMut(&Progress) -> bool) -> Outcome {
    let mut with_stock = problem.clone();
    with_stock.cylinders.extend(way.iter().map(|added| added.slot.clone()));
    solve(&with_stock, &Options::default(), go_on)
}

/// Which lot gets a cylinder of which kind. Where a cylinder isn't of a kind yet, it becomes the roomiest for its lot,
/// and then one after the other the lightest with which everything still fits.
fn chosen(
    problem: &Problem,
    stock: &[Offer],
    way: &[Added],
    fills: &[Fill],
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Vec<Chosen> {
    let yard = problem.cylinders.len();
    let kind_of = |fill: &Fill| {
        let kind = fill.cylinder.checked_sub(yard).and_then(|index| way.get(index))?.kind;
        let kind = kind.or_else(|| (0..stock.len()).max_by_key(|kind| room(&stock[*kind].slot, fill.lot)));
        kind.map(|kind| (fill.lot, kind))
    };
    let mut chosen: Vec<Chosen> = fills.iter().filter_map(kind_of).collect();
    if way.iter().all(|added| added.kind.is_none()) && chosen.len() <= MOST_LIGHTENED {
        lighten(problem, stock, &mut chosen, go_on);
    }
    chosen
}

/// Replaces each added cylinder by the lightest kind with which everything still fits.
fn lighten(problem: &Problem, stock: &[Offer], chosen: &mut [Chosen], go_on: &mut dyn FnMut(&Progress) -> bool) {
    let mut lightest_first: Vec<usize> = (0..stock.len()).collect();
    lightest_first.sort_by_key(|kind| stock[*kind].slot.base);
    // Kept for its lot: a kind that could take another lot must not be counted on for it.
    let kept = |(lot, kind): &Chosen| {
        let mut slot = stock[*kind].slot.clone();
        slot.tops.iter_mut().enumerate().filter(|(of, _)| of != lot).for_each(|(_, top)| *top = None);
        Added { slot, kind: Some(*kind) }
    };
    // For each lot the largest room that was too little in place of one cylinder: with others made lighter, it still is.
    let mut too_little: Vec<Marks> = vec![0; problem.lots.len()];
    for position in 0..chosen.len() {
        let (lot, roomiest) = chosen[position];
        for &kind in &lightest_first {
            let room = room(&stock[kind].slot, lot).unwrap_or(0);
            if kind == roomiest {
                break;
            }
            if room <= too_little[lot] {
                continue;
            }
            chosen[position].1 = kind;
            let way: Vec<Added> = chosen.iter().map(kept).collect();
            if matches!(filled(problem, &way, go_on), Outcome::Planned(_)) {
                break;
            }
            chosen[position].1 = roomiest;
            too_little[lot] = room;
        }
    }
}

fn room(slot: &Slot, lot: usize) -> Option<Marks> {
    slot.tops.get(lot).copied().flatten().map(|top| (top - slot.base).max(0))
}

/// The room of a cylinder for the lot that it has most for.
pub(super) fn largest_room(slot: &Slot) -> Marks {
    (0..slot.tops.len()).filter_map(|lot| room(slot, lot)).max().unwrap_or(0)
}

fn counted(stock: &[Offer], kinds: &[usize], cheapest: bool) -> Vec<Suggestion> {
    let count = |index: usize| kinds.iter().filter(|kind| **kind == index).count();
    (0..stock.len())
        .filter(|index| count(*index) > 0)
        .map(|index| Suggestion { count: count(index), kind: stock[index].kind.clone(), cheapest })
        .collect()
}

/// The stock of the jobs, or the trade sizes where they state none.
pub fn kinds(work: &Work) -> Vec<Kind> {
    let stock = work.stock();
    if !stock.is_empty() {
        return stock;
    }
    let burns = |of: bool| work.lots().iter().any(|lot| lot.intake.fluid.is_flammable() == of);
    // The plain ones first: of two alike the first is suggested.
    let plain = burns(false).then(|| trade_sizes(false)).into_iter().flatten();
    plain.chain(burns(true).then(|| trade_sizes(true)).into_iter().flatten()).collect()
}

fn describe(work: &Work, kind: &Kind) -> String {
    let unit = work.division().unit();
    let assumed = if kind.mark.is_none() { ", of a service pressure that is enough" } else { "" };
    let meant = if kind.flammable { ", for flammables" } else { "" };
    let hire = kind.hire.map_or_else(String::new, |day| format!(", hire {} a day", Money::rounded(day)));
    format!(
        "{} (tare {}, water capacity {}{meant}{assumed}{hire})",
        kind.name,
        unit.text(kind.tare),
        unit.text(kind.water_capacity)
    )
}
