//! Whether a job and a cylinder are still what a plan was bound with.

use super::round::NotInForce;
use crate::cylinder::Cylinder;
use crate::job::Job;
use crate::text;

/// Whether a file is still of the job that was begun.
pub(super) fn same_job(before: &Job, now: &Job) -> Result<(), NotInForce> {
    let other = |what| Err(NotInForce::SameName { name: now.name.clone(), what });
    if before.owner != now.owner {
        return other("owner");
    }
    let names = |job: &Job| job.systems.iter().map(|system| system.name.clone()).collect::<Vec<_>>();
    if names(before) != names(now) {
        return other("systems");
    }
    let fluids = |job: &Job| job.systems.iter().map(|system| system.fluid.name()).collect::<Vec<_>>();
    if fluids(before) != fluids(now) { other("refrigerants") } else { Ok(()) }
}

/// Whether everything beside the state is the same.
pub(super) fn same_stamp(one: &Cylinder, other: &Cylinder) -> bool {
    let unit = crate::quantity::Unit::Kg;
    let stamp = |cylinder: &Cylinder| {
        let mut keys = text::row_of(cylinder, unit).stamped;
        keys.retain(|(key, _)| key != "pressure" && key != "temperature");
        keys
    };
    stamp(one) == stamp(other)
}
