//! The page for the clipboard: a card for each cylinder, with the stop weight to be read at arm's length.

use maud::{Markup, html};

use super::cylinder::{self, Levels};
use super::{blocks, plot, shown, whole};
use crate::audit::Audited;
use crate::cylinder::Cylinder;
use crate::job::{Lot, Work};
use crate::plan::Load;
use crate::quantity::{Division, Marks, Weight};
use crate::report::{Block, PlanReport, Report, TradeoffReport, full_cautions};

const SCRIPT: &str = include_str!("sheet.js");

/// When and from what a sheet was made, so that a stale one is seen.
#[derive(Debug, Clone)]
pub struct Inputs {
    /// The files.
    pub files: Vec<String>,
    /// A short hash of what stood in them.
    pub hash: String,
    /// When, in words.
    pub made: String,
}

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

    /// The page.
    pub fn page(&self) -> String {
        let title = self.audited.plan().jobs.join(" + ");
        let body = html! {
            (blocks::drawn(&self.report.answer_blocks()))
            (self.made())
            h2 { "Cylinders in order" }
            div.cards { @for load in &self.audited.plan().loads { (self.card(load)) } }
            (self.export())
            (blocks::drawn(&self.under_heading(self.report.detail_blocks())))
            @if let Some(tradeoff) = self.tradeoff {
                section {
                    h2 { "More cylinders against lighter lifts" }
                    (plot::drawn(tradeoff))
                    (blocks::drawn(&self.under_heading(tradeoff.blocks().into_iter().skip(1).collect())))
                }
            }
            h2 { "Cautions" }
            ul { @for caution in full_cautions() { li { (caution) } } }
        };
        whole(&title, &body, SCRIPT).into_string()
    }

    /// Blocks that don't begin the page: an empty note keeps their first heading from being the main one.
    fn under_heading(&self, blocks: Vec<Block>) -> Vec<Block> {
        std::iter::once(Block::List(Vec::new())).chain(blocks).collect()
    }

    fn made(&self) -> Markup {
        let Inputs { files, hash, made } = self.inputs;
        html! { p.made { "Made " (made) " from " (shown(&files.join(", "))) ", inputs " code { (hash) } "." } }
    }

    fn card(&self, load: &Load) -> Markup {
        let found = self.work.yard().iter().find(|cylinder| cylinder.id == load.cylinder);
        let lot = self.work.lots().iter().find(|lot| lot.name == load.lot);
        let (Some(cylinder), Some(lot)) = (found, lot) else { return html! {} };
        let division = self.work.division();
        let text = |marks: Marks| division.text(marks);
        let exact = |weight: Weight| division.unit().text(weight);
        let number = |marks: Marks| division.number(marks).to_string();
        let label = format!("card-{}", load.order);
        html! {
            article.card aria-labelledby=(label)
                data-cylinder=(load.cylinder) data-unit=(division.unit().number_name())
                data-step=(number(1)) data-now=(number(load.now)) data-stop=(number(load.stop))
                data-limit=(number(load.limit)) data-tare=(division.unit().number(cylinder.working_tare()).normalize()) {
                header {
                    h3 id=(label) { span.order { (load.order) } " " (shown(&load.cylinder)) }
                    p.refrigerant { (shown(&load.refrigerant)) }
                }
                p.stop { span.what { "Stop at" } " " strong { (text(load.stop)) } }
                div.inside {
                    (cylinder::drawn(&load.cylinder, levels(division, cylinder, lot, load)))
                    dl {
                        dt { "now" } dd { (text(load.now)) }
                        dt { "add" } dd { (text(load.add)) }
                        dt { "limit" } dd { (text(load.limit)) }
                        dt { "bound by" } dd { (load.ceiling) }
                        dt { "tare" } dd { (exact(cylinder.tare)) }
                        dt { "water capacity" } dd { (exact(cylinder.water_capacity)) }
                        dt { "liquid-full at" } dd { (load.liquid_full) }
                    }
                }
                p.facts { "Lift: " (self.lift(load)) ". " (shown(&from(division, load))) "." }
                (entry(load.order))
            }
        }
    }

    /// Who carries it.
    fn lift(&self, load: &Load) -> &'static str {
        let limit = self.work.jobs().iter().filter_map(|job| job.one_person).min();
        match limit {
            Some(limit) if self.work.division().weight(load.stop) > limit => "two people, or a hoist",
            Some(_) => "one person",
            None => "as the site allows",
        }
    }

    fn export(&self) -> Markup {
        html! {
            section.export hidden {
                h2 { "Readings on this device" }
                p { "They stay on this device. Saved as a file, these lines go into the job's log with " code { "weigh JOB --import FILE" } "." }
                button type="button" { "Show the lines" }
                label { "Lines" textarea readonly rows="6" {} }
            }
            noscript { p { "Without script the boxes are for a pencil; the plan is complete." } }
            div #key hidden data-key=(self.inputs.hash) {}
        }
    }
}

/// Boxes for what is really read, by pencil or by hand.
fn entry(order: usize) -> Markup {
    html! {
        div.entry {
            label for={ "reading-" (order) } { "reading" }
            input.reading id={ "reading-" (order) } inputmode="decimal" autocomplete="off";
            label for={ "time-" (order) } { "time" }
            input.time id={ "time-" (order) } autocomplete="off";
            label for={ "initials-" (order) } { "initials" }
            input.initials id={ "initials-" (order) } autocomplete="off";
            p.answer role="status" aria-live="assertive" {}
        }
    }
}

fn levels(division: Division, cylinder: &Cylinder, lot: &Lot, load: &Load) -> Levels {
    let terms = &lot.intake.terms;
    let density = lot.intake.with(cylinder).safe_density(terms.fill_temperature());
    let full = density.map_or(1.0, |density| density.relative_to_water());
    let share = |gross: Marks| {
        let net = division.weight(gross) - cylinder.working_tare();
        let share = net.ratio_to(cylinder.water_capacity).and_then(|share| f64::try_from(share).ok());
        share.map_or(0.0, |share| (share / full).max(0.0))
    };
    Levels { heel: share(load.now), stop: share(load.stop), limit: share(load.limit) }
}

fn from(division: Division, load: &Load) -> String {
    let share = |share: &crate::plan::Share| format!("{} from {}", division.text(share.add), share.system);
    load.from.iter().map(share).collect::<Vec<_>>().join(", ")
}
