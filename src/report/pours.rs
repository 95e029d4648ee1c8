//! The pours of a cylinder as they are read: which hose first, and at which reading it is changed.

use crate::plan::{Load, Pour};

/// The pours of a load in working order, with each weight as `text` has it; `all` are the loads of its lot.
pub(super) fn told<W: Copy>(load: &Load<W>, all: &[&Load<W>], text: &dyn Fn(W) -> String) -> String {
    let first = load.pours.first().map_or(String::new(), |pour| pour.system.clone());
    std::iter::once(first).chain(changes(&load.pours, text)).chain(vapour(load, all)).collect::<Vec<_>>().join("; ")
}

/// Each change of the hose, and what should be empty by then.
pub(super) fn changes<W: Copy>(pours: &[Pour<W>], text: &dyn Fn(W) -> String) -> Vec<String> {
    let change = |(before, next): (&Pour<W>, &Pour<W>)| {
        let change = format!("at {} change the hose to {}", text(before.to), next.system);
        if before.vapour_last { format!("{change}, {} should be empty", before.system) } else { change }
    };
    pours.iter().zip(pours.iter().skip(1)).map(change).collect()
}

/// Whether it is the cylinder that the vapour of a system goes into, where that had others for its liquid.
pub(super) fn vapour<W: Copy>(load: &Load<W>, all: &[&Load<W>]) -> Option<String> {
    let last = load.pours.last().filter(|pour| pour.vapour_last)?;
    let pours = all.iter().flat_map(|load| &load.pours).filter(|pour| pour.system == last.system);
    (pours.count() > 1).then(|| "vapour last".to_owned())
}
