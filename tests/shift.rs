//! A day at the scale, played in this process on the library: a plan in force, readings that go on from it, replans.
//!
//! What is asked of the library is asked as the commands ask it; the list of readings is kept here.

use std::sync::Arc;

use chargesplit::audit;
use chargesplit::cylinder::{Cylinder, Facts, Id};
use chargesplit::job::Work;
use chargesplit::ledger::{Entry, EntryId, Inside, JobId, Moment, Track, Weighing, What};
use chargesplit::planner::{self, Options};
use chargesplit::quantity::Marks;
use chargesplit::recovery::{self, Asked, Changes, Day, InForce, Known, Planned, Refusal, Replanned, Shown};
use chargesplit::text::state_of;

/// A job under way.
#[derive(Clone)]
pub struct Shift {
    pub work: Work,
    pub planned: Planned,
    /// The readings, in their order.
    pub entries: Vec<Entry>,
    minute: i64,
}

impl Shift {
    /// The plan of a work, in force; `None` where not everything fits.
    pub fn of(work: Work) -> Option<Self> {
        let plan = planner::plan(&work, &Options::default(), &mut |_| true).unwrap();
        let audited = audit::check(&work, plan).unwrap();
        let planned = recovery::first_plan(&work, &audited);
        planned.short.is_empty().then_some(Self { work, planned, entries: Vec::new(), minute: 0 })
    }

    /// Asks something of the day as it is by now.
    pub fn ask<T>(&self, of: impl FnOnce(&Day) -> T) -> T {
        let bind = EntryId { tag: "test".into(), number: 1 };
        let in_force = InForce {
            bind: bind.clone(),
            by: "office".into(),
            at: self.at(),
            jobs: vec![job_id()],
            beside: Vec::new(),
            planned: self.planned.clone(),
        };
        let tracks = self.work.yard().iter().filter_map(|cylinder| self.track(cylinder)).collect();
        let known = Known { plan: Some(in_force), tracks, stamped: Vec::new(), lost: Vec::new() };
        of(&Day::of(&self.work, &known))
    }

    fn track<'a>(&'a self, cylinder: &'a Cylinder) -> Option<Track<'a>> {
        let weighing = |entry: &'a Entry| match &entry.what {
            What::Reading(reading) if reading.cylinder == cylinder.id => Some(Weighing::Ours(entry, reading)),
            _ => None,
        };
        let weighings: Vec<Weighing> = self.entries.iter().filter_map(weighing).collect();
        let state = state_of(cylinder);
        let start = Inside { least: state.gross, state, pours: Arc::default(), mixed: false, last: None, by: None };
        (!weighings.is_empty()).then_some(Track { cylinder: &cylinder.id, start, weighings, last: None })
    }

    fn at(&self) -> Moment {
        let (hour, minute) = (8 + self.minute / 60, self.minute % 60);
        Moment::parse(&format!("2026-12-01T{hour:02}:{minute:02}:00+00:00")).unwrap()
    }

    /// Reads the scale; a reading that is refused is kept nowhere.
    pub fn weigh(&mut self, cylinder: &Id, gross: Marks, system: Option<&str>) -> Result<(), Refusal> {
        self.minute = (self.minute + 1) % 900;
        let asked = Asked {
            job: 0,
            cylinder: cylinder.clone(),
            shown: Shown::Gross(self.work.division().weight(gross)),
            system: system.map(str::to_owned),
            emptied: false,
            moved: false,
            force: false,
            note: None,
            at: self.at(),
            at_was_said: false,
        };
        let bind = EntryId { tag: "test".into(), number: 1 };
        let judged = self.ask(|day| recovery::weigh(day, &asked).map(|judged| judged.entry(day, &bind, None)))?;
        let id = EntryId { tag: "test".into(), number: self.entries.len() as u64 + 2 };
        self.entries.push(Entry {
            id,
            at: self.at(),
            by: "office".into(),
            job: Some(job_id()),
            on: vec![(cylinder.clone(), Vec::new())],
            rows: Vec::new(),
            what: What::Reading(judged),
        });
        Ok(())
    }

    /// Plans what is left, and follows that from here on.
    pub fn replan(&mut self, changes: &Changes) -> Replanned {
        let replanned = self.ask(|day| recovery::replan(day, changes, &mut |_| true).unwrap());
        let out = |cylinder: &Cylinder| {
            let mut facts = Facts::clone(cylinder);
            if changes.without.contains(&cylinder.id) {
                facts.ledger.out = Some("it leaks".into());
            }
            Cylinder::new(facts).unwrap()
        };
        let yard = self.work.yard().iter().map(out).collect();
        self.work = self.work.clone().with_yard(yard);
        self.planned = replanned.planned.clone();
        replanned
    }

    /// What a cylinder weighs by now.
    pub fn now(&self, cylinder: &Id) -> Marks {
        self.ask(|day| day.fillings[day.position(cylinder).unwrap()].now)
    }

    /// What is left of every lot.
    pub fn left(&self) -> Vec<Marks> {
        self.ask(|day| (0..day.work.lots().len()).map(|lot| day.left_of_lot(lot)).collect())
    }
}

fn job_id() -> JobId {
    JobId { name: "Random".into(), first: EntryId { tag: "test".into(), number: 1 } }
}
