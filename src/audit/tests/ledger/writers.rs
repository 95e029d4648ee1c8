//! Writers who write at random what they may, and now and then what they may not, each by what has reached him.

use fastrand::Rng;
use jiff::civil::{Date, date};

use crate::cylinder::{Condition, Fate, Id};
use crate::ledger::{
    Bind, BoundJob, Change, Closed, CylinderState, Damage, Entry, EntryId, Fact, FactKind, Gained, JobId, Moment, Pour,
    Reading, Row, Step, What,
};
use crate::quantity::{Decimal, Weight};

pub const DAY: Date = date(2026, 12, 1);
const CYLINDERS: [&str; 12] = ["C-1", "C-2", "C-3", "C-4", "C-5", "C-6", "C-7", "C-8", "C-9", "C-10", "C-11", "C-12"];
const JOBS: [&str; 3] = ["Roof", "Annex", "Kiosk"];

/// Tenths of a pound.
pub fn tenths(tenths: i64) -> Weight {
    Weight::pounds(Decimal::new(tenths, 1))
}

/// A cylinder of 27.9 lb with so many tenths of a pound of this in it.
pub fn state(holds: &str, net: i64) -> CylinderState {
    CylinderState {
        gross: tenths(279 + net),
        holds: holds.into(),
        may_contain: if holds == "mixed" { vec!["R-22".into(), "R-32".into()] } else { Vec::new() },
        condition: Condition::Clean,
        owner: None,
        kept_for: None,
        cleaned: false,
    }
}

fn of<'t, T>(rng: &mut Rng, all: &'t [T]) -> &'t T {
    &all[rng.usize(..all.len())]
}

/// Everybody and everything that they wrote. A writer knows entries by their positions.
pub struct Writers {
    pub rng: Rng,
    pub entries: Vec<Entry>,
    pub damage: Vec<Damage>,
    /// What the yard file says.
    pub rows: Vec<(Id, CylinderState)>,
    all: Vec<Id>,
    known: Vec<Vec<usize>>,
    /// Nobody writes what a program would refuse, and nothing gets lost.
    tidy: bool,
}

impl Writers {
    pub fn new(seed: u64, writers: usize, cylinders: usize, tidy: bool) -> Self {
        let mut rng = Rng::with_seed(seed);
        let row = |id: &&str| (Id::from(*id), random_state(&mut rng));
        let rows: Vec<(Id, CylinderState)> = CYLINDERS[..cylinders].iter().map(row).collect();
        let all = rows.iter().map(|(id, _)| id.clone()).collect();
        Self { rng, entries: Vec::new(), damage: Vec::new(), rows, all, known: vec![Vec::new(); writers], tidy }
    }

    /// Two of them meet: each knows then what both knew.
    pub fn meet(&mut self) {
        let (one, other) = (self.rng.usize(..self.known.len()), self.rng.usize(..self.known.len()));
        let mut both = [self.known[one].as_slice(), self.known[other].as_slice()].concat();
        both.sort_unstable();
        both.dedup();
        (self.known[one], self.known[other]) = (both.clone(), both);
    }

    /// All of them meet.
    pub fn meet_all(&mut self) {
        let all: Vec<usize> = (0..self.entries.len()).collect();
        self.known.iter_mut().for_each(|known| known.clone_from(&all));
    }

    /// What this writer wrote.
    pub fn of(&self, writer: usize) -> Vec<&Entry> {
        let tag = format!("w{writer}");
        self.entries.iter().filter(|entry| *entry.id.tag == *tag).collect()
    }

    /// The entries of a cylinder that a writer knows of.
    fn about(&self, writer: usize, cylinder: &Id) -> Vec<&Entry> {
        let known = self.known[writer].iter().map(|at| &self.entries[*at]);
        known.filter(|entry| entry.on.iter().any(|(id, _)| id == cylinder)).collect()
    }

    /// Those of them that none of them continues from.
    fn heads(&self, writer: usize, cylinder: &Id) -> Vec<EntryId> {
        let about = self.about(writer, cylinder);
        let continued = |id: &EntryId| {
            about.iter().any(|entry| entry.on.iter().any(|(known, from)| known == cylinder && from.contains(id)))
        };
        about.iter().map(|entry| entry.id.clone()).filter(|id| !continued(id)).collect()
    }

    /// From what an entry of this writer continues: from all he knows, or from some of it, or from what is nowhere.
    fn from(&mut self, writer: usize, cylinder: &Id) -> Vec<EntryId> {
        let mut heads = self.heads(writer, cylinder);
        if self.tidy {
            return heads;
        }
        match self.rng.usize(..30) {
            0 if heads.len() > 1 => heads.truncate(1),
            1 | 2 if !heads.is_empty() => {
                let earlier: Vec<EntryId> = self.about(writer, cylinder).iter().map(|entry| entry.id.clone()).collect();
                heads = vec![of(&mut self.rng, &earlier).clone()];
            }
            3 => heads.push(EntryId { tag: "nowhere".into(), number: 1 }),
            4 => heads.clear(),
            _ => {}
        }
        heads
    }

