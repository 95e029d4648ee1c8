//! Random small jobs, from facts to plan: the plan against every possible assignment, and the audit clean on each.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use chargesplit::audit;
use chargesplit::cylinder::{Cylinder, Facts, Id, Mark, Terms, limit, reasons};
use chargesplit::job::{Allowance, JobFacts, SystemFacts, Work};
use chargesplit::plan::{Plan, Status};
use chargesplit::planner::{self, Options, Priority};
use chargesplit::quantity::{Decimal, Division, Unit, Weight};
use fastrand::Rng;

use crate::specimens::{self, percent, tenths};

/// Jobs in every test run, and those when asked for.
const SOME_CASES: u64 = 250;
const CASES: u64 = 1_000;
const SHORT_CASES: u64 = 300;
const REFRIGERANTS: [&str; 3] = ["R-22", "R-134a", "R-410A"];

fn cylinder(rng: &mut Rng, number: usize, lots: usize) -> Cylinder {
    let (water, tare) = [(262, 165), (380, 215), (476, 280)][rng.usize(..3)];
    let (water, tare) = (water + rng.i64(-3..=3), tare + rng.i64(-5..=5));
    let held = rng.bool().then(|| REFRIGERANTS[rng.usize(..lots)]);
    let heel = if held.is_some() { rng.i64(0..water * 7 / 10) } else { 0 };
    let mark = if rng.u8(..6) == 0 { "DOT-4BA240" } else { "DOT-4BA400" };
    Cylinder::new(Facts {
        mark: Some(Mark::parse(mark).unwrap()),
        ..specimens::cylinder(&format!("C-{number}"), water, tare, held.map(|name| (name, heel)))
    })
    .unwrap()
}

fn work(rng: &mut Rng) -> Work {
    let lots = rng.usize(1..=3);
    let division = Division::new(Unit::Lb, tenths([1, 5, 10][rng.usize(..3)])).unwrap();
    let lift_limit = rng.bool().then(|| tenths(rng.i64(400..700)));
    let mut terms = Terms { lift_limit, ..specimens::terms(Unit::Lb) };
    terms.scale.accuracy = tenths(rng.i64(0..=2));
    terms.scale.division = division;
    let system = |lot: usize| {
        let nameplate = rng.i64(20..700);
        let allowance = Allowance::Share(percent(rng.i64(0..10)));
        SystemFacts { allowance, ..specimens::system(&format!("System {lot}"), REFRIGERANTS[lot], nameplate) }
    };
    let systems = specimens::systems((0..lots).map(system));
    let job = specimens::job(JobFacts::new("Random", terms, systems));
    let yard = (0..rng.usize(2..=6)).map(|number| cylinder(rng, number, lots)).collect();
    Work::new(vec![job], yard).unwrap()
}

/// Base and top of every cylinder for every lot, where it is fit.
type Rooms = Vec<Vec<Option<(i64, i64)>>>;

fn rooms(work: &Work) -> Rooms {
    let room = |cylinder: &Cylinder, lot: usize| {
        let intake = &work.lots()[lot].intake;
        let fit = reasons(cylinder, intake).is_empty();
        let room = limit(cylinder, &intake.fluid, &intake.terms).unwrap().room(cylinder, &intake.terms);
        fit.then_some((room.base, room.top))
    };
    work.yard().iter().map(|cylinder| (0..work.lots().len()).map(|lot| room(cylinder, lot)).collect()).collect()
}

/// The lowest heaviest lift of these cylinders for a charge, where they hold it with something in each.
fn lowest(set: &[(i64, i64)], charge: i64) -> Option<i64> {
    let holds = |lift: i64| {
        set.iter().all(|(base, _)| *base < lift)
            && set.iter().map(|(base, top)| (*top).min(lift) - base).sum::<i64>() >= charge
    };
    let highest = set.iter().map(|(_, top)| *top).max()?;
    if i64::try_from(set.len()).unwrap() > charge || !holds(highest) {
        return None;
    }
    let (mut low, mut high) = (0, highest);
    while low < high {
        let middle = (low + high) / 2;
        if holds(middle) { high = middle } else { low = middle + 1 }
    }
    Some(low)
}

