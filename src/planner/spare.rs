//! Where the chosen cylinders hold a lot with little to spare, and the one cylinder more that would help.
//!
//! The charge is never the plate: what is spare is what an estimate may be wrong by.

use super::additions::kinds;
use super::assemble::room;
use crate::cylinder::{Cylinder, Id};
use crate::job::{Lot, Work};
use crate::plan::{Plan, Reason, Status};
use crate::quantity::{Decimal, Division, Marks, Percent, Weight};

/// The code of the warning that a lot has little to spare.
pub const THIN_SPARE: &str = "thin-spare";

/// Spare under this weight, in pounds, or this share of the lot's charge, whichever is less, is thin: common practice,
/// no source.
const THIN_POUNDS: Decimal = Decimal::TWO;
const THIN_PERCENT: Decimal = Decimal::TWO;

/// A cylinder that would help a lot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OneMore {
    /// The cylinder of the yard, or the kind where none of the yard would help.
    pub cylinder: String,
    /// Whether it stands in the yard.
    pub in_yard: bool,
    /// The room that it adds.
    pub adds: Marks,
}

/// A warning for each lot of a whole plan that has little to spare. `riding` are cylinders that come along beside those
/// of the plan; no two lots are told to bring the same one.
pub fn thin(work: &Work, plan: &Plan, riding: &[Id]) -> Vec<Reason> {
    if !matches!(plan.status, Status::Proved | Status::Bounded) {
        return Vec::new();
    }
    let mut taken: Vec<Id> = riding.to_vec();
    let mut said = Vec::new();
    for (lot, line) in work.lots().iter().zip(&plan.lots) {
        let beside = work.yard().iter().filter(|cylinder| riding.contains(&cylinder.id));
        let beside = beside.filter(|cylinder| plan.not_needed.contains(&cylinder.id));
        let spare = line.spare + beside.filter_map(|cylinder| size(cylinder, lot)).sum::<Marks>();
        if is_thin(work.division(), line.charge, spare) {
            let idle = work.yard().iter().filter(|cylinder| plan.not_needed.contains(&cylinder.id));
            let more = one_more(work, lot, idle.filter(|cylinder| !taken.contains(&cylinder.id)));
            said.push(warning(work.division(), &lot.name, line.charge, spare, more.as_ref()));
            taken.extend(more.filter(|more| more.in_yard).map(|more| Id::from(more.cylinder)));
        }
    }
    said
}

/// Whether so much spare is little for this charge.
pub fn is_thin(division: Division, charge: Marks, spare: Marks) -> bool {
    division.weight(spare) < line(division, charge)
}

/// The spare below which it is thin.
fn line(division: Division, charge: Marks) -> Weight {
    Weight::pounds(THIN_POUNDS).min(Percent::new(THIN_PERCENT).of(division.weight(charge)))
}

/// The warning of a lot with little to spare, and what to bring.
pub fn warning(division: Division, lot: &str, charge: Marks, spare: Marks, more: Option<&OneMore>) -> Reason {
    let bring = match more {
        Some(OneMore { cylinder, in_yard: true, adds }) => {
            format!("bring one more: {cylinder}, which takes {} more", division.text(*adds))
        }
        Some(OneMore { cylinder, in_yard: false, adds }) => {
            let adds = division.text(*adds);
            format!("bring one more: the yard has none left for it, a {cylinder} would take {adds} more")
        }
        None => "bring one more: neither the yard nor the stock has one for it".into(),
    };
    let (spare, charge) = (division.text(spare), division.text(charge));
    let text =
        format!("{lot}: only {spare} to spare for {charge}, and systems often hold more than is written; {bring}");
    Reason { code: THIN_SPARE.into(), text }
}

/// The cylinder that adds most room for a lot: of these, else of the kinds that can be got.
pub fn one_more<'c>(work: &Work, lot: &Lot, idle: impl Iterator<Item = &'c Cylinder>) -> Option<OneMore> {
    let found = roomiest(idle, lot).map(|(id, adds)| OneMore { cylinder: id.to_owned(), in_yard: true, adds });
    found.or_else(|| kind(work, lot))
}

/// The roomiest of these cylinders for a lot. One meant for flammables is kept for them while another will do.
pub fn roomiest<'c>(cylinders: impl Iterator<Item = &'c Cylinder>, lot: &Lot) -> Option<(&'c str, Marks)> {
    let mut best: Option<(&Cylinder, (bool, Marks))> = None;
    for cylinder in cylinders {
        let Some(adds) = size(cylinder, lot) else { continue };
        let rank = (lot.intake.fluid.is_flammable() || !cylinder.flammable, adds);
        if adds > 0 && best.is_none_or(|(_, most)| rank > most) {
            best = Some((cylinder, rank));
        }
    }
    best.map(|(cylinder, (_, adds))| (cylinder.id.as_str(), adds))
}

/// The kind that adds most room for a lot; none that is larger than any that the crew handles.
fn kind(work: &Work, lot: &Lot) -> Option<OneMore> {
    let largest = work.yard().iter().map(|cylinder| cylinder.water_capacity).max()?;
    let mut best: Option<OneMore> = None;
    for kind in kinds(work).into_iter().filter(|kind| kind.water_capacity <= largest && kind.count != Some(0)) {
        let Ok(cylinder) = kind.specimen(kind.name.clone(), work.date()) else { continue };
        let adds = size(&cylinder, lot).unwrap_or(0);
        if adds > best.as_ref().map_or(0, |best| best.adds) {
            best = Some(OneMore { cylinder: kind.name, in_yard: false, adds });
        }
    }
    best
}

fn size(cylinder: &Cylinder, lot: &Lot) -> Option<Marks> {
    room(cylinder, lot).ok().map(|room| room.size())
}
