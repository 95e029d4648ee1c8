//! The planner's core on a problem that bytes spell: small ones against every choice there is, wild ones by the rules.

use std::path::Path;

use chargesplit::solver::{Amounts, Demand, Effort, Objectives, Options, Outcome, Priority, Problem, Slot, solve};

#[path = "../../../every_choice/mod.rs"]
#[allow(clippy::duplicate_mod)] // the fuzz targets are a crate of their own, and the tests that replay them have it too
mod every_choice;

use super::so_often;
use every_choice::{best, figured};

/// Questions of the planner for a wild problem.
const PATIENCE: usize = 60;

/// Cylinders of a problem in which a thousandth of the weight carried may stay open, whatever its lots.
const MANY: usize = 1_001;

/// Bytes, taken one after the other; nothing but noughts behind the last.
struct Bytes<'a>(std::slice::Iter<'a, u8>);

impl Bytes<'_> {
    fn byte(&mut self) -> u8 {
        self.0.next().copied().unwrap_or(0)
    }

    fn below(&mut self, end: u8) -> usize {
        usize::from(self.byte() % end)
    }

    fn some(&mut self) -> i64 {
        i64::from(self.byte())
    }

    /// Any number, the largest too.
    fn wild(&mut self) -> i64 {
        let bits = 8 * self.below(8);
        let sum = (0..8).fold(0_i64, |number, _| number << 8 | self.some());
        sum.checked_shr(bits as u32).unwrap_or(0)
    }
}

/// Small problems with weights of a byte, or wild ones.
pub fn planner(_: &Path, bytes: &[u8]) {
    let mut bytes = Bytes(bytes.iter());
    if bytes.below(4) == 3 { wild(&mut bytes) } else { small(&mut bytes) }
}

fn options(bytes: &mut Bytes, cylinders: usize) -> Options {
    let kind = bytes.byte();
    Options {
        effort: Effort::default(),
        priority: if kind & 1 == 0 { Priority::Fewest } else { Priority::Lightest },
        amounts: if kind & 2 == 0 { Amounts::Levelled } else { Amounts::InTurn },
        at_most: (kind & 12 == 12).then(|| bytes.below(8)),
        must_use: if kind & 48 == 48 && cylinders > 0 { vec![bytes.below(8) % cylinders] } else { Vec::new() },
    }
}

/// The problem among so many cylinders that may take nothing.
fn enlarged(mut problem: Problem) -> Problem {
    let idle = Slot { base: 1, tops: Vec::new(), keeps_evacuated: true, reserved: Vec::new() };
    problem.cylinders.resize(MANY, idle);
    problem
}

fn small(bytes: &mut Bytes) {
    let lots = 1 + bytes.below(3);
    let cylinders = 1 + bytes.below(6);
    let mut problem = Problem::default();
    problem.lots.extend((0..lots).map(|_| Demand { charge: 1 + bytes.some() + 2 * bytes.some() }));
    for _ in 0..cylinders {
        let (base, flags) = (bytes.some(), bytes.byte());
        let net = bytes.some() + bytes.some();
        let tops = (0..lots).map(|lot| (flags >> lot & 1 == 0).then(|| base + net - bytes.some() / 8));
        let tops = tops.map(|top| top.map(|top| top.max(0))).collect();
        let reserved = vec![flags & 16 != 0; lots];
        problem.cylinders.push(Slot { base, tops, keeps_evacuated: flags & 8 != 0, reserved });
    }
    let options = options(bytes, cylinders);
    let said = || format!("{problem:?} {options:?}");
    if bytes.below(2) == 1 {
        match (solve(&enlarged(problem.clone()), &options, &mut |_| true), best(&problem, &options)) {
            (Outcome::Planned(ours), Some(best)) => {
                assert_eq!(figured(&problem, &ours.fills), ours.totals, "{}", said());
                let first = |totals: Objectives| (totals.cylinders, totals.heaviest);
                assert_eq!((first(ours.totals), first(ours.bounds)), (first(best), first(best)), "{}", said());
                assert!((ours.bounds.carried..=ours.totals.carried).contains(&best.carried), "{}", said());
            }
            (Outcome::Short(short), None) => assert!(short.proved, "{}", said()),
            (ours, best) => panic!("{}: {ours:?}, and the best is {best:?}", said()),
        }
        return;
    }
    match (solve(&problem, &options, &mut |_| true), best(&problem, &options)) {
        (Outcome::Planned(ours), Some(best)) => {
            assert_eq!((ours.totals, ours.bounds), (best, best), "{}", said());
            assert_eq!(figured(&problem, &ours.fills), best, "{}", said());
        }
        (Outcome::Short(short), None) => assert!(short.proved, "{}", said()),
        (ours, best) => panic!("{}: {ours:?}, and the best is {best:?}", said()),
    }
}

fn wild(bytes: &mut Bytes) {
    let (lots, cylinders) = (bytes.below(5), bytes.below(40));
    let mut problem = Problem::default();
    problem.lots.extend((0..lots).map(|_| Demand { charge: bytes.wild() }));
    for _ in 0..cylinders {
        if let Some(alike) = problem.cylinders.last().filter(|_| bytes.below(4) == 0).cloned() {
            problem.cylinders.push(alike);
            continue;
        }
        let base = bytes.wild();
        let tops = (0..bytes.below(5)).map(|_| (bytes.below(4) > 0).then(|| base.saturating_add(bytes.wild())));
        problem.cylinders.push(Slot {
            base,
            tops: tops.collect(),
            keeps_evacuated: base & 1 == 0,
            reserved: vec![base & 2 == 0; 2],
        });
    }
    let options = options(bytes, cylinders);
    if bytes.below(2) == 1 {
        problem = enlarged(problem);
    }
    let fills = match solve(&problem, &options, &mut so_often(PATIENCE)) {
        Outcome::Planned(ours) => {
            assert!(ours.bounds.cylinders <= ours.totals.cylinders, "{problem:?}: {ours:?}");
            ours.fills
        }
        Outcome::Short(short) => short.fills,
        Outcome::Undecided => Vec::new(),
    };
    let mut used = vec![false; problem.cylinders.len()];
    for fill in fills {
        let slot = &problem.cylinders[fill.cylinder];
        let top = slot.tops.get(fill.lot).copied().flatten().expect("a lot that it may take");
        assert!(fill.add > 0 && slot.base + fill.add <= top, "{problem:?}: {fill:?}");
        assert!(!std::mem::replace(&mut used[fill.cylinder], true), "used twice: {problem:?}: {fill:?}");
    }
}
