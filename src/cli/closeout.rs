//! `closeout`: recovered against the charge, the yard after the job, the recovery record; totals of a month.

use std::path::{Path, PathBuf};

use super::clock::now;
use super::page::{self, page_file};
use super::stop::{ByLedger, FileStop};
use super::{Exit, JobFiles, Output, Stop, remark, show, site};
use crate::disk::{keep_old, write_whole};
use crate::door::{Opened, Round, Settled};
use crate::ledger::{Closed, JobId, Jobs};
use crate::recovery;
use crate::report::{CloseoutReport, MonthReport};
use crate::text::{Record, RecordHead, is_record, read_records};

#[derive(Debug, clap::Args)]
#[command(
    override_usage = "chargesplit closeout [OPTIONS] <JOB>\n       chargesplit closeout --month YYYY-MM <FOLDER>"
)]
pub(super) struct CloseoutArguments {
    /// The job file; with --month, a folder of jobs that are closed out
    #[arg(value_name = "JOB")]
    path: PathBuf,
    /// End the job, and write into the yard what its cylinders hold; the old yard is kept beside it
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
    /// Write a page of labels to print, one for each cylinder that something went into
    #[arg(long, value_name = "FILE.html", value_parser = page_file, conflicts_with = "month")]
    labels: Option<PathBuf>,
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
    if let Some(file) = &arguments.labels {
        page::check(file)?;
    }
    let doing = arguments.write.then_some("closeout --write");
    let mut opened = site::open_one(&arguments.path, arguments.files.skip_bad_rows, doing, output)?;
    let (round, id) = the_job(&opened, output)?;
    let position = round.jobs.iter().position(|job| *job == id).unwrap_or(0);
    let day = site::day(&opened, &round, output);
    if day.readings() == 0 {
        return Err(ByLedger::NothingWeighed.into());
    }
    let accounts = recovery::closeout(&day, position);
    let told = told(arguments, &opened, &id);
    let head = RecordHead {
        job: id.name.clone(),
        first: id.first.to_string(),
        closed: arguments.write || is_closed(&opened, &id),
        place: told.place.clone().unwrap_or_else(|| id.name.clone()),
        owner: round.work.jobs().get(position).and_then(|job| job.owner.clone()),
        certificate: told.certificate.clone(),
        company: told.company.clone(),
        recipient: told.recipient.clone(),
        transferred: told.transferred.clone(),
    };
    let record = Record::new(head, &accounts.rows, day.division());
    let records = records(&arguments.path, &record)?;
    let mut said: Vec<String> =
        records.iter().map(|(path, _)| format!("recovery record: {}", path.display())).collect();
    said.extend(unnamed(&record.head, &round));
    let mut warnings = round.edited.clone();
    let report_of = |said: &[String], warnings: &[String]| {
        CloseoutReport::new(&id.name, round.work.division(), &accounts, said, warnings)
    };
    let stem = arguments.path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let settling = opened.settling(false)?;
    if arguments.write {
        let old = settling
            .text()
            .and(opened.loaded.stands.as_deref())
            .map(|yard| Ok((yard.to_owned(), keep_old(yard, &stem).map_err(failed(yard))?)));
        let old: Option<(PathBuf, PathBuf)> = old.transpose().map_err(Stop::File)?;
        let newly = !is_closed(&opened, &id) || told != told_before(&opened, &id);
        if newly {
            let draft = opened.close(&round, &id, told, now());
            site::add(&mut opened, vec![draft], output)?;
            // No more often than the plan has jobs.
            for _ in &round.jobs {
                let Some(draft) = opened.close_shared(&round, &id, now()) else { break };
                site::add(&mut opened, vec![draft], output)?;
            }
        }
        let settled = opened.settle(settling, &output.today, now())?;
        said.extend(old.map(|(yard, old)| {
            format!("cylinders after the job: {}; as they were: {}", yard.display(), old.display())
        }));
        warnings.extend(left(&settled));
    } else if let Some((text, yard)) = settling.text().zip(opened.loaded.stands.as_deref()) {
        let name = yard.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let kind = yard.extension().unwrap_or_default().to_string_lossy().into_owned();
        let path = yard.with_file_name(format!("{name}.after-{stem}.{kind}"));
        write_whole(&path, text).map_err(failed(&path))?;
        said.push(format!(
            "cylinders after the job: {}; `--write` ends the job and puts them into {}",
            path.display(),
            yard.display()
        ));
    }
    for (path, text) in &records {
        write_whole(path, text).map_err(failed(path))?;
    }
    let report = report_of(&said, &warnings);
    show(&report, arguments.files.json, output)?;
    if let Some(file) = &arguments.labels {
        page::write(file, &report.labels(&page::inputs(&opened.loaded.inputs)), output)?;
    }
    Ok(Exit::Done)
}

