//! A job file: terms, site, systems, stock, and where its cylinders are described.

use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::Extras;
use super::fields::{Fields, Findings, Value};
use super::rates::RatesFiles;
use super::refrigerants::{self, Known};
use super::shape::{Holds, KeyRule, Shape, may, must, words};
use super::source::Mark;
use super::today::Today;
use super::tree::Node;
use super::value::unit_words;
use super::yard::MOST_CYLINDERS;
use super::{labour, offer, prices, row, stock, system};
use crate::cylinder::{Rules, Scale, Terms};
use crate::estimate;
use crate::job::{Access, Job, JobError, JobFacts};
use crate::problem::Code;
use crate::quantity::{A_PERCENT, A_TEMPERATURE, Division, Percent, Unit};

pub(super) static SHAPE: Shape = Shape {
    what: "a job",
    keys: &[
        must("job", Holds::Text, "The job's name; jobs planned together have different ones."),
        may("date", Holds::Day, "The day of filling, for test dates; default today."),
        must("units", Holds::OneOf(unit_words), "What a bare weight counts in; there is no default."),
        may("scale_division", Holds::Weight, "The smallest step of the scale; default 0.1 lb, 0.05 kg or 1 oz."),
        may("scale", Holds::Map(&SCALE), "What else is known of the scale."),
        may("owner", Holds::Text, "Whose the refrigerant is."),
        may("limit", Holds::Map(&LIMIT), "How full, at which temperature, under whose rules; default 80 %, 130 F, us."),
        may("site", Holds::Map(&SITE), "Carrying, and how hot the cylinders will stand."),
        may("reuse_together", Holds::Flag, "Whether systems for reuse may share cylinders; default false."),
        may("systems", Holds::List(&system::SHAPE, 1_000), "What is to be recovered, one item for each system."),
        may("yard", Holds::Text, "The file of the cylinders on hand, relative to this file; or `cylinders` in place."),
        may("cylinders", Holds::List(&row::SHAPE, MOST_CYLINDERS), "The cylinders on hand; or `yard`, a file of them."),
        may("stock", Holds::List(&stock::SHAPE, 200), "Kinds of cylinder that can be hired or bought."),
        may("labour", Holds::Map(&labour::SHAPE), "Hours, for a quote; what is left away is assumed and said to be."),
        may("prices", Holds::Map(&prices::SHAPE), "Prices, for a quote; none is assumed."),
        may("offer", Holds::Map(&offer::SHAPE), "How the price is made, and what stands on the customer's page."),
        may(
            "rates",
            Holds::Text,
            "A file of `labour`, `prices`, `stock` and `offer` that jobs share; what a job says itself stands over it.",
        ),
        may("bring", Holds::Texts(100), "What to bring to the job, for the packing list."),
        may(
            "refrigerants",
            Holds::List(&refrigerants::SHAPE, 100),
            "Refrigerants that the table of chargesplit lacks.",
        ),
    ],
    rules: &[KeyRule::Filled("systems"), KeyRule::Apart("yard", "cylinders")],
};
static SCALE: Shape = Shape {
    what: "scale",
    keys: &[
        may("accuracy", Holds::Weight, "Kept free below every limit; default nothing."),
        may("capacity", Holds::Weight, "Where the scale ends; no stop weight lies above it."),
    ],
    rules: &[],
};
static LIMIT: Shape = Shape {
    what: "limit",
    keys: &[
        may(
            "fill",
            Holds::Quantity(A_PERCENT),
            "The share of the volume that liquid may take; default 80 %, and never more.",
        ),
        may("at", Holds::Quantity(A_TEMPERATURE), "The temperature that the share holds for; default 130 F."),
        may("rules", Holds::OneOf(|| words(&Rules::ALL)), "Whose rules for filling apply; default us."),
    ],
    rules: &[],
};
static SITE: Shape = Shape {
    what: "site",
    keys: &[
        may("lift_limit", Holds::Weight, "The heaviest loaded cylinder that is carried here."),
        may("one_person", Holds::Weight, "What one person lifts here; a note names what is heavier."),
        may("access", Holds::OneOf(|| words(&Access::ALL)), "How the cylinders leave."),
        may(
            "hottest",
            Holds::Quantity(A_TEMPERATURE),
            "How hot the cylinders will stand, where that is over the limit's.",
        ),
    ],
    rules: &[],
};

/// A job file as far as it could be read.
pub(super) struct Read<'n> {
    /// `None` where anything was wrong.
    pub job: Option<Job>,
    pub unit: Unit,
    pub known: Known,
    pub date: Date,
    pub yard: Option<YardPlace<'n>>,
    pub extras: Extras,
    pub marks: Marks,
}

