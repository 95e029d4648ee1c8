//! Jobs with their ledger, as the commands open them that keep something in it, or show what is kept.

use std::path::{Path, PathBuf};

use super::clock::now;
use super::machine::{holder, machine};
use super::plan::Wishes;
use super::stop::{ByLedger, Typed};
use super::{Output, Stop, is_standard_input, tell};
use crate::audit::Audited;
use crate::cylinder::Id;
use crate::disk::Input;
use crate::door::{self, Keep, NotInForce, NotOpened, Opened, Round, ToBind};
use crate::ledger::{JobId, Jobs};
use crate::quantity::{Unit, Weight, parse_weight};
use crate::recovery::{Day, first_plan};
use crate::report::skipped;
use crate::text::Request;

/// Opens jobs to look at their ledger, or to add to it: then `doing` says to others what they wait for.
pub(super) fn open(
    jobs: &[PathBuf],
    skip_bad_rows: bool,
    doing: Option<&str>,
    output: &mut Output,
) -> Result<Opened, Stop> {
    let request = Request { jobs, today: &output.today, skip_bad_rows };
    let opened = door::open(&request, true, &keep(doing, output)?)?;
    tell(&opened, output);
    Ok(opened)
}

/// Opens one job that stands in a file, to say how far it is.
pub(super) fn follow(job: &Path, skip_bad_rows: bool, output: &mut Output) -> Result<Opened, Stop> {
    if is_standard_input(job) {
        return Err(ByLedger::StandardInput.into());
    }
    let request = Request { jobs: &[job.to_owned()], today: &output.today, skip_bad_rows };
    let opened = door::open_to_follow(&request, &keep(None, output)?)?;
    tell(&opened, output);
    say_skipped(&opened, output)?;
    Ok(opened)
}

/// Says which rows of the yard were left out.
fn say_skipped(opened: &Opened, output: &mut Output) -> Result<(), Stop> {
    for line in skipped(&opened.loaded.skipped) {
        output.say(&format!("warning: left out, its row can't be read: {line}"))?;
    }
    Ok(())
}

/// What is to be done with a ledger: `doing` says to others what they wait for.
pub(super) fn keep(doing: Option<&str>, output: &Output) -> Result<Keep, Stop> {
    let machine = machine(output);
    Ok(match doing {
        Some(doing) => Keep::Write(machine, holder(doing, output)?),
        None => Keep::Read(Some(machine)),
    })
}

/// Opens one job that stands in a file.
pub(super) fn open_one(
    job: &Path,
    skip_bad_rows: bool,
    doing: Option<&str>,
    output: &mut Output,
) -> Result<Opened, Stop> {
    if is_standard_input(job) {
        return Err(ByLedger::StandardInput.into());
    }
    let opened = open(&[job.to_owned()], skip_bad_rows, doing, output)?;
    say_skipped(&opened, output)?;
    Ok(opened)
}

/// What a page of a job under way is made from: its files, and the ledger as it is.
pub(super) fn inputs(opened: &Opened) -> Vec<Input> {
    let ledger = opened.store.as_ref().map(|store| {
        let entries: Vec<String> = store.ledger.entries.iter().map(|entry| entry.id.to_string()).collect();
        Input::of(&store.folder, entries.join(" ").as_bytes())
    });
    opened.loaded.inputs.iter().cloned().chain(ledger).collect()
}

/// The plan that these jobs follow, where they follow one.
pub(super) fn round(opened: &Opened, output: &Output) -> Result<Option<Round>, Stop> {
    Ok(opened.round(&output.today)?)
}

/// The plan that exactly these jobs follow; `None` where they follow none, or others that aren't begun.
pub(super) fn in_force(opened: &Opened, output: &Output) -> Result<Option<Round>, Stop> {
    match opened.round(&output.today) {
        Ok(round) => Ok(round),
        Err(NotOpened::Round(NotInForce::NotTogether { .. })) if begun_job(opened).is_none() => Ok(None),
        Err(error) => Err(error.into()),
    }
}

/// Refuses what would put another plan in the place of one that is begun.
pub(super) fn refuse_begun(opened: &Opened) -> Result<(), Stop> {
    begun_job(opened).map_or(Ok(()), |job| Err(ByLedger::IsBegun { job }.into()))
}

/// The first of the jobs that were named that is begun.
fn begun_job(opened: &Opened) -> Option<String> {
    let jobs = Jobs::of(opened.ledger());
    let begun = opened.open.iter().flatten().find(|id| jobs.get(id).is_some_and(|job| job.begun));
    begun.map(|id| id.name.clone())
}

/// The day of a round, and how its cylinders stand.
pub(super) fn day<'a>(opened: &Opened, round: &'a Round, output: &mut Output) -> Day<'a> {
    let day = round.day(opened.ledger());
    output.stand_by(&day, None);
    day
}

/// Binds a plan that was made for these jobs; where they follow one that isn't begun, it takes its place.
pub(super) fn bind(
    opened: &mut Opened,
    audited: &Audited,
    options: Vec<String>,
    van: Option<String>,
    output: &Output,
) -> Result<(), Stop> {
    refuse_begun(opened)?;
    // A plan that others share is taken back by all of them, or by none.
    if let Some(error) = opened.leaves_others() {
        return Err(NotOpened::from(error).into());
    }
    let planned = first_plan(&opened.loaded.work, audited);
    let day = opened.loaded.work.date().max(*output.today);
    let Some(store) = &opened.store else { return Err(ByLedger::NoPlace.into()) };
    let id = store.next_id();
    let to = ToBind { planned: &planned, day, van, options, round: None, begun: Vec::new() };
    let draft = opened.bind(&to, &id, now());
    add(opened, vec![draft], output)
}

/// Adds entries, all or none of them; when this returns they are on the disk.
pub(super) fn add(opened: &mut Opened, drafts: Vec<door::Draft>, output: &Output) -> Result<(), Stop> {
    let Some(store) = &mut opened.store else { return Err(ByLedger::NoPlace.into()) };
    store.add(drafts)?;
    Ok(opened.look(&output.today)?)
}

/// Makes the plan of a job that has none and binds it. One that was printed and has lapsed is made again as it was asked for.
pub(super) fn begin(opened: &mut Opened, seconds: f64, output: &mut Output) -> Result<Audited, Stop> {
    let options = opened.lapsed_options();
    let plan = Wishes::of(&options)?.within(seconds).plan(opened, output)?.audited;
    bind(opened, &plan, options, None, output)?;
    Ok(plan)
}

/// The position in a round of the job that a command names.
pub(super) fn position(opened: &Opened, round: &Round) -> (usize, JobId) {
    let id = opened.open.iter().flatten().next();
    let at = id.and_then(|id| round.jobs.iter().position(|known| known == id)).unwrap_or(0);
    (at, round.jobs[at].clone())
}

/// The cylinders of a round that something has gone into.
pub(super) fn begun(day: &Day) -> Vec<Id> {
    let begun = day.fillings.iter().filter(|filling| filling.begun() && filling.readings > 0 && !filling.lost);
    begun.map(|filling| filling.start.id.clone()).collect()
}

/// A weight as typed, a bare number in the job's unit.
pub(super) fn weight(text: &str, unit: Unit) -> Result<Weight, Stop> {
    Ok(parse_weight(text, Some(unit)).map_err(Typed::from)?)
}
