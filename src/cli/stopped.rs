//! Settling a yard in a process that ends after any one of its steps: the file is as it was or as it was to be, every command
//! sees the same yard, and the next settling brings it to the end.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use fastrand::Rng;
use jiff::civil::{Date, date};

use crate::cylinder::Id;
use crate::disk::{Holder, Machine, WriterName, stops};
use crate::door::{Keep, NotOpened, Opened, ledger_folder, open_yard};
use crate::ledger::{CylinderState, Fact, FactKind, Moment};
use crate::quantity::{Decimal, Weight};
use crate::text::{Today, state_of};

const DAY: Date = date(2026, 12, 1);

fn tenths(tenths: i64) -> Weight {
    Weight::pounds(Decimal::new(tenths, 1))
}

/// A yard, the ledger beside it and this machine's memory of it, all in one folder.
struct Depot {
    home: tempfile::TempDir,
    yard: PathBuf,
    today: Today,
}

/// What every command sees of a cylinder.
type Seen = Vec<(Id, CylinderState, Option<String>)>;

impl Depot {
    /// Some cylinders of which some hold something.
    fn new(rng: &mut Rng, kind: &str) -> Self {
        let home = tempfile::tempdir().unwrap();
        let yard = home.path().join(format!("van.{kind}"));
        let mut text = if kind == "csv" {
            "\u{feff}id;tare [lb];water_capacity [lb];gross [lb];holds;mark;tested;remark;damage\r\n".to_owned()
        } else {
            "# The van's own.\nunits: lb\ncylinders:\n".to_owned()
        };
        for number in 1..=rng.usize(2..6) {
            let (gross, holds) = if rng.bool() { (280, "evacuated") } else { (rng.i64(300..400), "R-22") };
            let gross = format!("{}.{}", gross / 10, gross % 10);
            text += &if kind == "csv" {
                format!("C-{number};28.0;47.6;{gross};{holds};DOT-4BA400;2024-06;\"shelf; {number}\";\r\n")
            } else {
                format!(
                    "  - id: C-{number}          # shelf {number}\n    tare: 28.0\n    water_capacity: 47.6\n    gross: {gross}   \
                     # by the new scale\n    holds: {holds}\n    mark: DOT-4BA400\n    tested: 2024-06\n"
                )
            };
        }
        fs::write(&yard, text).unwrap();
        Self { home, yard, today: Today::new(|| DAY) }
    }

    fn machine(&self) -> Machine {
        Machine::new(self.home.path().join("state"))
    }

    fn open(&self, keep: &Keep) -> Result<Opened, NotOpened> {
        open_yard(&self.yard, DAY, &self.today, false, keep)
    }

    fn write(&self) -> Result<Opened, NotOpened> {
        let holder = Holder {
            name: WriterName::parse("van-3").unwrap(),
            command: "yard van --settle".into(),
            since: "08:15".into(),
        };
        self.open(&Keep::Write(self.machine(), holder))
    }

    /// Somebody weighs, empties, takes out or brings back a cylinder.
    fn happens(&self, rng: &mut Rng) {
        let mut opened = self.write().unwrap();
        let row = rng.choice(&opened.rows).unwrap();
        let cylinder = row.id.clone();
        let state = opened.yard.now.get(&cylinder).map_or_else(|| state_of(row), |now| now.inside.state.clone());
        let (what, why) = match rng.u8(..6) {
            0 => (FactKind::Emptied { cylinder: cylinder.clone(), gross: tenths(280) }, None),
            1 => (FactKind::Out { cylinder: cylinder.clone() }, Some("its valve drips".to_owned())),
            2 => (FactKind::Back { cylinder: cylinder.clone() }, Some("a new valve".to_owned())),
            _ => {
                let gross = tenths(rng.i64(300..560));
                let holds = CylinderState { holds: "R-22".into(), gross, ..state };
                (FactKind::Weighed { cylinder: cylinder.clone(), gross, holds: Some(holds) }, None)
            }
        };
        let draft =
            opened.fact(&cylinder, Fact { what, why }, None, Moment::parse("2026-12-01T08:00:00-05:00").unwrap());
        opened.store.as_mut().unwrap().add(vec![draft]).unwrap();
    }