/// Places that problems between several jobs are shown at.
#[derive(Clone, Copy)]
pub(super) struct Marks {
    pub units: Option<Mark>,
    pub yard: Option<Mark>,
    pub refrigerants: Option<Mark>,
    pub name: Option<Mark>,
    pub stock: Option<Mark>,
    /// Of the date, where the file states one.
    pub date: Option<Mark>,
}

/// Where the cylinders are.
#[derive(Clone)]
pub(super) enum YardPlace<'n> {
    /// In a file of their own.
    File(PathBuf),
    /// In the job file.
    Here(Fields<'n>),
}

/// Reads a job. Work that isn't won yet needs no yard.
pub(super) fn read<'n>(
    node: &'n Node,
    today: &Today,
    needs_yard: bool,
    files: &mut RatesFiles,
    found: &mut Findings,
) -> Option<Read<'n>> {
    let fields = Fields::open(node, None, &SHAPE, found)?;
    let name = fields.read("job", found, Value::text);
    let date = fields.read("date", found, Value::day).unwrap_or_else(|| **today);
    // With the unit unknown the file is refused; pounds only keep the rest readable for its other problems.
    let unit = fields.read("units", found, Value::unit).unwrap_or(Unit::Lb);
    let known = Known::read(fields, found);
    let owner = fields.read("owner", found, Value::text_if_any);
    let reuse_together = fields.read("reuse_together", found, Value::flag);
    let (terms, limit, site, scale) = terms(fields, unit, date, found);
    let weight = |value: Value, found: &mut Findings| value.weight(Some(unit), found);
    let one_person = site.and_then(|site| site.read("one_person", found, weight));
    let access = site.and_then(|site| site.read("access", found, |value, found| value.word(&Access::ALL, found)));
    let systems = system::read(fields, unit, &known, found);
    let rates = fields.read("rates", found, Value::text).map(|file| folder(found).join(file));
    let rates = rates.and_then(|file| files.of(&file, fields.mark("rates"), found));
    let shared = rates.map(|rates| &rates.terms);
    let mut hires = Vec::new();
    let mut stock = stock::read(fields, unit, found, &mut hires);
    let own: Vec<String> = stock.iter().map(|kind| kind.name.clone()).collect();
    stock.extend(rates.iter().flat_map(|rates| &rates.stock).filter(|kind| !own.contains(&kind.name)).cloned());
    let labour = labour::read(fields, unit, shared.map(|shared| &shared.labour), found);
    let prices = prices::read(fields, &known, hires, shared.map(|shared| &shared.prices), found);
    let offer = offer::read(fields, found);
    let offer = shared.map_or_else(|| offer.clone(), |shared| offer.clone().over(&shared.offer));
    let yard = yard(fields, needs_yard, found);
    let extras = Extras {
        terms: estimate::Terms { labour, prices, offer },
        bring: texts(fields, "bring", found),
        names_yard: fields.has("yard") || fields.has("cylinders"),
    };
    let facts = JobFacts {
        name: name.unwrap_or_default(),
        owner,
        terms,
        one_person,
        access,
        crew: extras.terms.labour.crew,
        reuse_together: reuse_together.unwrap_or(false),
        systems: systems.iter().map(|read| read.system.clone()).collect(),
        stock,
    };
    let sections = Sections { job: fields, limit, site, scale };
    let job = checked(facts, &systems, &sections, found);
    Some(Read {
        job,
        unit,
        known,
        date,
        yard,
        extras,
        marks: Marks {
            units: fields.mark(if fields.has("scale_division") { "scale_division" } else { "units" }),
            yard: fields.mark(if fields.has("yard") { "yard" } else { "cylinders" }),
            refrigerants: fields.mark("refrigerants"),
            name: fields.mark("job"),
            stock: fields.mark(if fields.has("stock") { "stock" } else { "rates" }),
            date: fields.has("date").then(|| fields.mark("date")).flatten(),
        },
    })
}

/// The texts of a list.
pub(super) fn texts(fields: Fields, key: &'static str, found: &mut Findings) -> Vec<String> {
    fields.values(key, found).into_iter().filter_map(|value| value.text(found)).collect()
}

type Section<'n> = Option<Fields<'n>>;

