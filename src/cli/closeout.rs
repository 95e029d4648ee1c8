//! `closeout`: recovered against the charge, the yard after the job, the recovery record; totals of a month.

use std::path::{Path, PathBuf};

use super::logged::{Site, open, site};
use super::stop::{ByLog, FileStop};
use super::{Exit, JobFiles, Output, Stop, remark, show};
use crate::disk::{self, keep_old, write_whole};
use crate::quantity::Division;
use crate::recovery::{self, Accounts, After, Day};
use crate::report::{CloseoutReport, MonthReport};
use crate::text::{NewValues, Record, RecordHead, log_path, read_records, yard_after};

#[derive(Debug, clap::Args)]
#[command(
    override_usage = "chargesplit closeout [OPTIONS] <JOB>\n       chargesplit closeout --month YYYY-MM <FOLDER>"
)]
pub(super) struct CloseoutArguments {
    /// The job file; with --month, a folder of jobs that are closed out
    #[arg(value_name = "JOB")]
    path: PathBuf,
    /// Write the yard after the job over the old one, which is kept beside it
    #[arg(long, conflicts_with = "month")]
    write: bool,
    /// Where the job was, for the record [default: the job's name]
    #[arg(long, value_name = "TEXT", value_parser = remark, conflicts_with = "month")]
    place: Option<String>,
    /// The technician's certificate number, for the record
    #[arg(long, value_name = "NUMBER", value_parser = remark, conflicts_with = "month")]
    certificate: Option<String>,
    /// The company that recovered, for the record
    #[arg(long, value_name = "TEXT", value_parser = remark, conflicts_with = "month")]
    company: Option<String>,
    /// Who gets what was recovered, for the record
    #[arg(long, value_name = "TEXT", value_parser = remark, conflicts_with = "month")]
    recipient: Option<String>,
    /// The day on which they get it, for the record
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = day, conflicts_with = "month")]
    transferred: Option<String>,
    /// Add up the records of a folder for this month
    #[arg(long, value_name = "YYYY-MM", value_parser = month)]
    month: Option<String>,
    #[command(flatten)]
    files: JobFiles,
}

fn day(text: &str) -> Result<String, String> {
    let day = text.parse::<jiff::civil::Date>();
    match day {
        Ok(day) if day.to_string() == text => Ok(text.to_owned()),
        Ok(_) | Err(_) => Err("expected a day as YYYY-MM-DD".into()),
    }
}

fn month(text: &str) -> Result<String, String> {
    let day = format!("{text}-01").parse::<jiff::civil::Date>();
    match day {
        Ok(day) if day.to_string() == format!("{text}-01") => Ok(text.to_owned()),
        Ok(_) | Err(_) => Err("expected a month as YYYY-MM".into()),
    }
}

pub(super) fn run(arguments: &CloseoutArguments, output: &mut Output) -> Result<Exit, Stop> {
    if let Some(month) = &arguments.month {
        return of_month(month, arguments, output);
    }
    let site = site(&arguments.path, arguments.files.skip_bad_rows, output)?;
    // Held to the end, so that nobody adds a reading that the files don't have.
    if !log_path(&site.job).exists() {
        return Err(ByLog::NothingWeighed.into());
    }
    let log = open(&site, true, output)?;
    let site = site.with_added(&log.entries, output)?;
    let day = site.day(&log.entries, output)?;
    if day.plan.is_none() {
        return Err(ByLog::NothingWeighed.into());
    }
    let accounts = recovery::closeout(&day);
    let warnings = site.changed_files(&day);
    let head = RecordHead {
        job: site.name().to_owned(),
        place: arguments.place.clone().unwrap_or_else(|| site.name().to_owned()),
        owner: site.work.jobs().first().and_then(|job| job.owner.clone()),
        certificate: arguments.certificate.clone(),
        company: arguments.company.clone(),
        recipient: arguments.recipient.clone(),
        transferred: arguments.transferred.clone(),
        log_lines: log.entries.len(),
    };
    let record = Record::new(head, &accounts.rows, day.division());
    let files = write(&site, &day, &accounts, &record, arguments.write)?;
    let report = CloseoutReport::new(site.name(), day.division(), &accounts, &files, &warnings);
    show(&report, arguments.files.json, output)?;
    Ok(Exit::Done)
}

