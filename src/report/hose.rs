//! What is still to be poured into a cylinder, and the next hose change at it.

use serde::Serialize;

use crate::plan::{Pour, Reading};
use crate::quantity::Marks;
use crate::recovery::HoseChange;

/// A hose change.
#[derive(Debug, Serialize)]
pub(super) struct HoseLine {
    at: Reading,
    from: String,
    to: String,
    /// The first should be empty then.
    empty: bool,
    /// Where else the first goes on into.
    into: Option<String>,
    /// In words, without a full stop.
    #[serde(skip)]
    pub text: String,
}

/// What is to be poured.
#[derive(Debug, Serialize)]
pub(super) struct PourLine {
    system: String,
    from: Reading,
    to: Reading,
    add: Reading,
}

impl PourLine {
    /// A pour as its scale shows it.
    pub fn of(pour: &Pour, reading: impl Fn(Marks) -> Reading) -> Self {
        Self { system: pour.system.clone(), from: reading(pour.from), to: reading(pour.to), add: reading(pour.add) }
    }
}

impl HoseLine {
    /// A change at a cylinder that weighs so much.
    pub fn of(hose: &HoseChange, now: Marks, reading: impl Fn(Marks) -> Reading) -> Self {
        let at = reading(hose.at);
        let when = if hose.at <= now { "now".to_owned() } else { format!("at {at}") };
        let rest = match &hose.into {
            Some(into) => format!("goes on into {into}"),
            None => "should be empty".into(),
        };
        Self {
            text: format!("{when} change the hose to {}; {} {rest}", hose.to, hose.from),
            at,
            from: hose.from.clone(),
            to: hose.to.clone(),
            empty: hose.empty,
            into: hose.into.as_ref().map(ToString::to_string),
        }
    }
}
