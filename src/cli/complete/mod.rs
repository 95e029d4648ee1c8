//! Names of cylinders and systems for a shell that completes a line, from the job files that stand on it.
//!
//! The scripts that `completions` prints call a hidden command with the line as it stands. Nothing in the line or in a
//! file is executed or expanded, standard input is never read, and a file that can't be read gives no names and no word.

mod line;

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Arg, ArgAction, Command, Parser, ValueEnum};
use clap_complete::Shell;

use super::{Exit, Output, Stop, is_standard_input};
use crate::report::shown;
use crate::text::{Request, Today, read_tender};
use line::CommandLine;

/// What the scripts call. It stands in no help and in no script's list: nobody types it.
const COMMAND: &str = "complete-names";

#[derive(Debug, Parser)]
struct CompleteArguments {
    /// How names are written
    style: Style,
    /// The characters at which the shell begins a word anew
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    breaks: String,
    /// The line up to the cursor
    line: String,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Style {
    /// Quoted, for bash to insert as they stand
    Bash,
    /// As they are, for a shell that quotes them itself
    Plain,
}

/// What is wanted at the cursor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum NameKind {
    Cylinder,
    System,
    /// A system before the equals sign of what is left in it.
    Left,
}

/// What is wanted, from which job files, with what stands before it in the same word.
struct Wanted {
    kind: NameKind,
    jobs: Vec<PathBuf>,
    before: String,
    typed: String,
}

/// Whether a command line is that of a script.
pub(super) fn is_asked(arguments: &[OsString]) -> bool {
    arguments.get(1).is_some_and(|word| word == COMMAND)
}

/// The names, a line each; done where names are wanted at the cursor, also where there are none.
pub(super) fn run(arguments: &[OsString], program: Command, output: &mut Output) -> Result<Exit, Stop> {
    let Ok(arguments) = CompleteArguments::try_parse_from(arguments) else { return Ok(Exit::Refused) };
    let line = CommandLine::read(&arguments.line, &arguments.breaks);
    let Some(wanted) = wanted(program, &line.words) else { return Ok(Exit::No) };
    for name in names(&wanted, &output.today) {
        let whole = format!("{}{name}", wanted.before);
        let text = match arguments.style {
            Style::Plain => Some(name),
            Style::Bash => line.for_bash(&whole),
        };
        if let Some(text) = text {
            let ending = if wanted.kind == NameKind::Left { "=" } else { "" };
            writeln!(output.data, "{text}{ending}")?;
        }
    }
    Ok(Exit::Done)
}

/// The script for a shell: clap's, and for the shells that can a call for names.
pub(super) fn script(shell: Shell, mut program: Command) -> String {
    let mut bytes = Vec::new();
    clap_complete::generate(shell, &mut program, "chargesplit", &mut bytes);
    let script = String::from_utf8_lossy(&bytes).into_owned();
    let begin = "\n_chargesplit() {\n";
    let with = |names: &str| {
        // A script begins with its function in bash, and has it behind a heading in zsh.
        let script = format!("\n{script}");
        script.replacen(begin, &format!("\n{names}{}    _chargesplit_names && return 0\n", &begin[1..]), 1)
    };
    match shell {
        // Names of files that come by `compgen` lose their spaces and aren't quoted; bash's own way, which follows where
        // the script offers nothing, keeps both.
        Shell::Bash => with(include_str!("names.bash")).replace("($(compgen -f \"${cur}\"))", "()"),
        Shell::Zsh => with(include_str!("names.zsh")).trim_start().to_owned(),
        Shell::Fish => script + include_str!("names.fish"),
        _ => script,
    }
}

/// What is wanted at the end of these words, the program's name first.
fn wanted(mut program: Command, words: &[String]) -> Option<Wanted> {
    program.build();
    let (typed, words) = words.split_last()?;
    let mut command = &program;
    let mut named: Vec<&String> = Vec::new();
    let mut pending: Option<&Arg> = None;
    for word in words.iter().skip(1) {
        if pending.take().is_some() {
            continue;
        }
        if let Some(option) = word.strip_prefix("--") {
            pending = long(command, option);
        } else if word.len() > 1 && word.starts_with('-') {
            let letter = word.chars().nth(1).filter(|_| word.chars().count() == 2);
            pending = letter.and_then(|letter| options(command).find(|arg| arg.get_short() == Some(letter)));
        } else if std::ptr::eq(command, &program) {
            command = program.find_subcommand(word)?;
        } else {
            named.push(word);
        }
    }
    let (kind, before, typed) = match (pending, typed.split_once('=')) {
        (Some(option), _) => (kind(option)?, "", typed.as_str()),
        (None, Some((option, value))) if option.starts_with("--") => {
            (kind(long(command, &option[2..])?)?, &typed[..=option.len()], value)
        }
        (None, _) if typed.starts_with('-') => return None,
        (None, _) => (kind(command.get_positionals().nth(named.len())?)?, "", typed.as_str()),
    };
    // Of a job at the scale there is one; behind the jobs of an audit stands a plan.
    let one = command.get_positionals().next().is_some_and(|first| !matches!(first.get_action(), ArgAction::Append));
    let jobs = named.into_iter().take(if one { 1 } else { usize::MAX }).map(PathBuf::from);
    let jobs = jobs.filter(|file| file.extension().is_none_or(|kind| kind != "json")).collect();
    Some(Wanted { kind, jobs, before: before.to_owned(), typed: typed.to_owned() })
}

/// The options of a command that take a value.
fn options(command: &Command) -> impl Iterator<Item = &Arg> {
    command.get_arguments().filter(|arg| matches!(arg.get_action(), ArgAction::Set | ArgAction::Append))
}

fn long<'c>(command: &'c Command, name: &str) -> Option<&'c Arg> {
    options(command).find(|arg| arg.get_long() == Some(name))
}

/// What an argument takes, where it is a name out of the files.
fn kind(arg: &Arg) -> Option<NameKind> {
    match arg.get_id().as_str() {
        "keep" | "without" | "take" | "cylinder" => Some(NameKind::Cylinder),
        "system" | "dry" | "more" => Some(NameKind::System),
        "left" => Some(NameKind::Left),
        _ => None,
    }
}

/// The names that go on from what is typed, in the order of the files.
fn names(wanted: &Wanted, today: &Today) -> Vec<String> {
    if wanted.jobs.is_empty() || wanted.jobs.iter().any(|job| is_standard_input(job)) {
        return Vec::new();
    }
    let request = Request { jobs: &wanted.jobs, today, skip_bad_rows: true };
    let Ok(loaded) = read_tender(&request) else { return Vec::new() };
    let work = loaded.work;
    let cylinders = work.yard().iter().map(|cylinder| cylinder.id.to_string());
    let systems = work.jobs().iter().flat_map(|job| &job.systems).map(|system| system.name.clone());
    let all: Vec<String> = match wanted.kind {
        NameKind::Cylinder => cylinders.collect(),
        NameKind::System | NameKind::Left => systems.collect(),
    };
    all.into_iter().filter(|name| name.starts_with(&wanted.typed) && is_safe(name)).collect()
}

/// Whether a name can be offered: nothing that a line couldn't hold, and nothing that would be taken for an option.
fn is_safe(name: &str) -> bool {
    !name.starts_with('-') && shown(name) == name
}