/// Every plan's (cylinders, heaviest, carried), and the least weight left over.
fn every_plan(work: &Work, rooms: &Rooms) -> (Vec<(usize, i64, i64)>, i64) {
    let lots = work.lots().len();
    let mut choice = vec![0; rooms.len()];
    let (mut plans, mut least_over) = (Vec::new(), i64::MAX);
    loop {
        let set = |lot: usize| -> Option<Vec<(i64, i64)>> {
            (0..rooms.len())
                .filter(|cylinder| choice[*cylinder] == lot + 1)
                .map(|cylinder| rooms[cylinder][lot])
                .collect()
        };
        if let Some(sets) = (0..lots).map(set).collect::<Option<Vec<_>>>() {
            let charges = work.lots().iter().map(|lot| lot.charge);
            let over: i64 = sets
                .iter()
                .zip(charges.clone())
                .map(|(set, charge)| (charge - set.iter().map(|(base, top)| top - base).sum::<i64>()).max(0))
                .sum();
            least_over = least_over.min(over);
            let lifts = sets.iter().zip(charges.clone()).map(|(set, charge)| lowest(set, charge));
            if let Some(lifts) = lifts.collect::<Option<Vec<_>>>() {
                let chosen = sets.iter().flatten();
                let carried = chosen.clone().map(|(base, _)| base).sum::<i64>() + charges.sum::<i64>();
                plans.push((chosen.count(), lifts.into_iter().max().unwrap(), carried));
            }
        }
        let Some(next) = (0..choice.len()).find(|cylinder| choice[*cylinder] < lots) else { break };
        choice[next] += 1;
        choice[..next].fill(0);
    }
    (plans, least_over)
}

fn totals(plan: &Plan) -> (usize, i64, i64) {
    (plan.totals.cylinders, plan.totals.heaviest, plan.totals.carried)
}

#[test]
fn some_random_jobs_have_no_better_plan_and_the_audit_is_clean() {
    have_no_better_plan(SOME_CASES);
}

#[test]
#[ignore = "over 5 s in a debug build; run in a release build"]
fn no_random_job_has_a_better_plan_and_the_audit_is_clean() {
    have_no_better_plan(CASES);
}

fn have_no_better_plan(cases: u64) {
    let (mut proved, mut short) = (0, 0);
    for seed in 0..cases {
        let work = work(&mut Rng::with_seed(seed));
        let (plans, least_over) = every_plan(&work, &rooms(&work));
        for priority in [Priority::Fewest, Priority::Lightest] {
            let plan = planner::plan(&work, &Options { priority, ..Options::default() }, &mut |_| true).unwrap();
            let best = match priority {
                Priority::Fewest => plans.iter().copied().min(),
                Priority::Lightest => {
                    plans.iter().copied().min_by_key(|(count, lift, carried)| (*lift, *count, *carried))
                }
            };
            match best {
                Some(best) => {
                    assert_eq!((plan.status, totals(&plan)), (Status::Proved, best), "seed {seed}, {priority:?}");
                    proved += 1;
                }
                None => {
                    assert_eq!(plan.status, Status::Short, "seed {seed}");
                    let missing: i64 = plan.short.iter().map(|short| short.missing).sum();
                    assert_eq!(missing, least_over, "seed {seed}");
                    short += 1;
                }
            }
            if let Err(faults) = audit::check(&work, plan) {
                panic!("seed {seed}: {faults:?}");
            }
        }
    }
    let met = proved > cases / 2 && short > cases / 5;
    assert!(met, "both kinds of job were met: {proved} proved, {short} short");
}

fn fewest(work: &Work) -> Plan {
    planner::plan(work, &Options::default(), &mut |_| true).unwrap()
}

/// Better in the order of importance, or the same.
fn no_worse(plan: &Plan, than: &Plan) -> bool {
    match (plan.status, than.status) {
        (_, Status::Short) => {
            let missing = |plan: &Plan| plan.short.iter().map(|short| short.missing).sum::<i64>();
            missing(plan) <= missing(than)
        }
        (Status::Short, _) => false,
        _ => totals(plan) <= totals(than),
    }
}

