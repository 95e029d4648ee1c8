//! Jobs that are planned together, with their one yard.

use std::path::{Path, PathBuf};

use super::assumed::assumed;
use super::copy::copy;
use super::fields::Findings;
use super::job::{self, YardPlace};
use super::rates::RatesFiles;
use super::refrigerants::Known;
use super::row::RowContext;
use super::source::{Mark, Source};
use super::today::{Latest, Today};
use super::tree::Node;
use super::yard::{self, LoadedYard};
use super::{Extras, yaml};
use crate::disk::{Input, STANDARD_INPUT};
use crate::job::{Job, Work, WorkError, named_alike};
use crate::printable::printable;
use crate::problem::{Code, Problem, Problems, SkippedRow};
use crate::quantity::Unit;

/// Which files to read, and how.
#[derive(Debug, Clone, Copy)]
pub struct Request<'a> {
    /// The job files, at least one; `-` is standard input, at most once.
    pub jobs: &'a [PathBuf],
    /// The day that a job without a date is for; no test of a cylinder can be later than this and the jobs' days.
    pub today: &'a Today,
    /// Leave out cylinders whose row can't be read, in place of refusing the yard.
    pub skip_bad_rows: bool,
}

/// Jobs and yard, as read.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The jobs on their yard.
    pub work: Work,
    /// Cylinders left out because their row can't be read; they come first in every report.
    pub skipped: Vec<SkippedRow>,
    /// What each job's file says beside the plan: hours, prices, what to bring.
    pub extras: Vec<Extras>,
    /// The files that were read: those of rates, the jobs in order, and the yard.
    pub inputs: Vec<Input>,
    /// The defaults that stand in for what each job's file doesn't say.
    pub assumed: Vec<Vec<String>>,
    /// The refrigerants that the jobs bring.
    pub known: Known,
    /// What the weights of the yard are typed in.
    pub unit: Unit,
    /// What a bind keeps of each job's file.
    pub copies: Vec<String>,
    /// The file that the cylinders stand in: the yard's, or a job's.
    pub stands: Option<PathBuf>,
}

/// Reads job files and the yard that they share.
///
/// # Errors
/// Every problem of every file.
pub fn read_work(request: &Request) -> Result<Loaded, Problems> {
    read(request, true)
}

/// Reads job files for a quote: as [`read_work`], and none of them needs a yard.
///
/// # Errors
/// Every problem of every file.
pub fn read_tender(request: &Request) -> Result<Loaded, Problems> {
    read(request, false)
}

fn read(request: &Request, needs_yard: bool) -> Result<Loaded, Problems> {
    let (files, problems) = open(request.jobs);
    read_sources(files, problems, request.today, request.skip_bad_rows, needs_yard)
}

