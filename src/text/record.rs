//! The files of a close-out: the recovery record as CSV and JSON, and reading records back for the totals of a month.

use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::disk::{ending, line_count, text};
use crate::printable::cell;
use crate::quantity::Division;
use crate::recovery::RecordRow;

/// What stands under `format` in a record.
const FORMAT: &str = "chargesplit-record/1";
/// The end of a record's name.
const ENDING: &str = ".record.json";

/// What the record says beside its rows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecordHead {
    /// The job.
    pub job: String,
    /// Where it was.
    pub place: String,
    /// Whose system it was, where stated.
    pub owner: Option<String>,
    /// The technician's certificate number as given.
    pub certificate: Option<String>,
    /// Whose people did it.
    pub company: Option<String>,
    /// Who gets what was recovered.
    pub recipient: Option<String>,
    /// The day on which they do, as `2026-12-01`.
    pub transferred: Option<String>,
    /// How many lines the log had.
    pub log_lines: usize,
}

/// A recovery record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Record {
    format: String,
    /// What it says beside its rows.
    #[serde(flatten)]
    pub head: RecordHead,
    /// Its rows.
    pub rows: Vec<RecordLine>,
}

/// A row of a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecordLine {
    /// The day.
    pub date: String,
    /// The system.
    pub system: String,
    /// The refrigerant.
    pub refrigerant: String,
    /// Its condition.
    pub condition: String,
    /// How much, with its unit: `35.8 lb`.
    pub amount: String,
    /// The cylinder.
    pub cylinder: String,
    /// What becomes of it.
    pub fate: String,
}

impl RecordHead {
    /// What the record of a disposal names (40 CFR 82.156(a)(3), from memory) and this one doesn't; the place is there
    /// always.
    pub fn missing(&self) -> Vec<&'static str> {
        let named = [("company", &self.company), ("recipient", &self.recipient), ("transferred", &self.transferred)];
        named.into_iter().filter(|(_, given)| given.is_none()).map(|(name, _)| name).collect()
    }
}

impl Record {
    /// The record of these rows.
    pub fn new(head: RecordHead, rows: &[RecordRow], division: Division) -> Self {
        let row = |row: &RecordRow| RecordLine {
            date: row.date.to_string(),
            system: row.system.clone(),
            refrigerant: row.refrigerant.clone(),
            condition: row.condition.into(),
            amount: division.text(row.amount),
            cylinder: row.cylinder.to_string(),
            fate: row.fate.into(),
        };
        Self { format: FORMAT.into(), head, rows: rows.iter().map(row).collect() }
    }

    /// As CSV: one line for each row, with what the head says on each.
    ///
    /// # Errors
    /// None that memory doesn't give.
    pub fn csv(&self) -> io::Result<String> {
        let mut writer = ::csv::Writer::from_writer(Vec::new());
        let head = [
            "place",
            "job",
            "owner",
            "date",
            "system",
            "refrigerant",
            "condition",
            "amount",
            "cylinder",
            "fate",
            "certificate",
            "company",
            "recipient",
            "transferred",
        ];
        writer.write_record(head)?;
        let given = |text: &Option<String>| cell(text.as_deref().unwrap_or_default());
        for row in &self.rows {
            writer.write_record([
                cell(&self.head.place),
                cell(&self.head.job),
                given(&self.head.owner),
                row.date.clone(),
                cell(&row.system),
                cell(&row.refrigerant),
                row.condition.clone(),
                row.amount.clone(),
                cell(&row.cylinder),
                row.fate.clone(),
                given(&self.head.certificate),
                given(&self.head.company),
                given(&self.head.recipient),
                given(&self.head.transferred),
            ])?;
        }
        let bytes = writer.into_inner().map_err(|error| io::Error::other(error.to_string()))?;
        String::from_utf8(bytes).map_err(io::Error::other)
    }

    /// As JSON.
    ///
    /// # Errors
    /// None that memory doesn't give.
    pub fn json(&self) -> io::Result<String> {
        Ok(format!("{}\n", serde_json::to_string_pretty(self)?))
    }

    /// Reads a record back.
    ///
    /// # Errors
    /// A file that can't be read or isn't a record.
    pub fn read(path: &Path) -> io::Result<Self> {
        let record: Self = serde_json::from_str(&text(path)?)?;
        if record.format == FORMAT { Ok(record) } else { Err(io::Error::other("it isn't a recovery record")) }
    }
}

/// The records of a folder, and the logs in it that have none, or grew since theirs was written.
///
/// # Errors
/// A folder or a file in it that can't be read, with its path.
pub fn read_records(folder: &Path) -> Result<(Vec<Record>, Vec<PathBuf>), (PathBuf, io::Error)> {
    let of_folder = |error| (folder.to_owned(), error);
    let mut records: Vec<(PathBuf, Record)> = Vec::new();
    for path in ending(folder, ENDING).map_err(of_folder)? {
        let record = Record::read(&path).map_err(|error| (path.clone(), error))?;
        records.push((path, record));
    }
    let mut open = Vec::new();
    for log in ending(folder, ".log.jsonl").map_err(of_folder)? {
        let lines = line_count(&log).map_err(|error| (log.clone(), error))?;
        let name = log.to_string_lossy().replace(".log.jsonl", ENDING);
        let closed =
            records.iter().any(|(path, record)| path.to_string_lossy() == name && record.head.log_lines == lines);
        if !closed && lines > 0 {
            open.push(log);
        }
    }
    Ok((records.into_iter().map(|(_, record)| record).collect(), open))
}
