//! Runs the planner as a whole process, and says what it answered, how long it took and how much memory.
//!
//! It must stay small itself: a process that starts another counts its own memory to the other's peak.

use std::error::Error;
use std::fs::File;
use std::io::BufReader;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::Instant;

use serde::{Deserialize, Serialize};
use wait4::Wait4;

use crate::row::Case;

/// The three objectives and what stays in the systems, weights in divisions.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Objectives {
    pub cylinders: i64,
    pub heaviest: i64,
    pub carried: i64,
    pub missing: i64,
}

/// What the planner answered to one problem.
#[derive(Debug, Clone, Serialize)]
pub struct Answer {
    #[serde(flatten)]
    pub case: Case,
    pub name: String,
    /// `proved`, `bounded`, `short` (proved not to fit) or `undecided`.
    pub status: String,
    pub totals: Objectives,
    pub bounds: Objectives,
    /// Median of the whole process over `--version`, by the clock.
    pub seconds: f64,
    /// The same by what the processor did: what a machine that is busy with other work changes little.
    pub cpu_seconds: f64,
    /// How often it was run.
    pub runs: usize,
    pub peak_bytes: u64,
}

/// The part of the plan's JSON that is read here.
#[derive(Deserialize)]
struct Plan {
    status: String,
    division: f64,
    totals: Totals,
    bounds: Totals,
}

#[derive(Deserialize)]
struct Totals {
    cylinders: i64,
    heaviest: f64,
    carried: f64,
    missing: Option<f64>,
}

impl Totals {
    /// Weights are printed exactly: the nearest division is the one that was printed.
    fn in_divisions(&self, division: f64) -> Objectives {
        let marks = |weight: f64| (weight / division).round() as i64;
        Objectives {
            cylinders: self.cylinders,
            heaviest: marks(self.heaviest),
            carried: marks(self.carried),
            missing: self.missing.map_or(0, marks),
        }
    }
}

/// The planner's program, and how it is run.
pub struct Planner {
    pub program: PathBuf,
    pub folder: PathBuf,
    /// Runs of each problem that is quick.
    pub runs: usize,
    /// `--version`, run once before each run of a problem: so that a slower hour of the machine slows both.
    pub versions: Vec<Used>,
}

/// What one process took.
#[derive(Debug, Clone, Copy)]
pub struct Used {
    /// By the clock.
    seconds: f64,
    cpu_seconds: f64,
    peak_bytes: u64,
}

/// What several runs took: the median of the seconds, the largest peak.
#[derive(Debug, Clone, Copy)]
pub struct Usual {
    pub seconds: f64,
    pub cpu_seconds: f64,
    pub peak_bytes: u64,
}

impl Usual {
    fn of(runs: &[Used]) -> Self {
        let median_of = |of: fn(&Used) -> f64| median(&mut runs.iter().map(of).collect::<Vec<_>>());
        Self {
            seconds: median_of(|used| used.seconds),
            cpu_seconds: median_of(|used| used.cpu_seconds),
            peak_bytes: runs.iter().map(|used| used.peak_bytes).max().unwrap_or(0),
        }
    }
}

/// A run of so many seconds isn't repeated: beside it the scatter of short ones is nothing.
const LONG: f64 = 2.0;

impl Planner {
    /// Plans all, and takes the median of `--version` off each time.
    pub fn answers(&mut self, cases: &[Case]) -> Result<Vec<Answer>, Box<dyn Error>> {
        let mut answers = cases.iter().map(|case| self.answer(case)).collect::<Result<Vec<_>, _>>()?;
        let version = self.version();
        for answer in &mut answers {
            answer.seconds = (answer.seconds - version.seconds).max(0.0);
            answer.cpu_seconds = (answer.cpu_seconds - version.cpu_seconds).max(0.0);
        }
        Ok(answers)
    }

    /// What `--version` takes: what is taken off every time, and what no figure of memory can be smaller than.
    pub fn version(&self) -> Usual {
        Usual::of(&self.versions)
    }

    /// Plans one problem, several times; the seconds are those of the whole process.
    fn answer(&mut self, case: &Case) -> Result<Answer, Box<dyn Error>> {
        let job = case.job(&self.folder);
        let job = job.to_str().ok_or("the folder's name isn't UTF-8")?;
        let limit = case.time_limit.to_string();
        let name = case.name();
        let mut runs = Vec::new();
        while runs.len() < self.runs {
            let version = self.once(&["--version"], &[0], "version")?;
            self.versions.push(version);
            let used = self.once(&["plan", job, "--json", "--time-limit", &limit], &[0, 1], &name)?;
            runs.push(used);
            if used.seconds > LONG {
                break;
            }
        }
        let usual = Usual::of(&runs);
        let plan: Plan = serde_json::from_reader(BufReader::new(File::open(self.output(&name))?))?;
        Ok(Answer {
            case: *case,
            name,
            status: plan.status,
            totals: plan.totals.in_divisions(plan.division),
            bounds: plan.bounds.in_divisions(plan.division),
            runs: runs.len(),
            seconds: usual.seconds,
            cpu_seconds: usual.cpu_seconds,
            peak_bytes: usual.peak_bytes,
        })
    }

    /// Where a run's standard output goes.
    fn output(&self, name: &str) -> PathBuf {
        self.folder.join(format!("{name}-plan.json"))
    }

    /// What one process takes; an error where it ends otherwise than with one of `exits`.
    fn once(&self, arguments: &[&str], exits: &[i32], name: &str) -> Result<Used, Box<dyn Error>> {
        let complaints = self.folder.join(format!("{name}-complaints.txt"));
        let mut command = Command::new(&self.program);
        command.args(arguments).stdin(Stdio::null());
        command.stdout(File::create(self.output(name))?).stderr(File::create(&complaints)?);
        let begun = Instant::now();
        let used = command.spawn().map_err(|error| format!("{}: {error}", self.program.display()))?.wait4()?;
        let seconds = begun.elapsed().as_secs_f64();
        if !used.status.code().is_some_and(|code| exits.contains(&code)) {
            let said = std::fs::read_to_string(complaints)?;
            return Err(format!("{name}: the planner ended with {}:\n{said}", used.status).into());
        }
        let cpu_seconds = (used.rusage.utime + used.rusage.stime).as_secs_f64();
        Ok(Used { seconds, cpu_seconds, peak_bytes: used.rusage.maxrss })
    }
}

/// The middle one; of an even number the mean of the two in the middle.
pub fn median(numbers: &mut [f64]) -> f64 {
    numbers.sort_by(f64::total_cmp);
    let middle = numbers.len() / 2;
    match numbers {
        [] => 0.0,
        _ if numbers.len() % 2 == 1 => numbers[middle],
        _ => f64::midpoint(numbers[middle - 1], numbers[middle]),
    }
}
