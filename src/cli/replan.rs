//! `replan`: the plan for what is left, from the log.

use std::path::PathBuf;

use super::clock::now;
use super::page::Page;
use super::plan::Wishes;
use super::site::{self, weight};
use super::stop::{ByLedger, Typed};
use super::talk::rows;
use super::units::{other, refuse_in_data};
use super::watching::Watching;
use super::{Exit, JobFiles, Output, Stop, remark, seconds, show};
use crate::cylinder::{Cylinder, Id};
use crate::door::{Opened, Round, ToBind};
use crate::ledger::{Fact, FactKind};
use crate::planner::{Effort, Options};
use crate::recovery::{self, Changes, Day, Planned};
use crate::report::{Alarms, ReplanReport, ReplanSheet, UndoReport};
use crate::text::{Latest, read_further_yard};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "What you know of a system by now:\n  --left SYSTEM=WEIGHT  so much is left, by a level, say\n  --dry SYSTEM          nothing is left\n  --more SYSTEM         something is left and nobody knows how much\nStops stay as they are marked, unless that takes one cylinder more or passes a limit."
)]
pub(super) struct ReplanArguments {
    /// The job file
    #[arg(value_name = "JOB")]
    job: PathBuf,
    /// So much is believed to be left now, as by a level: WEIGHT, or SYSTEM=WEIGHT where the job has several; may be given more
    /// than once
    #[arg(long, value_name = "[SYSTEM=]WEIGHT")]
    left: Vec<String>,
    /// This system is empty: nothing is left of it, and cylinders that were for it alone are free; may be given more than once
    #[arg(long, value_name = "SYSTEM")]
    dry: Vec<String>,
    /// This system still has pressure at its last stop, and nobody knows how much is left: the roomiest fit cylinder is next; may
    /// be given more than once
    #[arg(long, value_name = "SYSTEM")]
    more: Vec<String>,
    /// A list of further cylinders, YAML or CSV; they are the yard's from here on; may be given more than once
    #[arg(long, value_name = "YARD")]
    with: Vec<PathBuf>,
    /// Take out this cylinder, missing or bad; what is in it stays counted; may be given more than once
    #[arg(long, value_name = "ID")]
    pub(super) without: Vec<Id>,
    /// Why those cylinders are taken out
    #[arg(long, value_name = "WHY", value_parser = remark, requires = "without")]
    why: Option<String>,
    /// Take back the last replan: the plan before it is in force again
    #[arg(long, conflicts_with_all = ["left", "dry", "more", "with", "without", "output"])]
    undo: bool,
    /// Seconds after which the best plan so far is taken
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0, value_parser = seconds)]
    time_limit: f64,
    #[command(flatten)]
    page: Page,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &ReplanArguments, output: &mut Output) -> Result<Exit, Stop> {
    refuse_in_data(arguments.files.json, output)?;
    arguments.page.check(output)?;
    let mut opened = site::open_one(&arguments.job, arguments.files.skip_bad_rows, Some("replan"), output)?;
    let round = site::round(&opened, output)?.ok_or(ByLedger::NoPlan)?;
    if arguments.undo {
        return undo(arguments, &mut opened, &round, output);
    }
    let told = told(arguments, &round.day(opened.ledger()))?;
    for id in &arguments.without {
        super::changes::find(&round.work, id)?;
    }
    let added = facts(arguments, &mut opened, output)?;
    let round = site::round(&opened, output)?.ok_or(ByLedger::NoPlan)?.renewed(&opened, &output.today)?;
    let wishes = Wishes::of(&round.bind.options)?;
    let mut round = round;
    round.work = wishes.on(round.work, output)?;
    let day = site::day(&opened, &round, output);
    let effort = Effort::within(arguments.time_limit);
    let (without, options) = (arguments.without.clone(), Options { effort, ..wishes.for_what_is_left() });
    let changes = Changes { without, added, options, ..told };
    let mut watching = Watching::start(arguments.time_limit, day.division(), output);
    let replanned = recovery::replan(&day, &changes, &mut |progress| watching.go_on(progress));
    watching.finish(output);
    let replanned = replanned?;
    output.stand_by(&day, Some(&replanned.planned));
    let first = output.alarms().map(Alarms::blocks).unwrap_or_default();
    let report = ReplanReport::new(&day, &replanned, &round.edited);
    let report = report.beside(day.division().unit(), other(day.division().unit(), output));
    let page = arguments
        .page
        .draw(&site::inputs(&opened), |inputs| ReplanSheet::new(&day, &replanned, &report, &inputs).page(&first));
    let no = replanned.undecided || replanned.is_short();
    let begun = site::begun(&day);
    bind(&mut opened, &round, &replanned.planned, begun, output)?;
    show(&report, arguments.files.json, output)?;
    arguments.page.write(page.as_deref(), output)?;
    Ok(if no { Exit::No } else { Exit::Done })
}

/// Puts a plan in the place of the one in force.
fn bind(opened: &mut Opened, round: &Round, planned: &Planned, begun: Vec<Id>, output: &Output) -> Result<(), Stop> {
    let Some(store) = &opened.store else { return Err(ByLedger::NoPlace.into()) };
    let (id, day) = (store.next_id(), round.work.date().max(*output.today));
    let options = round.bind.options.clone();
    let to = ToBind { planned, day, van: round.bind.van.clone(), options, round: Some(round), begun };
    let draft = opened.bind(&to, &id, now());
    site::add(opened, vec![draft], output)
}

