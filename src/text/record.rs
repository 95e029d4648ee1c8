//! The files of a close-out: the recovery record as CSV and JSON, and reading records back for the totals of a month.

use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::disk::{ending, text};
use crate::printable::cell;
use crate::quantity::{Division, Unit, Weight, parse_weight};
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
    /// The entry of the ledger that it began with: with its name it says which job it is.
    pub first: String,
    /// It is over. The record of a job that isn't is a look at it.
    pub closed: bool,
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
    /// Some of the amount is assumed: nobody read the scale when the hose moved, and the plan's order was taken.
    #[serde(default, skip_serializing_if = "is_false")]
    pub assumed: bool,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde passes a reference
const fn is_false(flag: &bool) -> bool {
    !*flag
}

impl RecordLine {
    /// How much, and the unit that it was written in; a correction may be below zero.
    pub fn weight(&self) -> Option<(Weight, Unit)> {
        let (size, negative) = self.amount.strip_prefix('-').map_or((self.amount.as_str(), false), |size| (size, true));
        let weight = parse_weight(size, None).ok()?;
        let unit = if size.contains("oz") {
            Unit::LbOz
        } else if size.contains("kg") {
            Unit::Kg
        } else {
            Unit::Lb
        };
        Some((if negative { Weight::ZERO - weight } else { weight }, unit))
    }

    /// The same as a number, and what it counts: a spreadsheet adds up nothing else.
    fn number(&self) -> (String, &'static str) {
        self.weight().map_or_else(
            || (self.amount.clone(), ""),
            |(weight, unit)| (unit.number(weight).normalize().to_string(), unit.number_name()),
        )
    }
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
            assumed: row.assumed,
        };
        Self { format: FORMAT.into(), head, rows: rows.iter().map(row).collect() }
    }

    /// As CSV: one line for each row, with what the head says on each.
    ///
    /// # Errors
    /// None that memory doesn't give.
    pub fn csv(&self) -> io::Result<String> {
        let mut writer = ::csv::Writer::from_writer(Vec::new());
        // Nobody asks of a row whether it is assumed where none is.
        let assumed = self.rows.iter().any(|row| row.assumed);
        let mut head = vec![
            "place",
            "job",
            "owner",
            "date",
            "system",
            "refrigerant",
            "condition",
            "amount",
            "unit",
            "cylinder",
            "fate",
            "certificate",
            "company",
            "recipient",
            "transferred",
        ];
        head.extend(assumed.then_some("assumed"));
        writer.write_record(head)?;
        let given = |text: &Option<String>| cell(text.as_deref().unwrap_or_default());
        for row in &self.rows {
            let (amount, unit) = row.number();
            let mut cells = vec![
                cell(&self.head.place),
                cell(&self.head.job),
                given(&self.head.owner),
                row.date.clone(),
                cell(&row.system),
                cell(&row.refrigerant),
                row.condition.clone(),
                amount,
                unit.to_owned(),
                cell(&row.cylinder),
                row.fate.clone(),
                given(&self.head.certificate),
                given(&self.head.company),
                given(&self.head.recipient),
                given(&self.head.transferred),
            ];
            cells.extend(assumed.then(|| if row.assumed { "assumed" } else { "" }.to_owned()));
            writer.write_record(cells)?;
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

/// Whether a file may be written over by the record of this job: it isn't there, or it is an earlier one of the same job.
pub fn is_record(path: &Path, head: &RecordHead) -> bool {
    if !path.exists() {
        return true;
    }
    let Ok(text) = text(path) else { return false };
    if path.extension().is_some_and(|kind| kind == "csv") {
        // Its twin says whose it is.
        let ours = text.starts_with("place,job,owner,date,system,refrigerant,");
        let json = path.with_extension("json");
        return ours && (!json.exists() || is_record(&json, head));
    }
    Record::read(path).is_ok_and(|record| (&record.head.job, &record.head.first) == (&head.job, &head.first))
}

/// The records of a folder, each job once, and those of jobs that aren't over.
///
/// # Errors
/// A folder or a file in it that can't be read, with its path.
pub fn read_records(folder: &Path) -> Result<(Vec<Record>, Vec<Record>), (PathBuf, io::Error)> {
    let of_folder = |error| (folder.to_owned(), error);
    let mut records: Vec<Record> = Vec::new();
    for path in ending(folder, ENDING).map_err(of_folder)? {
        let record = Record::read(&path).map_err(|error| (path.clone(), error))?;
        let same = |known: &&mut Record| (&known.head.job, &known.head.first) == (&record.head.job, &record.head.first);
        match records.iter_mut().find(same) {
            // Of two copies the one of the job that is over.
            Some(known) if record.head.closed && !known.head.closed => *known = record,
            Some(_) => {}
            None => records.push(record),
        }
    }
    Ok(records.into_iter().partition(|record| record.head.closed))
}
