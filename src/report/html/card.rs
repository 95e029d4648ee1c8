//! A card for a cylinder: the stop weight to be read at arm's length, the drawing, and boxes for what is really read.

use maud::{Markup, html};

use super::cylinder::{self, Levels};
use super::{Inputs, key, shown};
use crate::cylinder::{Cylinder, Intake, Label, danger_over, full_and_cold};
use crate::job::{Carrying, Job, Work};
use crate::plan::Load;
use crate::quantity::{Marks, Weight};
use crate::report::{marks, pours};

/// What the boxes of the cards do beside taking a pencil.
pub(super) const SCRIPT: &str = include_str!("sheet.js");

/// What a card shows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Card<'a> {
    /// The job, for its scale and for who carries.
    pub work: &'a Work,
    /// The cylinder, as its stamp says.
    pub cylinder: &'a Cylinder,
    /// What goes in.
    pub intake: &'a Intake,
    /// Whose that is, or the job that it is kept for.
    pub whose: &'a str,
    /// How much, from where, and up to what.
    pub load: &'a Load,
    /// The loads of its plan.
    pub others: &'a [Load],
    /// Its place in the order of the page, from 1.
    pub order: usize,
    /// Something has gone into it already.
    pub begun: bool,
}

impl Card<'_> {
    /// The card.
    pub(super) fn drawn(&self) -> Markup {
        let Self { work, cylinder, load, order, .. } = *self;
        let division = work.division();
        let text = |marks: Marks| division.text(marks);
        let exact = |weight: Weight| division.unit().text(weight);
        let number = |marks: Marks| division.number(marks).to_string();
        let label = format!("card-{order}");
        html! {
            article.card aria-labelledby=(label)
                data-cylinder=(load.cylinder) data-unit=(division.unit().number_name())
                data-step=(number(1)) data-now=(number(load.now)) data-stop=(number(load.stop))
                data-limit=(number(load.limit)) data-danger=[self.danger().map(number)] data-most=(number(self.most()))
                data-tare=(division.unit().number(cylinder.working_tare()).normalize())
                data-tolerance=(division.unit().number(self.intake.terms.scale.tolerance()).normalize()) {
                header {
                    h3 id=(label) { span.order { (order) } " " (shown(load.cylinder.as_str())) }
                    p.refrigerant { (shown(&load.refrigerant)) @if !load.tags.is_empty() { " " strong.marks { (marks::words(&load.tags).join(" ")) } } }
                }
                p.stop { span.what { "Stop at" } " " strong { (text(load.stop)) } }
                div.inside {
                    (cylinder::drawn(load.cylinder.as_str(), self.levels()))
                    dl {
                        dt { "now" } dd { (text(load.now)) }
                        dt { "add" } dd { (text(load.add)) }
                        dt { "ease off at" } dd { (self.ease_off()) }
                        dt { "limit" } dd { (text(load.limit)) }
                        dt { "limited by" } dd { (load.ceiling) }
                        dt { "tare" } dd { (exact(cylinder.tare)) }
                        dt { "water capacity" } dd { (exact(cylinder.water_capacity)) }
                        dt { "full of liquid at" } dd { (load.liquid_full) }
                    }
                }
                @if !load.tags.is_empty() { p.label { "Label: " strong { (shown(&self.label())) } } }
                p.facts {
                    @if self.begun { "Begun already, goes on. " }
                    "Lift: " (shown(&self.lift())) "."
                    @if let [only] = self.load.pours.as_slice() {
                        " " (text(only.add)) " from " (shown(&only.system)) "."
                    }
                }
                @for hose in self.hoses() { p.hose { (shown(&hose)) "." } }
                (entry(order, load.cylinder.as_str()))
            }
        }
    }

    /// What is written on its label.
    fn label(&self) -> String {
        let fluid = self.intake.with(self.cylinder);
        let may_hold: Vec<String> = fluid.contents().iter().map(|part| part.name().to_owned()).collect();
        let (refrigerant, tags) = (self.load.refrigerant.as_str(), self.load.tags.as_slice());
        Label { refrigerant, tags, may_hold: &may_hold, whose: Some(self.whose) }.text()
    }

    /// The reading over which it is danger; `None` where nothing but our own limit applies.
    fn danger(&self) -> Option<Marks> {
        let fluid = self.intake.with(self.cylinder);
        let over = danger_over(self.cylinder, &fluid, &self.intake.terms).ok().flatten();
        over.map(|over| self.work.division().floor(over))
    }

    /// The most that a scale can show with it.
    fn most(&self) -> Marks {
        let fluid = self.intake.with(self.cylinder);
        let most = full_and_cold(self.cylinder, &fluid, &self.intake.terms);
        most.map_or(self.load.limit, |most| self.work.division().ceil(most))
    }

    /// How it is carried from each job that fills it.
    fn lift(&self) -> String {
        let lots = self.work.lots().iter().flat_map(|lot| &lot.parts);
        let here = |job: usize| {
            let mut parts = lots.clone().filter(|part| part.job == job);
            parts.any(|part| self.load.pours.iter().any(|share| share.system == part.system))
        };
        let jobs = self.work.jobs().iter().enumerate().filter(|(index, _)| here(*index));
        let lift = |job: &Job| {
            let carrying = Carrying::at(job);
            let [up, down] =
                [self.load.now, self.load.stop].map(|marks| carrying.lift(self.work.division().weight(marks)));
            let both = if up == down || self.begun {
                down.words.into()
            } else {
                format!("empty: {}; full: {}", up.words, down.words)
            };
            if self.work.jobs().len() > 1 { format!("{}: {both}", job.name) } else { both }
        };
        jobs.map(|(_, job)| lift(job)).collect::<Vec<String>>().join(". ")
    }

    fn levels(&self) -> Levels {
        let density = self.intake.with(self.cylinder).safe_density(self.intake.terms.fill_temperature());
        let full = density.map_or(1.0, |density| density.relative_to_water());
        let share = |gross: Marks| {
            let net = self.work.division().weight(gross) - self.cylinder.working_tare();
            let share = net.ratio_to(self.cylinder.water_capacity).and_then(|share| f64::try_from(share).ok());
            share.map_or(0.0, |share| (share / full).max(0.0))
        };
        Levels { heel: share(self.load.now), stop: share(self.load.stop), limit: share(self.load.limit) }
    }

    /// From which reading on to fill slowly.
    fn ease_off(&self) -> String {
        let load = self.load;
        if load.ease_off > load.now { self.work.division().text(load.ease_off) } else { "slowly from the start".into() }
    }

    /// Which hose is connected first and where it is changed, and whether vapour comes last.
    fn hoses(&self) -> Vec<String> {
        let text = |marks: Marks| self.work.division().text(marks);
        let pours = &self.load.pours;
        let of_lot: Vec<&Load> = self.others.iter().filter(|load| load.lot == self.load.lot).collect();
        let vapour = pours::vapour(self.load, &of_lot).map(|_| "Vapour last".to_owned());
        if pours.len() < 2 {
            return vapour.into_iter().collect();
        }
        let first = pours.first().map(|pour| format!("First {}", pour.system));
        let changes = pours::changes(pours, &text).into_iter().zip(pours);
        // Each is a sentence by itself here.
        let changes = changes.map(|(change, before)| (change.replacen("at ", "At ", 1), before));
        let changes = changes.map(|(change, before)| match before.vapour_last {
            true => format!("{change}; the system before it should be empty"),
            false => change,
        });
        first.into_iter().chain(changes).chain(vapour).collect()
    }
}

