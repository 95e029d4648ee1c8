//! `--units`: weights in another unit than the job's.
//!
//! Where somebody fills by a report, the scale's own unit stays and the other stands beside it; where a reading is typed
//! or a page is kept, there is no other.

use super::stop::Typed;
use super::{Command, Output, Stop, show_blocks};
use crate::quantity::{Division, Unit};
use crate::report::ShownIn;

/// A unit as typed.
pub(super) fn unit(text: &str) -> Result<Unit, String> {
    Unit::ALL.into_iter().find(|unit| unit.name() == text).ok_or_else(|| "expected lb, kg or lb-oz".into())
}

/// Refuses `--units` where a weight in another unit could be taken for what the scale shows, or where it changes nothing.
pub(super) fn refuse(command: &Command) -> Result<(), Stop> {
    let why = match command {
        Command::Check(_)
        | Command::Yard(_)
        | Command::Plan(_)
        | Command::Quote(_)
        | Command::Pack(_)
        | Command::Tradeoff(_)
        | Command::Replan(_)
        | Command::Begin(_)
        | Command::Refrigerant(_) => return Ok(()),
        Command::Weigh(_) => "a reading without a unit counts in the job's; write the unit behind it: 28.9kg",
        Command::Sheet(_) | Command::Status(_) => {
            "what the scale shows counts; for a kg scale write `units: kg` in the job"
        }
        Command::Closeout(_) => "records keep the unit of the job",
        Command::Audit(_) => "a plan is checked in the unit that it is written in",
        Command::Cylinder(_) => "a ledger keeps the unit of its yard",
        Command::New(_) | Command::Schema(_) | Command::Release(_) | Command::Completions { .. } => {
            "no weights are shown"
        }
    };
    Err(Typed::Units { why }.into())
}

/// Refuses `--units` with data that other commands read back, or that mix with what is filled by.
pub(super) fn refuse_in_data(json: bool, output: &Output) -> Result<(), Stop> {
    if json && output.units.is_some() {
        return Err(Typed::UnitsInData.into());
    }
    Ok(())
}

/// Refuses `--units` with a page: somebody may fill by it, or be handed it.
pub(super) fn refuse_pages(output: &Output) -> Result<(), Stop> {
    if output.units.is_some() {
        return Err(Typed::UnitsOnPage.into());
    }
    Ok(())
}

/// Refuses `--units` with what is handed over as it is.
pub(super) fn refuse_handed_over(handed_over: bool, output: &Output) -> Result<(), Stop> {
    if handed_over && output.units.is_some() {
        return Err(Typed::UnitsHandedOver.into());
    }
    Ok(())
}

/// The division to show weights in, where it isn't the unit of the scale.
pub(super) fn other(own: Unit, output: &Output) -> Option<Division> {
    output.units.filter(|unit| *unit != own).map(Unit::default_division)
}

/// Shows a report in the unit that was asked for.
pub(super) fn show_in(mut report: impl ShownIn, own: Unit, json: bool, output: &mut Output) -> Result<(), Stop> {
    let Some(to) = other(own, output) else { return super::show(&report, json, output) };
    report.show_in(to);
    if json {
        return super::show(&report, json, output);
    }
    let mut blocks = report.blocks();
    let dangers = blocks.iter().take_while(|block| matches!(block, crate::report::Block::Danger(_))).count();
    let note = format!(
        "Shown in {}; the scale reads {}, and that counts. Limits, stops and room are rounded down and all else up, so \
         that sums may differ by a division. Sentences name their own unit.",
        to.unit().name(),
        own.name()
    );
    blocks.insert(dangers, crate::report::Block::Note(note));
    show_blocks(&blocks, output)
}
