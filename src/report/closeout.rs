//! The close-out: recovered against the charge, the cylinders with their labels, the record, the files that were written.

use serde::Serialize;

use super::html::{Inputs, labels_page};
use super::{Block, Report, Table, as_drawn, marks, name, number, words};
use crate::plan::Reading;
use crate::quantity::{Division, Marks};
use crate::recovery::{self, Accounts};

/// What became of a job.
#[derive(Debug, Serialize)]
pub struct CloseoutReport {
    format: &'static str,
    job: String,
    unit: &'static str,
    recovered: Reading,
    lots: Vec<LotClosed>,
    cylinders: Vec<Label>,
    files: Vec<String>,
    warnings: Vec<String>,
}

#[derive(Debug, Serialize)]
struct LotClosed {
    lot: String,
    refrigerant: String,
    charge: Reading,
    recovered: Reading,
    difference: Reading,
    systems: Vec<SystemClosed>,
}

#[derive(Debug, Serialize)]
struct SystemClosed {
    system: String,
    charge: Reading,
    recovered: Reading,
    difference: Reading,
    reasons: Vec<String>,
    pressure_class: &'static str,
    evacuate_to: &'static str,
    evacuate_row: &'static str,
}

/// A label for a cylinder.
#[derive(Debug, Serialize)]
pub(super) struct Label {
    pub cylinder: String,
    refrigerant: String,
    pub condition: &'static str,
    pub net: Reading,
    pub gross: Reading,
    pub tare: Reading,
    pub date: String,
    un_number: Option<u16>,
    pub un_entry: Option<String>,
    pub kept_for: Option<String>,
    marks: Vec<&'static str>,
    /// What is written on it: refrigerant and marks in full words.
    pub label: String,
    #[serde(skip)]
    empty: bool,
}

impl CloseoutReport {
    /// A report of these accounts; `files` are the sentences about what was written, `warnings` about what was read.
    pub fn new(job: &str, division: Division, accounts: &Accounts, files: &[String], warnings: &[String]) -> Self {
        let reading = |marks: Marks| Reading::new(division, marks);
        let system = |system: &recovery::SystemAccount| SystemClosed {
            system: system.system.clone(),
            charge: reading(system.charge),
            recovered: reading(system.recovered),
            difference: reading(system.difference()),
            reasons: system.reasons.clone(),
            pressure_class: system.evacuation.class.name(),
            evacuate_to: system.evacuation.level,
            evacuate_row: system.evacuation.charge,
        };
        let lot = |lot: &recovery::LotAccount| LotClosed {
            lot: lot.lot.clone(),
            refrigerant: lot.refrigerant.clone(),
            charge: reading(lot.charge),
            recovered: reading(lot.recovered),
            difference: reading(lot.recovered - lot.charge),
            systems: lot.systems.iter().map(system).collect(),
        };
        Self {
            format: "chargesplit-closeout/1",
            job: job.into(),
            unit: division.unit().number_name(),
            recovered: reading(accounts.lots.iter().map(|lot| lot.recovered).sum()),
            lots: accounts.lots.iter().map(lot).collect(),
            cylinders: accounts.cylinders.iter().map(|after| label(after, reading)).collect(),
            files: files.to_vec(),
            warnings: warnings.to_vec(),
        }
    }
}

fn label(after: &recovery::After, reading: impl Fn(Marks) -> Reading) -> Label {
    let mixture =
        if after.may_contain.is_empty() { String::new() } else { format!(" {}", after.may_contain.join(" + ")) };
    Label {
        cylinder: after.cylinder.to_string(),
        refrigerant: format!("{}{mixture}", after.holds),
        condition: after.condition,
        net: reading(after.net),
        gross: reading(after.gross),
        tare: reading(after.tare),
        date: after.date.to_string(),
        un_number: after.un_number,
        un_entry: after.un_entry.clone(),
        kept_for: after.kept_for.clone(),
        marks: marks::words(&after.tags),
        label: after.label.clone(),
        empty: after.lot.is_none(),
    }
}

