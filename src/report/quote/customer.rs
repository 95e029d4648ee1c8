//! The quote on one page for the customer: what is done, what it costs, and everything that this rests on.
//!
//! Made from a [`QuoteReport`] alone, whose assumptions it takes whole: there is no page without them.

use serde::Serialize;

use super::super::{Block, Report};
use super::QuoteReport;
use crate::cylinder::Condition;
use crate::job::Work;

/// The page for the customer.
#[derive(Debug, Serialize)]
pub struct CustomerReport {
    format: &'static str,
    jobs: Vec<String>,
    date: String,
    work: Vec<String>,
    price: String,
    not_included: Vec<String>,
    assumptions: Vec<String>,
}

impl CustomerReport {
    /// The page of this quote for this work.
    pub fn new(quote: &QuoteReport, work: &Work) -> Self {
        let unit = work.division().unit();
        let systems = work.jobs().iter().flat_map(|job| {
            job.systems.iter().map(move |system| {
                let found = match system.condition {
                    Condition::Clean | Condition::Mixed => String::new(),
                    condition @ (Condition::Wet | Condition::Burnout) => format!(" {}", condition.name()),
                };
                let (fluid, planned) = (system.fluid.name(), unit.text(system.planned_charge()));
                format!("{}: {fluid}{found}, planned for {planned}", system.name)
            })
        });
        let hours = quote.hours.iter().map(|hours| {
            format!(
                "{}: {} h likely from leaving to coming back, {} h to {} h",
                hours.job, hours.elapsed.likely, hours.elapsed.low, hours.elapsed.high
            )
        });
        let cylinders = match quote.cylinders.len() {
            1 => "1 recovery cylinder".to_owned(),
            count => format!("{count} recovery cylinders"),
        };
        let price = match (&quote.cost, &quote.currency) {
            (Some(cost), Some(currency)) => format!(
                "Likely {currency} {}. With every figure at its low {currency} {}, with every figure at its high \
                 {currency} {}.",
                cost.total.likely, cost.total.low, cost.total.high
            ),
            _ => "No price is stated.".into(),
        };
        let cost = quote.cost.iter();
        let mut not_included: Vec<String> = cost.clone().flat_map(|cost| cost.unpriced.clone()).collect();
        not_included.extend(quote.missing.iter().cloned());
        not_included.extend(cost.filter_map(|cost| cost.deposits.as_ref()).map(|deposits| {
            let currency = quote.currency.as_deref().unwrap_or_default();
            format!("deposits for cylinders, given back: {currency} {}", deposits.likely)
        }));
        Self {
            format: "chargesplit-customer/1",
            jobs: quote.jobs.clone(),
            date: work.date().to_string(),
            work: systems.chain([cylinders]).chain(hours).collect(),
            price,
            not_included,
            assumptions: quote.assumptions.clone(),
        }
    }
}

impl CustomerReport {
    /// The name of the page.
    pub(in crate::report) fn title(&self) -> String {
        format!("Estimate: {}", self.jobs.join(" + "))
    }
}

impl Report for CustomerReport {
    fn blocks(&self) -> Vec<Block> {
        let mut blocks = vec![
            Block::Heading(self.title()),
            Block::Note(format!("Recovery of refrigerant, for {}.", self.date)),
            Block::Heading("The work".into()),
            Block::List(self.work.clone()),
            Block::Heading("The price".into()),
            Block::Note(self.price.clone()),
        ];
        if !self.not_included.is_empty() {
            blocks.push(Block::Heading("Not included".into()));
            blocks.push(Block::List(self.not_included.clone()));
        }
        blocks.push(Block::Heading("This estimate rests on".into()));
        blocks.push(Block::List(self.assumptions.clone()));
        blocks
    }
}
