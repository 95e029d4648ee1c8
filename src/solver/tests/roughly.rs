//! The ways of large problems, on small ones: with cylinders beside them that may take nothing, they count as large.

use super::super::bound::generation::Memory;
use super::super::bound::worth::Worth;
use super::super::field::{Field, Goal, Part};
use super::super::problem::LARGE;
use super::super::problem::watch::Watch;
use super::super::search::answer::{Answer, Quest};
use super::super::search::balance::{SURPLUS, balance, cheapen};
use super::super::search::coarse::{bound_coarser, plan_coarser};
use super::super::search::rough::{bound_roughly, plan_roughly};
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

/// How many fields had a plan, and how many of those a best one.
#[derive(Default)]
struct Plans {
    planned: u64,
    best: u64,
}

impl Plans {
    fn count(&mut self, field: &Field, answer: &Answer, best: Option<i64>, seed: u64) {
        if let Some((cost, sets)) = &answer.plan {
            assert_eq!(field.cost(sets), Some(*cost), "seed {seed}");
            assert!(best.is_some_and(|best| best <= *cost), "seed {seed}");
            self.planned += 1;
            self.best += u64::from(best == Some(*cost));
        }
    }

    fn mostly_best(&self) {
        assert!(self.planned > 100 && self.best * 10 > self.planned * 9, "{} of {}", self.best, self.planned);
    }
}

#[test]
fn any_worth_bounds_a_field_and_the_best_brings_plans_of_it() {
    let mut plans = Plans::default();
    for seed in 0..800 {
        let mut dice = Dice::new(seed);
        let (problem, field) = nearly_alike(&mut dice);
        let best = brute::best(&problem, &Options::default()).map(|best| best.cylinders as i64);
        let mut always = |_: &_| true;
        let mut watch = Watch::new(&mut always);
        let quest = Quest { below: 100, enough: 0, allowance: 0 };
        let mut answer = Answer::default();
        let worth = bound_roughly(&field, quest, &mut Memory::default(), &mut answer, &mut watch).unwrap();
        assert!(answer.bound <= best.unwrap_or(100), "seed {seed}: {} above {best:?}", answer.bound);
        let other = worth.lots.iter().map(|each| each * dice.below(200) as f64 / 100.0).collect();
        let other = Worth { lots: other, number: 0.0 };
        assert!(best.is_none_or(|best| other.bound(&field) <= best), "seed {seed}: {other:?}");
        for number in 1..=problem.cylinders.len() as i64 {
            plan_roughly(&field, &worth, number, quest, &mut answer, &mut watch).unwrap();
        }
        plans.count(&field, &answer, best, seed);
    }
    plans.mostly_best();
}

/// The weight within a number of cylinders, some of which must be used, or what is left over: in each the number has a price.
#[test]
fn worth_bounds_what_plans_weigh_and_what_they_leave_over() {
    let mut compared = 0;
    for seed in 0..600 {
        let mut dice = Dice::new(seed);
        let (problem, _) = nearly_alike(&mut dice);
        let kept: Vec<bool> = problem.cylinders.iter().map(|_| dice.below(6) == 0).collect();
        let must_use = (0..kept.len()).filter(|&slot| kept[slot]).collect();
        let options = Options { must_use, ..Options::default() };
        let part = Part::whole(&problem);
        let Some(best) = brute::best(&problem, &options) else { continue };
        let charges: i64 = problem.lots.iter().map(|lot| lot.charge).sum();
        let mut worth = Worth { lots: Vec::new(), number: 0.0 };
        let lift = best.heaviest;
        let gross = Field::new(&problem, &kept, &part, lift, Goal::Gross, Some(best.cylinders));
        let leftover = Field::new(&problem, &kept, &part, lift, Goal::Leftover(1_000), Some(best.cylinders));
        for (field, cost) in [(gross, best.carried - charges), (leftover, best.cylinders as i64)] {
            worth.lots = problem.lots.iter().map(|_| dice.below(1_000) as f64 / 500.0).collect();
            worth.number = dice.below(100) as f64;
            assert!(worth.bound(&field) <= cost, "seed {seed}: {worth:?} {field:?}");
            let quest = Quest { below: i64::MAX, enough: 0, allowance: 0 };
            let mut answer = Answer::default();
            let mut always = |_: &_| true;
            let mut watch = Watch::new(&mut always);
            bound_roughly(&field, quest, &mut Memory::default(), &mut answer, &mut watch).unwrap();
            assert!(answer.bound <= cost, "seed {seed}: {} above {cost}", answer.bound);
            compared += 1;
        }
    }
    assert!(compared > 200, "{compared}");
}

