//! What the environment says of this machine: where it keeps what it has to remember, and who writes.

use std::env;
use std::path::PathBuf;

use crate::disk::{Machine, NoWriterName, WriterName};

/// The folder in which this machine keeps what it has to remember, where the platform's isn't meant.
const STATE: &str = "CHARGESPLIT_STATE";
/// The name to write under, where no option says one.
const AS: &str = "CHARGESPLIT_AS";

/// This machine, with the state folder of its environment. Where the platform has none, one is asked for in a sentence as
/// soon as something is to be written.
pub fn machine() -> Machine {
    let ours = env::var_os(STATE).filter(|path| !path.is_empty()).map(PathBuf::from);
    let platforms = || Some(dirs::state_dir().or_else(dirs::data_local_dir)?.join("chargesplit"));
    Machine::new(ours.or_else(platforms).unwrap_or_default())
}

/// Who writes: as typed, or as the environment says, or the name of the machine.
///
/// # Errors
/// A typed name, or one of the environment, that can't be one.
pub fn writer(typed: Option<&str>) -> Result<WriterName, NoWriterName> {
    let named = env::var(AS).ok().filter(|name| !name.is_empty());
    match typed.map(str::to_owned).or(named) {
        Some(name) => WriterName::parse(&name),
        None => Ok(WriterName::of_machine(&gethostname::gethostname().to_string_lossy())),
    }
}
