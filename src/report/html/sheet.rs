//! The page for the clipboard: the plan with a card for each cylinder.

use maud::{Markup, html};

use super::card::{self, Card};
use super::{Inputs, blocks, cautions, made, plot, whole};
use crate::audit::Audited;
use crate::job::Work;
use crate::plan::Load;
use crate::report::{Block, PlanReport, Report, TradeoffReport};

/// A plan with all that the page shows of it.
pub struct Sheet<'a> {
    work: &'a Work,
    audited: &'a Audited,
    report: &'a PlanReport,
    tradeoff: Option<&'a TradeoffReport>,
    inputs: &'a Inputs,
}

impl<'a> Sheet<'a> {
    /// A sheet of this plan; `report` is its report, `tradeoff` what more cylinders would do.
    pub fn new(
        work: &'a Work,
        audited: &'a Audited,
        report: &'a PlanReport,
        tradeoff: Option<&'a TradeoffReport>,
        inputs: &'a Inputs,
    ) -> Self {
        Self { work, audited, report, tradeoff, inputs }
    }

    /// The page; `first` is what has to be said before everything else.
    pub fn page(&self, first: &[Block]) -> String {
        let title = self.audited.plan().jobs.join(" + ");
        let body = html! {
            (blocks::first(&[first, &self.report.answer_blocks()].concat()))
            (made(self.inputs))
            h2 { "Cylinders in order" }
            div.cards { @for load in &self.audited.plan().loads { (self.card(load)) } }
            (card::export(self.inputs))
            (blocks::further(&self.report.detail_blocks()))
            @if let Some(tradeoff) = self.tradeoff {
                section {
                    h2 { "More cylinders against lighter lifts" }
                    (plot::drawn(tradeoff))
                    (blocks::further(tradeoff.blocks().get(1..).unwrap_or_default()))
                }
            }
            (cautions(self.report.hazards()))
        };
        whole(&title, &body, Some(card::SCRIPT))
    }

    fn card(&self, load: &Load) -> Markup {
        let found = self.work.yard().iter().find(|cylinder| cylinder.id == load.cylinder);
        let lot = self.work.lots().iter().find(|lot| lot.name == load.lot);
        let (Some(cylinder), Some(lot)) = (found, lot) else { return html! {} };
        let (work, intake, whose) = (self.work, &lot.intake, self.work.whose(lot));
        Card {
            work,
            cylinder,
            intake,
            whose,
            load,
            others: &self.audited.plan().loads,
            order: load.order,
            begun: false,
        }
        .drawn()
    }
}
