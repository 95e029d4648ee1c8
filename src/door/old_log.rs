//! A log of an earlier version beside a job: it is refused, with what to weigh again, and never carried over.

use std::path::Path;

use super::round::NotInForce;

/// Refuses a job that has one.
pub(super) fn refuse_old_log(job: &Path) -> Result<(), NotInForce> {
    let file = job.with_extension("log.jsonl");
    let Ok(text) = crate::disk::text(&file) else { return Ok(()) };
    let mut cylinders: Vec<&str> = Vec::new();
    for piece in text.split("\"cylinder\":\"").skip(1) {
        let id = piece.split('"').next().unwrap_or_default();
        if !cylinders.contains(&id) {
            cylinders.push(id);
        }
    }
    Err(NotInForce::OldLog { cylinders: cylinders.join(", "), file })
}
