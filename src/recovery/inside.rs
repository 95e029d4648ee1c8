//! What is in a cylinder by the log, or will be once its lot has gone in, and how it is marked.

use super::{Day, Filling};
use crate::cylinder::{Contents, Intake, Tag};
use crate::refrigerant::{Fluid, Refrigerant};

/// What is in a cylinder.
pub(super) struct Inside {
    /// Its contents.
    pub contents: Contents,
    /// Its marks, in their order.
    pub tags: Vec<Tag>,
}

impl Inside {
    /// What the log has put into a cylinder beside its heel; where that is nothing, what `planned` will.
    pub fn of(day: &Day, filling: &Filling, planned: Option<usize>) -> Self {
        let mut lots = day.lots_in(filling);
        if lots.is_empty() {
            lots.extend(planned);
        }
        let contents = contents(day, filling, &lots);
        let intakes: Vec<&Intake> = lots.iter().map(|lot| &day.lot(*lot).intake).collect();
        let mut tags = Tag::inside(&filling.start, &intakes);
        if matches!(contents, Contents::Mixed(_)) && !tags.contains(&Tag::Mixed) {
            tags.push(Tag::Mixed);
            tags.sort_unstable();
        }
        Self { contents, tags }
    }
}

/// A heel of something else and several lots make a mixture, whatever was forced.
fn contents(day: &Day, filling: &Filling, lots: &[usize]) -> Contents {
    let mut parts: Vec<Refrigerant> = Vec::new();
    let mut mixed = false;
    if lots.is_empty() {
        return filling.start.contents.clone();
    }
    let mut take = |more: &[Refrigerant]| {
        for part in more {
            if !parts.contains(part) {
                parts.push(part.clone());
            }
        }
    };
    match &filling.start.contents {
        Contents::Evacuated | Contents::Nitrogen => {}
        Contents::Unknown => return Contents::Unknown,
        Contents::Holds(refrigerant) => take(std::slice::from_ref(refrigerant)),
        Contents::Mixed(of) => {
            mixed = true;
            take(of);
        }
    }
    for lot in lots {
        let fluid = &day.lot(*lot).intake.fluid;
        mixed |= matches!(fluid, Fluid::Mixed(_));
        take(fluid.contents());
    }
    match parts.as_slice() {
        [one] if !mixed => Contents::Holds(one.clone()),
        _ => Contents::Mixed(parts),
    }
}
