//! The line that says which plan is in force: who bound it, when, for which jobs.

use serde::Serialize;

use crate::recovery::InForce;

/// The plan in force.
#[derive(Debug, Serialize)]
pub(super) struct InForceLine {
    bind: String,
    by: String,
    at: String,
    jobs: Vec<String>,
    /// Whether what is shown is that plan.
    same: bool,
    /// Plans of the same jobs that were made apart.
    beside: Vec<String>,
}

impl InForceLine {
    /// This plan.
    pub fn of(in_force: &InForce, same: bool) -> Self {
        Self {
            bind: in_force.bind.to_string(),
            by: in_force.by.clone(),
            at: in_force.at.to_string(),
            jobs: in_force.jobs.iter().map(|job| job.name.clone()).collect(),
            same,
            beside: in_force.beside.iter().map(ToString::to_string).collect(),
        }
    }

    /// In sentences.
    pub fn text(&self) -> String {
        let mut text = format!("In force: the plan that {} made at {}.", self.by, self.at);
        if self.jobs.len() > 1 {
            text.push_str(&format!(" It is for {} together.", self.jobs.join(", ")));
        }
        if !self.same {
            text.push_str(
                " It isn't this one: files or options are others by now. `status` shows it; `sheet` or `begin` puts this one \
                 in its place.",
            );
        }
        if !self.beside.is_empty() {
            text.push_str(" Another plan of the same jobs was made apart and is in force too: `replan` joins them.");
        }
        text
    }
}
