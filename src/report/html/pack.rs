//! The foreman's page: what goes onto the truck and what comes off it with boxes to tick, and each stop between.

use maud::html;

use super::{Inputs, blocks, cautions, key, made, whole};
use crate::report::{Block, PackReport};

/// Keeps ticks on the device, where a phone that went to sleep would lose them.
const SCRIPT: &str = include_str!("ticks.js");

/// The page of a truck's day; `first` is what has to be said before everything else.
pub fn pack_page(report: &PackReport, first: &[Block], inputs: &Inputs) -> String {
    let body = html! {
        (blocks::first(&[first, &report.answer_blocks()].concat()))
        (made(inputs))
        (blocks::ticked(&report.loading_blocks()))
        (blocks::further(&report.stop_blocks()))
        (blocks::ticked(&report.back_blocks()))
        (blocks::further(&report.further_blocks()))
        (cautions(report.hazards()))
        (key(inputs))
    };
    whole(&report.title(), &body, Some(SCRIPT))
}
