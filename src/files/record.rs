//! The files of a close-out: the recovery record as CSV and JSON, and reading records back for the totals of a month.
//!
//! Every file is written whole under another name first and then takes its place, so that it is there or it isn't.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::log::keep_name;
use super::source::{MOST_BYTES, open_regular};
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
    pub rows: Vec<Row>,
}

/// A row of a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Row {
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
        let row = |row: &RecordRow| Row {
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
        let record: Self = serde_json::from_str(&text_of(path)?)?;
        if record.format == FORMAT { Ok(record) } else { Err(io::Error::other("it isn't a recovery record")) }
    }
}

/// The text of a file that isn't larger than any of ours.
fn text_of(path: &Path) -> io::Result<String> {
    let (mut text, file) = (String::new(), open_regular(path)?);
    match file.take(MOST_BYTES + 1).read_to_string(&mut text)? as u64 {
        0..=MOST_BYTES => Ok(text),
        _ => Err(io::Error::new(io::ErrorKind::FileTooLarge, "the file is larger than any of its kind")),
    }
}

/// The files of a folder with this end of the name, by name.
fn ending(folder: &Path, end: &str) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.file_name().is_some_and(|name| name.to_string_lossy().ends_with(end)) {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
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
        let text = fs::read(&log).map_err(|error| (log.clone(), error))?;
        let lines = text.iter().filter(|byte| **byte == b'\n').count();
        let name = log.to_string_lossy().replace(".log.jsonl", ENDING);
        let closed =
            records.iter().any(|(path, record)| path.to_string_lossy() == name && record.head.log_lines == lines);
        if !closed && lines > 0 {
            open.push(log);
        }
    }
    Ok((records.into_iter().map(|(_, record)| record).collect(), open))
}

/// Writes a file whole: under another name first, which takes the place of what was there only when all of it is on
/// the disk. A link is followed, and the rights of what was there stay.
///
/// # Errors
/// Where it can't be written; then what was there is as it was.
pub fn write_whole(path: &Path, text: &str) -> io::Result<()> {
    let path = &path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let rights = fs::metadata(path).ok().map(|about| about.permissions());
    if rights.as_ref().is_some_and(fs::Permissions::readonly) {
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, "it is protected against writing"));
    }
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let partial = path.with_file_name(format!(".{name}.partial"));
    if fs::symlink_metadata(&partial).is_ok_and(|about| !about.is_file()) {
        return Err(io::Error::other(format!("{} is in the way", partial.display())));
    }
    let written = File::create(&partial)
        .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()))
        .and_then(|()| rights.map_or(Ok(()), |rights| fs::set_permissions(&partial, rights)))
        .and_then(|()| fs::rename(&partial, path));
    written.inspect_err(|_| {
        let _ = fs::remove_file(&partial);
    })?;
    keep_name(path);
    Ok(())
}

/// Keeps what a file holds beside it, under a name of its own: `van-3.before-cold-store.yaml`. A copy that is there
/// already serves.
///
/// # Errors
/// Where it can't be written.
pub fn keep_old(path: &Path, job: &str) -> io::Result<PathBuf> {
    let old = text_of(path)?;
    let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let kind = path.extension().unwrap_or_default().to_string_lossy().into_owned();
    for number in 1..1000 {
        let again = if number == 1 { String::new() } else { format!("-{number}") };
        let copy = path.with_file_name(format!("{stem}.before-{job}{again}.{kind}"));
        if !copy.exists() {
            write_whole(&copy, &old)?;
            return Ok(copy);
        }
        if text_of(&copy)? == old {
            return Ok(copy);
        }
    }
    Err(io::Error::other("there are a thousand copies already"))
}
