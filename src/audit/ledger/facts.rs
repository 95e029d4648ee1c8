//! The cylinders of a work, held to the raw entries of the ledger that they were read by.

use std::collections::BTreeSet;

use jiff::civil::Date;
use rustc_hash::FxHashMap;

use super::contents::Filled;
use super::fold::{Now, Story};
use crate::audit::fault::{Fault, FaultKind};
use crate::cylinder::{ByLedger, Contents, Cylinder, Id};
use crate::ledger::{CylinderState, Damage, Entry, JobId};
use crate::quantity::{Decimal, Unit, Weight};
use crate::refrigerant::Refrigerant;

/// The ledger that the cylinders of a work were read by, raw.
#[derive(Debug, Clone, Copy)]
pub struct Raw<'a> {
    /// The rows of the yard file as they stand there.
    pub rows: &'a [(Id, CylinderState)],
    /// All entries, each once.
    pub entries: &'a [Entry],
    /// What can't be read.
    pub damage: &'a [Damage],
    /// The jobs that the work is for, as far as they are bound already.
    pub ours: &'a [JobId],
    /// Today: plans of which nothing is begun lapse by it.
    pub today: Date,
}

/// Where what cylinders say of themselves isn't what the raw entries come to: weight, contents, whose they are, and what
/// keeps them out of plans. Every difference is found, in the order of the cylinders; weights are said in `unit`.
pub fn ledger_faults(cylinders: &[Cylinder], unit: Unit, raw: Raw) -> Vec<Fault> {
    let story = Story::new(raw.entries, raw.damage, raw.today);
    let mut spoken: FxHashMap<&Id, Vec<&Entry>> = cylinders.iter().map(|cylinder| (&cylinder.id, Vec::new())).collect();
    for entry in raw.entries {
        for (id, _) in &entry.on {
            if let Some(of_it) = spoken.get_mut(id).filter(|of_it| of_it.last().is_none_or(|last| last.id != entry.id))
            {
                of_it.push(entry);
            }
        }
    }
    let of_cylinder = |cylinder: &Cylinder| {
        let file = raw.rows.iter().find(|(id, _)| *id == cylinder.id).map(|(_, state)| state);
        let entries = spoken.get(&cylinder.id).map_or(&[][..], Vec::as_slice);
        let now = story.of(&cylinder.id, entries, file);
        let found = [weight(cylinder, &now, unit), contents(cylinder, &now), whose(cylinder, &now, raw.ours)];
        let found = found.into_iter().flatten().chain(held_out(cylinder, &now));
        found.map(|fault| fault.of_cylinder(&cylinder.id)).collect::<Vec<_>>()
    };
    cylinders.iter().flat_map(of_cylinder).collect()
}

/// Whether a cylinder can weigh this; the yard has no other. Where not, doubt has to hold it out.
fn is_possible(gross: Weight) -> bool {
    gross > Weight::ZERO && gross <= Weight::pounds(Decimal::from(20_000))
}

/// It weighs what was last read.
fn weight(cylinder: &Cylinder, now: &Now, unit: Unit) -> Option<Fault> {
    let gross = now.filled.as_ref()?.gross;
    let fits = cylinder.gross == gross || (!is_possible(gross) && cylinder.ledger.doubt.is_some());
    (!fits).then(|| Fault::new(FaultKind::LedgerWeight, unit.text(gross), unit.text(cylinder.gross)))
}

/// It holds everything that came in since it was last empty, in the condition and for whom that is.
fn contents(cylinder: &Cylinder, now: &Now) -> Option<Fault> {
    let filled = now.filled.as_ref()?;
    let impossible = !is_possible(filled.gross) && cylinder.ledger.doubt.is_some();
    let whose = (cylinder.owner.as_deref(), cylinder.kept_for.as_deref());
    let same = is_of(&cylinder.contents, filled)
        && (cylinder.condition, cylinder.cleaned) == (filled.condition, filled.cleaned)
        && whose == (filled.owner, filled.kept_for);
    (!same && !impossible).then(|| {
        let expected = (in_words(filled), filled.condition, filled.owner, filled.kept_for);
        let got = (cylinder.contents.name(), cylinder.condition, whose.0, whose.1);
        Fault::new(FaultKind::LedgerContents, format!("{expected:?}"), format!("{got:?}"))
    })
}

fn in_words(filled: &Filled) -> String {
    let names: Vec<&str> = filled.names.iter().copied().collect();
    match () {
        () if filled.unknown => "unknown".into(),
        () if filled.is_mixed() => format!("mixed {}", names.join(", ")),
        () if !names.is_empty() => names.join(", "),
        () if filled.nitrogen => "nitrogen".into(),
        () => "evacuated".into(),
    }
}

fn is_of(contents: &Contents, filled: &Filled) -> bool {
    match contents {
        Contents::Unknown => filled.unknown,
        Contents::Evacuated => filled.is_empty(),
        Contents::Nitrogen => filled.nitrogen && filled.names.is_empty() && !filled.unknown && !filled.mixture,
        Contents::Holds(held) => !filled.unknown && !filled.is_mixed() && filled.names.contains(held.name()),
        Contents::Mixed(parts) => {
            let parts: BTreeSet<&str> = parts.iter().map(Refrigerant::name).collect();
            !filled.unknown && filled.is_mixed() && parts == filled.names
        }
    }
}

/// Another job's plan has it or hasn't.
fn whose(cylinder: &Cylinder, now: &Now, ours: &[JobId]) -> Option<Fault> {
    let elsewhere = now.holder.as_ref().filter(|(_, jobs, _)| !jobs.iter().any(|job| ours.contains(job)));
    (elsewhere.is_some() != cylinder.ledger.bound.is_some()).then(|| {
        let expected = elsewhere.map_or_else(|| "no other job's".to_owned(), |(bind, ..)| format!("bound by {bind}"));
        let got = cylinder
            .ledger
            .bound
            .as_ref()
            .map_or_else(|| "no other job's".to_owned(), |who| format!("bound for {who}"));
        Fault::new(FaultKind::LedgerBound, expected, got)
    })
}

/// Doubt, out, a changed row, danger, and whether we put something in: each is said where it is so, and nowhere else.
fn held_out(cylinder: &Cylinder, now: &Now) -> Vec<Fault> {
    let ByLedger { bound: _, doubt, out, changed, ours, mixed } = &cylinder.ledger;
    let filled = now.filled.as_ref();
    let impossible = filled.is_some_and(|filled| !is_possible(filled.gross));
    let said = |said: bool| if said { "yes" } else { "no" };
    let facts = [
        (FaultKind::LedgerDoubt, now.doubt.is_some() || impossible, doubt.is_some()),
        (FaultKind::LedgerOut, now.out, out.is_some()),
        (FaultKind::LedgerChanged, now.changed, changed.is_some()),
        (FaultKind::LedgerMixed, filled.is_some_and(|filled| filled.danger), *mixed),
        (FaultKind::LedgerOurs, filled.is_some_and(|filled| !filled.pours.is_empty()), *ours),
    ];
    let differ = facts.into_iter().filter(|(_, expected, got)| expected != got);
    differ.map(|(kind, expected, got)| Fault::new(kind, said(expected), said(got))).collect()
}
