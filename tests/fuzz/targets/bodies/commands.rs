//! The commands of the scale with arguments that bytes spell, one command to a line, on one job and its log.

use std::ffi::OsString;
use std::fs;
use std::path::Path;

use chargesplit::cli::{Exit, Surroundings, run_in};
use chargesplit::door::Store;

use super::readers::{JOB, VAN};
use super::shows;

/// The first character of a line says which command it is; none of these writes where an argument says.
const COMMANDS: [(char, &[&str], bool); 8] = [
    ('w', &["weigh"], true),
    ('r', &["replan"], true),
    ('s', &["status"], true),
    ('c', &["closeout"], true),
    ('k', &["check"], true),
    ('t', &["tradeoff"], true),
    ('g', &["refrigerant"], false),
    ('y', &["yard"], false),
];
/// More lines than that reach nothing new.
const MOST_LINES: usize = 8;

/// Lines of a command's letter and its further arguments, with tabs between.
pub fn commands(folder: &Path, bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            fs::remove_file(path).unwrap();
        } else {
            fs::remove_dir_all(path).unwrap();
        }
    }
    let job = folder.join("job.yaml");
    fs::write(&job, JOB).unwrap();
    fs::write(folder.join("van.csv"), VAN).unwrap();
    let surroundings = Surroundings { state: Some(folder.join("state")), writer: Some("office".into()) };
    let mut entries = 0;
    for line in text.split('\n').take(MOST_LINES) {
        let mut letters = line.chars();
        let Some(first) = letters.next() else { continue };
        let Some((_, command, of_job)) = COMMANDS.iter().find(|(letter, ..)| *letter == first) else { continue };
        let mut arguments: Vec<OsString> = vec!["chargesplit".into()];
        arguments.extend(command.iter().map(OsString::from));
        if *of_job {
            arguments.push(job.clone().into());
        }
        let rest = letters.as_str();
        arguments.extend(rest.split('\t').filter(|argument| !argument.is_empty()).map(OsString::from));
        let (mut data, mut said) = (Vec::new(), Vec::new());
        let exit = run_in(&surroundings, arguments, &mut data, &mut said);
        let (data, said) = (String::from_utf8(data).unwrap(), String::from_utf8(said).unwrap());
        assert_ne!(exit, Exit::Ours, "{line:?}: {said}");
        shows(&data);
        shows(&said);
        assert!(exit != Exit::Refused || !said.is_empty(), "{line:?}");
        let store = Store::read(&folder.join("van.csv.ledger"), &[]).unwrap();
        assert!(store.ledger.entries.len() >= entries && store.ledger.damage.is_empty(), "{line:?}");
        entries = store.ledger.entries.len();
    }
}