    /// What `yard --settle` does.
    fn settle(&self) -> Result<(), NotOpened> {
        let mut opened = self.write()?;
        let settling = opened.settling(true)?;
        opened.settle(settling, &self.today, Moment::parse("2026-12-01T17:00:00-05:00").unwrap()).map(|_| ())
    }

    /// What every command sees, and what it says of the ledger.
    fn seen(&self) -> (Seen, Vec<String>) {
        let opened = self.open(&Keep::Read(Some(self.machine()))).unwrap();
        let now = opened.yard.now.cylinders.iter();
        let seen = now.map(|now| {
            assert!(now.doubt.is_none() && now.changed.is_none() && !now.put_back && !now.missing, "{now:?}");
            (now.id.clone(), now.inside.state.clone(), now.out.clone())
        });
        (seen.collect(), opened.yard.said)
    }

    fn text(&self) -> String {
        fs::read_to_string(&self.yard).unwrap()
    }

    /// Every file in it.
    fn files(&self) -> BTreeMap<PathBuf, Vec<u8>> {
        let mut files = BTreeMap::new();
        let mut folders = vec![self.home.path().to_owned()];
        while let Some(folder) = folders.pop() {
            for entry in fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                } else {
                    files.insert(path.clone(), fs::read(path).unwrap());
                }
            }
        }
        files
    }

    fn put_back(&self, files: &BTreeMap<PathBuf, Vec<u8>>) {
        for path in self.files().keys() {
            fs::remove_file(path).unwrap();
        }
        for (path, bytes) in files {
            fs::write(path, bytes).unwrap();
        }
    }

    /// Whether a line of the ledger was torn.
    fn is_torn(&self) -> bool {
        let ledger = ledger_folder(&self.yard);
        let is_ledger = |path: &Path| path.starts_with(&ledger) && path.extension().is_some_and(|kind| kind == "jsonl");
        self.files().iter().any(|(path, bytes)| is_ledger(path) && !bytes.is_empty() && !bytes.ends_with(b"\n"))
    }
}

/// Stops a settling of this yard after each of its steps in turn. How often, and how often the file was still as before.
fn stopped_everywhere(depot: &Depot) -> (usize, usize) {
    let (before, old) = (depot.files(), depot.text());
    let (seen, said) = depot.seen();
    assert_eq!(said, Vec::<String>::new());
    depot.settle().unwrap();
    let new = depot.text();
    assert_eq!(depot.seen(), (seen.clone(), said));
    let mut as_before = 0;
    for steps in 0.. {
        depot.put_back(&before);
        let stopped = stops::after(steps, || {
            let _ = depot.settle();
        });
        let text = depot.text();
        assert!(text == old || text == new, "after {steps} steps half a file:\n{text}");
        let (now, said) = depot.seen();
        assert_eq!(now, seen, "after {steps} steps");
        assert_eq!(!said.is_empty(), depot.is_torn(), "after {steps} steps: {said:?}");
        if !stopped {
            return (steps, as_before);
        }
        as_before += usize::from(text == old);
        depot.settle().unwrap_or_else(|error| panic!("after {steps} steps: {error}"));
        assert_eq!(depot.text(), new, "after {steps} steps");
        assert_eq!(depot.seen(), (seen.clone(), Vec::new()), "after {steps} steps");
        assert!(!depot.is_torn());
    }
    unreachable!("numbers don't end")
}

/// At least so often.
fn stopped(at_least: usize) {
    let mut rng = Rng::with_seed(17);
    let (mut all, mut as_before, mut yards) = (0, 0, 0);
    while all < at_least {
        let depot = Depot::new(&mut rng, if yards % 2 == 0 { "yaml" } else { "csv" });
        // Some yards have been settled before.
        for _ in 0..rng.usize(1..4) {
            (0..rng.usize(1..8)).for_each(|_| depot.happens(&mut rng));
            let (stops, old) = stopped_everywhere(&depot);
            (all, as_before) = (all + stops, as_before + old);
        }
        yards += 1;
    }
    println!("{all} stops on {yards} yards, after {as_before} of them the file was as before");
    assert!(as_before > all / 4 && as_before < all);
}

#[test]
fn a_settling_that_ends_after_any_step_leaves_the_yard_whole_and_the_next_one_ends_it() {
    stopped(60);
}

#[test]
#[ignore = "over 5 s in a debug build"]
fn a_settling_that_ends_after_any_of_three_hundred_steps_does_so_too() {
    stopped(300);
}
