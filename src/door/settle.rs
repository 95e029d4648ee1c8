//! Settling: what the ledger knows of the cylinders goes into the yard file.
//!
//! First an entry keeps each changed row before and after; then the file is replaced whole; then an entry says that it
//! was. Wherever that ends, the file is as it was or as it was to be, and the ledger knows both.

use std::path::Path;

use super::round::{NotOpened, Opened};
use super::store::{Draft, StoreError};
use crate::cylinder::{Cylinder, Id};
use crate::disk;
use crate::ledger::{Change, CylinderNow, CylinderState, EntryId, FactKind, Moment, What};
use crate::quantity::Unit;
use crate::text::{self, NewValues, Today, state_of, weight_text};

/// What a settling did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Settled {
    /// The cylinders whose rows were written.
    pub written: Vec<Id>,
    /// Those that were left as they are, with why.
    pub left: Vec<(Id, String)>,
}

/// A settling that can be done: everything that could go wrong before the first byte is written has been looked at.
#[derive(Debug)]
pub struct Settling {
    changes: Vec<Change>,
    text: String,
    /// What was left as it is.
    left: Vec<(Id, String)>,
}

impl Settling {
    /// The yard file as it would be; `None` where nothing changes.
    pub fn text(&self) -> Option<&str> {
        (!self.text.is_empty()).then_some(self.text.as_str())
    }
}

impl Opened {
    /// Works out what a settling would write. A row that stands as before the last one may have been put back on purpose, by
    /// somebody who has emptied the cylinder: only where it is asked for the ledger's word goes over it.
    ///
    /// # Errors
    /// A yard file that can't be written, or in whose text the values can't be put without a doubt.
    pub fn settling(&self, over_put_back: bool) -> Result<Settling, NotOpened> {
        let Some(file) = &self.loaded.stands else { return Err(StoreError::NoPlace.into()) };
        let (mut changes, mut values, mut left) = (Vec::new(), Vec::new(), Vec::new());
        for row in &self.rows {
            let Some(now) = self.yard.now.get(&row.id) else { continue };
            if let Some(why) = why_not(now, over_put_back) {
                left.push((row.id.clone(), why));
                continue;
            }
            let (before, after) = (state_of(row), now.inside.state.clone());
            let damage = self.damage(row, now);
            if before == after && damage.is_none() {
                continue;
            }
            values.push(new_values(row, &after, now, damage, self.loaded.unit));
            if before != after {
                changes.push(Change { cylinder: row.id.clone(), before, after });
            }
        }
        let text =
            if values.is_empty() { String::new() } else { text::yard_after(file, &disk::bytes(file)?, &values)? };
        if !values.is_empty() {
            disk::may_replace(file).map_err(|error| StoreError::Yard { file: file.clone(), error })?;
        }
        Ok(Settling { changes, text, left })
    }

    /// Writes it.
    ///
    /// # Errors
    /// What the disk says. Nothing is half written.
    pub fn settle(&mut self, settling: Settling, today: &Today, at: Moment) -> Result<Settled, NotOpened> {
        let Some(file) = self.loaded.stands.clone() else { return Err(StoreError::NoPlace.into()) };
        let Settling { changes, text, left } = settling;
        let written: Vec<Id> = changes.iter().map(|change| change.cylinder.clone()).collect();
        if text.is_empty() {
            return Ok(Settled { written, left });
        }
        let on = |opened: &Self| written.iter().map(|id| (id.clone(), opened.heads(id))).collect::<Vec<_>>();
        let Some(store) = &mut self.store else { return Err(StoreError::NoPlace.into()) };
        let of: EntryId = store.next_id();
        let entry = What::Settling { changes };
        let draft = Draft { at, job: None, on: on(self), rows: Vec::new(), what: entry };
        self.append(vec![draft], today)?;
        self.replace(&file, &text)?;
        let draft = Draft { at, job: None, on: on(self), rows: Vec::new(), what: What::Settled { of } };
        self.append(vec![draft], today)?;
        Ok(Settled { written, left })
    }

    fn append(&mut self, drafts: Vec<Draft>, today: &Today) -> Result<(), NotOpened> {
        let Some(store) = &mut self.store else { return Err(StoreError::NoPlace.into()) };
        store.add(drafts)?;
        self.look(today)
    }

