//! `cylinder`: what the ledger knows of a cylinder, and a fact about it that is no reading of a job.

use std::path::PathBuf;

use super::clock::now;
use super::site::weight;
use super::stop::{ByLedger, Typed};
use super::{Exit, Output, Stop, remark, show};
use crate::cylinder::{Condition, Id, Standing, Terms};
use crate::door::{self, Opened};
use crate::ledger::{CylinderState, Fact, FactKind};
use crate::report::CylinderReport;
use crate::text::Today;

#[derive(Debug, clap::Args)]
pub(super) struct CylinderArguments {
    /// The yard file, or a job with its cylinders in place
    #[arg(value_name = "YARD")]
    yard: PathBuf,
    /// The cylinder
    #[arg(value_name = "ID")]
    pub(super) id: Id,
    /// It was weighed: what the scale shows, a bare number in the yard's unit
    #[arg(long, value_name = "GROSS", conflicts_with_all = ["out", "back", "as_file", "to_van"])]
    weighed: Option<String>,
    /// What is in it: a refrigerant, or evacuated, nitrogen, unknown
    #[arg(long, value_name = "REFRIGERANT", requires = "weighed", conflicts_with = "emptied")]
    holds: Option<String>,
    /// The condition of what is in it
    #[arg(long, value_name = "CONDITION", requires = "holds", value_parser = condition)]
    condition: Option<Condition>,
    /// It has been emptied and evacuated; it weighs its tare, or what --weighed says
    #[arg(long, conflicts_with_all = ["out", "back", "as_file", "to_van"])]
    emptied: bool,
    /// It is gone or bad: it is in no plan from here on
    #[arg(long, value_name = "WHY", value_parser = remark, conflicts_with_all = ["back", "as_file", "to_van"])]
    out: Option<String>,
    /// It is there and good again
    #[arg(long, value_name = "WHY", value_parser = remark, conflicts_with_all = ["as_file", "to_van"])]
    back: Option<String>,
    /// The row of the yard file is right, and what the ledger says is settled by it
    #[arg(long, conflicts_with = "to_van")]
    as_file: bool,
    /// It goes on this van
    #[arg(long, value_name = "VAN", value_parser = remark)]
    to_van: Option<String>,
    /// Why, for the ledger
    #[arg(long, value_name = "WHY", value_parser = remark, conflicts_with_all = ["out", "back"])]
    why: Option<String>,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

fn condition(text: &str) -> Result<Condition, String> {
    let known = [Condition::Clean, Condition::Wet, Condition::Burnout];
    known.into_iter().find(|one| one.name() == text).ok_or_else(|| "expected clean, wet or burnout".into())
}

pub(super) fn run(arguments: &CylinderArguments, output: &mut Output) -> Result<Exit, Stop> {
    let says = arguments.weighed.is_some() || arguments.emptied || arguments.out.is_some();
    let says = says || arguments.back.is_some() || arguments.as_file || arguments.to_van.is_some();
    let keep = super::site::keep(says.then_some("cylinder"), output)?;
    let mut opened = door::open_yard(&arguments.yard, *output.today, &output.today, false, &keep)?;
    super::yard::stand(&opened, *output.today, output);
    let known = opened.yard.cylinders.iter().any(|cylinder| cylinder.id == arguments.id);
    if !known && opened.yard.now.get(&arguments.id).is_none() {
        return Err(super::changes::unknown(opened.yard.cylinders.iter(), &arguments.id));
    }
    for fact in facts(arguments, &opened, &output.today)? {
        let row = match &fact.what {
            FactKind::AsFile { .. } => Some(opened.file_row(&arguments.id).ok_or(ByLedger::NoRow)?.clone()),
            _ => None,
        };
        let draft = opened.fact(&arguments.id, fact, row.as_ref(), now());
        super::site::add(&mut opened, vec![draft], output)?;
    }
    super::yard::stand(&opened, *output.today, output);
    let history = opened.history(&arguments.id);
    let cylinder = opened.yard.cylinders.iter().find(|cylinder| cylinder.id == arguments.id);
    show(&CylinderReport::new(&arguments.id, cylinder, opened.loaded.unit, history), arguments.json, output)?;
    Ok(Exit::Done)
}

/// What was said, as facts.
fn facts(arguments: &CylinderArguments, opened: &Opened, today: &Today) -> Result<Vec<Fact>, Stop> {
    let (id, unit) = (&arguments.id, opened.loaded.unit);
    let fact = |what, why: &Option<String>| vec![Fact { what, why: why.clone() }];
    let cylinder = id.clone();
    let gross = arguments.weighed.as_ref().map(|typed| weight(typed, unit)).transpose()?;
    if let Some(gross) = gross {
        crate::cylinder::in_range("gross", gross).map_err(|error| Typed::Words(error.to_string()))?;
    }
    if arguments.emptied {
        let tare = opened.yard.cylinders.iter().find(|one| one.id == *id).map(|one| one.tare);
        let gross = gross.or(tare).ok_or(ByLedger::NoRow)?;
        return Ok(fact(FactKind::Emptied { cylinder, gross }, &arguments.why));
    }
    if let Some(gross) = gross {
        let holds = arguments.holds.as_ref().map(|typed| holds(typed, arguments, opened, today)).transpose()?;
        return Ok(fact(FactKind::Weighed { cylinder, gross, holds }, &arguments.why));
    }
    Ok(if arguments.out.is_some() {
        fact(FactKind::Out { cylinder }, &arguments.out)
    } else if arguments.back.is_some() {
        fact(FactKind::Back { cylinder }, &arguments.back)
    } else if arguments.as_file {
        fact(FactKind::AsFile { cylinder }, &arguments.why)
    } else if let Some(van) = &arguments.to_van {
        fact(FactKind::ToVan { cylinder, van: van.clone() }, &arguments.why)
    } else {
        Vec::new()
    })
}

/// What is in it, by its name in the table or in a job of the ledger.
fn holds(typed: &str, arguments: &CylinderArguments, opened: &Opened, today: &Today) -> Result<CylinderState, Stop> {
    let word = typed.trim().to_lowercase();
    let name = if ["evacuated", "nitrogen", "unknown"].contains(&word.as_str()) {
        word
    } else {
        match crate::refrigerant::Refrigerant::find(typed) {
            Ok(found) => found.name().to_owned(),
            Err(error) => opened.named(typed, today).map(|found| found.name().to_owned()).ok_or(Typed::from(error))?,
        }
    };
    Ok(CylinderState {
        gross: crate::quantity::Weight::ZERO,
        holds: name,
        may_contain: Vec::new(),
        condition: arguments.condition.unwrap_or(Condition::Clean),
        owner: None,
        kept_for: None,
        cleaned: false,
    })
}

/// How a yard stands where no job states its terms.
pub(super) fn terms(opened: &Opened, date: jiff::civil::Date) -> Terms {
    Terms::usual(opened.loaded.unit.default_division(), date)
}

/// The cylinders of a yard by these terms.
pub(super) fn standings(opened: &Opened, terms: Terms) -> Vec<Standing> {
    opened.yard.cylinders.iter().map(|cylinder| Standing::of(cylinder.clone(), vec![terms])).collect()
}
