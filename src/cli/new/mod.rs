//! `new`: a commented file to begin with.

use clap::ValueEnum;

use super::{Exit, Output, Stop};

#[derive(Debug, clap::Args)]
pub(super) struct NewArguments {
    /// What to begin
    kind: Kind,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Kind {
    /// A job; it names a yard, yard.yaml
    Job,
    /// A yard of cylinders
    Yard,
}

pub(super) fn run(arguments: &NewArguments, output: &mut Output) -> Result<Exit, Stop> {
    let text = match arguments.kind {
        Kind::Job => include_str!("job.yaml"),
        Kind::Yard => include_str!("yard.yaml"),
    };
    output.data.write_all(text.as_bytes())?;
    Ok(Exit::Done)
}
