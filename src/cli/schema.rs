//! `schema`: what an editor can know of a file.

use clap::ValueEnum;

use super::{Exit, Output, Stop};
use crate::text::{FileKind, schema};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "An editor that knows JSON Schema goes by the first line of a file, with a path\nrelative to it:\n\n  # yaml-language-server: $schema=job.schema.json"
)]
pub(super) struct SchemaArguments {
    /// Of which file
    kind: SchemaKind,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum SchemaKind {
    /// A job
    Job,
    /// A yard of cylinders
    Yard,
    /// A truck
    Truck,
    /// Rates that jobs share
    Rates,
}

pub(super) fn run(arguments: &SchemaArguments, output: &mut Output) -> Result<Exit, Stop> {
    let kind = match arguments.kind {
        SchemaKind::Job => FileKind::Job,
        SchemaKind::Yard => FileKind::Yard,
        SchemaKind::Truck => FileKind::Truck,
        SchemaKind::Rates => FileKind::Rates,
    };
    serde_json::to_writer_pretty(&mut output.data, &schema(kind)).map_err(|error| Stop::Write(error.into()))?;
    writeln!(output.data)?;
    Ok(Exit::Done)
}