    /// A writer writes something about this cylinder.
    pub fn write(&mut self, writer: usize) {
        let cylinder = of(&mut self.rng, &self.all).clone();
        let about: Vec<Entry> = self.about(writer, &cylinder).into_iter().cloned().collect();
        let Some((what, job)) = self.what(&cylinder, &about) else { return };
        let ids = match &what {
            What::Bind(bind) => {
                let mut ids = bind.cylinders.clone();
                if !ids.contains(&cylinder) {
                    ids.push(cylinder);
                }
                ids
            }
            _ => vec![cylinder],
        };
        let on: Vec<(Id, Vec<EntryId>)> = ids.iter().map(|id| (id.clone(), self.from(writer, id))).collect();
        let mut rows = Vec::new();
        for (id, from) in &on {
            let as_file = matches!(&what, What::Cylinder(Fact { what: FactKind::AsFile { .. }, .. }));
            if (from.is_empty() || as_file) && (self.tidy || self.rng.usize(..20) > 0) {
                let mut state = self.rows.iter().find(|(known, _)| known == id).unwrap().1.clone();
                if !self.tidy && self.rng.usize(..8) == 0 {
                    state = random_state(&mut self.rng);
                }
                rows.push(Row { id: id.clone(), stamped: Vec::new(), state });
            }
        }
        let tag = format!("w{writer}");
        let number = 1 + self.of(writer).len() as u64;
        let at = Moment::parse("2026-12-01T08:00:00-05:00").unwrap();
        self.known[writer].push(self.entries.len());
        self.entries.push(Entry { id: EntryId { tag: tag.as_str().into(), number }, at, by: tag, job, on, rows, what });
    }

    fn what(&mut self, cylinder: &Id, about: &[Entry]) -> Option<(What, Option<JobId>)> {
        let binds: Vec<&Entry> = about.iter().filter(|entry| matches!(entry.what, What::Bind(_))).collect();
        let readings: Vec<&Entry> = about.iter().filter(|entry| matches!(entry.what, What::Reading(_))).collect();
        let rng = &mut self.rng;
        let number = about.len() as u64 + 1;
        let cylinder = cylinder.clone();
        Some(match rng.usize(..if self.tidy { 24 } else { 40 }) {
            0..=3 => (What::Bind(bind(rng, &self.all, &cylinder, &binds)), None),
            4..=14 => {
                let bind = if binds.is_empty() { return None } else { of(rng, &binds) };
                let What::Bind(plan) = &bind.what else { return None };
                let job = of(rng, &plan.jobs);
                let job = JobId { name: job.name.clone(), first: job.first.clone() };
                (What::Reading(reading(rng, cylinder, &bind.id, number)), Some(job))
            }
            15 => (told(FactKind::Weighed { cylinder, gross: weight(rng), holds: None }), None),
            16 => {
                let holds = random_state(rng);
                (told(FactKind::Weighed { cylinder, gross: weight(rng), holds: Some(holds) }), None)
            }
            17 => (told(FactKind::Emptied { cylinder, gross: tenths(279) }), None),
            18 => (told(FactKind::Out { cylinder }), None),
            19 => (told(FactKind::Back { cylinder }), None),
            20 => (told(FactKind::ToVan { cylinder, van: "Van 9".into() }), None),
            21..=23 => {
                let bind = if binds.is_empty() { return None } else { of(rng, &binds) };
                let What::Bind(plan) = &bind.what else { return None };
                let job = of(rng, &plan.jobs);
                let job = Some(JobId { name: job.name.clone(), first: job.first.clone() });
                if rng.bool() {
                    (What::Release { of: bind.id.clone() }, job)
                } else {
                    (What::Closed(Closed::default()), job)
                }
            }
            24..=29 => {
                let last = readings.last().filter(|_| rng.usize(..4) > 0).copied();
                let undone = if readings.is_empty() { return None } else { last.unwrap_or(*of(rng, &readings)) };
                (What::Undo { of: undone.id.clone() }, undone.job.clone())
            }
            30..=32 => {
                let before = self.rows.iter().find(|(known, _)| *known == cylinder).unwrap().1.clone();
                let after = random_state(rng);
                if rng.bool() {
                    self.rows.iter_mut().filter(|(id, _)| *id == cylinder).for_each(|row| row.1 = after.clone());
                }
                (What::Settling { changes: vec![Change { cylinder, before, after }] }, None)
            }
            33 => {
                let mut settlings = about.iter().filter(|entry| matches!(entry.what, What::Settling { .. }));
                (What::Settled { of: settlings.next_back()?.id.clone() }, None)
            }
            34..=35 => (told(FactKind::AsFile { cylinder }), None),
            36 => (told(FactKind::Added { cylinder }), None),
            37 => {
                let lost = EntryId { tag: "nowhere".into(), number: 1 };
                let entry = if about.is_empty() || rng.bool() { lost } else { of(rng, about).id.clone() };
                (told(FactKind::GivenUp { entry }), None)
            }
            _ => (told(FactKind::Weighed { cylinder, gross: weight(rng), holds: Some(random_state(rng)) }), None),
        })
    }

