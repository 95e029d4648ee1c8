//! What a plan that nobody follows any more gives back.

use serde::Serialize;

use super::{Block, Report};

/// Cylinders that are free again.
#[derive(Debug, Serialize)]
pub struct ReleaseReport {
    format: &'static str,
    jobs: Vec<String>,
    free: Vec<String>,
}

impl ReleaseReport {
    /// A report of these jobs, whose plan has been given back with these cylinders.
    pub const fn new(jobs: Vec<String>, free: Vec<String>) -> Self {
        Self { format: "chargesplit-release/1", jobs, free }
    }
}

impl Report for ReleaseReport {
    fn blocks(&self) -> Vec<Block> {
        let free = if self.free.is_empty() { "none".to_owned() } else { self.free.join(", ") };
        vec![Block::Note(format!("Nobody follows the plan of {} any more. Free again: {free}.", self.jobs.join(", ")))]
    }
}