/// The job that is closed out: the open one, or else the last of its text that was.
fn the_job(opened: &Opened, output: &Output) -> Result<(Round, JobId), Stop> {
    if let Some(round) = site::round(opened, output)? {
        let (_, id) = site::position(opened, &round);
        return Ok((round, id));
    }
    let round = opened.closed_round(&output.today)?.ok_or(ByLedger::NothingWeighed)?;
    let name = opened.loaded.work.jobs().first().map_or("", |job| job.name.as_str());
    let id = round.jobs.iter().find(|job| crate::job::named_alike(&job.name, name)).cloned();
    let id = id.ok_or(ByLedger::NothingWeighed)?;
    Ok((round, id))
}

fn is_closed(opened: &Opened, id: &JobId) -> bool {
    Jobs::of(opened.ledger()).get(id).is_some_and(crate::ledger::JobNow::is_closed)
}

fn told_before(opened: &Opened, id: &JobId) -> Closed {
    Jobs::of(opened.ledger()).get(id).and_then(crate::ledger::JobNow::told).cloned().unwrap_or_default()
}

/// What the record says: as it is told now, else as it was told before.
fn told(arguments: &CloseoutArguments, opened: &Opened, id: &JobId) -> Closed {
    let before = told_before(opened, id);
    let or = |now: &Option<String>, before: Option<String>| now.clone().or(before);
    Closed {
        place: or(&arguments.place, before.place),
        certificate: or(&arguments.certificate, before.certificate),
        company: or(&arguments.company, before.company),
        recipient: or(&arguments.recipient, before.recipient),
        transferred: or(&arguments.transferred, before.transferred),
    }
}

fn failed(path: &Path) -> impl FnOnce(std::io::Error) -> FileStop {
    let file = path.to_owned();
    move |error| FileStop::NotWritten { file, error }
}

/// The files of the record with what goes into them. A file of that name which isn't a record of this job is never
/// written over, and what couldn't be written at the end is found out now.
fn records(job: &Path, record: &Record) -> Result<Vec<(PathBuf, String)>, Stop> {
    let mut files = Vec::new();
    for (ending, text) in [("record.csv", record.csv()), ("record.json", record.json())] {
        let path = job.with_extension(ending);
        if !is_record(&path, &record.head) {
            return Err(FileStop::IsThere { file: path }.into());
        }
        crate::disk::may_replace(&path).map_err(failed(&path))?;
        files.push((path.clone(), text.map_err(failed(&path))?));
    }
    Ok(files)
}

/// What was left as it is in the yard.
pub(super) fn left(settled: &Settled) -> Vec<String> {
    settled.left.iter().map(|(id, why)| format!("{id}: its row stays as it is: {why}")).collect()
}

/// What the record of a disposal has to name and this one doesn't.
fn unnamed(head: &RecordHead, round: &Round) -> Option<String> {
    let missing = head.missing();
    let us = round.work.jobs().iter().any(|job| job.terms.rules.us());
    (us && !missing.is_empty()).then(|| {
        let options: Vec<String> = missing.iter().map(|name| format!("--{name}")).collect();
        format!(
            "the record of a disposal names company, place, recipient and day of transfer (40 CFR 82.156(a)(3), from \
             memory); not given here: {}",
            options.join(", ")
        )
    })
}

fn of_month(month: &str, arguments: &CloseoutArguments, output: &mut Output) -> Result<Exit, Stop> {
    let read = read_records(&arguments.path);
    let (records, begun) = read.map_err(|(file, error)| FileStop::Unreadable { file, error })?;
    let mut open: Vec<String> = begun.into_iter().map(|record| record.head.job).collect();
    let under_way = crate::door::under_way(&arguments.path, &output.today);
    open.extend(under_way.into_iter().filter(|job| !open.contains(job)).collect::<Vec<_>>());
    let report = MonthReport::new(month, &records, open).map_err(FileStop::Records)?;
    show(&report, arguments.files.json, output)?;
    Ok(Exit::Done)
}
