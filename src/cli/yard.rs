//! `yard`: each cylinder's limit and room.

use std::path::PathBuf;

use jiff::civil::Date;

use super::import::{self, ListOptions};
use super::stop::Typed;
use super::talk::rows;
use super::units::show_in;
use super::{Exit, JobFiles, Output, Stop};
use crate::cylinder::{Contents, Cylinder, Standing, Terms};
use crate::refrigerant::Refrigerant;
use crate::report::YardReport;
use crate::text::read_typed_yard;

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
    let loaded = read_typed_yard(yard, date, arguments.files.skip_bad_rows)?;
    loaded.input.iter().for_each(|input| output.detail_of(input));
    output.detail(&rows(loaded.cylinders.len(), loaded.skipped.len()));
    if wanted.is_empty() {
        wanted = held(&loaded.cylinders);
    }
    // A yard alone states no terms: those that a job has where its file is silent.
    let terms = Terms::usual(loaded.unit.default_division(), date);
    let standing = |cylinder: Cylinder| Standing::of(cylinder, vec![terms]);
    output.stand(terms.scale.division, loaded.cylinders.iter().cloned().map(standing).collect());
    let report = YardReport::new(&loaded.cylinders, &loaded.skipped, &terms, &wanted).with_every_limit(arguments.all);
    show_in(report, loaded.unit, arguments.files.json, output)?;
    Ok(Exit::Done)
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