#[test]
fn a_cylinder_more_is_never_worse_and_one_that_isnt_used_changes_nothing() {
    for seed in 0..150 {
        let work = work(&mut Rng::with_seed(seed));
        let plan = fewest(&work);
        let last = work.yard().last().unwrap().id.clone();
        let without_last = fewest(&work.clone().without(&[last]));
        assert!(no_worse(&plan, &without_last), "seed {seed}");
        if plan.status != Status::Short {
            let unused = plan.not_needed.iter().chain(plan.left_out.iter().map(|left| &left.cylinder)).cloned();
            let without_unused = fewest(&work.clone().without(&unused.collect::<Vec<_>>()));
            assert_eq!(totals(&without_unused), totals(&plan), "seed {seed}");
        }
    }
}

#[test]
fn a_higher_lift_limit_never_takes_more_cylinders() {
    let mut compared = 0;
    for seed in 0..150 {
        let work = work(&mut Rng::with_seed(seed));
        let at = |limit: i64| fewest(&work.clone().with_lift_limit(tenths(limit)).unwrap());
        let (low, high) = (at(500), at(620));
        if low.status != Status::Short {
            assert!(high.totals.cylinders <= low.totals.cylinders, "seed {seed}");
            compared += 1;
        }
    }
    assert!(compared > 25, "only {compared} jobs fit under the lower limit");
}

/// Every way to place all but so much of each lot: its cylinders by lot, and its heaviest lift.
fn every_short_plan(work: &Work, rooms: &Rooms, missing: &[i64]) -> Vec<(Vec<usize>, i64)> {
    let lots = work.lots().len();
    let mut choice = vec![0; rooms.len()];
    let mut plans = Vec::new();
    loop {
        let lift = |lot: usize| -> Option<i64> {
            let of_lot = (0..rooms.len()).filter(|cylinder| choice[*cylinder] == lot + 1);
            let set = of_lot.map(|cylinder| rooms[cylinder][lot]).collect::<Option<Vec<_>>>()?;
            let placed = work.lots()[lot].charge - missing[lot];
            if set.is_empty() { (placed == 0).then_some(0) } else { lowest(&set, placed) }
        };
        if let Some(lifts) = (0..lots).map(lift).collect::<Option<Vec<_>>>() {
            let used = (0..rooms.len()).filter(|cylinder| choice[*cylinder] > 0).collect();
            plans.push((used, lifts.into_iter().max().unwrap()));
        }
        let Some(next) = (0..choice.len()).find(|cylinder| choice[*cylinder] < lots) else { break };
        choice[next] += 1;
        choice[..next].fill(0);
    }
    plans
}

#[test]
fn where_it_does_not_fit_wishes_are_followed_that_leave_no_more_over_and_others_are_said() {
    wishes_are_followed(SHORT_CASES / 3);
}

#[test]
#[ignore = "over 5 s in a debug build; run in a release build"]
fn where_it_does_not_fit_every_wish_is_followed_that_leaves_no_more_over_and_others_are_said() {
    wishes_are_followed(SHORT_CASES);
}

