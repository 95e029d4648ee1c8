//! The plan for what is left, and what changed.

use serde::Serialize;

use super::beside::beside;
use super::changes::{self, ChangeLine, FailedLine, MoreLine};
use super::hose::PourLine;
use super::left_out::{self, Unfilled};
use super::plan::remedy;
use super::{Block, Hazards, Report, Table, as_drawn, cautions, counted, marked, marks, name, number, pours, words};
use crate::audit::Audited;
use crate::cylinder::Id;
use crate::plan::{self, Reading, Reason, Remedy, Share};
use crate::quantity::{Division, Marks, Unit};
use crate::recovery::{Day, Replanned, Step};

/// A plan for what is left.
#[derive(Debug, Serialize)]
pub struct ReplanReport {
    format: &'static str,
    job: String,
    unit: &'static str,
    status: &'static str,
    changed: Vec<String>,
    changes: Vec<ChangeLine>,
    /// Cylinders whose marks stay good.
    unchanged: Vec<String>,
    more: Vec<MoreLine>,
    failed: Vec<FailedLine>,
    loads: Vec<Load>,
    short: Vec<Short>,
    #[serde(skip_serializing_if = "Option::is_none")]
    remedy: Option<Remedy<Reading>>,
    left_out: Vec<Unfilled>,
    warnings: Vec<Reason>,
    about_files: Vec<String>,
    #[serde(skip)]
    to_place: Option<String>,
    #[serde(skip)]
    hazards: Hazards,
    /// The unit that the scale reads, and the division of another to show the weights in besides.
    #[serde(skip)]
    beside: Option<(Unit, Division)>,
}

#[derive(Debug, Serialize)]
struct Load {
    order: usize,
    cylinder: String,
    lot: String,
    refrigerant: String,
    marks: Vec<&'static str>,
    begun: bool,
    from: Vec<Share<Reading>>,
    pours: Vec<PourLine>,
    /// Which hose first, and at which reading it is changed; where its lot has one system, nothing.
    #[serde(skip)]
    hoses: Option<String>,
    now: Reading,
    add: Reading,
    stop: Reading,
    limit: Reading,
}

#[derive(Debug, Serialize)]
struct Short {
    lot: String,
    missing: Reading,
    suggest: Vec<String>,
}

impl ReplanReport {
    /// A report of this plan, made from `day`; `about_files` are sentences of what changed in them.
    pub fn new(day: &Day, replanned: &Replanned, about_files: &[String]) -> Self {
        let division = day.division();
        let reading = |marks: Marks| Reading::new(division, marks);
        let load = |(index, (step, load)): (usize, (&Step, &plan::Load))| Load {
            refrigerant: load.refrigerant.clone(),
            marks: marks::words(&load.tags),
            order: index + 1,
            cylinder: step.cylinder.to_string(),
            lot: step.lot.clone(),
            begun: day.position(&step.cylinder).is_some_and(|index| day.fillings[index].begun()),
            from: step.from.iter().map(|share| share.map(&reading)).collect(),
            pours: load.pours.iter().map(|pour| PourLine::of(pour, reading)).collect(),
            hoses: has_several(day, &step.lot).then(|| hoses(division, load)),
            now: reading(step.now),
            add: reading(step.add),
            stop: reading(step.stop),
            limit: reading(step.limit),
        };
        let kind = |one: &plan::Suggestion| format!("{} x {}", one.count, one.kind);
        let short = |short: &plan::Short| Short {
            lot: short.lot.clone(),
            missing: reading(short.missing),
            suggest: short.suggest.iter().map(kind).collect(),
        };
        let plans = || replanned.parts.iter().map(Audited::plan);
        // A step of the log is a load of one of the parts, in the same order.
        let steps = replanned.planned.steps.iter().zip(plans().flat_map(|plan| &plan.loads));
        Self {
            format: "chargesplit-replan/1",
            job: day.work.jobs().first().map_or_else(String::new, |job| job.name.clone()),
            unit: division.unit().number_name(),
            status: status(replanned),
            changed: changes::sentences(division, replanned),
            changes: changes::lines(division, &replanned.changes),
            unchanged: unchanged(replanned),
            more: changes::more(division, &replanned.more),
            failed: changes::failed(division, &replanned.failed),
            loads: steps.enumerate().map(load).collect(),
            short: replanned.short.iter().map(short).collect(),
            remedy: replanned.remedy.as_ref().map(|remedy| remedy.map(&reading)),
            left_out: replanned.fresh.iter().map(Audited::plan).flat_map(left_out::of).collect(),
            warnings: replanned.warnings.clone(),
            about_files: about_files.to_vec(),
            to_place: to_place(day, replanned),
            hazards: Hazards::of(day.work),
            beside: None,
        }
    }

