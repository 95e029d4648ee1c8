//! Random jobs beside jobs that are alike, or more, or two in one: what must then hold of their plans.
//!
//! `random_jobs.rs` holds what must hold of one job's yard and lift limit. Nothing here knows what a good plan is.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fmt::Write;
use std::fs;
use std::path::PathBuf;

use chargesplit::audit;
use chargesplit::plan::{Plan, Status};
use chargesplit::planner::{self, Options};
use chargesplit::quantity::Marks;
use chargesplit::text::{Request, Today, read_work};
use fastrand::Rng;
use jiff::civil::date;

const CASES: u64 = 80;

/// Weights in halves of a division, so that rounding has something to do.
#[derive(Clone)]
struct Spec {
    systems: Vec<(&'static str, i64)>,
    /// Tare, water capacity, gross and what it holds.
    cylinders: Vec<(i64, i64, i64, Option<&'static str>)>,
    lift_limit: Option<i64>,
}

/// How a job is written: its unit, its division in halves, and half a division as text.
#[derive(Clone, Copy)]
struct Style {
    units: &'static str,
    /// Whether the yard is a table; the unit that its heads then have.
    table: Option<&'static str>,
    write: fn(i64) -> String,
}

/// A number of thousandths with its point, and nothing behind it.
fn decimal(thousandths: i64) -> String {
    format!("{}.{:03}", thousandths / 1000, thousandths % 1000)
}

/// Half a division is 25 g in the first two, an ounce in the other three.
const KILOGRAMS: [Style; 2] = [
    Style { units: "kg", table: None, write: |halves| decimal(25 * halves) },
    Style { units: "kg", table: Some("g"), write: |halves| format!("{} g", 25 * halves) },
];
const POUNDS: [Style; 3] = [
    // An ounce has four decimals of a pound.
    Style { units: "lb", table: None, write: |halves| format!("{}.{:04}", halves / 16, halves % 16 * 625) },
    Style { units: "lb-oz", table: Some("lb-oz"), write: |halves| format!("{} lb {} oz", halves / 16, halves % 16) },
    Style { units: "lb-oz", table: None, write: |halves| format!("{halves} oz") },
];

const REFRIGERANTS: [&str; 3] = ["R-22", "R-134a", "R-410A"];

fn spec(rng: &mut Rng) -> Spec {
    let lots = rng.usize(1..=3);
    let cylinder = |rng: &mut Rng| {
        let (water, tare) = [(419, 262), (610, 344), (762, 448)][rng.usize(..3)];
        let (water, tare) = (water + rng.i64(-3..=3), tare + rng.i64(-5..=5));
        let held = rng.bool().then(|| REFRIGERANTS[rng.usize(..lots)]);
        (tare, water, tare + held.map_or(0, |_| rng.i64(0..water * 6 / 10)), held)
    };
    Spec {
        systems: REFRIGERANTS.into_iter().take(lots).map(|name| (name, rng.i64(40..900))).collect(),
        cylinders: (0..rng.usize(2..=8)).map(|_| cylinder(rng)).collect(),
        lift_limit: rng.bool().then(|| rng.i64(640..1_100)),
    }
}

/// The plan of this job, written so, with every weight and the division so many times as large; audited. Nobody makes
/// cylinders of such sizes, so each is confirmed.
fn plan(specs: &[&Spec], style: Style, times: i64) -> Plan {
    let folder = tempfile::tempdir().unwrap();
    let weight = |halves: i64| (style.write)(times * halves);
    let mut yard = match style.table {
        Some(unit) => format!("id,tare [{unit}],water_capacity [{unit}],gross [{unit}],holds,mark,tested,confirmed\n"),
        None => format!("units: {}\ncylinders:\n", style.units),
    };
    let mut jobs: Vec<PathBuf> = Vec::new();
    for (job, spec) in specs.iter().enumerate() {
        let name = format!("yard.{}", if style.table.is_some() { "csv" } else { "yaml" });
        let mut text = format!(
            "job: J-{job}\ndate: 2026-12-01\nunits: {}\nscale_division: {}\nyard: {name}\n",
            style.units,
            weight(2)
        );
        if let Some(limit) = spec.lift_limit {
            writeln!(text, "site: {{ lift_limit: {} }}", weight(limit)).unwrap();
        }
        text.push_str("systems:\n");
        for (refrigerant, charge) in &spec.systems {
            writeln!(
                text,
                "  - {{ name: S {refrigerant}, refrigerant: {refrigerant}, nameplate: {} }}",
                weight(*charge)
            )
            .unwrap();
        }
        jobs.push(folder.path().join(format!("job-{job}.yaml")));
        fs::write(&jobs[job], text).unwrap();
        for (number, (tare, water, gross, held)) in spec.cylinders.iter().enumerate() {
            let (id, held) = (format!("C-{job}-{number}"), held.unwrap_or("evacuated"));
            let [tare, water, gross] = [tare, water, gross].map(|halves| weight(*halves));
            match style.table {
                Some(_) => writeln!(yard, "{id},{tare},{water},{gross},{held},DOT-4BA400,2024-06,true"),
                None => writeln!(yard, "  - {{ id: {id}, tare: {tare}, water_capacity: {water}, gross: {gross}, holds: {held}, mark: DOT-4BA400, tested: 2024-06, confirmed: true }}"),
            }
            .unwrap();
        }
        fs::write(folder.path().join(name), &yard).unwrap();
    }
    let request = Request { jobs: &jobs, today: &Today::new(|| date(2026, 12, 1)), skip_bad_rows: false };
    let work = read_work(&request).unwrap_or_else(|problems| panic!("{problems}")).work;
    let plan = planner::plan(&work, &Options::default(), &mut |_| true).unwrap();
    audit::check(&work, plan).unwrap_or_else(|faults| panic!("{faults:?}")).plan().clone()
}

/// Status, totals, loads and what is left over, all in divisions.
type Essence = (Status, [Marks; 3], Vec<(String, String, [Marks; 4])>, Vec<Marks>);

fn essence(plan: &Plan) -> Essence {
    let totals = [i64::try_from(plan.totals.cylinders).unwrap(), plan.totals.heaviest, plan.totals.carried];
    let loads = plan.loads.iter();
    let loads =
        loads.map(|load| (load.cylinder.to_string(), load.lot.clone(), [load.now, load.add, load.stop, load.limit]));
    (plan.status, totals, loads.collect(), plan.short.iter().map(|short| short.missing).collect())
}

/// Both kinds of answer came up, so that both were compared.
fn both(statuses: &[Status]) {
    let short = statuses.iter().filter(|status| **status == Status::Short).count();
    assert!(short > statuses.len() / 20 && short < statuses.len() * 9 / 10, "{short} of {} short", statuses.len());
}

#[test]
fn a_job_written_in_other_units_with_the_same_division_has_the_same_plan() {
    let mut statuses = Vec::new();
    for seed in 0..CASES {
        let spec = spec(&mut Rng::with_seed(seed));
        for styles in [&KILOGRAMS[..], &POUNDS] {
            let first = essence(&plan(&[&spec], styles[0], 1));
            for style in &styles[1..] {
                assert_eq!(essence(&plan(&[&spec], *style, 1)), first, "seed {seed}, {}", (style.write)(1));
            }
            statuses.push(first.0);
        }
    }
    both(&statuses);
}

#[test]
fn a_job_with_every_weight_and_the_division_so_many_times_as_large_has_the_same_plan() {
    let mut statuses = Vec::new();
    for seed in 0..CASES {
        let spec = spec(&mut Rng::with_seed(1_000 + seed));
        let style = [KILOGRAMS[0], POUNDS[0]][seed as usize % 2];
        let once = essence(&plan(&[&spec], style, 1));
        for times in [2, 3, 7] {
            assert_eq!(essence(&plan(&[&spec], style, times)), once, "seed {seed}, {times} times");
        }
        statuses.push(once.0);
    }
    both(&statuses);
}

#[test]
fn more_charge_never_needs_fewer_cylinders_nor_fits_where_less_did_not() {
    let (mut more_cylinders, mut statuses) = (0, Vec::new());
    for seed in 0..CASES {
        let mut rng = Rng::with_seed(2_000 + seed);
        let less = spec(&mut rng);
        let mut more = less.clone();
        let system = rng.usize(..more.systems.len());
        more.systems[system].1 += rng.i64(1..300);
        let (less, more) = (plan(&[&less], KILOGRAMS[0], 1), plan(&[&more], KILOGRAMS[0], 1));
        statuses.push(more.status);
        let missing = |plan: &Plan| plan.short.iter().map(|short| short.missing).sum::<Marks>();
        assert!(missing(&more) >= missing(&less), "seed {seed}");
        if (less.status, more.status) == (Status::Proved, Status::Proved) {
            assert!(more.totals.cylinders >= less.totals.cylinders, "seed {seed}");
            more_cylinders += usize::from(more.totals.cylinders > less.totals.cylinders);
        }
    }
    both(&statuses);
    assert!(more_cylinders > 5, "only {more_cylinders} jobs needed more");
}

#[test]
fn two_jobs_that_share_nothing_need_together_what_each_needs_alone() {
    let (mut compared, mut lighter) = (0, 0);
    for seed in 0..2 * CASES {
        let mut rng = Rng::with_seed(3_000 + seed);
        // Cylinders that hold their job's refrigerant may take no other.
        let of = |refrigerant: &'static str, rng: &mut Rng| {
            let mut spec = spec(rng);
            spec.systems = vec![(refrigerant, rng.i64(100..900))];
            spec.cylinders.iter_mut().for_each(|cylinder| cylinder.3 = Some(refrigerant));
            spec.lift_limit = None;
            spec
        };
        let (one, other) = (of("R-22", &mut rng), of("R-134a", &mut rng));
        let (a, b) = (plan(&[&one], POUNDS[0], 1), plan(&[&other], POUNDS[0], 1));
        let together = plan(&[&one, &other], POUNDS[0], 1);
        if (a.status, b.status) != (Status::Proved, Status::Proved) {
            assert_eq!(together.status, Status::Short, "seed {seed}");
            continue;
        }
        assert_eq!(together.status, Status::Proved, "seed {seed}");
        assert_eq!(together.totals.cylinders, a.totals.cylinders + b.totals.cylinders, "seed {seed}");
        assert_eq!(together.totals.heaviest, a.totals.heaviest.max(b.totals.heaviest), "seed {seed}");
        assert!(together.totals.carried <= a.totals.carried + b.totals.carried, "seed {seed}");
        compared += 1;
        lighter += usize::from(together.totals.carried < a.totals.carried + b.totals.carried);
    }
    assert!(compared > 40 && lighter > 0, "{compared} compared, {lighter} carry less together");
}
