//! Why a command stopped early. Every reason has its name, and here alone its words and its exit status.

use std::io;
use std::path::PathBuf;

use thiserror::Error;

use super::Exit;
use crate::cylinder::Id;
use crate::disk::NoWriterName;
use crate::door::{NotOpened, NotPlanned, StoreError};
use crate::estimate::OffersDiffer;
use crate::job::{JobError, WorkError};
use crate::planner::NoPlan;
use crate::problem::Problems;
use crate::quantity::QuantityError;
use crate::recovery::{NoReplan, Refusal};
use crate::refrigerant::LookupError;

/// Why a command stopped early.
#[derive(Debug, Error)]
pub(super) enum Stop {
    /// The output can't be written, or nobody reads any more.
    #[error("the output can't be written: {0}")]
    Write(#[from] io::Error),
    /// The files are at fault.
    #[error(transparent)]
    Problems(#[from] Problems),
    /// There is no plan of this kind, or none that may be shown.
    #[error(transparent)]
    NotPlanned(NotPlanned),
    /// What was typed can't be, or not for these files.
    #[error(transparent)]
    Typed(#[from] Typed),
    /// A file that was to be written or read beside the job can't be.
    #[error(transparent)]
    File(#[from] FileStop),
    /// The jobs can't be opened with their ledger.
    #[error(transparent)]
    Opened(NotOpened),
    /// The ledger doesn't allow what was asked.
    #[error(transparent)]
    ByLedger(#[from] ByLedger),
    /// Something that the customer's page promises has no price, or isn't stated.
    #[error("no customer's page, because it lacks:\n- {}\n`--draft` makes it with DRAFT across", .open.join("\n- "))]
    NoCustomerPage {
        /// What.
        open: Vec<String>,
    },
    /// What must never happen.
    #[error(transparent)]
    Ours(#[from] Ours),
    /// The same of one of several readings.
    #[error("reading {number}{}: {stop}", .cylinder.as_ref().map_or_else(String::new, |id| format!(", {id}")))]
    Reading {
        /// Its line, from 1.
        number: usize,
        /// Its cylinder, where it is known.
        cylinder: Option<Id>,
        /// Why.
        stop: Box<Self>,
    },
}

impl Stop {
    /// How the program ends for it.
    pub(super) fn exit(&self) -> Exit {
        match self {
            // A reader that has seen enough, such as `head`, is no fault.
            Self::Write(error) if error.kind() == io::ErrorKind::BrokenPipe => Exit::Done,
            Self::NotPlanned(NotPlanned::NoPlan(_)) | Self::NoCustomerPage { .. } => Exit::No,
            Self::Problems(_)
            | Self::NotPlanned(NotPlanned::Files(_) | NotPlanned::Ledger(_))
            | Self::Typed(_)
            | Self::File(_)
            | Self::Opened(_)
            | Self::ByLedger(_) => Exit::Refused,
            Self::Write(_) | Self::NotPlanned(NotPlanned::Faults { .. }) | Self::Ours(_) => Exit::Ours,
            Self::Reading { stop, .. } => stop.exit(),
        }
    }
}

/// What was typed and can't be, or not for these files.
#[derive(Debug, Error)]
pub(super) enum Typed {
    #[error("--lift-limit: {0}")]
    LiftLimit(QuantityError),
    #[error("{}", lines(.0))]
    Terms(Vec<JobError>),
    #[error("the yard has no cylinder `{id}`{}", .nearest.as_ref().map_or_else(String::new, |id| format!("; did you mean {id}?")))]
    Cylinder { id: Id, nearest: Option<Id> },
    #[error(transparent)]
    Refrigerant(#[from] LookupError),
    #[error(transparent)]
    Weight(#[from] QuantityError),
    /// A time or a remark of an imported reading.
    #[error("{0}")]
    Words(String),
    #[error("--units can't be given here:\n{why}")]
    Units { why: &'static str },
    #[error(
        "--units can't be given with --json here: weights to stop at keep the unit of the\n\
         job, in which `audit` reads them back"
    )]
    UnitsInData,
    #[error(
        "--units can't be given with -o: a page goes to the scale or to a customer,\nand keeps the unit of the job"
    )]
    UnitsOnPage,
    #[error("--units can't be given with --csv or --customer: both keep the job's unit")]
    UnitsHandedOver,
    #[error("--as: {0}")]
    Writer(NoWriterName),
    #[error("expected job files and a plan")]
    NoPlanFile,
    #[error("only one of the files can be standard input")]
    StandardInputTwice,
    #[error("the jobs state prices in {}; quote them apart", .currencies.join(" and "))]
    Currencies { currencies: Vec<String> },
    #[error(transparent)]
    Offers(#[from] OffersDiffer),
    #[error("--cheapest compares costs, and no job states `prices` with a `currency`")]
    NoPrices,
    #[error("expected what the scale shows")]
    NoWeight,
    #[error("the job has no system \"{name}\"; its systems are {}", quoted(.systems))]
    System { name: String, systems: Vec<String> },
    #[error("say of which system with --left SYSTEM=WEIGHT: {}", quoted(.systems))]
    LeftOfWhich { systems: Vec<String> },
    #[error("{option}: something was said of \"{system}\" before; say one thing of each system")]
    ToldTwice { system: String, option: &'static str },
    #[error("no system holds {size}")]
    LeftTooMuch { size: String },
}

/// A file beside the job that can't be written or read.
#[derive(Debug, Error)]
pub(super) enum FileStop {
    #[error("{} can't be written: {why}", .file.display())]
    Unwritable { file: PathBuf, why: String },
    #[error("{}: the file can't be written: {error}", .file.display())]
    NotWritten { file: PathBuf, error: io::Error },
    #[error("{} is there already and stays as it is; name another file", .file.display())]
    IsThere { file: PathBuf },
    #[error("{}: a yard is read by the end of its name; name it .yaml", .file.display())]
    NotYaml { file: PathBuf },
    #[error("{}: this can't be read: {error}", .file.display())]
    Unreadable { file: PathBuf, error: io::Error },
    /// Records that don't add up.
    #[error("{0}")]
    Records(String),
}

/// What the ledger, or its lack, doesn't allow.
#[derive(Debug, Error)]
pub(super) enum ByLedger {
    #[error("a job from standard input has no place for its readings: they are kept beside the yard; name the file")]
    StandardInput,
    #[error("the cylinders stand in no file, and there is nothing beside which it could be kept")]
    NoPlace,
    #[error("nobody follows a plan of this job yet: the first `weigh` begins it; before that, `plan` plans")]
    NoPlan,
    #[error("nothing was weighed, so there is nothing to close out")]
    NothingWeighed,
    #[error("there is no reading to take back")]
    NoReading,
    #[error("there is no replan to take back")]
    NoReplan,
    #[error("\"{job}\" is begun and its plan is in force: `replan` makes another for what is left, `status` shows it")]
    IsBegun { job: String },
    #[error("{id} is begun by another job with something else in it: it can't be taken over")]
    Begun { id: Id },
    #[error("{id} isn't free any more, so that the plan before can't be followed: `replan` makes another")]
    NotFree { id: Id },
    #[error("no row of the yard has it, so that no file says what it weighs")]
    NoRow,
    #[error("the options that the plan in force was made with can't be read by this version: {why}")]
    Options { why: String },
    #[error("{}: {id} is the id of another cylinder already", .yard.display())]
    IdTaken { yard: PathBuf, id: Id },
    #[error("the ledger has no entry {entry}, and nothing of it that can't be read goes by that name")]
    NoEntry { entry: String },
    #[error("{}", refused(.0))]
    Refused(Refusal),
}

/// What must never happen.
#[derive(Debug, Error)]
pub(super) enum Ours {
    #[error("the reading is in the ledger, and can't be found again")]
    ReadingLost,
    #[error("the plan is in the ledger, and can't be found again")]
    PlanLost,
    #[error("a quote was made without any plan")]
    NoOffer,
    #[error(transparent)]
    Csv(#[from] csv::Error),
    #[error(transparent)]
    Work(#[from] WorkError),
}

impl From<NotPlanned> for Stop {
    fn from(error: NotPlanned) -> Self {
        match error {
            NotPlanned::Files(problems) => Self::Problems(problems),
            NotPlanned::Ledger(error) => error.into(),
            NotPlanned::NoPlan(_) | NotPlanned::Faults { .. } => Self::NotPlanned(error),
        }
    }
}

impl From<NotOpened> for Stop {
    fn from(error: NotOpened) -> Self {
        match error {
            NotOpened::Files(problems) => Self::Problems(problems),
            NotOpened::Faults(faults) => Self::NotPlanned(NotPlanned::Faults { faults }),
            other => Self::Opened(other),
        }
    }
}

impl From<StoreError> for Stop {
    fn from(error: StoreError) -> Self {
        Self::Opened(error.into())
    }
}

impl From<NoPlan> for Stop {
    fn from(no: NoPlan) -> Self {
        Self::NotPlanned(no.into())
    }
}

impl From<NoReplan> for Stop {
    fn from(no: NoReplan) -> Self {
        Self::NotPlanned(match no {
            NoReplan::NoPlan(no) => no.into(),
            NoReplan::Faults(faults) => NotPlanned::Faults { faults },
        })
    }
}

fn lines(errors: &[JobError]) -> String {
    errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

fn quoted(names: &[String]) -> String {
    names.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ")
}

/// Danger first, then every reason.
fn refused(refusal: &Refusal) -> String {
    let mut lines: Vec<String> = refusal.danger.iter().cloned().collect();
    lines.push("refused, nothing was kept:".into());
    lines.extend(refusal.whys.iter().map(|why| format!("- {} [{}]", why.text, why.code)));
    if refusal.may_force {
        lines.push("If it is true all the same, `--force` keeps it with a mark.".into());
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_a_command_ends_says_whose_fault_it_was() {
        let broken = || io::Error::from(io::ErrorKind::BrokenPipe);
        let reading = |stop: Stop| Stop::Reading { number: 2, cylinder: Some("C-1".into()), stop: Box::new(stop) };
        let no_plan = || NoPlan::TooFew { at_most: 1, fewest: 2 };
        for (stop, exit, words) in [
            (Stop::from(broken()), Exit::Done, "the output can't be written: broken pipe"),
            (io::Error::other("full").into(), Exit::Ours, "the output can't be written: full"),
            (no_plan().into(), Exit::No, "1 cylinders aren't enough; it takes 2"),
            (NoReplan::from(no_plan()).into(), Exit::No, "1 cylinders aren't enough; it takes 2"),
            (
                NoReplan::Faults(Vec::new()).into(),
                Exit::Ours,
                "a plan was made and not shown, because it failed the audit. This is a fault of chargesplit:\n",
            ),
            (Typed::NoWeight.into(), Exit::Refused, "expected what the scale shows"),
            (
                Typed::Cylinder { id: "C-11".into(), nearest: Some("C-1".into()) }.into(),
                Exit::Refused,
                "the yard has no cylinder `C-11`; did you mean C-1?",
            ),
            (
                FileStop::IsThere { file: "a.yaml".into() }.into(),
                Exit::Refused,
                "a.yaml is there already and stays as it is; name another file",
            ),
            (ByLedger::NoReading.into(), Exit::Refused, "there is no reading to take back"),
            (Ours::ReadingLost.into(), Exit::Ours, "the reading is in the ledger, and can't be found again"),
            (reading(Typed::NoWeight.into()), Exit::Refused, "reading 2, C-1: expected what the scale shows"),
            (
                reading(Ours::ReadingLost.into()),
                Exit::Ours,
                "reading 2, C-1: the reading is in the ledger, and can't be found again",
            ),
        ] {
            assert_eq!((stop.exit(), stop.to_string().as_str()), (exit, words));
        }
    }
}
