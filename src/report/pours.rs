//! The pours of a cylinder as they are read: which hose first, and at which reading it is changed.

use crate::plan::{Load, Pour};

/// Each change of the hose, with each weight as `text` has it.
pub(super) fn changes<W: Copy>(pours: &[Pour<W>], text: &dyn Fn(W) -> String) -> Vec<String> {
    let next = pours.iter().skip(1);
    next.map(|pour| format!("at {} change the hose to {}", text(pour.from), pour.system)).collect()
}

/// What comes last into a cylinder that a system ends in, where that had others for its liquid among `all`.
pub(super) fn vapour<W: Copy>(load: &Load<W>, all: &[&Load<W>]) -> Option<&'static str> {
    let last = load.pours.last().filter(|pour| pour.vapour_last)?;
    let pours = all.iter().flat_map(|load| &load.pours).filter(|pour| pour.system == last.system);
    (pours.count() > 1).then_some("vapour last")
}
