//! How long the yard now takes, and the audit of it: `cargo run --release --example yard_now [ENTRIES] [CYLINDERS] [DIR]`. By
//! the clock: measure on a machine that does nothing else. With a folder it writes there what it measures, `yard.csv` with its
//! ledger and `job.yaml`, so that whole commands can be timed.
//!
//! Four writers, jobs of five cylinders each: a plan that binds, readings, an undo, now and then a weighing, the end. One
//! entry in fifty continues from what its writer knew some entries ago, as apart from each other they would.
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::disallowed_methods)]

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use chargesplit::audit::{Raw, ledger_faults};
use chargesplit::cylinder::{Condition, Contents, Cylinder, Facts, Fate, Id, Terms};
use chargesplit::job::{Job, JobFacts, System, SystemFacts, Work};
use chargesplit::ledger::{
    Bind, BoundJob, Closed, CylinderState, Entry, EntryId, Fact, FactKind, Gained, JobId, Jobs, Ledger, Moment, Pour,
    Reading, Row, Step, What,
};
use chargesplit::quantity::{Decimal, Unit, Weight};
use chargesplit::refrigerant::{Fluid, Refrigerant};
use chargesplit::text::{Tail, WriterHead};
use fastrand::Rng;
use jiff::civil::{Date, date};

const DAY: Date = date(2026, 12, 1);

fn tenths(tenths: i64) -> Weight {
    Weight::pounds(Decimal::new(tenths, 1))
}

fn evacuated() -> CylinderState {
    CylinderState {
        gross: tenths(279),
        holds: "evacuated".into(),
        may_contain: Vec::new(),
        condition: Condition::Clean,
        owner: None,
        kept_for: None,
        cleaned: false,
    }
}

/// What is written, and where each cylinder's chain ends.
struct Book {
    rng: Rng,
    entries: Vec<Entry>,
    numbers: [u64; 4],
    ids: Vec<Id>,
    /// Of each cylinder what its chain ends with, and what that continues from.
    chains: Vec<(Vec<EntryId>, Vec<EntryId>)>,
}

impl Book {
    fn write(&mut self, job: Option<&JobId>, cylinders: &[usize], what: impl FnOnce(&EntryId) -> What) -> EntryId {
        let writer = self.rng.usize(..4);
        self.numbers[writer] += 1;
        let id = EntryId { tag: format!("w{writer}k3v9q2").into(), number: self.numbers[writer] };
        let (mut on, mut rows) = (Vec::new(), Vec::new());
        for at in cylinders {
            let (ends, before) = &mut self.chains[*at];
            let from = if self.rng.u8(..50) == 0 {
                // Written by somebody who hasn't heard of the last one: the next entry continues from both.
                ends.push(id.clone());
                before.clone()
            } else {
                *before = std::mem::replace(ends, vec![id.clone()]);
                before.clone()
            };
            if from.is_empty() {
                rows.push(Row { id: self.ids[*at].clone(), stamped: Vec::new(), state: evacuated() });
            }
            on.push((self.ids[*at].clone(), from));
        }
        let at = Moment::parse("2026-12-01T08:15:00-05:00").unwrap();
        let what = what(&id);
        self.entries.push(Entry { id: id.clone(), at, by: format!("van-{writer}"), job: job.cloned(), on, rows, what });
        id
    }

    fn job(&mut self, number: usize) {
        let mut cylinders: Vec<usize> = (0..self.ids.len()).collect();
        self.rng.shuffle(&mut cylinders);
        cylinders.truncate(5);
        let named: Vec<Id> = cylinders.iter().map(|at| self.ids[*at].clone()).collect();
        let name = format!("Job {number}");
        let bind = self.write(None, &cylinders, |id| What::Bind(bind(&name, id, &named)));
        let job = JobId { name, first: bind.clone() };
        for round in 0..12 {
            let at = cylinders[round % 5];
            let cylinder = self.ids[at].clone();
            let gross = tenths(279 + 40 * (round as i64 / 5 + 1));
            let read = self.write(Some(&job), &[at], |_| What::Reading(reading(cylinder, &bind, gross)));
            if round == 11 {
                self.write(Some(&job), &[at], |_| What::Undo { of: read });
            }
        }
        if number.is_multiple_of(5) {
            let cylinder = self.ids[cylinders[0]].clone();
            let what = FactKind::Weighed { cylinder, gross: tenths(300), holds: Some(evacuated()) };
            self.write(None, &cylinders[..1], |_| What::Cylinder(Fact { what, why: None }));
        }
        self.write(Some(&job), &cylinders, |_| What::Closed(Closed::default()));
    }
}

fn bind(name: &str, first: &EntryId, cylinders: &[Id]) -> Bind {
    let step = |id: &Id| Step {
        cylinder: id.clone(),
        lot: "R-22".into(),
        from: vec![("RTU-1".into(), tenths(400))],
        now: tenths(279),
        add: tenths(400),
        stop: tenths(679),
        limit: tenths(690),
    };
    Bind {
        jobs: vec![BoundJob { name: name.into(), first: first.clone(), text: "job: as it was read".into() }],
        follows: Vec::new(),
        day: DAY,
        van: Some("Van 7".into()),
        options: Vec::new(),
        cylinders: cylinders.to_vec(),
        systems: vec![("RTU-1".into(), tenths(2000))],
        steps: cylinders.iter().map(step).collect(),
        short: Vec::new(),
        dry: Vec::new(),
        more: Vec::new(),
    }
}