impl CloseoutReport {
    /// The labels to print and to stick on.
    pub fn labels(&self, inputs: &Inputs) -> String {
        let labels: Vec<&Label> = self.cylinders.iter().filter(|label| !label.empty).collect();
        labels_page(&self.job, &labels, inputs)
    }
}

impl Report for CloseoutReport {
    fn blocks(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Heading(format!("{}: close-out", self.job))];
        blocks.push(Block::Note(format!("{} recovered in all. Weights in {}.", self.recovered, as_drawn(self.unit))));
        blocks.extend(self.warnings.iter().cloned().map(Block::Note));
        blocks.push(Block::Table(self.accounts()));
        let reasons: Vec<String> = self.reasons();
        if !reasons.is_empty() {
            blocks.push(Block::Heading("Likely reasons for the differences".into()));
            blocks.push(Block::List(reasons));
        }
        blocks.push(Block::Heading("Evacuation level, to confirm against the current text".into()));
        let mut levels: Vec<String> = self.levels();
        levels.push(
            "40 CFR 82.156 table 1, recovery machines made on or after 15 November 1993; classes of 40 CFR 82.152, \
             from memory; small appliances have rules of their own"
                .into(),
        );
        blocks.push(Block::List(levels));
        if !self.cylinders.is_empty() {
            blocks.push(Block::Heading("Labels".into()));
            blocks.push(Block::List(self.cylinders.iter().map(Label::line).collect()));
        }
        blocks.push(Block::Heading("Files".into()));
        blocks.push(Block::List(self.files.clone()));
        blocks
    }
}

impl CloseoutReport {
    fn accounts(&self) -> Table {
        let weights = ["charge", "recovered", "difference"].map(number);
        let columns = [name("refrigerant"), words("system")].into_iter().chain(weights).collect();
        let row = |lot: &str, system: &str, weights: [Reading; 3]| {
            [lot.to_owned(), system.to_owned()].into_iter().chain(weights.map(Reading::bare)).collect()
        };
        let mut rows = Vec::new();
        for lot in &self.lots {
            for system in &lot.systems {
                let weights = [system.charge, system.recovered, system.difference];
                rows.push(row(&lot.lot, &system.system, weights));
            }
            if lot.systems.len() > 1 {
                rows.push(row(&lot.lot, "together", [lot.charge, lot.recovered, lot.difference]));
            }
        }
        Table { columns, rows }
    }

    fn reasons(&self) -> Vec<String> {
        let systems = self.lots.iter().flat_map(|lot| &lot.systems);
        let of_system = |system: &SystemClosed| {
            let what = if system.difference.is_negative() { "short of" } else { "more than" };
            let head = format!("{}: {} {what} the charge", system.system, system.difference.abs());
            (!system.reasons.is_empty()).then(|| format!("{head}: {}", system.reasons.join("; ")))
        };
        systems.filter_map(of_system).collect()
    }

    fn levels(&self) -> Vec<String> {
        let systems = self.lots.iter().flat_map(|lot| &lot.systems);
        systems
            .map(|system| {
                let (class, level, row) = (system.pressure_class, system.evacuate_to, system.evacuate_row);
                format!("{}: {level} ({class}, {row})", system.system)
            })
            .collect()
    }
}

impl Label {
    fn line(&self) -> String {
        let un = self.un_entry.as_ref().map_or_else(|| "UN number not known".into(), |entry| format!("UN {entry}"));
        let kept = self.kept_for.as_ref().map_or_else(String::new, |job| format!("; kept apart for {job}"));
        if self.empty {
            return format!("{}: nothing went in; {}; gross {}, {}", self.cylinder, self.label, self.gross, self.date);
        }
        format!(
            "{}: {}; recovered; net {}, gross {}, tare {}; {}; {un}{kept}",
            self.cylinder, self.label, self.net, self.gross, self.tare, self.date
        )
    }
}