/// Reads the trees of job files, and the yard that they share; `problems` are those of files that have no tree.
pub(super) fn read_sources(
    files: Vec<(Source, Node)>,
    mut problems: Vec<Problem>,
    today: &Today,
    skip_bad_rows: bool,
    needs_yard: bool,
) -> Result<Loaded, Problems> {
    let (mut reads, mut rates) = (Vec::new(), RatesFiles::default());
    for (source, node) in &files {
        let mut found = Findings::new(source);
        reads.extend(job::read(node, today, needs_yard, &mut rates, &mut found).map(|read| (source, read)));
        problems.append(&mut found.problems);
    }
    let known = together(&reads, &mut problems);
    let stated = reads.iter().map(|(_, read)| read.date).max();
    let yard = match place_of_yard(&reads, &mut problems).zip(stated) {
        Some((place, stated)) => place.read(&known, Latest::of(stated, today), skip_bad_rows, &mut problems),
        None => None,
    };
    if let Some(problems) = Problems::of(problems) {
        return Err(problems);
    }
    let assumed = files.iter().zip(&reads).filter_map(|((_, node), (_, read))| Some(assumed(node, read.job.as_ref()?)));
    let assumed = assumed.collect();
    let copies = files.iter().zip(&reads).map(|((_, node), (_, read))| copy(node, read.date)).collect();
    let extras = reads.iter().map(|(_, read)| read.extras.clone()).collect();
    let jobs: Vec<Job> = reads.into_iter().filter_map(|(_, read)| read.job).collect();
    let yard = yard.unwrap_or(LoadedYard { cylinders: Vec::new(), unit: Unit::Lb, skipped: Vec::new(), input: None });
    let file = files.first().map_or(Path::new(""), |(source, _)| source.file.as_path());
    let work = Work::new(jobs, yard.cylinders).map_err(|error| {
        let code = match error {
            WorkError::NoJob => Code::NothingToDo,
            WorkError::DivisionsDiffer => Code::UnitsDiffer,
            WorkError::SameId { .. } => Code::DuplicateId,
            WorkError::JobsAlike { .. } | WorkError::SameName { .. } => Code::DuplicateName,
        };
        Problem::new(code, file, None, &error.to_string(), "")
    })?;
    let in_place = |(source, _): &(Source, Node)| source.file.clone();
    let stands = yard.input.as_ref().map(|input| input.file.clone()).or_else(|| files.first().map(in_place));
    let inputs = rates.inputs().chain(files.iter().map(|(source, _)| source.input())).chain(yard.input).collect();
    Ok(Loaded { work, skipped: yard.skipped, extras, inputs, assumed, known, unit: yard.unit, copies, stands })
}

/// The trees of the job files.
fn open(paths: &[PathBuf]) -> (Vec<(Source, Node)>, Vec<Problem>) {
    let (mut files, mut problems, mut seen) = (Vec::new(), Vec::new(), Vec::new());
    for path in paths {
        let real = path.canonicalize().unwrap_or_else(|_| path.clone());
        if seen.contains(&real) {
            let message = if path == Path::new(STANDARD_INPUT) {
                "standard input can be one job only"
            } else {
                "the same job file is given twice; its charge would be counted twice"
            };
            problems.push(Problem::new(Code::SameJob, path, None, message, "name each job once"));
            continue;
        }
        seen.push(real);
        let file = Source::typed(path).and_then(|source| yaml::read(&source).map(|node| (source, node)));
        match file {
            Ok(file) => files.push(file),
            Err(more) => problems.extend(more),
        }
    }
    (files, problems)
}

type Reads<'n> = [(&'n Source, job::Read<'n>)];

/// What jobs planned together must agree on, and the refrigerants that all of them bring.
fn together(reads: &Reads, problems: &mut Vec<Problem>) -> Known {
    let mut known = Known::default();
    for (index, (source, read)) in reads.iter().enumerate() {
        let mut found = Findings::new(source);
        known.join(read.known.clone(), read.marks.refrigerants, &mut found);
        let Some(job) = &read.job else {
            problems.append(&mut found.problems);
            continue;
        };
        let earlier = || reads[..index].iter().filter_map(|(_, read)| read.job.as_ref());
        let named = || reads[..index].iter().filter_map(|(source, read)| Some((source, read.job.as_ref()?)));
        if let Some((first, other)) = named().find(|(_, earlier)| named_alike(&earlier.name, &job.name)) {
            let message = format!(
                "two jobs are named alike: \"{}\" here and \"{}\" in {}; their loads, and heels kept for them, couldn't be \
                 told apart",
                job.name,
                other.name,
                printable(&first.file.to_string_lossy())
            );
            found.add(Code::DuplicateName, read.marks.name, &message, "give each job a name of its own");
        }
        let division = job.terms.scale.division;
        if let Some(first) = earlier().next().filter(|first| first.terms.scale.division != division) {
            let message = format!(
                "jobs planned together must share units and scale division; found {} here and {} in \"{}\"",
                in_words(job),
                in_words(first),
                first.name
            );
            found.add(Code::UnitsDiffer, read.marks.units, &message, "make them the same, or plan the jobs apart");
        }
        if let Some(first) = earlier().next().filter(|first| first.terms.date != job.terms.date) {
            let own = if read.marks.date.is_some() { "" } else { " (today, as its file states none)" };
            let message = format!(
                "jobs planned together are for one day; found {}{own} here and {} in \"{}\"",
                job.terms.date, first.terms.date, first.name
            );
            let mark = read.marks.date.or(read.marks.name);
            let hint = "give all of them one `date`, or plan the days apart: a cylinder filled on one day isn't free on the next";
            found.add(Code::DatesDiffer, mark, &message, hint);
        }
        same_kinds(read, named(), &mut found);
        problems.append(&mut found.problems);
    }
    known
}

