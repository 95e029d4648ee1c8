//! What the audit found in a plan.

use serde::Serialize;

use super::{Block, Report, Table, counted, name, number};
use crate::audit::{Audited, Fault, Second};
use crate::plan::{self, Reading, Totals};

const FORMAT: &str = "chargesplit-audit/1";
/// How far the second way may be trusted.
const SECOND: &str = "Another solver was given the limits figured here. It reckons in floating point: a second opinion, no \
                      proof.";

/// The answer of `audit`.
#[derive(Debug, Serialize)]
pub struct AuditReport {
    format: &'static str,
    clean: bool,
    loads: Vec<LoadAudit>,
    faults: Vec<FaultLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    best: Option<Best>,
}

/// What a second way says of the plan.
#[derive(Debug, Serialize)]
struct Best {
    /// `best`, `better-exists`, `none-fits` or `not-decided`.
    said: &'static str,
    text: String,
    /// The totals of the better plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    totals: Option<BestTotals>,
}

#[derive(Debug, Serialize)]
struct BestTotals {
    cylinders: usize,
    heaviest: Reading,
    carried: Reading,
}

#[derive(Debug, Serialize)]
struct LoadAudit {
    cylinder: String,
    stop: Reading,
    limit: Reading,
    liquid_full: String,
}

#[derive(Debug, Serialize)]
struct FaultLine {
    code: &'static str,
    text: String,
}

impl AuditReport {
    /// The report of a plan in which the audit found no fault.
    pub fn clean(audited: &Audited) -> Self {
        let plan = audited.plan();
        let load = |load: &plan::Load| LoadAudit {
            cylinder: load.cylinder.to_string(),
            stop: Reading::new(plan.division, load.stop),
            limit: Reading::new(plan.division, load.limit),
            liquid_full: load.liquid_full.clone(),
        };
        let loads = plan.loads.iter().map(load).collect();
        Self { format: FORMAT, clean: true, loads, faults: Vec::new(), best: None }
    }

    /// The report of a plan with these faults: none of its figures is repeated.
    pub fn faulty(faults: &[Fault]) -> Self {
        let line = |fault: &Fault| FaultLine { code: fault.code, text: fault.to_string() };
        Self { format: FORMAT, clean: false, loads: Vec::new(), faults: faults.iter().map(line).collect(), best: None }
    }

    /// The same with what a second way says of the plan.
    pub fn with_second(mut self, audited: &Audited, second: Second) -> Self {
        let division = audited.plan().division;
        let words = |totals: Totals| {
            format!(
                "{}, heaviest {}, carried {}",
                counted(totals.cylinders, "cylinder"),
                division.text(totals.heaviest),
                division.text(totals.carried)
            )
        };
        let (said, text, totals) = match second {
            Second::Best => ("best", format!("Best by a second way: {}.", words(audited.plan().totals)), None),
            Second::Better(totals) => {
                ("better-exists", format!("Not the best: by a second way {}.", words(totals)), Some(totals))
            }
            Second::NoneFits => ("none-fits", "By a second way no plan places every charge either.".to_owned(), None),
            Second::NotDecided(why) => ("not-decided", format!("Not decided whether it is the best: {why}."), None),
        };
        let totals = totals.map(|totals| BestTotals {
            cylinders: totals.cylinders,
            heaviest: Reading::new(division, totals.heaviest),
            carried: Reading::new(division, totals.carried),
        });
        self.best = Some(Best { said, text: format!("{text} {SECOND}"), totals });
        self
    }
}

impl Report for AuditReport {
    fn blocks(&self) -> Vec<Block> {
        if self.clean {
            let columns = vec![name("cylinder"), number("STOP AT"), number("limit"), name("liquid-full at")];
            let row = |load: &LoadAudit| {
                vec![load.cylinder.to_string(), load.stop.to_string(), load.limit.to_string(), load.liquid_full.clone()]
            };
            let found = format!(
                "The plan holds: {} figured again from the job and the yard by plain arithmetic, no fault found.",
                counted(self.loads.len(), "load")
            );
            let table = Table { columns, rows: self.loads.iter().map(row).collect() };
            let best = self.best.iter().map(|best| Block::Note(best.text.clone()));
            return [Block::Note(found), Block::Table(table)].into_iter().chain(best).collect();
        }
        vec![
            Block::Danger(format!("Don't work to this plan: {} found.", counted(self.faults.len(), "fault"))),
            Block::List(self.faults.iter().map(|fault| format!("{}: {}", fault.code, fault.text)).collect()),
        ]
    }
}
