//! What a cylinder's row says: its stamp, which is always the yard file's, and its state, which is the ledger's.

use crate::cylinder::{Condition, Fate, Id};
use crate::quantity::Weight;

/// The state of a cylinder, in the words of a yard: what changes while it is used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CylinderState {
    /// What it weighs with its contents.
    pub gross: Weight,
    /// What is in it: a refrigerant by its name in the table or in a job, or `evacuated`, `nitrogen`, `unknown`, `mixed`.
    pub holds: String,
    /// What may be in a mixture.
    pub may_contain: Vec<String>,
    /// The condition of what is, or was last, in it.
    pub condition: Condition,
    /// Whose the contents are, where that was said.
    pub owner: Option<String>,
    /// The job that it is kept for.
    pub kept_for: Option<String>,
    /// It was cleaned after a burnout.
    pub cleaned: bool,
}

/// A row as it stood: the state, and every other key of a yard with its value as text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The cylinder.
    pub id: Id,
    /// What is stamped on it and said of it: `tare`, `27.9 lb`; `tested`, `2024-03`.
    pub stamped: Vec<(String, String)>,
    /// Its state.
    pub state: CylinderState,
}

impl Row {
    /// The value of a key beside the state, as text.
    pub fn stamp(&self, key: &str) -> Option<&str> {
        self.stamped.iter().find(|(known, _)| known == key).map(|(_, value)| value.as_str())
    }
}

/// What goes into a cylinder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pour {
    /// The lot that it is of, by its name in the plan.
    pub lot: String,
    /// The refrigerant; of a mixture whatever may be in it.
    pub refrigerants: Vec<String>,
    /// It is a mixture.
    pub mixed: bool,
    /// Its condition.
    pub condition: Condition,
    /// What becomes of it.
    pub fate: Fate,
    /// Whose it is, where that was said.
    pub owner: Option<String>,
    /// The job that it stays with, where it isn't for a reclaimer.
    pub kept_for: Option<String>,
}

impl Pour {
    /// Whether this may stand in one cylinder with what another pour brought: the same lot, or the same in kind, condition
    /// and fate, and neither of them to go back into a system.
    pub fn goes_with(&self, other: &Self) -> bool {
        let apart = |pour: &Self| pour.mixed || pour.fate == Fate::Reuse;
        let same = self.refrigerants == other.refrigerants && self.condition == other.condition;
        self == other || (same && self.fate == other.fate && !apart(self) && !apart(other))
    }
}
