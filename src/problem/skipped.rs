//! Cylinders that a plan does without because their row can't be read.

use std::path::PathBuf;

use super::{Place, Problem};
use crate::cylinder::Id;

/// A cylinder that was left out because its row can't be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SkippedRow {
    /// The file.
    pub file: PathBuf,
    /// Where the row begins.
    pub place: Option<Place>,
    /// The cylinder's id, where it can be read.
    pub id: Option<Id>,
    /// What is wrong with the row.
    pub problems: Vec<Problem>,
}
