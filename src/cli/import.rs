//! `yard --import`: somebody's list of cylinders as a yard, and a report of what became of it.

use std::io;
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::danger::Watch;
use super::stop::FileStop;
use super::talk::{Talk, rows};
use super::{Exit, Output, Stop, show};
use crate::disk::write_new;
use crate::report::ImportReport;
use crate::text::{Import, import_yard};

/// How a list is read and where the yard goes.
#[derive(Debug, Clone, clap::Args)]
pub(super) struct ListOptions {
    /// A list of cylinders as a spreadsheet saves it (CSV), written as a yard; --units is the unit where it says none
    #[arg(long, value_name = "FILE")]
    import: Option<PathBuf>,
    /// With --import: which column is a key, such as "tare=Empty weight"; may be given more than once
    #[arg(long, value_name = "KEY=HEAD", value_parser = column, requires = "import", conflicts_with = "yard")]
    column: Vec<(String, String)>,
    /// With --import: the yard file to write, .yaml; it must not be there yet [default: standard output]
    #[arg(short, long, value_name = "FILE", requires = "import", conflicts_with = "yard")]
    output: Option<PathBuf>,
}

fn column(text: &str) -> Result<(String, String), String> {
    let (key, head) = text.split_once('=').ok_or("expected KEY=HEAD, such as \"tare=Empty weight\"")?;
    Ok((key.trim().to_owned(), head.trim().to_owned()))
}

pub(super) fn run(options: &ListOptions, today: Date, json: bool, output: &mut Output) -> Result<Exit, Stop> {
    // The command line asks for one of the two.
    let file = options.import.as_deref().unwrap_or(Path::new(""));
    if let Some(to) = &options.output {
        let is_yaml = to.extension().is_some_and(|end| end == "yaml" || end == "yml");
        if !is_yaml {
            return Err(FileStop::NotYaml { file: to.clone() }.into());
        }
    }
    let list = import_yard(&Import { file, unit: output.units, chosen: &options.column, today })?;
    output.detail_of(&list.input);
    output.detail(&rows(list.cylinders, list.refused.len()));
    let report = ImportReport::new(&list, file, options.output.as_deref());
    if list.cylinders == 0 {
        show(&report, json, output)?;
        return Ok(Exit::No);
    }
    match &options.output {
        Some(to) => {
            write_new(to, list.text.as_bytes()).map_err(|error| refused(to, &error))?;
            show(&report, json, output)?;
        }
        None => {
            output.data.write_all(list.text.as_bytes())?;
            output.data.flush()?;
            // The yard is the data here, and what is said of it goes beside it.
            let Output { screen, talk, units, .. } = *output;
            if talk != Talk::Quiet || json || report.warns() {
                let (data, rest, watch) = (&mut *output.rest, &mut io::sink(), Watch::default());
                let mut beside = Output {
                    data,
                    rest,
                    screen,
                    talk,
                    units,
                    watch,
                    today: super::clock::today(),
                    surroundings: super::Surroundings::default(),
                    writer: None,
                    of_ledger: Vec::new(),
                };
                show(&report, json, &mut beside)?;
            }
        }
    }
    Ok(if list.refused.is_empty() { Exit::Done } else { Exit::No })
}

fn refused(path: &Path, error: &io::Error) -> FileStop {
    let file = path.to_owned();
    match error.kind() {
        io::ErrorKind::AlreadyExists => FileStop::IsThere { file },
        _ => FileStop::Unwritable { file, why: error.to_string() },
    }
}