fn wishes_are_followed(cases: u64) {
    let (mut followed, mut said) = ([0; 3], [0; 2]);
    for seed in 0..cases {
        let work = work(&mut Rng::with_seed(seed));
        let plain = fewest(&work);
        if plain.status != Status::Short {
            continue;
        }
        let missing = |plan: &Plan| -> Vec<i64> {
            let of = |lot: &str| plan.short.iter().find(|short| short.lot == lot).map_or(0, |short| short.missing);
            work.lots().iter().map(|lot| of(&lot.name)).collect()
        };
        let ways = every_short_plan(&work, &rooms(&work), &missing(&plain));
        let planned = |options: Options| {
            let plan = planner::plan(&work, &options, &mut |_| true).unwrap();
            assert_eq!(missing(&plan), missing(&plain), "seed {seed}: a wish changes what is left over");
            let not_followed: Vec<String> = plan
                .warnings
                .iter()
                .filter(|warning| warning.code == "wish-not-followed")
                .map(|warning| warning.text.clone())
                .collect();
            (audit::check(&work, plan).unwrap().plan().clone(), not_followed)
        };
        for (index, cylinder) in work.yard().iter().enumerate() {
            let (plan, not_followed) = planned(Options { must_use: vec![index], ..Options::default() });
            let used = plan.loads.iter().any(|load| load.cylinder == cylinder.id);
            assert_eq!(used, ways.iter().any(|(used, _)| used.contains(&index)), "seed {seed}: {}", cylinder.id);
            assert_eq!(used, not_followed.is_empty(), "seed {seed}: {not_followed:?}");
            assert!(not_followed.iter().all(|text| text.starts_with(&format!("{} ", cylinder.id))), "{not_followed:?}");
            if used { followed[0] += 1 } else { said[0] += 1 }
        }
        for most in 1..work.yard().len() {
            let (plan, not_followed) = planned(Options { at_most: Some(most), ..Options::default() });
            let within = plan.totals.cylinders <= most;
            let lightest = ways.iter().filter(|(used, _)| used.len() <= most).map(|(_, lift)| *lift).min();
            assert_eq!(within, lightest.is_some(), "seed {seed}: {most}");
            assert_eq!(within, not_followed.is_empty(), "seed {seed}: {not_followed:?}");
            assert!(lightest.is_none_or(|lift| lift == plan.totals.heaviest), "seed {seed}: {most}");
            if within { followed[1] += 1 } else { said[1] += 1 }
        }
        let (plan, not_followed) = planned(Options { priority: Priority::Lightest, ..Options::default() });
        assert_eq!(Some(plan.totals.heaviest), ways.iter().map(|(_, lift)| *lift).min(), "seed {seed}");
        assert!(not_followed.is_empty(), "seed {seed}: {not_followed:?}");
        followed[2] += usize::from(plan.totals.heaviest < plain.totals.heaviest);
    }
    let least = |count: u64| (count * cases / SHORT_CASES) as usize;
    let met = followed.iter().all(|count| *count > least(5)) && said[0] > least(10) && said[1] > least(100);
    println!("{cases} cases: {followed:?} followed, {said:?} said");
    assert!(met, "{followed:?} followed, {said:?} said");
}

#[test]
fn thin_spare_is_said_of_every_lot_that_has_it_and_of_no_other() {
    let (mut thin, mut enough, mut from_yard) = (0, 0, 0);
    for seed in 0..CASES {
        let work = work(&mut Rng::with_seed(seed));
        let plan = fewest(&work);
        let said: Vec<&str> = plan
            .warnings
            .iter()
            .filter(|warning| warning.code == "thin-spare")
            .map(|warning| warning.text.as_str())
            .collect();
        if plan.status == Status::Short {
            assert!(said.is_empty(), "seed {seed}: it is short anyway");
            continue;
        }
        let mut told = Vec::new();
        for (lot, line) in work.lots().iter().zip(&plan.lots) {
            // In divisions of a tenth of a pound times so many: 2 lb, or 2 % of the charge.
            let tenths = |marks: i64| {
                let weight = work.division().weight(marks);
                weight.ratio_to(Weight::pounds(Decimal::new(1, 1))).unwrap()
            };
            let is_thin =
                tenths(line.spare) < Decimal::from(20) && tenths(line.spare) * Decimal::from(50) < tenths(line.charge);
            let of_lot = said.iter().find(|text| text.starts_with(&format!("{}: ", lot.name)));
            assert_eq!(of_lot.is_some(), is_thin, "seed {seed}: {} of {}", line.spare, line.charge);
            let Some(text) = of_lot else {
                enough += 1;
                continue;
            };
            thin += 1;
            // What it says to bring is idle, may take the lot, and isn't promised to another.
            let room = |id: &Id| {
                let cylinder = work.yard().iter().find(|cylinder| cylinder.id == *id).unwrap();
                let fit = reasons(cylinder, &lot.intake).is_empty() && !told.contains(id);
                let limit = limit(cylinder, &lot.intake.fluid, &lot.intake.terms).unwrap();
                limit.room(cylinder, &lot.intake.terms).size() * i64::from(fit)
            };
            let most = plan.not_needed.iter().map(room).max().unwrap_or(0);
            let named = plan.not_needed.iter().find(|id| text.contains(&format!("bring one more: {id}, ")));
            assert_eq!(named.map_or(0, room), most, "seed {seed}: {text}");
            assert!(named.is_some() || most == 0, "seed {seed}: {text}");
            from_yard += usize::from(named.is_some());
            told.extend(named.cloned());
        }
        assert_eq!(said.len(), said.iter().collect::<std::collections::BTreeSet<_>>().len(), "seed {seed}");
    }
    assert!(thin > 40 && enough > 400 && from_yard > 25, "{thin} thin, {enough} not, {from_yard} from the yard");
}
