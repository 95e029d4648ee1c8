//! What was recovered in a month, over the records of a folder.

use serde::Serialize;

use super::{Block, Report, Table, counted, name, number, words};
use crate::quantity::{Unit, Weight};
use crate::text::Record;

/// The totals of a month.
#[derive(Debug, Serialize)]
pub struct MonthReport {
    format: &'static str,
    month: String,
    jobs: Vec<String>,
    totals: Vec<Total>,
    not_closed_out: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Total {
    refrigerant: String,
    fate: String,
    amount: String,
    cylinders: usize,
    #[serde(skip)]
    weight: Weight,
    #[serde(skip)]
    seen: Vec<(String, String)>,
}

impl MonthReport {
    /// The totals of the rows of this month, in the unit of the first of each kind.
    ///
    /// # Errors
    /// An amount in a record that isn't a weight.
    pub fn new(month: &str, records: &[Record], not_closed_out: Vec<String>) -> Result<Self, String> {
        let mut totals: Vec<(Unit, Total)> = Vec::new();
        let mut jobs: Vec<String> = Vec::new();
        for record in records {
            for row in record.rows.iter().filter(|row| row.date.starts_with(&format!("{month}-"))) {
                let (weight, unit) = row
                    .weight()
                    .ok_or_else(|| format!("the record of {} has the amount `{}`", record.head.job, row.amount))?;
                if !jobs.contains(&record.head.job) {
                    jobs.push(record.head.job.clone());
                }
                let same =
                    |(_, total): &&mut (Unit, Total)| total.refrigerant == row.refrigerant && total.fate == row.fate;
                let cylinder = (record.head.job.clone(), row.cylinder.clone());
                if let Some((_, total)) = totals.iter_mut().find(same) {
                    total.weight = total.weight + weight;
                    total.seen.push(cylinder);
                } else {
                    let (refrigerant, fate) = (row.refrigerant.clone(), row.fate.clone());
                    let total =
                        Total { refrigerant, fate, amount: String::new(), cylinders: 0, weight, seen: vec![cylinder] };
                    totals.push((unit, total));
                }
            }
        }
        let finished = |(unit, mut total): (Unit, Total)| {
            total.seen.sort();
            total.seen.dedup();
            Total { amount: unit.text(total.weight), cylinders: total.seen.len(), ..total }
        };
        let mut totals: Vec<Total> = totals.into_iter().map(finished).collect();
        totals.sort_by(|a, b| (&a.refrigerant, &a.fate).cmp(&(&b.refrigerant, &b.fate)));
        Ok(Self { format: "chargesplit-month/1", month: month.into(), jobs, totals, not_closed_out })
    }
}

impl Report for MonthReport {
    fn blocks(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Heading(format!("Recovered in {}", self.month))];
        for log in &self.not_closed_out {
            blocks.push(Block::Note(format!("NOT IN HERE: {log} isn't closed out.")));
        }
        if self.totals.is_empty() {
            blocks.push(Block::Note("No record has anything of this month.".into()));
            return blocks;
        }
        let columns = vec![name("refrigerant"), words("fate"), number("recovered"), number("cylinders")];
        let row = |total: &Total| {
            vec![total.refrigerant.clone(), total.fate.clone(), total.amount.clone(), total.cylinders.to_string()]
        };
        blocks.push(Block::Table(Table { columns, rows: self.totals.iter().map(row).collect() }));
        blocks.push(Block::Note(format!("{}: {}.", counted(self.jobs.len(), "job"), self.jobs.join("; "))));
        blocks
    }
}
