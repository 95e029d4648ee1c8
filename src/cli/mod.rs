//! The command line: what was typed, the clock, the files, and what is printed where.
//!
//! Data goes to standard output, everything else to standard error. This is the only room that prints or reads the
//! clock; it computes nothing.

mod audit;
mod begin;
mod changes;
mod check;
mod clock;
mod closeout;
mod complete;
mod cylinder;
mod danger;
mod import;
mod machine;
mod new;
mod pack;
mod page;
mod plan;
mod quote;
mod refrigerant;
mod replan;
mod schema;
mod screen;
mod sheet;
mod site;
mod status;
mod stop;
#[cfg(test)]
mod stopped;
mod talk;
#[cfg(test)]
mod tests;
mod tradeoff;
mod units;
mod watching;
mod weigh;
mod yard;

use std::ffi::OsString;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use crate::disk::STANDARD_INPUT;
use crate::printable::{is_hidden, printable_json, printable_lines};
use crate::quantity::Unit;
use crate::report::{Block, Report, WithAlarms, draw};
use crate::text::{Loaded, Today};
use clap::{CommandFactory, Parser, Subcommand};
use danger::Watch;
pub use machine::Surroundings;
use screen::Screen;
use stop::Stop;
use talk::{Talk, tell};

/// How a command ends; the number is the process's exit status.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Done.
    Done = 0,
    /// A good question whose answer is no.
    No = 1,
    /// Bad input or usage.
    Refused = 2,
    /// Our own fault.
    Ours = 3,
}

/// Plans the recovery of a refrigerant charge into refillable cylinders, every one under its limit.
#[derive(Debug, Parser)]
#[command(version, about, max_term_width = 80)]
#[command(
    after_help = "Exit status: 0 done; 1 no (doesn't fit, faults found, over a limit); 2 bad input\nor usage; 3 a fault of chargesplit itself.\n\nA plan is a help, not a permit: local codes, the equipment's instructions and a\nlicensed person's judgement come before it."
)]
struct Arguments {
    /// Show weights in this unit, not in the job's: lb, kg or lb-oz; never where the scale is read
    #[arg(long, global = true, value_name = "UNIT", value_parser = units::unit)]
    units: Option<Unit>,
    /// Who writes into ledgers from here: 1 to 32 of a to z, 0 to 9 and - [default: CHARGESPLIT_AS, or the machine's name]
    #[arg(long = "as", global = true, value_name = "NAME")]
    writer: Option<String>,
    #[command(subcommand)]
    command: Command,
    /// Say nothing on standard error but dangers, refusals, warnings and errors
    #[arg(short, long, global = true, conflicts_with = "verbose")]
    quiet: bool,
    /// Say on standard error what was read, what was assumed and how long it took
    #[arg(short, long, global = true)]
    verbose: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Say everything that is wrong with the files of a job, or how they were understood
    Check(check::CheckArguments),
    /// Show each cylinder of a yard: limit, room by refrigerant, or why it isn't filled
    Yard(yard::YardArguments),
    /// Make the loading plan: which cylinder, in which order, stop at what scale reading
    Plan(plan::PlanArguments),
    /// Price work that isn't won yet: cylinders, hours, cost, every assumption
    Quote(quote::QuoteArguments),
    /// Pack the truck: what goes on it, weights at each stop, what comes back, rules of the road
    Pack(pack::PackArguments),
    /// Write the plan as a page to print or to carry on a phone
    Sheet(sheet::SheetArguments),
    /// Show cylinders against the heaviest lift: one row for each number worth having
    Tradeoff(tradeoff::TradeoffArguments),
    /// Begin a plan without paper: from here on everybody follows it
    Begin(begin::BeginArguments),
    /// Give back a plan of which nothing is begun
    Release(begin::ReleaseArguments),
    /// Keep a scale reading; says what to do next
    Weigh(weigh::WeighArguments),
    /// Plan what is left
    Replan(replan::ReplanArguments),
    /// Show how far the job is: recovered, left, time to go, each cylinder
    Status(status::StatusArguments),
    /// Close the job out: recovered against charge, cylinders afterwards, recovery record
    Closeout(closeout::CloseoutArguments),
    /// Show what happened to a cylinder, or say what did: weighed, emptied, out, back
    Cylinder(cylinder::CylinderArguments),
    /// Print a commented file to begin with
    New(new::NewArguments),
    /// Print a JSON Schema of a file, for editors
    Schema(schema::SchemaArguments),
    /// Print completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Check a plan file against its job by plain arithmetic
    Audit(audit::AuditArguments),
    /// List the refrigerants, or show one: density, pressure, group, source
    Refrigerant(refrigerant::RefrigerantArguments),
}

