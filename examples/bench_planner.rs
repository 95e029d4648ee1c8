//! Times the planner core on random yards: `bench_planner CYLINDERS LOTS [SEEDS [SHARE ...]]`.
//!
//! Water capacities are trade sizes (common practice, no source) with a scatter, in tenths of a pound; four cylinders in
//! ten hold a heel. Environment: LIMIT seconds for each problem (10), LIGHT for the lightest first, SCALE for finer
//! divisions.
#![allow(clippy::print_stdout)] // a table on standard output is what it is for

use chargesplit::planner::{Demand, Options, Outcome, Priority, Problem, Slot, solve};
use std::time::Instant;

struct Dice(u64);
impl Dice {
    fn below(&mut self, end: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % end as u64) as i64
    }
}

fn yard(n: usize, lots: usize, share: i64, seed: u64) -> Problem {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xABCD);
    for _ in 0..5 {
        dice.below(2);
    }
    // trade sizes in 0.1 lb: water capacity, tare low, tare high
    let sizes = [(262, 150, 180), (380, 200, 240), (477, 260, 300), (1230, 550, 700), (2390, 750, 1100)];
    let density: Vec<i64> = (0..lots).map(|_| 700 + dice.below(250)).collect();
    let mut cylinders = Vec::new();
    for _ in 0..n {
        let (wc, low, high) = sizes[[0, 0, 0, 1, 2, 2, 2, 3, 3, 4][dice.below(10) as usize]];
        let wc = wc + dice.below(11) - 5;
        let tare = low + dice.below(high - low + 1);
        let heel = (dice.below(100) < 40).then(|| dice.below(lots as i64) as usize);
        let net = |lot: usize| wc * density[lot] / 1000;
        let base = tare + heel.map_or(0, |lot| net(lot) * dice.below(90) / 100);
        cylinders.push(Slot {
            base,
            tops: (0..lots).map(|lot| heel.is_none_or(|h| h == lot).then(|| tare + net(lot))).collect(),
            keeps_evacuated: heel.is_none(),
            ranked_last: false,
        });
    }
    let room: i64 = cylinders.iter().map(|s| s.tops.iter().flatten().max().map_or(0, |t| (t - s.base).max(0))).sum();
    let weights: Vec<i64> = (0..lots).map(|_| 50 + dice.below(100)).collect();
    let all: i64 = weights.iter().sum();
    let lots = weights.iter().map(|w| Demand { charge: (room * share / 100 * w / all).max(1) }).collect();
    Problem { lots, cylinders }
}

fn main() {
    let args: Vec<i64> = std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    let (n, l, seeds) = (args[0] as usize, args[1] as usize, args.get(2).copied().unwrap_or(10) as u64);
    let shares = if args.len() > 3 { args[3..].to_vec() } else { vec![30, 50, 70, 90] };
    let limit: f64 = std::env::var("LIMIT").ok().and_then(|v| v.parse().ok()).unwrap_or(10.0);
    let priority = if std::env::var("LIGHT").is_ok() { Priority::Lightest } else { Priority::Fewest };
    for share in shares {
        for seed in 1..=seeds {
            let mut problem = yard(n, l, share, seed);
            let scale: i64 = std::env::var("SCALE").ok().and_then(|v| v.parse().ok()).unwrap_or(1);
            for slot in &mut problem.cylinders {
                let odd = slot.base * 7 % scale;
                slot.base = slot.base * scale + odd;
                slot.tops.iter_mut().flatten().for_each(|top| *top = *top * scale + odd + (*top * 13) % scale);
            }
            problem.lots.iter_mut().for_each(|lot| lot.charge *= scale);
            let start = Instant::now();
            let (mut last, mut worst) = (start, 0.0_f64);
            let mut marks = [0.0; 4];
            let outcome = solve(&problem, &Options { priority, ..Options::default() }, &mut |p| {
                worst = worst.max(last.elapsed().as_secs_f64());
                last = Instant::now();
                marks[p.stage as usize] = start.elapsed().as_secs_f64() * 1e3;
                start.elapsed().as_secs_f64() < limit
            });
            let time = start.elapsed().as_secs_f64() * 1e3;
            let what = match &outcome {
                Outcome::Planned(s) => format!(
                    "{} {:?}/{:?}",
                    if s.proved.all() { "proved " } else { "BOUNDED" },
                    (s.totals.cylinders, s.totals.heaviest, s.totals.carried),
                    (s.bounds.cylinders, s.bounds.heaviest, s.bounds.carried)
                ),
                Outcome::Short(s) => format!("short {} proved {}", s.missing.iter().sum::<i64>(), s.proved),
                Outcome::Undecided => "UNDECIDED".into(),
            };
            println!(
                "{n}x{l} {share}% seed {seed}: {time:8.1} ms  {what}  marks {:.0} {:.0} {:.0}  longest wait {:.1}",
                marks[0],
                marks[1],
                marks[2],
                worst * 1e3
            );
        }
    }
}
