//! Labels to print and to stick on: one for each cylinder that something went into.

use maud::{Markup, html};

use super::{Inputs, made, shown, whole};
use crate::report::closeout::Label;

/// The page of labels of a job.
pub(crate) fn labels_page(job: &str, labels: &[&Label], inputs: &Inputs) -> String {
    let body = html! {
        h1 { (shown(job)) ": labels" }
        (made(inputs))
        div.labels { @for label in labels { (drawn(label)) } }
        p { "A label stays on the cylinder until it is empty and evacuated. What the carrier asks for besides stands in 49 CFR 172." }
    };
    whole(&format!("{job}: labels"), &body, None)
}

fn drawn(label: &Label) -> Markup {
    html! {
        article.label aria-label=(label.cylinder) {
            p.name { strong { (shown(&label.label)) } }
            p { "RECOVERED" @if label.condition != "clean" { ", " (label.condition.to_uppercase()) } }
            dl {
                dt { "cylinder" } dd { (shown(&label.cylinder)) }
                dt { "gross" } dd { (label.gross) }
                dt { "tare" } dd { (label.tare) }
                dt { "net" } dd { (label.net) }
                dt { "date" } dd { (label.date) }
                @if let Some(entry) = &label.un_entry { dt { "UN" } dd { (entry) } }
                @if let Some(job) = &label.kept_for { dt { "only for" } dd { (shown(job)) } }
            }
        }
    }
}
