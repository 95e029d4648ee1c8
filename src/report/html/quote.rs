//! A quote as a page: the house's own with every figure, or the customer's with what it rests on.

use maud::html;

use super::{Inputs, blocks, made, whole};
use crate::report::{Block, CustomerReport, QuoteReport, Report};

/// The page for the house; `first` is what has to be said before everything else.
pub fn quote_page(report: &QuoteReport, first: &[Block], inputs: &Inputs) -> String {
    let body = html! {
        p.inside-only { strong { "Internal" } ": the customer's page is made with " code { "--customer" } "." }
        (blocks::first(&[first, &report.answer_blocks()].concat()))
        (made(inputs))
        (blocks::further(&report.figure_blocks()))
    };
    whole(&report.title(), &body, None)
}

/// The page for the customer.
pub fn customer_page(report: &CustomerReport, inputs: &Inputs) -> String {
    let body = html! {
        (blocks::first(&report.blocks()))
        (made(inputs))
    };
    whole(&report.title(), &body, None)
}
