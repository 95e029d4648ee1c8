//! The planner measured: problems from seeds, the planner run on them as a whole process, and what came out in tables.
//!
//! Build first (`cargo build --release --bins --examples`), then for example
//! `target/release/examples/bench --row 24x4 --row 80x4:1-3:50`. With `--against PYTHON` two other solvers solve the
//! same whole numbers (tests/references/solvers.py, with what its requirements.txt names installed for that Python) in
//! the same run, which fails where they contradict the planner or beat it.
#![allow(clippy::print_stdout)] // tables on standard output are what it is for

mod measure;
mod row;
mod table;

use std::error::Error;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use clap::Parser;

use measure::{Answer, Planner};
use row::{Case, Row};

#[derive(Debug, Parser)]
#[command(about = "Measures the planner on problems made from seeds")]
struct Arguments {
    /// Problems that the planner solves: CYLINDERSxLOTS[:SEEDS[:SHARES[:SECONDS[:DIVISION[:any]]]]]; unless given, seeds are
    /// 1-10, shares 30,50,70,90, the planner's time limit 10 seconds, the division 0.1lb, and sizes the trade's
    #[arg(long, value_name = "ROW")]
    row: Vec<Row>,
    /// Problems that the planner and, with --against, the other solvers solve
    #[arg(long, value_name = "ROW")]
    both: Vec<Row>,
    /// Write the files and stop
    #[arg(long)]
    write_only: bool,
    /// Where the files go
    #[arg(long, value_name = "FOLDER", default_value = "target/bench")]
    folder: PathBuf,
    /// The planner's program; the one built beside this unless given
    #[arg(long, value_name = "FILE")]
    program: Option<PathBuf>,
    /// Runs of each problem, whose median counts; one alone where it takes over 2 seconds
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = clap::value_parser!(u16).range(1..))]
    runs: u16,
    /// Print no line for each problem, the sizes alone
    #[arg(long)]
    brief: bool,
    /// The Python that has the other solvers
    #[arg(long, value_name = "PYTHON")]
    against: Option<PathBuf>,
    /// For the other solvers' script, after --
    #[arg(last = true, value_name = "ARGUMENT")]
    rest: Vec<OsString>,
}

fn main() -> ExitCode {
    match run(&Arguments::parse()) {
        Ok(code) => code,
        Err(error) => {
            println!("{error}");
            ExitCode::from(2)
        }
    }
}

fn run(arguments: &Arguments) -> Result<ExitCode, Box<dyn Error>> {
    let mut cases: Vec<Case> = arguments.both.iter().flat_map(Row::cases).collect();
    let both = cases.len();
    for case in arguments.row.iter().flat_map(Row::cases) {
        if !cases.iter().any(|there| there.name() == case.name()) {
            cases.push(case);
        }
    }
    if cases.is_empty() {
        return Err("no problem is asked for; --help says how".into());
    }
    let folder = &arguments.folder;
    if arguments.write_only {
        return cases.iter().try_for_each(|case| case.write(folder)).map(|()| ExitCode::SUCCESS);
    }
    // Another process writes the files, so that this one stays small: its memory counts to that of what it measures.
    write(arguments)?;
    let program = match &arguments.program {
        Some(program) => program.clone(),
        None => beside()?,
    };
    let mut planner =
        Planner { program, folder: folder.clone(), runs: usize::from(arguments.runs), versions: Vec::new() };
    let answers = planner.answers(&cases)?;
    let version = planner.version();
    println!(
        "Whole process over `--version` ({:.1} ms, {:.0} MB), median of the runs.\n",
        version.seconds * 1e3,
        version.peak_bytes as f64 / 1e6
    );
    if !arguments.brief {
        println!("{}\n", table::problems(&answers));
    }
    println!("{}", table::sizes(&answers));
    match &arguments.against {
        Some(python) => against(python, folder, &answers[..both], &arguments.rest),
        None => Ok(ExitCode::SUCCESS),
    }
}

/// The planner's program where Cargo puts it: one folder up.
fn beside() -> Result<PathBuf, Box<dyn Error>> {
    let this = std::env::current_exe()?;
    let folder = this.parent().and_then(Path::parent).ok_or("this program stands nowhere")?;
    let program = folder.join(format!("chargesplit{}", std::env::consts::EXE_SUFFIX));
    if program.exists() { Ok(program) } else { Err(format!("build it first: {}", program.display()).into()) }
}

/// Writes the files in a process of its own.
fn write(arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let mut given: Vec<OsString> = std::env::args_os().skip(1).take_while(|argument| argument != "--").collect();
    given.push("--write-only".into());
    let written = Command::new(std::env::current_exe()?).args(given).status()?;
    if written.success() {
        Ok(())
    } else {
        Err(format!("the files in {} couldn't be written", arguments.folder.display()).into())
    }
}

/// Has the other solvers solve the same problems and compare.
fn against(python: &Path, folder: &Path, answers: &[Answer], rest: &[OsString]) -> Result<ExitCode, Box<dyn Error>> {
    let ours = folder.join("ours.json");
    fs::write(&ours, serde_json::to_string_pretty(answers)?)?;
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/references/solvers.py");
    let status = Command::new(python).arg(script).arg(ours).args(rest).status()?;
    Ok(if status.success() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}
