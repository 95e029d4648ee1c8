//! What `check` found in files that can be read: how they were understood.

use serde::Serialize;

use super::{Block, Report, ShownIn, Table, counted, name, number, words};
use crate::cylinder::reasons;
use crate::job::{Work, notices};
use crate::plan::Reading;
use crate::problem::SkippedRow;
use crate::quantity::Division;
use crate::text::Extras;

/// Files without fault, as they were understood.
#[derive(Debug, Serialize)]
pub struct CheckReport {
    format: &'static str,
    unit: &'static str,
    jobs: Vec<String>,
    lots: Vec<LotCheck>,
    cylinders: usize,
    fit: usize,
    /// Jobs that name no cylinders: they can be quoted, and not planned.
    quote_only: Vec<String>,
    notices: Vec<String>,
    skipped: Vec<String>,
}

#[derive(Debug, Serialize)]
struct LotCheck {
    lot: String,
    charge: Reading,
    fit: usize,
    systems: Vec<String>,
}

impl CheckReport {
    /// A report of this work, with what each job's file says beside it; `skipped` are the rows of the yard that couldn't
    /// be read.
    pub fn new(work: &Work, extras: &[Extras], skipped: &[SkippedRow]) -> Self {
        let fit = |lot: &crate::job::Lot| {
            work.yard().iter().filter(|cylinder| reasons(cylinder, &lot.intake).is_empty()).count()
        };
        let lots = work.lots().iter().map(|lot| LotCheck {
            lot: lot.name.clone(),
            charge: Reading::new(work.division(), lot.charge),
            fit: fit(lot),
            systems: lot.parts.iter().map(|part| part.system.clone()).collect(),
        });
        let fit_for_any = work
            .yard()
            .iter()
            .filter(|cylinder| work.lots().iter().any(|lot| reasons(cylinder, &lot.intake).is_empty()))
            .count();
        Self {
            format: "chargesplit-check/1",
            unit: work.division().unit().number_name(),
            jobs: work.jobs().iter().map(|job| job.name.clone()).collect(),
            lots: lots.collect(),
            cylinders: work.yard().len(),
            fit: fit_for_any,
            quote_only: (work.jobs().iter().zip(extras))
                .filter(|(_, extras)| !extras.names_yard)
                .map(|(job, _)| job.name.clone())
                .collect(),
            notices: notices(work).into_iter().map(|notice| notice.text).collect(),
            skipped: super::skipped(skipped),
        }
    }
}

impl Report for CheckReport {
    fn blocks(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Heading(self.jobs.join(" + "))];
        blocks.extend(super::skipped_blocks(&self.skipped));
        blocks.push(Block::Note(format!(
            "The files can be read: {} to keep apart, {} on hand, {} of them fit.",
            counted(self.lots.len(), "charge"),
            counted(self.cylinders, "cylinder"),
            self.fit
        )));
        if !self.quote_only.is_empty() {
            blocks.push(Block::Note(format!(
                "No yard and no cylinders are named for {}: it can be quoted; a plan asks for `yard:` or `cylinders:`.",
                super::and(&self.quote_only)
            )));
        }
        let columns = vec![name("refrigerant"), number("charge"), number("fit cylinders"), words("systems")];
        let rows = self
            .lots
            .iter()
            .map(|lot| vec![lot.lot.clone(), lot.charge.to_string(), lot.fit.to_string(), lot.systems.join(", ")]);
        blocks.push(Block::Table(Table { columns, rows: rows.collect() }));
        if !self.notices.is_empty() {
            blocks.push(Block::List(self.notices.clone()));
        }
        blocks
    }
}

impl ShownIn for CheckReport {
    fn show_in(&mut self, to: Division) {
        self.unit = to.unit().number_name();
        for lot in &mut self.lots {
            lot.charge = lot.charge.up(to);
        }
    }
}