    /// The report with its loading plan on a scale of another division besides.
    #[must_use]
    pub fn beside(mut self, scale: Unit, other: Option<Division>) -> Self {
        self.beside = other.map(|other| (scale, other));
        self
    }

    fn answer(&self) -> String {
        let cylinders = self.loads.iter().filter(|load| !load.begun).count();
        let begun = self.loads.len() - cylinders;
        let how = format!("{} begun already and {}", counted(begun, "cylinder"), counted(cylinders, "further one"));
        match self.status {
            "short" if self.short.is_empty() => "NOT ENOUGH for what may still be there.".into(),
            "short" => {
                let lots = self.short.iter().map(|short| format!("{} of {}", short.missing, short.lot));
                format!("NOT ENOUGH. {} would be left in the system.", lots.collect::<Vec<_>>().join(" and "))
            }
            "undecided" => "UNDECIDED. No plan was found in the time: give it more with --time-limit.".into(),
            _ if self.loads.is_empty() => "Nothing is left to place.".into(),
            _ if !self.more.is_empty() => format!("Goes on with {how}."),
            "proved" => format!("Enough, with {how}. Proved: no plan needs fewer further cylinders."),
            _ => format!("Enough, with {how}. It isn't proved that no plan needs fewer."),
        }
    }
}

/// Whether a lot has several systems.
fn has_several(day: &Day, lot: &str) -> bool {
    day.work.lots().iter().any(|line| line.name == lot && line.parts.len() > 1)
}

/// The systems of a load in working order.
fn hoses(division: Division, load: &plan::Load) -> String {
    let first = load.pours.first().map(|pour| pour.system.clone());
    let changes = pours::changes(&load.pours, &|at| division.text(at));
    first.into_iter().chain(changes).collect::<Vec<_>>().join("; ")
}

/// The cylinders of the plan before that are to be filled just as they were.
fn unchanged(replanned: &Replanned) -> Vec<String> {
    let changed = |id: &Id| replanned.changes.iter().any(|(other, _)| other == id);
    let steps = replanned.planned.steps.iter().filter(|step| !changed(&step.cylinder));
    steps.map(|step| step.cylinder.to_string()).collect()
}

/// What is left of each lot, with what there is no room for; what nobody knows of isn't in it.
fn to_place(day: &Day, replanned: &Replanned) -> Option<String> {
    let left = |lot: &str| -> Marks {
        let placed = replanned.planned.steps.iter().filter(|step| step.lot == lot).map(|step| step.add);
        let short = replanned.short.iter().filter(|short| short.lot == lot).map(|short| short.missing);
        let unknown = replanned.more.iter().filter(|more| more.lot == lot).filter_map(|more| more.next.as_ref());
        placed.chain(short).sum::<Marks>() - unknown.map(|next| next.takes).sum::<Marks>()
    };
    let lots = day.work.lots().iter().map(|lot| (left(&lot.name), &lot.name)).filter(|(left, _)| *left > 0);
    let lots: Vec<String> = lots.map(|(left, lot)| format!("{} of {lot}", day.division().text(left))).collect();
    (!lots.is_empty() && !replanned.undecided).then(|| format!("Left in the system: {}.", lots.join(" and ")))
}

