//! The trade-off as a plot: cylinders to the right, heaviest lift upward. The table beside it says the same.

use maud::{Markup, html};

use crate::report::TradeoffReport;

const WIDTH: f64 = 320.0;
const HEIGHT: f64 = 160.0;
const MARGIN: f64 = 34.0;

/// The plot, where there is more than one point.
pub(super) fn drawn(tradeoff: &TradeoffReport) -> Markup {
    let points = tradeoff.heaviest_by_cylinders();
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return html! {} };
    if points.len() < 2 {
        return html! {};
    }
    let span = (last.0.max(first.0 + 1) - first.0) as f64;
    let (most, least) = (first.1.marks() as f64, last.1.marks() as f64);
    let x = |cylinders: usize| MARGIN + (WIDTH - 2.0 * MARGIN) * (cylinders - first.0) as f64 / span;
    let y = |marks: i64| MARGIN + (HEIGHT - 2.0 * MARGIN) * (most - marks as f64) / (most - least).max(1.0);
    let path: Vec<String> =
        points.iter().map(|(count, lift)| format!("{:.1},{:.1}", x(*count), y(lift.marks()))).collect();
    let words =
        format!("Heaviest lift against cylinders: from {} with {} to {} with {}.", first.1, first.0, last.1, last.0);
    html! {
        svg.plot viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } role="img" aria-label=(words) {
            polyline points=(path.join(" ")) {}
            @for (count, lift) in &points {
                circle cx=(x(*count)) cy=(y(lift.marks())) r="4" {}
                text x=(x(*count)) y=(y(lift.marks()) - 9.0) { (lift.bare()) }
                text x=(x(*count)) y=(HEIGHT - 8.0) { (count) }
            }
        }
    }
}
