//! Pours: totals stay what the solver makes them, and whole systems against every way of sharing.

use chargesplit::audit;
use chargesplit::job::{JobFacts, Work};
use chargesplit::plan::{Plan, Status};
use chargesplit::planner::{self, Amounts, Options, Priority};
use chargesplit::quantity::Unit;
use chargesplit::solver::{Outcome, solve};
use fastrand::Rng;

use crate::specimens;

/// Random systems of a few refrigerants and a yard of three sizes, evacuated, no two quite alike.
fn work(rng: &mut Rng, systems: usize, lots: usize, cylinders: usize, charge: std::ops::Range<i64>) -> Work {
    let of = |index: usize| ["R-22", "R-134a"][index % lots];
    let charges: Vec<i64> = (0..systems).map(|_| rng.i64(charge.clone())).collect();
    let facts =
        charges.iter().enumerate().map(|(index, charge)| specimens::system(&format!("S-{index}"), of(index), *charge));
    let job = specimens::job(JobFacts::new("Random", specimens::terms(Unit::Lb), specimens::systems(facts)));
    Work::new(vec![job], specimens::three_sizes(rng, cylinders)).unwrap()
}

fn plan(work: &Work, options: &Options) -> Plan {
    planner::plan(work, options, &mut |_| true).unwrap()
}

/// The pours of cylinders filled one after the other in the order of the plan, whatever goes best together.
fn one_after_another(work: &Work, plan: &Plan) -> usize {
    let of_lot = |lot: &chargesplit::job::Lot| {
        let mut changes: Vec<i64> = Vec::new();
        let mut at = 0;
        for part in &lot.parts {
            at += part.charge;
            changes.push(at);
        }
        at = 0;
        for load in plan.loads.iter().filter(|load| load.lot == lot.name) {
            at += load.add;
            changes.push(at);
        }
        changes.sort_unstable();
        changes.dedup();
        changes.len()
    };
    work.lots().iter().map(of_lot).sum()
}

#[test]
fn totals_are_what_the_solver_makes_them_and_no_plan_has_more_pours_than_before() {
    let mut rng = Rng::with_seed(18);
    let (mut whole, mut fewer, mut open) = (0, 0, 0);
    for case in 0..150 {
        let (systems, cylinders, lots) = (rng.usize(1..=8), rng.usize(3..=12), rng.usize(1..=2));
        let work = work(&mut rng, systems, lots, cylinders, 40..500);
        let options = Options {
            priority: if rng.bool() { Priority::Fewest } else { Priority::Lightest },
            amounts: if rng.bool() { Amounts::Levelled } else { Amounts::InTurn },
            ..Options::default()
        };
        let Outcome::Planned(solution) = solve(&planner::in_divisions(&work), &options, &mut |_| true) else {
            continue;
        };
        let plan = plan(&work, &options);
        let totals = (plan.totals.cylinders, plan.totals.heaviest, plan.totals.carried);
        let expected = solution.totals;
        assert_eq!(totals, (expected.cylinders, expected.heaviest, expected.carried), "case {case}");
        let chosen = |plan: &Plan| {
            let mut ids: Vec<String> = plan.loads.iter().map(|load| load.cylinder.to_string()).collect();
            ids.sort();
            ids
        };
        let mut ids: Vec<String> =
            solution.fills.iter().map(|fill| work.yard()[fill.cylinder].id.to_string()).collect();
        ids.sort();
        assert_eq!(chosen(&plan), ids, "case {case}");
        assert!(plan.totals.pours <= one_after_another(&work, &plan) && plan.bounds.pours <= plan.totals.pours);
        open += usize::from(plan.totals.pours > plan.bounds.pours);
        assert!(systems > 6 || plan.totals.pours == plan.bounds.pours, "case {case}: so few systems are proved");
        whole += 1;
        fewer += usize::from(plan.totals.pours < systems + plan.totals.cylinders - lots.min(systems));
        audit::check(&work, plan).unwrap_or_else(|faults| panic!("case {case}: {faults:?}"));
    }
    assert!(whole > 80 && fewer > 20, "{whole} plans, {fewer} with several groups");
    assert!(open < 3, "{open} of {whole} aren't proved");
}

