//! Chains made by hand, and what they come to. Cylinders weigh 27.9 lb empty.

mod apart;
mod binding;
mod damage;
mod inside;
mod settling;
mod undo;

use std::collections::HashMap;

use jiff::civil::{Date, date};

use super::*;
use crate::cylinder::{Condition, Fate, Id};
use crate::quantity::{Decimal, Weight};

/// The day that plans are bound for.
const DAY: Date = date(2026, 12, 1);
const NEXT_DAY: Date = date(2026, 12, 2);

/// Tenths of a pound.
fn tenths(tenths: i64) -> Weight {
    Weight::pounds(Decimal::new(tenths, 1))
}

/// A state with this much in it, beside the 27.9 lb of the cylinder.
fn state(holds: &str, net: i64) -> CylinderState {
    CylinderState {
        gross: tenths(279 + net),
        holds: holds.into(),
        may_contain: Vec::new(),
        condition: Condition::Clean,
        owner: None,
        kept_for: None,
        cleaned: false,
    }
}

fn row(cylinder: &str, state: CylinderState) -> Row {
    Row { id: cylinder.into(), stamped: vec![("tare".into(), "27.9 lb".into())], state }
}

/// A clean lot of one refrigerant for reclaim.
fn pour(refrigerant: &str) -> Pour {
    Pour {
        lot: refrigerant.into(),
        refrigerants: vec![refrigerant.into()],
        mixed: false,
        condition: Condition::Clean,
        fate: Fate::Reclaim,
        owner: None,
        kept_for: None,
    }
}

/// Writes entries by hand. What begins a chain gives the row that `rows` has.
struct Hand {
    entries: Vec<Entry>,
    damage: Vec<Damage>,
    rows: Vec<(Id, CylinderState)>,
    jobs: HashMap<EntryId, JobId>,
    numbers: HashMap<String, u64>,
    today: Date,
}

impl Hand {
    /// C-1, C-2 and C-3, evacuated.
    fn new() -> Self {
        let rows = ["C-1", "C-2", "C-3"].map(|id| (Id::from(id), state("evacuated", 0)));
        Self {
            entries: Vec::new(),
            damage: Vec::new(),
            rows: rows.into(),
            jobs: HashMap::new(),
            numbers: HashMap::new(),
            today: DAY,
        }
    }

    /// The same with one of them as the yard file says.
    fn with(id: &str, state: CylinderState) -> Self {
        let mut hand = Self::new();
        hand.say(id, state);
        hand
    }

    /// What the yard file says of a cylinder from now on.
    fn say(&mut self, id: &str, state: CylinderState) {
        self.rows.iter_mut().filter(|(known, _)| *known == id).for_each(|row| row.1 = state.clone());
    }

    fn file(&self, id: &Id) -> CylinderState {
        self.rows.iter().find(|(known, _)| known == id).unwrap().1.clone()
    }

    /// The name of this writer's next entry.
    fn next(&self, by: &str) -> EntryId {
        EntryId { tag: by.into(), number: 1 + self.numbers.get(by).copied().unwrap_or(0) }
    }

    /// The next entry of this writer, about these cylinders, each from the same entries.
    fn entry(&mut self, by: &str, job: Option<JobId>, cylinders: &[&str], from: &[&EntryId], what: What) -> EntryId {
        let id = self.next(by);
        self.numbers.insert(by.into(), id.number);
        let from: Vec<EntryId> = from.iter().copied().cloned().collect();
        let ids: Vec<Id> = cylinders.iter().map(|id| Id::from(*id)).collect();
        let rows = match &what {
            What::Cylinder(Fact { what: FactKind::AsFile { cylinder }, .. }) => vec![cylinder.clone()],
            _ if from.is_empty() => ids.clone(),
            _ => Vec::new(),
        };
        let rows = rows.iter().map(|id| row(id.as_str(), self.file(id))).collect();
        let on = ids.into_iter().map(|id| (id, from.clone())).collect();
        let at = Moment::parse("2026-12-01T08:00:00-05:00").unwrap();
        self.entries.push(Entry { id: id.clone(), at, by: by.into(), job, on, rows, what });
        id
    }

    /// A plan of this job that fills these cylinders.
    fn bind(&mut self, by: &str, job: &str, cylinders: &[&str], from: &[&EntryId]) -> EntryId {
        self.replan(by, job, &[], cylinders, cylinders, from)
    }

