//! The ways of large problems, on small ones: with cylinders beside them that may take nothing, they count as large.

use super::super::balance::{balance, cheapen};
use super::super::coarse::{bound_coarser, plan_coarser};
use super::super::field::{Field, Goal, Part};
use super::super::generation::Memory;
use super::super::problem::LARGE;
use super::super::quest::{Answer, Quest};
use super::super::watch::Watch;
use super::super::{Options, Outcome, Priority, Problem, Slot};
use super::{Dice, brute, check, run, small};

/// The problem among so many cylinders that may take nothing that it is large.
fn enlarged(problem: &Problem) -> Problem {
    let mut large = problem.clone();
    let idle = Slot { base: 1, tops: Vec::new(), keeps_evacuated: true, ranked_last: false };
    large.cylinders.resize(LARGE as usize + 1, idle);
    large
}

#[test]
fn a_large_problem_is_what_brute_force_finds() {
    let (mut fitted, mut proved) = (0, 0);
    for seed in 0..600 {
        let mut dice = Dice::new(seed);
        let problem = small::case(&mut dice, 3);
        let options =
            Options { priority: [Priority::Fewest, Priority::Lightest][dice.below(2) as usize], ..Options::default() };
        match (run(&enlarged(&problem), &options), brute::best(&problem, &options)) {
            (Outcome::Planned(solution), Some(best)) => {
                check(&problem, &options, &solution);
                let said = format!("{problem:?} {options:?} {solution:?}");
                assert!(solution.proved.cylinders && solution.proved.heaviest, "{said}");
                assert_eq!((solution.totals.cylinders, solution.totals.heaviest), (best.cylinders, best.heaviest));
                // A thousandth of the weight carried may be left open.
                assert!((solution.bounds.carried..=solution.totals.carried).contains(&best.carried), "{said}");
                assert!((solution.totals.carried - best.carried) * 1_000 <= solution.totals.carried, "{said}");
                fitted += 1;
                proved += u64::from(solution.proved.carried);
            }
            (Outcome::Short(short), None) => assert!(short.proved),
            (ours, best) => panic!("{problem:?} {options:?}: {ours:?}, brute force says {best:?}"),
        }
    }
    assert!(fitted > 100 && proved > fitted / 2, "{proved} of {fitted}");
}

/// A field of the number of cylinders, or of their weight within the fewest, of cylinders nearly alike.
fn nearly_alike(dice: &mut Dice) -> (Problem, Field) {
    let lots = 2 + dice.below(2) as usize;
    let mut problem = Problem::default();
    for _ in 0..4 + dice.below(3) {
        let size = [400, 900][dice.below(2) as usize] + dice.below(12);
        let base = 100 + dice.below(80);
        let tops = (0..lots).map(|lot| (dice.below(8) > 0).then(|| base + size * (10 - lot as i64) / 10)).collect();
        problem.cylinders.push(Slot { base, tops, keeps_evacuated: true, ranked_last: false });
    }
    for _ in 0..lots {
        problem.lots.push(super::super::Demand { charge: 200 + dice.below(900) });
    }
    let kept = vec![false; problem.cylinders.len()];
    let field = Field::new(&problem, &kept, &Part::whole(&problem), i64::MAX, Goal::Count, None);
    (problem, field)
}

#[test]
fn coarser_fields_bound_a_field_and_bring_plans_of_it() {
    let (mut planned, mut tight) = (0, 0);
    for seed in 0..800 {
        let (problem, field) = nearly_alike(&mut Dice::new(seed));
        let best = brute::best(&problem, &Options::default()).map(|best| best.cylinders as i64);
        let mut always = |_: &_| true;
        let mut watch = Watch::new(&mut always);
        let quest = Quest { below: 100, enough: 0, allowance: 0 };
        let mut answer = Answer::default();
        bound_coarser(&field, quest, &mut Memory::default(), &mut answer, &mut watch).unwrap();
        assert!(answer.bound <= best.unwrap_or(100), "seed {seed}: {} above {best:?}", answer.bound);
        plan_coarser(&field, quest, &mut Memory::default(), &mut answer, &mut watch).unwrap();
        assert!(answer.bound <= best.unwrap_or(100), "seed {seed}: {} above {best:?}", answer.bound);
        if let Some((cost, sets)) = &answer.plan {
            assert_eq!(field.cost(sets), Some(*cost), "seed {seed}");
            assert!(best.is_some_and(|best| best <= *cost), "seed {seed}");
            planned += 1;
            tight += u64::from(best == Some(*cost));
        }
    }
    assert!(planned > 100 && tight * 10 > planned * 9, "{tight} of {planned}");
}

#[test]
fn exchanges_keep_the_number_and_never_make_a_plan_dearer() {
    let (mut mended, mut cheaper) = (0, 0);
    for seed in 0..800 {
        let mut dice = Dice::new(seed);
        let (problem, field) = nearly_alike(&mut dice);
        // Any cylinders, so many for each lot.
        let mut slots: Vec<usize> = (0..problem.cylinders.len()).collect();
        let mut sets = vec![Vec::new(); problem.lots.len()];
        while slots.len() > 1 {
            let slot = slots.swap_remove(dice.below(slots.len() as i64) as usize);
            sets[dice.below(problem.lots.len() as i64) as usize].push(slot);
        }
        let number = sets.iter().map(Vec::len).sum::<usize>() as i64;
        let mut always = |_: &_| true;
        let mut watch = Watch::new(&mut always);
        let balanced = balance(&field, &sets, &mut watch).unwrap();
        let Some((cost, sets)) = balanced.plan else { continue };
        assert!(balanced.lacks.iter().all(|lacks| *lacks == 0), "seed {seed}");
        assert_eq!((cost, field.cost(&sets)), (number, Some(number)), "seed {seed}");
        mended += 1;
        let kept = vec![false; problem.cylinders.len()];
        let part = Part::whole(&problem);
        let gross = Field::new(&problem, &kept, &part, i64::MAX, Goal::Gross, Some(number as usize));
        let before = gross.cost(&sets).unwrap();
        let mut plan = (before, sets);
        cheapen(&gross, &mut plan, &mut watch).unwrap();
        assert_eq!(gross.cost(&plan.1), Some(plan.0), "seed {seed}");
        assert!(plan.0 <= before, "seed {seed}");
        cheaper += u64::from(plan.0 < before);
    }
    assert!(mended > 100 && cheaper > 50, "{mended} mended, {cheaper} cheaper");
}