/// Where output goes.
struct Output<'a> {
    data: &'a mut dyn Write,
    rest: &'a mut dyn Write,
    screen: Screen,
    talk: Talk,
    /// The unit that weights are to be shown in.
    units: Option<Unit>,
    /// What the environment says of this machine.
    surroundings: Surroundings,
    /// Who writes, where that was typed.
    writer: Option<String>,
    /// What every report has to say of the ledger.
    of_ledger: Vec<String>,
    /// What has been read of cylinders, and whether danger has been said.
    watch: Watch,
    /// The day it is where the user is, read from the clock where somebody asks.
    today: Today,
}

impl Output<'_> {
    /// A line beside the data that repeats what a file or an argument says.
    fn say(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.rest, "{}", printable_lines(text))
    }
}

/// Runs one command line, `arguments` with the program's name first, and returns how it ends.
pub fn run(arguments: impl IntoIterator<Item = OsString>, data: &mut dyn Write, rest: &mut dyn Write) -> Exit {
    run_in(&Surroundings::of_process(), arguments, data, rest)
}

/// The same, where the environment says this of the machine.
pub fn run_in(
    surroundings: &Surroundings,
    arguments: impl IntoIterator<Item = OsString>,
    data: &mut dyn Write,
    rest: &mut dyn Write,
) -> Exit {
    run_on(clock::today(), surroundings.clone(), arguments, data, rest)
}

/// The same, where this is the day.
fn run_on(
    today: Today,
    surroundings: Surroundings,
    arguments: impl IntoIterator<Item = OsString>,
    data: &mut dyn Write,
    rest: &mut dyn Write,
) -> Exit {
    let mut output = Output {
        data,
        rest,
        screen: Screen::of(&io::stdout()),
        talk: Talk::Usual,
        units: None,
        surroundings,
        writer: None,
        of_ledger: Vec::new(),
        watch: Watch::default(),
        today,
    };
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    if complete::is_asked(&arguments) {
        return complete::run(&arguments[1..], Arguments::command(), &mut output).unwrap_or(Exit::No);
    }
    let ended = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => {
            output.talk = Talk::of(arguments.quiet, arguments.verbose);
            output.units = arguments.units;
            output.writer = arguments.writer;
            command(&arguments.command, &mut output)
        }
        Err(help) => usage(&help, &mut output),
    };
    output.say_what_was_not_shown();
    match ended {
        Ok(exit) => exit,
        Err(stop) => complain(&mut output, &stop),
    }
}

fn command(command: &Command, output: &mut Output) -> Result<Exit, Stop> {
    if output.units.is_some() {
        units::refuse(command)?;
    }
    let exit = match command {
        Command::Check(arguments) => check::run(arguments, output),
        Command::Yard(arguments) => yard::run(arguments, output),
        Command::Plan(arguments) => plan::run(arguments, output),
        Command::Quote(arguments) => quote::run(arguments, output),
        Command::Pack(arguments) => pack::run(arguments, output),
        Command::Sheet(arguments) => sheet::run(arguments, output),
        Command::Tradeoff(arguments) => tradeoff::run(arguments, output),
        Command::Begin(arguments) => begin::run(arguments, output),
        Command::Release(arguments) => begin::release(arguments, output),
        Command::Cylinder(arguments) => cylinder::run(arguments, output),
        Command::Weigh(arguments) => weigh::run(arguments, output),
        Command::Replan(arguments) => replan::run(arguments, output),
        Command::Status(arguments) => status::run(arguments, output),
        Command::Closeout(arguments) => closeout::run(arguments, output),
        Command::New(arguments) => new::run(arguments, output),
        Command::Schema(arguments) => schema::run(arguments, output),
        Command::Completions { shell } => {
            output.data.write_all(complete::script(*shell, Arguments::command()).as_bytes())?;
            Ok(Exit::Done)
        }
        Command::Audit(arguments) => audit::run(arguments, output),
        Command::Refrigerant(arguments) => refrigerant::run(arguments, output),
    };
    match exit {
        Ok(exit) => Ok(output.ends(exit, command)),
        // A reader that has seen enough, such as `head`, is no fault.
        Err(Stop::Write(error)) if error.kind() == io::ErrorKind::BrokenPipe => Ok(output.ends(Exit::Done, command)),
        Err(stop) => Err(stop),
    }
}

