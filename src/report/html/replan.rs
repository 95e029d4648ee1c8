//! The page for what is left: danger first, then the cards of the plan that the log has in force now.

use maud::{Markup, html};

use super::card::{self, Card};
use super::{Inputs, blocks, cautions, made, whole};
use crate::audit::Audited;
use crate::plan::Load;
use crate::recovery::{Day, Replanned, Step};
use crate::report::{Block, ReplanReport};

/// A plan for what is left with all that the page shows of it.
pub struct ReplanSheet<'a> {
    day: &'a Day<'a>,
    replanned: &'a Replanned,
    report: &'a ReplanReport,
    inputs: &'a Inputs,
}

impl<'a> ReplanSheet<'a> {
    /// A sheet of this plan, made from `day`; `report` is its report.
    pub fn new(day: &'a Day<'a>, replanned: &'a Replanned, report: &'a ReplanReport, inputs: &'a Inputs) -> Self {
        Self { day, replanned, report, inputs }
    }

    /// The page; `first` is what has to be said before everything else.
    pub fn page(&self, first: &[Block]) -> String {
        let loads = self.replanned.parts.iter().map(Audited::plan).flat_map(|plan| &plan.loads);
        let loads: Vec<Load> = loads.cloned().collect();
        // A step of the log is a load of one of the parts, in the same order, with the name that the job has for its lot.
        let cards: Vec<Markup> = self
            .replanned
            .planned
            .steps
            .iter()
            .zip(&loads)
            .enumerate()
            .filter_map(|(index, (step, load))| self.card(index + 1, step, load, &loads))
            .collect();
        let body = html! {
            (blocks::first(&[first, &self.report.answer_blocks()].concat()))
            (made(self.inputs))
            @if !cards.is_empty() {
                h2 { "Cylinders in order" }
                div.cards { @for card in &cards { (card) } }
                (card::export(self.inputs))
            }
            (blocks::further(&self.report.detail_blocks()))
            (cautions(self.report.hazards()))
        };
        let script = (!cards.is_empty()).then_some(card::SCRIPT);
        whole(&self.report.title(), &body, script)
    }

    fn card(&self, order: usize, step: &Step, load: &Load, others: &[Load]) -> Option<Markup> {
        let filling = &self.day.fillings[self.day.position(&step.cylinder)?];
        let lot = self.day.work.lots().iter().find(|lot| lot.name == step.lot)?;
        let card = Card {
            work: self.day.work,
            cylinder: &filling.start,
            intake: &lot.intake,
            whose: self.day.work.whose(lot),
            load,
            others,
            order,
            begun: filling.begun(),
        };
        Some(card.drawn())
    }
}
