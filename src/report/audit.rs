//! What the audit found in a plan.

use serde::Serialize;

use super::number::Reading;
use super::{Block, Report, Table, counted, name, number};
use crate::audit::{Audited, Fault};
use crate::plan;

const FORMAT: &str = "chargesplit-audit/1";

/// The answer of `audit`.
#[derive(Debug, Serialize)]
pub struct AuditReport {
    format: &'static str,
    clean: bool,
    loads: Vec<Load>,
    faults: Vec<Line>,
}

#[derive(Debug, Serialize)]
struct Load {
    cylinder: String,
    stop: Reading,
    limit: Reading,
    liquid_full: String,
}

#[derive(Debug, Serialize)]
struct Line {
    code: &'static str,
    text: String,
}

impl AuditReport {
    /// The report of a plan in which the audit found no fault.
    pub fn clean(audited: &Audited) -> Self {
        let plan = audited.plan();
        let load = |load: &plan::Load| Load {
            cylinder: load.cylinder.to_string(),
            stop: Reading::new(plan.division, load.stop),
            limit: Reading::new(plan.division, load.limit),
            liquid_full: load.liquid_full.clone(),
        };
        let loads = plan.loads.iter().map(load).collect();
        Self { format: FORMAT, clean: true, loads, faults: Vec::new() }
    }

    /// The report of a plan with these faults: none of its figures is repeated.
    pub fn faulty(faults: &[Fault]) -> Self {
        let line = |fault: &Fault| Line { code: fault.code, text: fault.to_string() };
        Self { format: FORMAT, clean: false, loads: Vec::new(), faults: faults.iter().map(line).collect() }
    }
}

impl Report for AuditReport {
    fn blocks(&self) -> Vec<Block> {
        if self.clean {
            let columns = vec![name("cylinder"), number("STOP AT"), number("limit"), name("liquid-full at")];
            let row = |load: &Load| {
                vec![load.cylinder.to_string(), load.stop.to_string(), load.limit.to_string(), load.liquid_full.clone()]
            };
            let found = format!(
                "The plan holds: {} figured again from the job and the yard by plain arithmetic, no fault found.",
                counted(self.loads.len(), "load")
            );
            let table = Table { columns, rows: self.loads.iter().map(row).collect() };
            return vec![Block::Note(found), Block::Table(table)];
        }
        vec![
            Block::Danger(format!("Don't work to this plan: {} found.", counted(self.faults.len(), "fault"))),
            Block::List(self.faults.iter().map(|fault| format!("{}: {}", fault.code, fault.text)).collect()),
        ]
    }
}