fn status(replanned: &Replanned) -> &'static str {
    match (replanned.undecided, replanned.proved) {
        (true, ..) => "undecided",
        (false, ..) if replanned.is_short() => "short",
        (false, true) => "proved",
        (false, false) => "bounded",
    }
}

impl Report for ReplanReport {
    fn blocks(&self) -> Vec<Block> {
        let cautions = [Block::Heading("Cautions".into()), Block::List(cautions(&self.hazards))];
        let cautions = cautions.into_iter().filter(|_| !self.loads.is_empty());
        self.answer_blocks().into_iter().chain(self.detail_blocks()).chain(cautions).collect()
    }
}

impl ReplanReport {
    /// What its refrigerants ask a reader to beware of.
    pub(super) fn hazards(&self) -> &Hazards {
        &self.hazards
    }

    /// The name of the report.
    pub(super) fn title(&self) -> String {
        format!("{}: what is left", self.job)
    }

    /// What comes first: whether it is enough.
    pub(super) fn answer_blocks(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Heading(self.title())];
        blocks.extend(self.to_place.iter().cloned().map(Block::Note));
        blocks.push(Block::Note(self.answer()));
        blocks.extend(changes::first(&self.more, &self.failed));
        blocks.extend(self.about_files.iter().cloned().map(Block::Note));
        blocks.extend(self.remedy.iter().flat_map(remedy::blocks));
        blocks
    }

    /// What follows: what to do, what changed, what was left out, what to know.
    pub(super) fn detail_blocks(&self) -> Vec<Block> {
        let mut blocks = Vec::new();
        if !self.loads.is_empty() {
            blocks.push(Block::Heading(format!("Loading plan for what is left, in {}", as_drawn(self.unit))));
            blocks.push(Block::Table(self.loading()));
            if let Some((scale, to)) = self.beside {
                let lines = self.loads.iter();
                let lines = lines.map(|load| (load.cylinder.as_str(), [load.now, load.add, load.stop, load.limit]));
                blocks.extend(beside(lines, scale, to));
            }
        }
        let hoses = self.loads.iter().filter_map(|load| Some(format!("{}: {}", load.cylinder, load.hoses.as_ref()?)));
        let hoses: Vec<String> = hoses.collect();
        if !hoses.is_empty() {
            blocks.push(Block::Heading("Hoses".into()));
            blocks.push(Block::List(hoses));
        }
        if !self.changed.is_empty() {
            blocks.push(Block::Heading("What changed".into()));
            blocks.push(Block::List(self.changed.clone()));
        }
        if !self.unchanged.is_empty() {
            blocks.push(Block::Note(format!("As it was marked before: {}.", self.unchanged.join(", "))));
        }
        blocks.extend(left_out::blocks(&self.left_out));
        if !self.warnings.is_empty() {
            blocks.push(Block::Heading("To know".into()));
            blocks.push(Block::List(self.warnings.iter().map(|warning| warning.text.clone()).collect()));
        }
        blocks
    }

    /// The table to work from; it names the systems where two lots look alike in it.
    fn loading(&self) -> Table {
        let alike = |load: &Load| {
            let same = |other: &&Load| (&other.refrigerant, &other.marks) == (&load.refrigerant, &load.marks);
            self.loads.iter().filter(same).any(|other| other.lot != load.lot)
        };
        let from = self.loads.iter().any(alike);
        let weights = ["now", "add", "STOP AT", "limit"].map(number);
        let columns = [number("#"), name("cylinder"), marked("refrigerant")].into_iter().chain(weights);
        let row = |load: &Load| {
            let weights = [load.now, load.add, load.stop, load.limit].map(Reading::bare);
            let held = marks::marked(&load.refrigerant, &load.marks);
            let systems = load.from.iter().map(|share| share.system.as_str()).collect::<Vec<_>>().join(", ");
            let cells = [load.order.to_string(), load.cylinder.clone(), held].into_iter().chain(weights);
            cells.chain(from.then_some(systems)).collect()
        };
        Table {
            columns: columns.chain(from.then(|| words("from"))).collect(),
            rows: self.loads.iter().map(row).collect(),
        }
    }
}