fn reading(cylinder: Id, bind: &EntryId, gross: Weight) -> Reading {
    let pour = Pour {
        lot: "R-22".into(),
        refrigerants: vec!["R-22".into()],
        mixed: false,
        condition: Condition::Clean,
        fate: Fate::Reclaim,
        owner: None,
        kept_for: None,
    };
    Reading {
        cylinder,
        bind: bind.clone(),
        gross,
        net: None,
        parts: vec![Gained { system: "RTU-1".into(), weight: tenths(40), assumed: false }],
        pour,
        emptied: false,
        moved: false,
        morning: false,
        forced: Vec::new(),
        note: None,
        via: None,
    }
}

/// Writes the yard with its ledger, and a job that has no plan yet.
fn write(folder: &Path, book: &Book) {
    let ledger = folder.join("yard.csv.ledger");
    fs::create_dir_all(&ledger).unwrap();
    for writer in 0..4 {
        let tag = format!("w{writer}k3v9q2");
        let name = format!("van-{writer}");
        let head = WriterHead { ledger: "measured".into(), writer: name.clone(), tag: tag.clone() };
        let (mut text, mut tail) = Tail::begin(&head);
        book.entries.iter().filter(|entry| *entry.id.tag == *tag).for_each(|entry| text.push_str(&tail.write(entry)));
        fs::write(ledger.join(format!("{name}-{tag}.jsonl")), text).unwrap();
    }
    let rows: Vec<String> =
        book.ids.iter().map(|id| format!("{id},27.9,47.5,27.9,evacuated,DOT-4BA400,2025-06\n")).collect();
    let head = "id,tare [lb],water_capacity [lb],gross [lb],holds,mark,tested\n";
    fs::write(folder.join("yard.csv"), format!("{head}{}", rows.concat())).unwrap();
    let job = "job: Annex\nunits: lb\ndate: 2026-12-01\nyard: yard.csv\nsystems:\n  - name: RTU-9\n    refrigerant: R-22\n    charge: 60 lb\n    basis: records\n";
    fs::write(folder.join("job.yaml"), job).unwrap();
}

/// The middle one of five runs.
fn median(mut run: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..5)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[2]
}

fn main() {
    let mut arguments = std::env::args().skip(1);
    let mut number = |usual| arguments.next().map_or(usual, |number| number.parse().unwrap());
    let (wanted, cylinders) = (number(100_000), number(500));
    let folder = arguments.next();
    let ids: Vec<Id> = (0..cylinders).map(|at| Id::from(format!("C-{at}"))).collect();
    let chains = vec![(Vec::new(), Vec::new()); ids.len()];
    let mut book = Book { rng: Rng::with_seed(1), entries: Vec::new(), numbers: [0; 4], ids, chains };
    let mut number = 0;
    while book.entries.len() < wanted {
        number += 1;
        book.job(number);
    }
    if let Some(folder) = folder {
        write(Path::new(&folder), &book);
    }
    let rows: Vec<(Id, CylinderState)> = book.ids.iter().map(|id| (id.clone(), evacuated())).collect();
    let ledger = Ledger::new(book.entries.clone(), Vec::new());
    let jobs = median(|| drop(Jobs::of(&ledger)));
    let found = Jobs::of(&ledger);
    let now = median(|| drop(ledger.now_with(&found, &rows, DAY)));
    let yard = ledger.now(&rows, DAY);
    let doubted = yard.cylinders.iter().filter(|one| one.doubt.is_some()).count();
    println!(
        "{} entries over {cylinders} cylinders, {number} jobs; {doubted} cylinders in doubt",
        ledger.entries.len()
    );
    let systems = vec![
        System::new(SystemFacts::new("RTU-1", Fluid::One(Refrigerant::find("R-22").unwrap()), tenths(100))).unwrap(),
    ];
    let job = Job::new(JobFacts::new("Annex", Terms::usual(Unit::Lb.default_division(), DAY), systems)).unwrap();
    let facts = |(id, _): &(Id, CylinderState)| {
        Facts::new(id.as_str(), tenths(279), tenths(475), tenths(279), Contents::Evacuated)
    };
    let cylinders = rows.iter().map(|row| Cylinder::new(facts(row)).unwrap()).collect();
    let work = Work::new(vec![job], cylinders).unwrap();
    let raw = Raw { rows: &rows, entries: &ledger.entries, damage: &[], ours: &[], today: DAY };
    let audit = median(|| drop(ledger_faults(work.yard(), Unit::Lb, raw)));
    println!("the audit's own {:.1} ms", millis(audit));
    println!("its jobs {:.1} ms, the yard now {:.1} ms (median of 5)", millis(jobs), millis(now));
}

fn millis(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}
