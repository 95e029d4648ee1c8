//! What happened to a cylinder, in words; what isn't over in a folder.

use std::path::Path;
use std::sync::Arc;

use super::round::{NotOpened, Opened};
use super::store::{Draft, Store};
use crate::cylinder::Id;
use crate::ledger::{Bind, Entry, EntryId, Fact, FactKind, Jobs, Moment, What, bind_of};
use crate::quantity::{Unit, Weight};
use crate::text::Today;

/// Something that happened to a cylinder, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Happened {
    /// The entry.
    pub entry: String,
    /// When.
    pub at: String,
    /// Who wrote it.
    pub by: String,
    /// What.
    pub what: String,
}

impl Opened {
    /// What happened to a cylinder, by the time of the entries.
    pub fn history(&self, id: &Id) -> Vec<Happened> {
        let mut entries: Vec<&Entry> =
            self.ledger().entries.iter().filter(|entry| entry.continues(id).is_some()).collect();
        entries.sort_by(|one, other| one.at.order(&other.at).then_with(|| one.id.cmp(&other.id)));
        let happened = |entry: &&Entry| Happened {
            entry: entry.id.to_string(),
            at: entry.at.to_string(),
            by: entry.by.clone(),
            what: in_words(entry, id, self.loaded.unit),
        };
        entries.iter().map(happened).collect()
    }

    /// The replan by which a plan came into force, and the plan before it. A plan that was put back by taking a replan back
    /// stands where it stood the first time: what is taken back next is what came before that.
    pub fn replan_of<'a>(&'a self, id: &'a EntryId, bind: &'a Bind) -> Option<(&'a EntryId, &'a Bind)> {
        let latest = |one: &&Entry, other: &&Entry| one.at.order(&other.at).then_with(|| one.id.cmp(&other.id));
        let before = |bind: &Bind| {
            let followed = bind.follows.iter().filter_map(|id| self.ledger().entry(id));
            followed.max_by(latest).and_then(|entry| Some((&entry.id, bind_of(entry)?)))
        };
        let (mut id, mut bind) = (id, bind);
        loop {
            let (_, last) = before(bind)?;
            match before(last) {
                Some((first, again)) if again.steps == bind.steps && again.systems == bind.systems => {
                    (id, bind) = (first, again);
                }
                _ => return Some((id, last)),
            }
        }
    }

    /// The cylinders that were taken out in the same breath as this plan was bound.
    pub fn taken_out_with(&self, bind: &EntryId) -> Vec<Id> {
        let before = (1..bind.number).rev().map(|number| EntryId { tag: Arc::clone(&bind.tag), number });
        let facts = before.map_while(|id| match &self.ledger().entry(&id)?.what {
            What::Cylinder(fact) => Some(&fact.what),
            _ => None,
        });
        let out = |fact: &FactKind| match fact {
            FactKind::Out { cylinder } => Some(cylinder.clone()),
            _ => None,
        };
        let still = |id: &Id| self.yard.now.get(id).is_some_and(|now| now.out.is_some());
        facts.filter_map(out).filter(still).collect()
    }

    /// Whether an entry can't be read, or isn't there though others continue from it.
    pub fn is_faulty(&self, id: &EntryId) -> bool {
        let now = &self.yard.now;
        now.damage.iter().any(|damage| damage.entry.as_ref() == Some(id))
            || now.cylinders.iter().any(|one| one.suspects.contains(id))
    }

    /// The entry that gives a faulty one up, for every cylinder that it may have spoken of.
    pub fn give_up(&self, id: &EntryId, why: &str, at: Moment) -> Draft {
        let now = &self.yard.now;
        let named = |one: &Id| {
            now.damage.iter().any(|damage| damage.entry.as_ref() == Some(id) && damage.cylinders.contains(one))
        };
        let on = now.cylinders.iter().filter(|one| one.suspects.contains(id) || named(&one.id)).map(|one| {
            let mut from = one.heads.clone();
            if !from.contains(id) {
                from.push(id.clone());
            }
            (one.id.clone(), from)
        });
        let what = What::Cylinder(Fact { what: FactKind::GivenUp { entry: id.clone() }, why: Some(why.to_owned()) });
        Draft { at, job: None, on: on.collect(), rows: Vec::new(), what }
    }

    /// Takes in what another copy of this ledger has; says what came.
    ///
    /// # Errors
    /// Files that can't be read or written.
    pub fn join(&mut self, folder: &Path, today: &Today) -> Result<Vec<String>, NotOpened> {
        let Some(store) = &mut self.store else { return Err(super::store::StoreError::NoPlace.into()) };
        let rows = self.rows.clone();
        let said = store.join(folder, &rows)?;
        self.look(today)?;
        Ok(said)
    }
}