    fn replace(&mut self, file: &Path, text: &str) -> Result<(), NotOpened> {
        let failed = |error| StoreError::Yard { file: file.to_owned(), error };
        // Somebody may have saved the file while we looked: what we didn't read is never written over.
        let written = match self.loaded.inputs.iter().find(|input| input.file == file) {
            Some(read) => disk::write_over(read, text).map_err(failed)?,
            None => disk::write_whole(file, text).map(|()| true).map_err(failed)?,
        };
        if written { Ok(()) } else { Err(StoreError::Saved { file: file.to_owned() }.into()) }
    }

    /// What `damage` is to say: why it is out, or nothing where it was out for what stands there. `None`: as it is.
    fn damage(&self, row: &Cylinder, now: &CylinderNow) -> Option<Option<String>> {
        let stands = row.damage.as_deref().unwrap_or_default();
        match &now.out {
            Some(why) => {
                let why = if why.is_empty() { "out".to_owned() } else { why.clone() };
                (why != stands).then_some(Some(why))
            }
            None if stands.is_empty() => None,
            None => {
                let ours = self.ledger().entries.iter().any(|entry| match &entry.what {
                    What::Cylinder(fact) => {
                        let out = matches!(&fact.what, FactKind::Out { cylinder } if *cylinder == row.id);
                        out && fact.why.as_deref().unwrap_or("out") == stands
                    }
                    _ => false,
                });
                ours.then_some(None)
            }
        }
    }
}

/// Why a row stays as it is.
fn why_not(now: &CylinderNow, over_put_back: bool) -> Option<String> {
    if now.doubt.is_some() {
        return Some("it is in doubt; weigh it first".into());
    }
    if now.put_back && !over_put_back {
        return Some(
            "it stands as it did before the last settling; where it is right, `cylinder YARD ID --as-file` takes it; where the \
             ledger is, `yard YARD --settle` writes that"
                .into(),
        );
    }
    now.changed
        .as_ref()
        .map(|_| "its row was changed by hand; `cylinder YARD ID --as-file` takes what the row says".into())
}

/// A gross weight as the scale showed it that it was read from, exactly.
fn gross_text(state: &CylinderState, unit: Unit) -> String {
    let exact = |unit: &Unit| {
        let division = unit.default_division();
        let marks = division.ceil(state.gross);
        (division.weight(marks) == state.gross).then(|| division.text(marks))
    };
    [unit].iter().chain(&Unit::ALL).find_map(exact).unwrap_or_else(|| weight_text(state.gross, Some(unit)))
}

fn new_values(
    row: &Cylinder,
    after: &CylinderState,
    now: &CylinderNow,
    damage: Option<Option<String>>,
    unit: Unit,
) -> NewValues {
    let values = if state_of(row) == *after { Vec::new() } else { state_values(row, after, now, unit) };
    let damage = damage.map(|why| ("damage", why.into_iter().collect()));
    NewValues { cylinder: row.id.clone(), values: values.into_iter().chain(damage).collect() }
}

fn state_values(
    row: &Cylinder,
    after: &CylinderState,
    now: &CylinderNow,
    unit: Unit,
) -> Vec<(&'static str, Vec<String>)> {
    let some = |value: &Option<String>| value.iter().cloned().collect::<Vec<_>>();
    let condition =
        if after.condition.name() == "clean" { Vec::new() } else { vec![after.condition.name().to_owned()] };
    let mut values = vec![
        ("gross", vec![gross_text(after, unit)]),
        ("holds", vec![after.holds.clone()]),
        ("may_contain", after.may_contain.clone()),
        ("condition", condition),
        ("owner", some(&after.owner)),
        ("kept_for", some(&after.kept_for)),
        ("cleaned", if after.cleaned { vec!["true".to_owned()] } else { Vec::new() }),
    ];
    if now.inside.by.is_some() && now.inside.state.gross != row.gross {
        // What was measured before says nothing of what is in it now.
        values.extend(["pressure", "temperature"].map(|key| (key, Vec::new())));
    }
    values
}
