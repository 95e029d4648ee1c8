//! Who writes from this machine, and where it keeps what it has to remember: from the command line and the environment.

use std::env;
use std::path::PathBuf;

use etcetera::base_strategy::{BaseStrategy, choose_base_strategy};

use super::clock::now;
use super::stop::Typed;
use super::{Output, Stop};
use crate::disk::{Holder, Machine, WriterName};

/// The folder in which this machine keeps what it has to remember, where the platform's isn't meant.
const STATE: &str = "CHARGESPLIT_STATE";
/// The name to write under, where no option says one.
const AS: &str = "CHARGESPLIT_AS";

/// What the environment says of this machine.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Surroundings {
    /// The folder of its memory; where none is given, the one by the custom of the system.
    pub state: Option<PathBuf>,
    /// The writer's name; where none is given, the machine's.
    pub writer: Option<String>,
}

impl Surroundings {
    /// As the environment of the process says.
    pub fn of_process() -> Self {
        let state = env::var_os(STATE).filter(|path| !path.is_empty()).map(PathBuf::from);
        Self { state, writer: env::var(AS).ok().filter(|name| !name.is_empty()) }
    }
}

/// This machine. Where the platform has no state folder, one is asked for in a sentence as soon as something is to be written.
pub(super) fn machine(output: &Output) -> Machine {
    // What stays on this machine: the state folder, or where a platform has none, the local one that a cache goes to.
    let platforms = || {
        let folders = choose_base_strategy().ok()?;
        Some(folders.state_dir().unwrap_or_else(|| folders.cache_dir()).join("chargesplit"))
    };
    Machine::new(output.surroundings.state.clone().or_else(platforms).unwrap_or_default())
}

/// Who writes and does this: as typed, or as the environment says, or under the name of the machine.
pub(super) fn holder(doing: &str, output: &Output) -> Result<Holder, Stop> {
    let name = match output.writer.as_ref().or(output.surroundings.writer.as_ref()) {
        Some(name) => WriterName::parse(name).map_err(Typed::Writer)?,
        None => WriterName::of_machine(&gethostname::gethostname().to_string_lossy()),
    };
    Ok(Holder { name, command: doing.to_owned(), since: now().to_string() })
}