#[test]
fn coarser_fields_bound_a_field_and_bring_plans_of_it() {
    let mut plans = Plans::default();
    for seed in 0..800 {
        let (problem, field) = nearly_alike(&mut Dice::new(seed));
        let best = brute::best(&problem, &Options::default()).map(|best| best.cylinders as i64);
        let mut always = |_: &_| true;
        let mut watch = Watch::new(&mut always);
        let quest = Quest { below: 100, enough: 0, allowance: 0 };
        let mut answer = Answer::default();
        let worth = bound_roughly(&field, quest, &mut Memory::default(), &mut Answer::default(), &mut watch).unwrap();
        bound_coarser(&field, &worth, quest, &mut Memory::default(), &mut answer, &mut watch).unwrap();
        assert!(answer.bound <= best.unwrap_or(100), "seed {seed}: {} above {best:?}", answer.bound);
        plan_coarser(&field, &worth, quest, &mut Memory::default(), &mut answer, &mut watch).unwrap();
        assert!(answer.bound <= best.unwrap_or(100), "seed {seed}: {} above {best:?}", answer.bound);
        plans.count(&field, &answer, best, seed);
    }
    plans.mostly_best();
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
        let balanced = balance(&field, &sets, &Worth::mean(&field, &sets), SURPLUS, &mut watch).unwrap();
        let Some((cost, sets)) = balanced.plan else { continue };
        assert!(balanced.lacks.iter().all(|lacks| *lacks == 0), "seed {seed}");
        assert_eq!((cost, field.cost(&sets)), (number, Some(number)), "seed {seed}");
        mended += 1;
        let kept = vec![false; problem.cylinders.len()];
        let part = Part::whole(&problem);
        let gross = Field::new(&problem, &kept, &part, i64::MAX, Goal::Gross, Some(number as usize));
        let before = gross.cost(&sets).unwrap();
        let mut plan = (before, sets);
        let worth = Worth::mean(&gross, &plan.1);
        cheapen(&gross, &mut plan, &worth, &mut watch).unwrap();
        assert_eq!(gross.cost(&plan.1), Some(plan.0), "seed {seed}");
        assert!(plan.0 <= before, "seed {seed}");
        cheaper += u64::from(plan.0 < before);
    }
    assert!(mended > 100 && cheaper > 50, "{mended} mended, {cheaper} cheaper");
}

#[test]
fn two_cylinders_go_for_two_where_no_single_exchange_helps() {
    let mut problem = Problem::default();
    for room in [100, 40, 70, 75] {
        let tops = vec![Some(10 + room); 2];
        problem.cylinders.push(Slot { base: 10, tops, keeps_evacuated: true, ranked_last: false });
    }
    problem.lots.extend([145, 140].map(|charge| super::super::Demand { charge }));
    let field = Field::new(&problem, &[false; 4], &Part::whole(&problem), i64::MAX, Goal::Count, None);
    let sets = vec![vec![0, 1], vec![2, 3]];
    let mut always = |_: &_| true;
    let mut watch = Watch::new(&mut always);
    let balanced = balance(&field, &sets, &Worth::mean(&field, &sets), SURPLUS, &mut watch).unwrap();
    assert_eq!(balanced.plan, Some((4, vec![vec![2, 3], vec![0, 1]])));
}
