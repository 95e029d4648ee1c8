//! Readings that a sheet kept, one JSON object a line, as its page writes them.

use std::path::Path;

use serde::Deserialize;

use super::source::Source;
use crate::problem::{Code, Problem, Problems};

/// A reading as it was typed.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TypedReading {
    /// The cylinder.
    pub cylinder: String,
    /// What the scale showed.
    pub gross: String,
    /// When, where it was noted.
    #[serde(default)]
    pub at: String,
    /// A remark, where there is one.
    #[serde(default)]
    pub note: String,
}

impl TypedReading {
    /// The name that it has wherever it comes from again, where its time was noted.
    pub fn name(&self) -> Option<String> {
        let at = self.at.trim();
        (!at.is_empty()).then(|| format!("card {} {} {at}", self.cylinder.trim(), self.gross.trim()))
    }
}

/// Reads a file of readings, in its order; empty lines are passed over.
///
/// # Errors
/// A file that can't be read, and every line that isn't a reading.
pub fn read_readings(path: &Path) -> Result<Vec<TypedReading>, Problems> {
    let source = Source::read(path)?;
    let (mut readings, mut problems) = (Vec::new(), Vec::new());
    let mut end = 0;
    for (index, line) in source.text.split_inclusive('\n').enumerate() {
        let start = end;
        end += line.len();
        if line.trim().is_empty() {
            continue;
        }
        match serde_json::from_str::<TypedReading>(line) {
            Ok(reading) => readings.push(reading),
            Err(error) => {
                let message = format!("line {} isn't a reading of a sheet: {error}", index + 1);
                let hint = "save the lines again as the sheet shows them";
                let place = source.place(source.mark(start));
                problems.push(Problem::new(Code::Syntax, path, place, &message, hint));
            }
        }
    }
    match Problems::of(problems) {
        Some(problems) => Err(problems),
        None => Ok(readings),
    }
}
