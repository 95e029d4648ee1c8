//! `begin`: binds a plan without paper; `release`: gives back one of which nothing is begun.

use std::path::PathBuf;

use super::clock::now;
use super::plan::Wishes;
use super::stop::ByLedger;
use super::units::{other, refuse_in_data};
use super::{Exit, JobFiles, Output, Stop, show, site};
use crate::ledger::Jobs;
use crate::report::ReleaseReport;

#[derive(Debug, clap::Args)]
pub(super) struct BeginArguments {
    /// Job files; several are planned together on one yard
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) wishes: Wishes,
    #[command(flatten)]
    files: JobFiles,
}

#[derive(Debug, clap::Args)]
pub(super) struct ReleaseArguments {
    /// The job files that the plan is for
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &BeginArguments, output: &mut Output) -> Result<Exit, Stop> {
    refuse_in_data(arguments.files.json, output)?;
    let mut opened = site::open(&arguments.jobs, arguments.files.skip_bad_rows, Some("begin"), output)?;
    site::refuse_begun(&opened)?;
    let planned = arguments.wishes.plan(&opened, output)?;
    site::bind(&mut opened, &planned.audited, arguments.wishes.options(), None, output)?;
    let mut report = planned.report().beside(other(planned.work.division().unit(), output));
    if let Some(round) = site::in_force(&opened, output)? {
        report = report.in_force(&round.in_force, true);
    }
    show(&report, arguments.files.json, output)?;
    Ok(planned.exit())
}

pub(super) fn release(arguments: &ReleaseArguments, output: &mut Output) -> Result<Exit, Stop> {
    let mut opened = site::open(&arguments.jobs, arguments.files.skip_bad_rows, Some("release"), output)?;
    site::refuse_begun(&opened)?;
    if let Some(error) = opened.leaves_others() {
        return Err(crate::door::NotOpened::from(error).into());
    }
    let jobs = Jobs::of(opened.ledger());
    let mut binds = Vec::new();
    for id in opened.open.iter().flatten() {
        for bind in jobs.get(id).into_iter().flat_map(|job| &job.binds) {
            if binds.iter().all(|(known, _)| *known != bind.id) {
                binds.push((bind.id.clone(), id.clone()));
            }
        }
    }
    if binds.is_empty() {
        return Err(ByLedger::NoPlan.into());
    }
    let drafts: Vec<_> = binds.iter().map(|(bind, job)| opened.release(bind, job, now())).collect();
    let free = drafts.iter().flat_map(|draft| draft.on.iter().map(|(id, _)| id.to_string())).collect();
    let names = opened.open.iter().flatten().map(|job| job.name.clone()).collect();
    site::add(&mut opened, drafts, output)?;
    show(&ReleaseReport::new(names, free), arguments.files.json, output)?;
    Ok(Exit::Done)
}
