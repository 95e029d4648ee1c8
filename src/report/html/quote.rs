//! A quote as a page: the house's own, the sum on its first sheet and every figure behind it; or the customer's, to be signed.

use maud::{Markup, html};

use super::{Inputs, blocks, made, shown, whole};
use crate::report::{BLANK, Block, CustomerReport, QuoteReport, SIGNED};

/// The page for the house; `first` is what has to be said before everything else.
pub fn quote_page(report: &QuoteReport, first: &[Block], inputs: &Inputs) -> String {
    let body = html! {
        p.inside-only { strong { "Internal" } ": the customer's page is made with " code { "--customer" } "." }
        (blocks::first(&[first, &report.summary_blocks()].concat()))
        (made(inputs))
        div.next-sheet { (blocks::further(&report.figure_blocks())) }
    };
    whole(&report.title(), &body, None)
}

/// The page for the customer.
pub fn customer_page(report: &CustomerReport) -> String {
    let party = |what: &str, lines: &[String]| -> Markup {
        html! {
            div { p.what { (what) } @for line in lines { p { (shown(line)) } } }
        }
    };
    let blocks = report.body();
    // What is done and the price, and behind them a part under each heading.
    let price = parts(&blocks).into_iter().take(2).map(<[Block]>::len).sum();
    let (price, rest) = blocks.split_at(price);
    let body = html! {
        @if report.draft { div.across aria-hidden="true" data-word="DRAFT" {} p.danger role="alert" { strong { "DRAFT" } ": not an offer, and not to be signed" } }
        div.offer {
            h1 { (shown(&report.title())) }
            div.parties {
                (party("From", &report.from))
                (party("To", &report.to))
                div {
                    p.what { "Date" } p { (report.date) }
                    p.what { "Valid to" } p { (report.valid_to) }
                }
            }
            (blocks::further(price))
            div.pairs {
                @for part in parts(rest) { section { (blocks::further(part)) } }
                section.signed {
                    h2 { "Accepted" }
                    dl { @for what in SIGNED { dt { (what) } dd { (BLANK) } } }
                }
            }
        }
    };
    whole(&report.title(), &body, None)
}

/// Blocks cut before each heading.
fn parts(blocks: &[Block]) -> Vec<&[Block]> {
    let begins = |block: &Block| matches!(block, Block::Heading(_));
    let mut cuts: Vec<usize> = (0..blocks.len()).filter(|at| *at == 0 || begins(&blocks[*at])).collect();
    cuts.push(blocks.len());
    cuts.windows(2).map(|pair| &blocks[pair[0]..pair[1]]).collect()
}
