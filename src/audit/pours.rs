//! The pours of a load: they lead from its first reading to its stop, each system once, the vapour at its end.

use super::fault::{Fault, FaultKind};
use super::loads::differs;
use crate::plan::Load;
use crate::quantity::{Decimal, Division, Marks, Unit, Weight};

/// The faults of the pours of the load at this position.
pub(super) fn faults(division: Division, loads: &[Load], index: usize) -> Vec<Fault> {
    let Some(load) = loads.get(index) else { return Vec::new() };
    let mut found = Vec::new();
    found.extend(chain(division, load));
    found.extend(adds(division, load));
    found.extend(twice(load));
    found.extend(vapour_last(loads, index, load));
    found.extend(ease_off(division, load));
    found
}

/// Each pour begins where the one before ends: the first at the reading before, the last ends at the stop.
fn chain(division: Division, load: &Load) -> Option<Fault> {
    let mut begins = vec![load.now];
    begins.extend(load.pours.iter().map(|pour| pour.to));
    let mut ends: Vec<Marks> = load.pours.iter().map(|pour| pour.from).collect();
    ends.push(load.stop);
    // Without a pour nothing leads anywhere, and the shares say so.
    let broken = begins.iter().zip(&ends).find(|(reached, next)| reached != next).filter(|_| !load.pours.is_empty());
    broken.and_then(|(reached, next)| differs(FaultKind::PourChain, division, *reached, *next))
}

/// A pour adds the difference of its readings.
fn adds(division: Division, load: &Load) -> Vec<Fault> {
    let fault = |pour: &crate::plan::Pour| {
        let difference = pour.to.saturating_sub(pour.from);
        Some(differs(FaultKind::PourAdd, division, difference, pour.add)?.of_system(&pour.system))
    };
    load.pours.iter().filter_map(fault).collect()
}

/// No system is connected to a cylinder twice.
fn twice(load: &Load) -> Vec<Fault> {
    let again = load.pours.iter().enumerate().filter(|(place, pour)| {
        let mut earlier = load.pours.iter().take(*place);
        earlier.any(|other| other.system == pour.system)
    });
    again.map(|(_, pour)| Fault::new(FaultKind::PourTwice, "one pour", "two").of_system(&pour.system)).collect()
}

/// A system ends with the last of its pours, and with no other.
fn vapour_last(loads: &[Load], index: usize, load: &Load) -> Vec<Fault> {
    let word = |last: bool| if last { "the last" } else { "not the last" };
    let mut found = Vec::new();
    for (place, pour) in load.pours.iter().enumerate() {
        let later_here = load.pours.iter().skip(place + 1);
        let mut later = later_here.chain(loads.iter().skip(index + 1).flat_map(|load| &load.pours));
        let last = later.all(|other| other.system != pour.system);
        if last != pour.vapour_last {
            found.push(Fault::new(FaultKind::VapourLast, word(last), word(pour.vapour_last)).of_system(&pour.system));
        }
    }
    found
}

/// Slowly from 3 lb (on a scale in kilograms 1.4 kg) before the stop on, or from the start.
fn ease_off(division: Division, load: &Load) -> Option<Fault> {
    let before = if division.unit() == Unit::Kg {
        Weight::kilograms(Decimal::new(14, 1))
    } else {
        Weight::pounds(Decimal::from(3))
    };
    let latest = load.stop.saturating_sub(division.ceil(before)).max(load.now);
    let expected = format!("{} or {}", division.text(latest), division.text(load.now));
    (load.ease_off != load.now && load.ease_off != latest)
        .then(|| Fault::new(FaultKind::EaseOff, expected, division.text(load.ease_off)))
}
