//! How much longer a plan takes because its lot has several systems: `cargo run --release --example pours_time`. Beside each
//! other in one run: the plan of 6 and of 12 systems, and of one system with the same charge, on up to 80 cylinders; how many
//! pours there are, and how many at least; and what the look aside for `--whole` takes.
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::disallowed_methods, dead_code)]

#[path = "../../tests/specimens.rs"]
mod specimens;

use std::time::{Duration, Instant};

use chargesplit::cylinder::Cylinder;
use chargesplit::job::{JobFacts, Work};
use chargesplit::plan::{Plan, Status};
use chargesplit::planner::{self, Options};
use chargesplit::quantity::Unit;
use fastrand::Rng;

/// Systems of one refrigerant that hold these charges, in tenths of a pound.
fn work(charges: &[i64], yard: &[Cylinder]) -> Work {
    let system = |(index, charge): (usize, &i64)| specimens::system(&format!("S-{index}"), "R-22", *charge);
    let systems = specimens::systems(charges.iter().enumerate().map(system));
    let job = specimens::job(JobFacts::new("Random", specimens::terms(Unit::Lb), systems));
    Work::new(vec![job], yard.to_vec()).unwrap()
}

fn plan(work: &Work) -> Plan {
    planner::plan(work, &Options::default(), &mut |_| true).unwrap()
}

/// The middle one of five runs.
fn median(mut run: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..5)
        .map(|_| {
            let begun = Instant::now();
            run();
            begun.elapsed()
        })
        .collect();
    times.sort_unstable();
    times[2]
}

fn main() {
    let mut rng = Rng::with_seed(12);
    let (mut all, mut open, mut most_pours) = (0, 0, 0);
    let (mut longest, mut aside) = (Duration::ZERO, Duration::ZERO);
    for systems in [6, 12] {
        for cylinders in [8, 12, 16, 24, 40, 60, 80] {
            for share in [30, 60, 85] {
                let mean = 360 * cylinders as i64 * share / 100 / systems as i64;
                let charges: Vec<i64> = (0..systems).map(|_| rng.i64(mean * 3 / 4..mean * 5 / 4)).collect();
                let yard = specimens::three_sizes(&mut rng, cylinders);
                let (many, one) = (work(&charges, &yard), work(&[charges.iter().sum()], &yard));
                let planned = plan(&many);
                if !matches!(planned.status, Status::Proved | Status::Bounded) {
                    continue;
                }
                let with = median(|| drop(plan(&many)));
                let without = median(|| drop(plan(&one)));
                let look = median(|| {
                    drop(planner::whole_instead(&many, &Options::default(), &planned, &mut |_| true));
                });
                let (pours, least) = (planned.totals.pours, planned.bounds.pours);
                all += 1;
                open += usize::from(least < pours);
                most_pours = most_pours.max(pours - least);
                longest = longest.max(with.saturating_sub(without));
                aside = aside.max(look);
                println!(
                    "{systems} x {cylinders} at {share} %: {without:?} as one, {with:?}, ratio {:.2}; {pours} pours, at least \
                     {least}, into {}; aside {look:?}",
                    with.as_secs_f64() / without.as_secs_f64(),
                    planned.totals.cylinders,
                );
            }
        }
    }
    println!(
        "{open} of {all} not proved, by {most_pours} pours at most; the longest took {longest:?} more, and {aside:?} aside"
    );
}