/// Help and version are answers; anything else that clap says is a complaint.
fn usage(help: &clap::Error, output: &mut Output) -> Result<Exit, Stop> {
    let text = help.render().to_string();
    if help.use_stderr() {
        // It repeats what was typed.
        output.rest.write_all(printable_lines(&text).as_bytes())?;
        return Ok(Exit::Refused);
    }
    output.data.write_all(text.as_bytes())?;
    Ok(Exit::Done)
}

/// Says why it stopped, unless it has done what it should.
fn complain(output: &mut Output, stop: &Stop) -> Exit {
    let text = match stop {
        Stop::Problems(problems) => {
            let drawn: Vec<String> =
                problems.iter().map(|problem| problem.draw(Screen::of(&io::stderr()).color)).collect();
            drawn.join("\n").trim_end().to_owned()
        }
        stop => printable_lines(&stop.to_string()),
    };
    if stop.exit() != Exit::Done {
        // Where even the complaint can't be written, the exit status still says it.
        let _ = writeln!(output.rest, "{text}");
    }
    stop.exit()
}

/// Shows a report as text, or its data as JSON.
fn show(report: &impl Report, json: bool, output: &mut Output) -> Result<(), Stop> {
    if json {
        output.say_danger();
        let whole = WithAlarms { report, alarms: output.alarms(), ledger: &output.of_ledger };
        let text = serde_json::to_string_pretty(&whole).map_err(|error| Stop::Write(error.into()))?;
        writeln!(output.data, "{}", printable_json(&text))?;
        output.data.flush()?;
        return Ok(());
    }
    show_blocks(&report.blocks(), output)
}

/// Draws blocks as text, with what has to be said before them.
fn show_blocks(blocks: &[Block], output: &mut Output) -> Result<(), Stop> {
    let first = output.first_blocks();
    hand_over(&[&first, blocks].concat(), output)?;
    output.has_shown();
    Ok(())
}

/// Draws blocks as text that go to somebody whom the house's cylinders don't concern.
fn hand_over(blocks: &[Block], output: &mut Output) -> Result<(), Stop> {
    output.data.write_all(draw(blocks, output.screen.width, output.screen.color).as_bytes())?;
    output.data.flush()?;
    Ok(())
}

/// The files of jobs, as every command that works on jobs takes them.
#[derive(Debug, Clone, clap::Args)]
struct JobFiles {
    /// Leave out cylinders whose row in the yard can't be read, and plan with the rest
    #[arg(long)]
    skip_bad_rows: bool,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

/// Whether a path as typed stands for standard input.
fn is_standard_input(path: &Path) -> bool {
    path == Path::new(STANDARD_INPUT)
}

/// Reads jobs and yard.
fn load(jobs: &[PathBuf], skip_bad_rows: bool, output: &mut Output) -> Result<Loaded, Stop> {
    Ok(site::open(jobs, skip_bad_rows, None, output)?.loaded)
}

/// A remark as typed: short, and of characters that show.
fn remark(text: &str) -> Result<String, String> {
    let fits = !text.trim().is_empty() && text.chars().count() <= 300 && !text.chars().any(is_hidden);
    if fits { Ok(text.trim().to_owned()) } else { Err("expected 1 to 300 characters on one line".into()) }
}

/// A time limit as typed.
fn seconds(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(seconds) if (0.01..=86_400.0).contains(&seconds) => Ok(seconds),
        Ok(_) | Err(_) => Err("expected 0.01 to 86400 seconds".into()),
    }
}
