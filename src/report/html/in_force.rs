//! The page of a plan that is begun: how far it is, then the cards of what is still to be filled.

use maud::html;

use super::card::{self, Card};
use super::{Inputs, blocks, cautions, made, whole};
use crate::recovery::Day;
use crate::report::{Block, Hazards, Report, StatusReport};

/// A plan in force with all that the page shows of it.
pub struct InForceSheet<'a> {
    day: &'a Day<'a>,
    report: &'a StatusReport,
    inputs: &'a Inputs,
}

impl<'a> InForceSheet<'a> {
    /// A sheet of the plan that is in force on this day; `report` says how far it is.
    pub const fn new(day: &'a Day<'a>, report: &'a StatusReport, inputs: &'a Inputs) -> Self {
        Self { day, report, inputs }
    }

    /// The page; `first` is what has to be said before everything else.
    pub fn page(&self, first: &[Block]) -> String {
        let work = self.day.work;
        let names: Vec<&str> = work.jobs().iter().map(|job| job.name.as_str()).collect();
        let loads = self.day.loads();
        let drawn = loads.iter().filter_map(|load| {
            let filling = &self.day.fillings[self.day.position(&load.cylinder)?];
            let lot = work.lots().iter().find(|lot| lot.name == load.lot)?;
            let (cylinder, intake, whose) = (&filling.start, &lot.intake, work.whose(lot));
            let (others, order, begun) = (&loads, load.order, filling.begun());
            let card = Card { work, cylinder, intake, whose, load, others, order, begun };
            Some(card.drawn())
        });
        let cards: Vec<maud::Markup> = drawn.collect();
        let body = html! {
            (blocks::first(&[first, &self.report.blocks()].concat()))
            (made(self.inputs))
            @if !cards.is_empty() {
                h2 { "Cylinders in order" }
                div.cards { @for card in &cards { (card) } }
                (card::export(self.inputs))
            }
            (cautions(&Hazards::of(work)))
        };
        whole(&names.join(" + "), &body, (!cards.is_empty()).then_some(card::SCRIPT))
    }
}