fn in_words(entry: &Entry, id: &Id, unit: Unit) -> String {
    let text = |weight: Weight| unit.text(weight);
    let job = entry.job.as_ref().map(|job| format!(", {}", job.name)).unwrap_or_default();
    match &entry.what {
        What::Bind(bind) => {
            let names: Vec<&str> = bind.jobs.iter().map(|job| job.name.as_str()).collect();
            let found = |systems: &[String], what: &str| {
                systems.iter().map(|one| format!("; {one} {what}")).collect::<String>()
            };
            let found = found(&bind.dry, "was empty") + &found(&bind.more, "had more");
            match bind.steps.iter().find(|step| step.cylinder == *id) {
                Some(step) => format!("planned for {}: {} to {}{found}", names.join(", "), step.lot, text(step.stop)),
                None if bind.cylinders.contains(id) => format!("stays with {}", names.join(", ")),
                None => format!("given back by {}", names.join(", ")),
            }
        }
        What::Release { .. } => format!("given back{job}"),
        What::Reading(reading) => {
            let systems: Vec<&str> = reading.parts.iter().map(|part| part.system.as_str()).collect();
            let forced = if reading.forced.is_empty() {
                String::new()
            } else {
                format!(", forced: {}", reading.forced.join(", "))
            };
            format!("read {}{job}: {}{forced}", text(reading.gross), systems.join(", "))
        }
        What::Undo { of } => format!("reading {of} taken back{job}"),
        What::Cylinder(fact) => {
            let why = fact.why.as_ref().map(|why| format!(": {why}")).unwrap_or_default();
            let what = match &fact.what {
                FactKind::Weighed { gross, holds: None, .. } => format!("weighed {}", text(*gross)),
                FactKind::Weighed { gross, holds: Some(state), .. } => {
                    format!("weighed {}, holds {}", text(*gross), state.holds)
                }
                FactKind::Emptied { gross, .. } => format!("emptied, {}", text(*gross)),
                FactKind::Out { .. } => "out".into(),
                FactKind::Back { .. } => "back".into(),
                FactKind::AsFile { .. } => "as the yard file says".into(),
                FactKind::Added { .. } => "came from another list".into(),
                FactKind::ToVan { van, .. } => format!("to {van}"),
                FactKind::GivenUp { entry } => format!("entry {entry} given up"),
            };
            format!("{what}{why}")
        }
        What::Settling { .. } => "about to be written into the yard file".into(),
        What::Settled { .. } => "written into the yard file".into(),
        What::Closed(_) => format!("closed out{job}"),
    }
}

/// The jobs of all ledgers in a folder that are begun and not over, by name.
pub fn under_way(folder: &Path, today: &Today) -> Vec<String> {
    let mut names = Vec::new();
    for ledger in crate::disk::folders_ending(folder, ".ledger") {
        let Ok(read) = Store::read(&ledger, &[]) else { continue };
        let jobs = Jobs::of(&read.ledger);
        for job in jobs.all.iter().filter(|job| job.begun && job.is_open(**today)) {
            if !names.contains(&job.id.name) {
                names.push(job.id.name.clone());
            }
        }
    }
    names
}
