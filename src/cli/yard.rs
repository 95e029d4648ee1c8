//! `yard`: each cylinder's limit and room.

use std::path::PathBuf;

use jiff::civil::Date;

use super::clock::now;
use super::closeout::left;
use super::cylinder::{standings, terms};
use super::import::{self, ListOptions};
use super::stop::{ByLedger, FileStop, Typed};
use super::talk::rows;
use super::units::show_in;
use super::{Exit, JobFiles, Output, Stop};
use crate::cylinder::{Contents, Cylinder};
use crate::door::{self, Opened};
use crate::ledger::EntryId;
use crate::refrigerant::Refrigerant;
use crate::report::YardReport;

#[derive(Debug, clap::Args)]
pub(super) struct YardArguments {
    /// The yard file, YAML or CSV; - is standard input
    #[arg(value_name = "YARD", required_unless_present = "import", conflicts_with = "import")]
    yard: Option<PathBuf>,
    /// Refrigerants to figure empty cylinders for, with commas between them [default: those that the yard holds]
    #[arg(long = "for", value_name = "NAMES", value_delimiter = ',', conflicts_with = "import")]
    wanted: Vec<String>,
    /// The day of filling, for test dates; today where it isn't given
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<Date>,
    /// Show every limit: each cylinder with each refrigerant that it is figured for, and what bounds it
    #[arg(long, conflicts_with = "import")]
    all: bool,
    /// Write what the ledger knows of the cylinders into the yard file
    #[arg(long, conflicts_with_all = ["import", "join", "give_up"])]
    settle: bool,
    /// Take in what another folder's copy of the ledger has and this one hasn't; nothing is ever taken away
    #[arg(long, value_name = "FOLDER", conflicts_with_all = ["import", "give_up"])]
    join: Option<PathBuf>,
    /// Count an entry that can't be read, or isn't there, as lost, with the reason why
    #[arg(long, num_args = 2, value_names = ["ENTRY", "WHY"], conflicts_with = "import")]
    give_up: Vec<String>,
    #[command(flatten)]
    list: ListOptions,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &YardArguments, output: &mut Output) -> Result<Exit, Stop> {
    let date = arguments.date.unwrap_or_else(|| *output.today);
    let Some(yard) = &arguments.yard else { return import::run(&arguments.list, date, arguments.files.json, output) };
    let mut wanted = Vec::new();
    for name in &arguments.wanted {
        wanted.push(Refrigerant::find(name).map_err(Typed::from)?);
    }
    let doing = arguments.doing();
    let keep = super::site::keep(doing, output)?;
    let mut opened = door::open_yard(yard, date, &output.today, arguments.files.skip_bad_rows, &keep)?;
    opened.loaded.inputs.iter().for_each(|input| output.detail_of(input));
    output.detail(&rows(opened.rows.len(), opened.loaded.skipped.len()));
    let done = change(arguments, &mut opened, output)?;
    if arguments.settle {
        // As the file is now.
        let keep = super::site::keep(None, output)?;
        opened = door::open_yard(yard, date, &output.today, arguments.files.skip_bad_rows, &keep)?;
    }
    if wanted.is_empty() {
        wanted = held(&opened.yard.cylinders);
    }
    // A yard alone states no terms: those that a job has where its file is silent.
    let terms = terms(&opened, date);
    stand(&opened, date, output);
    let cylinders = &opened.yard.cylinders;
    let report = YardReport::new(cylinders, &opened.loaded.skipped, &terms, &wanted).with_every_limit(arguments.all);
    let unit = opened.loaded.unit;
    done.iter().for_each(|line| output.note(line));
    show_in(report, unit, arguments.files.json, output)?;
    Ok(Exit::Done)
}

impl YardArguments {
    /// What it does to the ledger, where it does anything.
    fn doing(&self) -> Option<&'static str> {
        let asked = [
            (self.settle, "yard --settle"),
            (self.join.is_some(), "yard --join"),
            (!self.give_up.is_empty(), "yard --give-up"),
        ];
        asked.into_iter().find(|(asked, _)| *asked).map(|(_, doing)| doing)
    }
}

/// Takes in how the cylinders of a yard stand, and what has to be said of its ledger.
pub(super) fn stand(opened: &Opened, date: Date, output: &mut Output) {
    output.of_ledger.clone_from(&opened.yard.said);
    let terms = terms(opened, date);
    output.stand(terms.scale.division, standings(opened, terms));
}

/// Does what was asked to the ledger; returns what was done, a line each.
fn change(arguments: &YardArguments, opened: &mut Opened, output: &Output) -> Result<Vec<String>, Stop> {
    if arguments.settle {
        let settling = opened.settling(true)?;
        let settled = opened.settle(settling, &output.today, now())?;
        let ids: Vec<String> = settled.written.iter().map(ToString::to_string).collect();
        let written = if ids.is_empty() { "nothing to settle".into() } else { format!("settled: {}", ids.join(", ")) };
        return Ok([written].into_iter().chain(left(&settled)).collect());
    }
    if let Some(folder) = &arguments.join {
        if !folder.is_dir() {
            let error = std::io::ErrorKind::NotADirectory.into();
            return Err(FileStop::Unreadable { file: folder.clone(), error }.into());
        }
        return Ok(opened.join(folder, &output.today)?);
    }
    if let [entry, why] = arguments.give_up.as_slice() {
        let found = EntryId::parse(entry).filter(|id| opened.is_faulty(id));
        let id = found.ok_or_else(|| ByLedger::NoEntry { entry: entry.clone() })?;
        let draft = opened.give_up(&id, why, now());
        super::site::add(opened, vec![draft], output)?;
        return Ok(vec![format!("given up: {id}; what it may have spoken of counts as the other entries say")]);
    }
    Ok(Vec::new())
}

/// The refrigerants in the yard, in its order.
fn held(cylinders: &[Cylinder]) -> Vec<Refrigerant> {
    let mut held: Vec<Refrigerant> = Vec::new();
    for cylinder in cylinders {
        match &cylinder.contents {
            Contents::Holds(refrigerant) if !held.contains(refrigerant) => held.push(refrigerant.clone()),
            Contents::Holds(_) | Contents::Mixed(_) | Contents::Evacuated | Contents::Nitrogen | Contents::Unknown => {}
        }
    }
    held
}
