//! How a lot is poured: which system is connected to which cylinder, and up to which reading.

use crate::job::Part;
use crate::plan::{Load, Pour};
use crate::quantity::{Decimal, Division, Marks, Unit, Weight};

/// The systems of a lot, emptied one after the other.
pub(super) struct Outflow<'a> {
    parts: std::slice::Iter<'a, Part>,
    current: Option<(&'a Part, Marks)>,
}

impl<'a> Outflow<'a> {
    pub(super) fn new(parts: &'a [Part]) -> Self {
        let mut parts = parts.iter();
        let current = parts.next().map(|part| (part, part.charge));
        Self { parts, current }
    }

    /// The pours of a cylinder that shows `now` and takes so much.
    pub(super) fn take(&mut self, now: Marks, mut wanted: Marks) -> Vec<Pour> {
        let mut pours = Vec::new();
        let mut from = now;
        while let Some((part, left)) = self.current.filter(|_| wanted > 0) {
            let add = left.min(wanted);
            if add > 0 {
                pours.push(Pour { system: part.system.clone(), from, to: from + add, add, vapour_last: false });
            }
            from += add;
            wanted -= add;
            self.current =
                if left > add { Some((part, left - add)) } else { self.parts.next().map(|part| (part, part.charge)) };
        }
        pours
    }
}

/// Marks of each system the pour that it ends with.
pub fn mark_the_last(loads: &mut [Load]) {
    let mut ended: Vec<String> = Vec::new();
    for pour in loads.iter_mut().rev().flat_map(|load| load.pours.iter_mut().rev()) {
        pour.vapour_last = !ended.contains(&pour.system);
        if pour.vapour_last {
            ended.push(pour.system.clone());
        }
    }
}

/// The reading from which on a cylinder is filled slowly: 3 lb or 1.4 kg before its stop (common practice, no source).
pub fn ease_off(division: Division, now: Marks, stop: Marks) -> Marks {
    let before = match division.unit() {
        Unit::Lb | Unit::LbOz => Weight::pounds(Decimal::from(3)),
        Unit::Kg => Weight::kilograms(Decimal::new(14, 1)),
    };
    (stop - division.ceil(before)).max(now)
}