/// Writes everything; what can be found out before anything is written is.
fn write(site: &Site, day: &Day, accounts: &Accounts, record: &Record, over: bool) -> Result<Vec<String>, Stop> {
    let failed = |path: &Path| {
        let file = path.to_owned();
        move |error| FileStop::NotWritten { file, error }
    };
    let stem = site.job.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let changes: Vec<NewValues> = accounts.cylinders.iter().map(|after| new_values(after, day.division())).collect();
    let mut yards: Vec<(&PathBuf, String)> = Vec::new();
    for yard in &site.yards {
        yards.push((yard, yard_after(yard, &disk::bytes(yard)?, &changes)?));
    }
    let mut said = Vec::new();
    for (ending, text) in [("record.csv", record.csv()), ("record.json", record.json())] {
        let path = site.job.with_extension(ending);
        write_whole(&path, &text.map_err(failed(&path))?).map_err(failed(&path))?;
        said.push(format!("recovery record: {}", path.display()));
    }
    said.extend(unnamed(&record.head, site));
    for (yard, text) in yards {
        let name = yard.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let kind = yard.extension().unwrap_or_default().to_string_lossy().into_owned();
        if over {
            let old = keep_old(yard, &stem).map_err(failed(yard))?;
            write_whole(yard, &text).map_err(failed(yard))?;
            said.push(format!("cylinders after the job: {}; as they were: {}", yard.display(), old.display()));
        } else {
            let path = yard.with_file_name(format!("{name}.after-{stem}.{kind}"));
            write_whole(&path, &text).map_err(failed(&path))?;
            said.push(format!(
                "cylinders after the job: {}; `--write` puts them into {}",
                path.display(),
                yard.display()
            ));
        }
    }
    Ok(said)
}

/// What the record of a disposal has to name and this one doesn't.
fn unnamed(head: &RecordHead, site: &Site) -> Option<String> {
    let missing = head.missing();
    let us = site.work.jobs().iter().any(|job| job.terms.rules.us());
    (us && !missing.is_empty()).then(|| {
        let options: Vec<String> = missing.iter().map(|name| format!("--{name}")).collect();
        format!(
            "the record of a disposal names company, place, recipient and day of transfer (40 CFR 82.156(a)(3), from \
             memory); not given here: {}",
            options.join(", ")
        )
    })
}

/// What a yard is to say of a cylinder from now on.
fn new_values(after: &After, division: Division) -> NewValues {
    let some = |value: &Option<String>| value.iter().cloned().collect::<Vec<_>>();
    let condition = if after.condition == "clean" { Vec::new() } else { vec![after.condition.to_owned()] };
    let mut values = vec![("gross", vec![division.text(after.gross)])];
    if after.lot.is_some() {
        values.push(("holds", vec![after.holds.clone()]));
        values.push(("may_contain", after.may_contain.clone()));
        values.push(("condition", condition));
        values.push(("owner", some(&after.owner)));
        values.push(("kept_for", some(&after.kept_for)));
        // What was measured or done before this filling says nothing of it.
        values.extend(["pressure", "temperature", "cleaned"].map(|key| (key, Vec::new())));
    }
    NewValues { cylinder: after.cylinder.clone(), values }
}

fn of_month(month: &str, arguments: &CloseoutArguments, output: &mut Output) -> Result<Exit, Stop> {
    let read = read_records(&arguments.path);
    let (records, open) = read.map_err(|(file, error)| FileStop::Unreadable { file, error })?;
    let open = open.iter().map(|path| path.display().to_string()).collect();
    let report = MonthReport::new(month, &records, open).map_err(FileStop::Records)?;
    show(&report, arguments.files.json, output)?;
    Ok(Exit::Done)
}