/// A kind of cylinder that several files state is one stock, and they say the same of it.
fn same_kinds<'r>(
    read: &job::Read,
    earlier: impl Iterator<Item = (&'r &'r Source, &'r Job)> + Clone,
    found: &mut Findings,
) {
    for kind in read.job.iter().flat_map(|job| &job.stock) {
        let other = |(source, job): (&'r &'r Source, &'r Job)| {
            let other = job.stock.iter().find(|other| named_alike(&other.name, &kind.name))?;
            (other != kind).then(|| printable(&source.file.to_string_lossy()).to_string())
        };
        if let Some(file) = earlier.clone().find_map(other) {
            let message = format!("the kind \"{}\" is stated otherwise in {file}", kind.name);
            let hint = "state it once, in a file that both name with `rates:`, or give it another name";
            found.add(Code::DuplicateName, read.marks.stock, &message, hint);
        }
    }
}

fn in_words(job: &Job) -> String {
    let division = job.terms.scale.division;
    format!("{} in steps of {}", division.unit().name(), division.text(1))
}

/// The one place of the cylinders.
enum OneYard<'n> {
    File(PathBuf, &'n Source, Option<Mark>),
    Here(&'n Source, &'n job::Read<'n>),
}

fn place_of_yard<'n>(reads: &'n Reads<'n>, problems: &mut Vec<Problem>) -> Option<OneYard<'n>> {
    let mut places = reads.iter().filter_map(|(source, read)| Some((*source, read, read.yard.as_ref()?)));
    let (first_source, first_read, first) = places.next()?;
    let mut agree = true;
    let mut differ = |source: &Source, read: &job::Read, message: &str| {
        let mut found = Findings::new(source);
        let hint = "put the cylinders in one yard file and name it in every job";
        found.add(Code::YardsDiffer, read.marks.yard, message, hint);
        problems.append(&mut found.problems);
        agree = false;
    };
    let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
    for (source, read, place) in places {
        match (first, place) {
            (YardPlace::File(first), YardPlace::File(path)) if real(first) == real(path) => {}
            (YardPlace::File(first), YardPlace::File(_)) => {
                let message = format!("the jobs name different yards; the first names {}", first.display());
                differ(source, read, &message);
            }
            (YardPlace::Here(_), _) | (_, YardPlace::Here(_)) => {
                differ(source, read, "jobs planned together can't have their cylinders in place");
            }
        }
    }
    let place = match first {
        YardPlace::File(path) => OneYard::File(path.clone(), first_source, first_read.marks.yard),
        YardPlace::Here(_) => OneYard::Here(first_source, first_read),
    };
    agree.then_some(place)
}

impl OneYard<'_> {
    fn read(self, known: &Known, latest: Latest, skip: bool, problems: &mut Vec<Problem>) -> Option<LoadedYard> {
        match self {
            OneYard::File(path, source, mark) => match yard::read(&path, known, latest, skip) {
                Ok(yard) => Some(yard),
                Err(more) => {
                    problems.extend(more.into_iter().map(|problem| source.named_in(mark, "yard", problem)));
                    None
                }
            },
            OneYard::Here(source, read) => {
                let Some(YardPlace::Here(fields)) = &read.yard else {
                    return None;
                };
                let mut found = Findings::new(source);
                let unit = read.unit;
                let rows = yard::in_list(*fields, RowContext { unit, known, latest }, &mut found);
                let (cylinders, skipped) = yard::sort_out(rows, skip, &mut found);
                problems.append(&mut found.problems);
                Some(LoadedYard { cylinders, unit, skipped, input: None })
            }
        }
    }
}