/// Boxes for what is really read, by pencil or by hand, and the readings that were kept: each stays where it is.
fn entry(order: usize, cylinder: &str) -> Markup {
    html! {
        div.entry {
            label for={ "reading-" (order) } { "reading" }
            input.reading id={ "reading-" (order) } inputmode="decimal" autocomplete="off";
            label for={ "time-" (order) } { "time" }
            input.time id={ "time-" (order) } placeholder="now, or HH:MM" autocomplete="off";
            label for={ "initials-" (order) } { "initials" }
            input.initials id={ "initials-" (order) } autocomplete="off";
            button type="button" hidden { "Keep the reading of " (shown(cylinder)) }
            p.answer role="status" aria-live="assertive" {}
            ol.kept hidden aria-label={ "readings kept of " (shown(cylinder)) } {}
        }
    }
}

/// What was typed on this device, as lines for the log; and under which name the device keeps it.
pub(super) fn export(inputs: &Inputs) -> Markup {
    html! {
        section.export hidden {
            h2 { "Readings on this device" }
            p { "They stay on this device, one line for each reading in order, and none is changed. Saved as a file, they go into the job's log with " code { "weigh JOB --import FILE" } "; lines that it has already change nothing." }
            button type="button" { "Show the lines" }
            label { "Lines" textarea readonly rows="6" {} }
        }
        noscript { p { "Without script the boxes are for a pencil; the plan is complete." } }
        (key(inputs))
    }
}