    /// A plan in the place of others, which speaks of these cylinders and fills those.
    fn replan(
        &mut self,
        by: &str,
        job: &str,
        follows: &[&EntryId],
        on: &[&str],
        fills: &[&str],
        from: &[&EntryId],
    ) -> EntryId {
        let own = self.next(by);
        let first = follows.first().map_or_else(|| own.clone(), |bind| self.jobs[*bind].first.clone());
        let job = JobId { name: job.into(), first };
        let step = |id: &&str| Step {
            cylinder: (*id).into(),
            lot: "R-22".into(),
            from: Vec::new(),
            now: tenths(279),
            add: tenths(100),
            stop: tenths(379),
            limit: tenths(680),
        };
        let bind = Bind {
            jobs: vec![BoundJob { name: job.name.clone(), first: job.first.clone(), text: String::new() }],
            follows: follows.iter().copied().cloned().collect(),
            day: DAY,
            van: Some(format!("van of {}", job.name)),
            options: Vec::new(),
            cylinders: fills.iter().map(|id| Id::from(*id)).collect(),
            systems: Vec::new(),
            steps: fills.iter().map(step).collect(),
            short: Vec::new(),
            dry: Vec::new(),
            more: Vec::new(),
        };
        let id = self.entry(by, None, on, from, What::Bind(bind));
        self.jobs.insert(id.clone(), job);
        id
    }

    /// A reading of C-1 for this plan: what is in it then, and what of it has come in, in tenths of a pound.
    fn read(&mut self, by: &str, bind: &EntryId, net: i64, gained: i64, pour: &Pour, from: &[&EntryId]) -> EntryId {
        let gained = Gained { system: "RTU-1".into(), weight: tenths(gained), assumed: false };
        let reading = Reading {
            cylinder: "C-1".into(),
            bind: bind.clone(),
            gross: tenths(279 + net),
            net: None,
            parts: vec![gained],
            pour: pour.clone(),
            emptied: false,
            moved: false,
            morning: false,
            forced: Vec::new(),
            note: None,
            via: None,
        };
        let job = self.jobs.get(bind).cloned();
        self.entry(by, job, &["C-1"], from, What::Reading(reading))
    }

    fn undo(&mut self, by: &str, of: &EntryId, from: &[&EntryId]) -> EntryId {
        self.entry(by, None, &["C-1"], from, What::Undo { of: of.clone() })
    }

    fn release(&mut self, by: &str, of: &EntryId, from: &[&EntryId]) -> EntryId {
        self.entry(by, None, &["C-1"], from, What::Release { of: of.clone() })
    }

    /// The end of a plan's job.
    fn close(&mut self, by: &str, bind: &EntryId, from: &[&EntryId]) -> EntryId {
        let job = self.jobs.get(bind).cloned();
        self.entry(by, job, &["C-1"], from, What::Closed(Closed::default()))
    }

    /// A fact about C-1.
    fn fact(&mut self, by: &str, what: FactKind, from: &[&EntryId]) -> EntryId {
        let why = Some(format!("{by} says so"));
        self.entry(by, None, &["C-1"], from, What::Cylinder(Fact { what, why }))
    }

    /// Somebody weighs C-1, and says what is in it.
    fn weigh(&mut self, by: &str, net: i64, holds: Option<&str>, from: &[&EntryId]) -> EntryId {
        let holds = holds.map(|holds| state(holds, net));
        self.fact(by, FactKind::Weighed { cylinder: "C-1".into(), gross: tenths(279 + net), holds }, from)
    }

    /// An entry is lost.
    fn lose(&mut self, id: &EntryId) {
        self.entries.retain(|entry| entry.id != *id);
    }

    fn ledger(&self) -> Ledger {
        Ledger::new(self.entries.clone(), self.damage.clone())
    }

    /// A cylinder now; the same in whatever order the entries arrive.
    fn at(&self, id: &str) -> CylinderNow {
        let now = |entries: Vec<Entry>| {
            let yard = Ledger::new(entries, self.damage.clone()).now(&self.rows, self.today);
            yard.get(&id.into()).unwrap().clone()
        };
        let first = now(self.entries.clone());
        let turned = now(self.entries.iter().rev().cloned().collect());
        assert_eq!(format!("{first:?}"), format!("{turned:?}"), "the order of arrival says something");
        first
    }

    fn c1(&self) -> CylinderNow {
        self.at("C-1")
    }
}

/// What is in a cylinder, without its weight of 27.9 lb: tenths of a pound, its word, what may be in a mixture, danger.
fn held(now: &CylinderNow) -> (Weight, String, Vec<String>, bool) {
    let state = &now.inside.state;
    (state.gross - tenths(279), state.holds.clone(), state.may_contain.clone(), now.inside.mixed)
}

fn one(net: i64, holds: &str) -> (Weight, String, Vec<String>, bool) {
    (tenths(net), holds.into(), Vec::new(), false)
}

fn two(net: i64, parts: [&str; 2], danger: bool) -> (Weight, String, Vec<String>, bool) {
    (tenths(net), "mixed".into(), parts.map(String::from).into(), danger)
}

fn ids<const N: usize>(ids: [&EntryId; N]) -> Vec<EntryId> {
    ids.map(EntryId::clone).into()
}

/// Whose it is, and whether it is begun.
fn bound(now: &CylinderNow) -> Option<(&EntryId, bool)> {
    now.bound.as_ref().map(|bound| (&bound.bind, bound.begun))
}