/// Cylinders, pours, heaviest and carried of the best plan that leaves systems whole, by every way of sharing: each system in
/// a group of its lot, each cylinder for a group or unused.
fn best_whole(work: &Work) -> (usize, usize, i64, i64) {
    let problem = planner::in_divisions(work);
    let parts: Vec<(usize, i64)> = work
        .lots()
        .iter()
        .enumerate()
        .flat_map(|(lot, line)| line.parts.iter().map(move |part| (lot, part.charge)))
        .collect();
    let mut best = (usize::MAX, usize::MAX, i64::MAX, i64::MAX);
    let mut groups = vec![0; parts.len()];
    loop {
        let number = groups.iter().max().unwrap() + 1;
        // Each name of a group first where it is the next: no way of sharing stands twice.
        let named = (0..groups.len()).all(|at| groups[at] <= groups[..at].iter().max().map_or(0, |most| most + 1));
        let lot_of = |group: usize| {
            let mut lots = parts.iter().zip(&groups).filter(|(_, of)| **of == group).map(|((lot, _), _)| *lot);
            let first = lots.next()?;
            lots.all(|lot| lot == first).then_some(first)
        };
        if let Some(lots) = (0..number).map(lot_of).collect::<Option<Vec<usize>>>().filter(|_| named) {
            let charge = |group: usize| {
                parts.iter().zip(&groups).filter(|(_, of)| **of == group).map(|((_, charge), _)| charge).sum::<i64>()
            };
            let charges: Vec<i64> = (0..number).map(charge).collect();
            let mut owner = vec![0; problem.cylinders.len()];
            loop {
                let set = |group: usize| -> Option<Vec<(i64, i64)>> {
                    let mine = problem.cylinders.iter().zip(&owner).filter(|(_, owner)| **owner == group + 1);
                    mine.map(|(slot, _)| Some((slot.base, slot.tops[lots[group]]?))).collect()
                };
                let sets: Option<Vec<Vec<(i64, i64)>>> = (0..number).map(set).collect();
                let lifts = sets.as_ref().and_then(|sets| {
                    sets.iter().zip(&charges).map(|(set, charge)| lowest(set, *charge)).collect::<Option<Vec<i64>>>()
                });
                if let Some((sets, lifts)) = sets.zip(lifts) {
                    let chosen: Vec<_> = sets.iter().flatten().collect();
                    let carried = chosen.iter().map(|(base, _)| base).sum::<i64>() + charges.iter().sum::<i64>();
                    let pours = parts.len() + chosen.len() - number;
                    best = best.min((chosen.len(), pours, lifts.into_iter().max().unwrap(), carried));
                }
                if !next(&mut owner, number) {
                    break;
                }
            }
        }
        if !next(&mut groups, parts.len() - 1) {
            return best;
        }
    }
}

/// The next row of digits up to `most`; false behind the last.
fn next(row: &mut [usize], most: usize) -> bool {
    for digit in row {
        if *digit < most {
            *digit += 1;
            return true;
        }
        *digit = 0;
    }
    false
}

/// The lowest heaviest lift of these cylinders for a charge, where they hold it with something in each.
fn lowest(set: &[(i64, i64)], charge: i64) -> Option<i64> {
    let highest = set.iter().map(|(_, top)| *top).max()?;
    let holds = |lift: i64| {
        set.iter().all(|(base, _)| *base < lift)
            && set.iter().map(|(base, top)| (*top).min(lift) - base).sum::<i64>() >= charge
    };
    let (mut low, mut high) = (0, highest);
    if !holds(highest) {
        return None;
    }
    while low < high {
        let middle = (low + high) / 2;
        if holds(middle) { high = middle } else { low = middle + 1 }
    }
    Some(low)
}

#[test]
fn whole_systems_are_as_whole_and_then_as_light_as_any_way_of_sharing_makes_them() {
    let mut rng = Rng::with_seed(81);
    let (mut heavier, mut said) = (0, 0);
    for case in 0..60 {
        let (systems, cylinders, lots) = (rng.usize(2..=4), rng.usize(3..=4), rng.usize(1..=2));
        let work = work(&mut rng, systems, lots, cylinders, 60..330);
        let options = Options::default();
        let plain = plan(&work, &options);
        if plain.status != Status::Proved {
            continue;
        }
        let plan = planner::plan_whole(&work, &options, &mut |_| true).unwrap();
        let totals = (plan.totals.cylinders, plan.totals.pours, plan.totals.heaviest, plan.totals.carried);
        assert_eq!(totals, best_whole(&work), "case {case}");
        assert_eq!((plan.status, plan.totals), (Status::Proved, plan.bounds), "case {case}");
        heavier += usize::from(plan.totals.heaviest > plain.totals.heaviest);
        if let Some(line) = planner::whole_instead(&work, &options, &plain, &mut |_| true) {
            let heaviest = format!("heaviest lift {}", work.division().text(plan.totals.heaviest));
            let saved = format!("would save {} hose change", plain.totals.pours - plan.totals.pours);
            assert!(line.text.contains(&heaviest) && line.text.contains(&saved), "case {case}: {}", line.text);
            said += 1;
        }
        audit::check(&work, plan).unwrap_or_else(|faults| panic!("case {case}: {faults:?}"));
    }
    assert!(heavier > 5 && said > 3, "{heavier} are heavier, of {said} it is said");
}