fn terms<'n>(
    job: Fields<'n>,
    unit: Unit,
    date: Date,
    found: &mut Findings,
) -> (Terms, Section<'n>, Section<'n>, Section<'n>) {
    let limit = job.map("limit", found);
    let site = job.map("site", found);
    let scale = job.map("scale", found);
    let weight = |value: Value, found: &mut Findings| value.weight(Some(unit), found);
    let fill: Option<Percent> = limit.and_then(|limit| limit.read("fill", found, Value::percent));
    let at = limit.and_then(|limit| limit.read("at", found, Value::temperature));
    let rules = limit.and_then(|limit| limit.read("rules", found, |value, found| value.word(&Rules::ALL, found)));
    let hottest = site.and_then(|site| site.read("hottest", found, Value::temperature));
    let lift_limit = site.and_then(|site| site.read("lift_limit", found, weight));
    let accuracy = scale.and_then(|scale| scale.read("accuracy", found, weight));
    let capacity = scale.and_then(|scale| scale.read("capacity", found, weight));
    let division = job.read("scale_division", found, |value, found| {
        let step = value.weight(Some(unit), found)?;
        let division = Division::new(unit, step);
        let hint = "write the smallest step that the scale shows, in the units of the job";
        division.map_err(|error| value.problem(Code::BadDivision, &error.to_string(), hint, found)).ok()
    });
    let usual = Terms::usual(division.unwrap_or_else(|| unit.default_division()), date);
    let terms = Terms {
        fill: fill.unwrap_or(usual.fill),
        at: at.unwrap_or(usual.at),
        rules: rules.unwrap_or(usual.rules),
        hottest,
        lift_limit,
        scale: Scale { accuracy: accuracy.unwrap_or(usual.scale.accuracy), capacity, ..usual.scale },
        date,
    };
    (terms, limit, site, scale)
}

/// The folder that a job's paths count from.
fn folder(found: &Findings) -> PathBuf {
    found.source.file.parent().map(Path::to_owned).unwrap_or_default()
}

fn yard<'n>(job: Fields<'n>, needed: bool, found: &mut Findings) -> Option<YardPlace<'n>> {
    let folder = folder(found);
    match (job.has("yard"), job.has("cylinders")) {
        (true, true) => {
            let message = "`yard` and `cylinders` exclude each other";
            found.add(Code::ConflictingKeys, job.mark("cylinders"), message, "keep the cylinders in one place");
            None
        }
        (false, false) => {
            if needed {
                job.missing("yard", ", and no `cylinders` in its place", found);
            }
            None
        }
        (true, false) => job.read("yard", found, Value::text).map(|path| YardPlace::File(folder.join(path))),
        (false, true) => Some(YardPlace::Here(job)),
    }
}

/// The parts of a job file, to find the place of a key in.
struct Sections<'n> {
    job: Fields<'n>,
    limit: Section<'n>,
    site: Section<'n>,
    scale: Section<'n>,
}

impl Sections<'_> {
    fn mark(&self, section: Section, key: &str) -> Option<Mark> {
        section.map_or_else(|| self.job.start(), |section| section.mark(key))
    }
}

/// The job, where nothing in the file is wrong.
fn checked(facts: JobFacts, systems: &[system::Read], sections: &Sections, found: &mut Findings) -> Option<Job> {
    let some_refused = matches!(sections.job.node("systems"), Some(node) if *node != Node::List(Vec::new()));
    let errors = match Job::new(facts) {
        Ok(job) => return found.problems.is_empty().then_some(job),
        Err(errors) => errors,
    };
    let is_temperature =
        |error: &JobError| matches!(error, JobError::LimitTemperature { .. } | JobError::Hottest { .. });
    let impossible_temperature = errors.iter().any(is_temperature);
    for error in errors {
        let (code, mark, hint) = match &error {
            JobError::Fill { .. } => (
                Code::OutOfRange,
                sections.mark(sections.limit, "fill"),
                "liquid may never take more than 80 % of a cylinder",
            ),
            JobError::LimitTemperature { .. } => {
                (Code::OutOfRange, sections.mark(sections.limit, "at"), "leave it away for 130 F")
            }
            JobError::Hottest { .. } => {
                (Code::OutOfRange, sections.mark(sections.site, "hottest"), "check the number and its scale")
            }
            JobError::Weight { what, range } => {
                let section = if SITE.key(what).is_some() { sections.site } else { sections.scale };
                section.unwrap_or(sections.job).outside(what, range, "check the number", found);
                continue;
            }
            JobError::SameName { system, .. } => (
                Code::DuplicateName,
                systems.get(*system).and_then(|system| system.name),
                "give each system a name of its own",
            ),
            // Systems that are there and can't be read have been told of.
            JobError::NoSystems if some_refused => continue,
            // At a temperature that can't be meant, nothing is to be said of a refrigerant.
            JobError::NoLimit { .. } if impossible_temperature => continue,
            JobError::NoSystems => {
                (Code::NothingToDo, sections.job.mark("systems"), "list what is to be recovered under `systems:`")
            }
            JobError::NoLimit { system, .. } => (
                Code::NoLimit,
                systems.get(*system).and_then(|system| system.refrigerant),
                "it isn't recovered by weight into these cylinders; ask the refrigerant's maker",
            ),
        };
        found.add(code, mark, &error.to_string(), hint);
    }
    None
}