    /// Entries get lost, lines get spoiled, rows are changed by hand.
    pub fn spoil(&mut self) {
        let rng = &mut self.rng;
        if rng.usize(..3) == 0 && self.entries.len() > 3 {
            let lost = self.entries.remove(rng.usize(..self.entries.len()));
            let cylinders = lost.on.iter().map(|(id, _)| id.clone()).collect();
            if rng.bool() {
                let entry = Some(lost.id).filter(|_| rng.usize(..5) > 0);
                self.damage.push(Damage { entry, cylinders, why: "its sum is another".into() });
            }
        }
        if rng.usize(..4) == 0 {
            let at = rng.usize(..self.rows.len());
            self.rows[at].1 = random_state(rng);
        }
        if rng.usize(..6) == 0 {
            self.rows.remove(0);
        }
    }
}

fn told(what: FactKind) -> What {
    What::Cylinder(Fact { what, why: None })
}

fn weight(rng: &mut Rng) -> Weight {
    tenths(279 + rng.i64(0..8) * 50)
}

fn random_state(rng: &mut Rng) -> CylinderState {
    let holds =
        *of(rng, &["evacuated", "evacuated", "evacuated", "R-22", "R-22", "R-134a", "nitrogen", "unknown", "mixed"]);
    let net = if holds == "evacuated" { 0 } else { rng.i64(1..5) * 10 };
    let kept = rng.usize(..6) == 0;
    CylinderState {
        condition: *of(
            rng,
            &[Condition::Clean, Condition::Clean, Condition::Clean, Condition::Wet, Condition::Burnout],
        ),
        cleaned: rng.usize(..4) == 0,
        owner: (kept || rng.usize(..6) == 0).then(|| (*of(rng, &["Pier", "Quay"])).into()),
        kept_for: kept.then(|| (*of(rng, &JOBS)).into()),
        ..state(holds, net)
    }
}

fn random_pour(rng: &mut Rng) -> Pour {
    let name = *of(rng, &["R-22", "R-22", "R-22", "R-134a"]);
    let plain = Pour {
        lot: name.into(),
        refrigerants: vec![name.into()],
        mixed: false,
        condition: Condition::Clean,
        fate: Fate::Reclaim,
        owner: None,
        kept_for: None,
    };
    match rng.usize(..12) {
        0 => Pour { condition: Condition::Burnout, ..plain },
        1 => Pour { condition: Condition::Wet, ..plain },
        2 => Pour { fate: Fate::Destroy, owner: Some("Pier".into()), ..plain },
        3 => Pour { fate: Fate::Reuse, owner: Some("Pier".into()), kept_for: Some((*of(rng, &JOBS)).into()), ..plain },
        4 => Pour { mixed: true, fate: Fate::Destroy, refrigerants: vec!["R-22".into(), "R-32".into()], ..plain },
        5 => Pour { lot: "another".into(), ..plain },
        _ => plain,
    }
}

fn bind(rng: &mut Rng, all: &[Id], cylinder: &Id, binds: &[&Entry]) -> Bind {
    let own = EntryId { tag: "first".into(), number: rng.u64(1..1_000_000) };
    let before = if binds.is_empty() || rng.bool() { None } else { Some(*of(rng, binds)) };
    let mut jobs = match before.map(|before| &before.what) {
        Some(What::Bind(before)) => before.jobs.clone(),
        _ => vec![BoundJob { name: (*of(rng, &JOBS)).into(), first: own.clone(), text: String::new() }],
    };
    if rng.usize(..6) == 0 {
        jobs.push(BoundJob { name: "Joined".into(), first: own, text: String::new() });
    }
    let mut cylinders: Vec<Id> = all.iter().filter(|_| rng.usize(..4) == 0).cloned().collect();
    if rng.usize(..5) > 0 && !cylinders.contains(cylinder) {
        cylinders.push(cylinder.clone());
    }
    let step = |id: &Id| Step {
        cylinder: id.clone(),
        lot: "R-22".into(),
        from: Vec::new(),
        now: tenths(279),
        add: tenths(100),
        stop: tenths(379),
        limit: tenths(680),
    };
    Bind {
        follows: before.iter().map(|before| before.id.clone()).collect(),
        day: *of(rng, &[DAY, DAY, date(2026, 11, 30)]),
        van: None,
        options: Vec::new(),
        steps: cylinders.iter().map(step).collect(),
        jobs,
        cylinders,
        systems: Vec::new(),
        short: Vec::new(),
        dry: Vec::new(),
        more: Vec::new(),
    }
}

fn reading(rng: &mut Rng, cylinder: Id, bind: &EntryId, number: u64) -> Reading {
    let gained = Gained { system: "RTU-1".into(), weight: tenths(rng.i64(-1..6) * 10), assumed: false };
    Reading {
        cylinder,
        bind: bind.clone(),
        gross: tenths(279 + 10 * number as i64 + rng.i64(0..5)),
        net: None,
        parts: vec![gained],
        pour: random_pour(rng),
        emptied: false,
        moved: false,
        morning: false,
        forced: Vec::new(),
        note: None,
        via: None,
    }
}