/// Keeps what has happened to cylinders: those that have come, whose ids it returns, and those that are out.
fn facts(arguments: &ReplanArguments, opened: &mut Opened, output: &mut Output) -> Result<Vec<Id>, Stop> {
    let mut new: Vec<Cylinder> = Vec::new();
    for list in &arguments.with {
        let latest = Latest::of(opened.loaded.work.date(), &output.today);
        let read = read_further_yard(list, &opened.loaded.known, latest)?;
        read.input.iter().for_each(|input| output.detail_of(input));
        output.detail(&rows(read.cylinders.len(), read.skipped.len()));
        for cylinder in read.cylinders {
            let known = opened.loaded.work.yard().iter().find(|known| known.id == cylinder.id);
            match known {
                // Taken twice it changes nothing.
                Some(known) if opened.is_added(&known.id) => {}
                Some(_) => return Err(ByLedger::IdTaken { yard: list.clone(), id: cylinder.id.clone() }.into()),
                None => new.push(cylinder),
            }
        }
    }
    let added = new.iter().map(|cylinder| {
        let what = FactKind::Added { cylinder: cylinder.id.clone() };
        opened.fact(&cylinder.id, Fact { what, why: None }, Some(cylinder), now())
    });
    let out = arguments.without.iter().map(|id| {
        let what = FactKind::Out { cylinder: id.clone() };
        opened.fact(id, Fact { what, why: arguments.why.clone() }, None, now())
    });
    let drafts: Vec<_> = added.chain(out).collect();
    if !drafts.is_empty() {
        site::add(opened, drafts, output)?;
    }
    Ok(new.iter().map(|cylinder| cylinder.id.clone()).collect())
}

/// What was found out of which system; each is told of once.
fn told(arguments: &ReplanArguments, day: &Day) -> Result<Changes, Stop> {
    let mut told = Changes::default();
    let mut spoken = Vec::new();
    let mut once = |system: usize, option: &'static str| {
        if spoken.contains(&system) {
            return Err(Typed::ToldTwice { system: day.systems[system].name.clone(), option });
        }
        spoken.push(system);
        Ok(system)
    };
    for text in &arguments.left {
        let (system, size) = match text.rsplit_once('=') {
            Some((name, size)) => (named(name, day)?, size),
            None if day.systems.len() == 1 => (0, text.as_str()),
            None => return Err(Typed::LeftOfWhich { systems: systems(day) }.into()),
        };
        let marks = day.division().ceil(weight(size, day.division().unit())?);
        // The most that a job file may say of a system.
        let most = day.division().floor(crate::quantity::Weight::pounds(crate::quantity::Decimal::from(200_000)));
        if marks > most {
            return Err(Typed::LeftTooMuch { size: size.to_owned() }.into());
        }
        told.left.push((once(system, "--left")?, marks));
    }
    for name in &arguments.dry {
        told.dry.push(once(named(name, day)?, "--dry")?);
    }
    for name in &arguments.more {
        told.more.push(once(named(name, day)?, "--more")?);
    }
    Ok(told)
}

fn systems(day: &Day) -> Vec<String> {
    day.systems.iter().map(|system| system.name.clone()).collect()
}

/// The system of this name.
fn named(name: &str, day: &Day) -> Result<usize, Typed> {
    let wanted = name.trim().to_lowercase();
    let system = day.systems.iter().position(|system| system.name.to_lowercase() == wanted);
    system.ok_or_else(|| Typed::System { name: name.trim().to_owned(), systems: systems(day) })
}

fn undo(arguments: &ReplanArguments, opened: &mut Opened, round: &Round, output: &mut Output) -> Result<Exit, Stop> {
    let (replan, before) = opened.replan_of(&round.in_force.bind, &round.bind).ok_or(ByLedger::NoReplan)?;
    let day = round.day(opened.ledger());
    // What it took out is back with it.
    let back = opened.taken_out_with(replan);
    let planned = Planned::of(before, day.division());
    let taken = planned.steps.iter().find(|step| {
        let cylinder = round.work.yard().iter().find(|cylinder| cylinder.id == step.cylinder);
        cylinder.is_none_or(|cylinder| {
            let by = &cylinder.ledger;
            let out = by.out.is_some() && !back.contains(&cylinder.id);
            by.bound.is_some() || out || by.doubt.is_some() || by.changed.is_some()
        })
    });
    if let Some(step) = taken {
        return Err(ByLedger::NotFree { id: step.cylinder.clone() }.into());
    }
    let begun = site::begun(&day);
    let backs: Vec<_> = back
        .iter()
        .map(|id| {
            let what = FactKind::Back { cylinder: id.clone() };
            opened.fact(id, Fact { what, why: Some("the replan was taken back".into()) }, None, now())
        })
        .collect();
    if !backs.is_empty() {
        site::add(opened, backs, output)?;
    }
    bind(opened, round, &planned, begun, output)?;
    let round = site::round(opened, output)?.ok_or(ByLedger::NoPlan)?;
    site::day(opened, &round, output);
    show(&UndoReport::plan(round.work.division()), arguments.files.json, output)?;
    Ok(Exit::Done)
}
