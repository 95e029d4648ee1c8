//! The lines of the truck's day: what each stop fills, what comes back, what stays, what is spare, rules of the road.

use super::{Back, Fill, LeftBehind, Reading, Reason, Reminder, Spare, Stop, marks};
use crate::cylinder::Fate;
use crate::job::{Carrying, Work};
use crate::plan::{self, Plan};
use crate::quantity::{Division, Marks};
use crate::transport::Manifest;

pub(super) fn left_out(left: &plan::LeftOut) -> LeftBehind {
    let reason = |reason: &plan::Against| Reason { code: reason.code.clone(), text: reason.text.clone() };
    LeftBehind { cylinder: left.cylinder.to_string(), reasons: left.reasons.iter().map(reason).collect() }
}

pub(super) fn stops(work: &Work, manifest: &Manifest, plan: &Plan) -> Vec<Stop> {
    let reading = |marks: Marks| Reading::new(work.division(), marks);
    let stop = |visit: &crate::planner::Visit| {
        let job = work.jobs().get(visit.job)?;
        let carrying = Carrying::at(job);
        let fills = visit.fills.iter().filter_map(|fill| {
            let load = plan.loads.get(fill.load)?;
            let full = work.division().weight(fill.after());
            Some(Fill {
                cylinder: load.cylinder.to_string(),
                lot: load.lot.clone(),
                refrigerant: load.refrigerant.clone(),
                marks: marks::words(&load.tags),
                now: reading(fill.before),
                add: reading(fill.add),
                stop: reading(fill.after()),
                limit: reading(load.limit),
                begun: fill.before > load.now,
                goes_on: fill.after() < load.stop,
                two_people: carrying.is_over_one(full),
                lift: carrying.lift(full).words,
                brief: carrying.lift(full).brief,
            })
        });
        Some(Stop { job: job.name.clone(), recovered: reading(visit.recovered()), fills: fills.collect() })
    };
    manifest.visits.iter().filter_map(stop).collect()
}

pub(super) fn back(manifest: &Manifest, division: Division, in_yard: Carrying) -> Vec<Back> {
    let words = |one: &crate::transport::Returned| match one.fate {
        Some(Fate::Reclaim) => ("reclaim", "reclaim: to the reclaimer".to_owned()),
        Some(Fate::Reuse) => {
            let whose = one.whose.as_deref().unwrap_or("its owner");
            ("reuse", format!("reuse: kept apart for {whose}"))
        }
        Some(Fate::Destroy) => ("destroy", "destroy: to be destroyed".to_owned()),
        None => ("unused", "unused: back to its place".to_owned()),
    };
    let line = |one: &crate::transport::Returned| {
        let (fate, goes) = words(one);
        let gross = division.weight(one.gross);
        Back {
            cylinder: one.cylinder.to_string(),
            lot: one.lot.clone(),
            holds: one.holds.clone(),
            marks: marks::words(&one.tags),
            gross: Reading::new(division, one.gross),
            two_people: in_yard.is_over_one(gross),
            lift: in_yard.lift(gross).words,
            brief: in_yard.lift(gross).brief,
            fate,
            goes,
        }
    };
    manifest.back.iter().map(line).collect()
}

pub(super) fn spare(
    manifest: &Manifest,
    reading: impl Fn(Marks) -> Reading,
    job: impl Fn(usize) -> String,
) -> Vec<Spare> {
    let line = |one: &crate::transport::Spare| Spare {
        job: job(one.job),
        lot: one.lot.clone(),
        charge: reading(one.charge),
        spare: reading(one.spare),
    };
    manifest.spare.iter().map(line).collect()
}

pub(super) fn reminders(manifest: &Manifest, division: Division) -> Vec<Reminder> {
    let line = |one: &crate::transport::Reminder| Reminder {
        code: one.code,
        source: one.source,
        text: one.said.text(division, None),
        said: one.said.clone(),
    };
    manifest.reminders.iter().map(line).collect()
}
