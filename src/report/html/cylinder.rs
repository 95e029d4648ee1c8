//! A cylinder to scale: what is in it, what is added, the 80 % mark, the limit. By the share of its volume that liquid
//! takes at the temperature of the limit.

use maud::{Markup, html};

/// Shares of the volume, from 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Levels {
    /// What is in it now.
    pub heel: f64,
    /// What is in it at the stop weight.
    pub stop: f64,
    /// What is in it at its limit.
    pub limit: f64,
}

const TOP: f64 = 16.0;
const HEIGHT: f64 = 120.0;
const LEFT: f64 = 6.0;
const WIDTH: f64 = 52.0;

/// The drawing, with the same said in words for whoever can't see it.
pub(super) fn drawn(id: &str, levels: Levels) -> Markup {
    let level = |share: f64| TOP + HEIGHT * (1.0 - share.clamp(0.0, 1.0));
    let percent = |share: f64| format!("{:.0} %", (share * 100.0).clamp(0.0, 999.0));
    let words = format!(
        "Cylinder {id}: liquid now {}, at the stop weight {}, at the limit {} of the volume.",
        percent(levels.heel),
        percent(levels.stop),
        percent(levels.limit)
    );
    let line = |share: f64, class: &str, label: &str, below: f64| {
        html! {
            line class=(class) x1=(LEFT) x2=(LEFT + WIDTH + 6.0) y1=(level(share)) y2=(level(share)) {}
            text x=(LEFT + WIDTH + 8.0) y=(level(share) + below) { (label) }
        }
    };
    // Where the limit stands at the 80 % mark the labels stand above and below it.
    let apart = if (levels.limit - 0.8).abs() < 0.08 { 7.0 } else { 0.0 };
    let (mark, limit) = if levels.limit > 0.8 { (3.0 + apart, 3.0 - apart) } else { (3.0 - apart, 3.0 + apart) };
    html! {
        svg.cylinder viewBox="0 0 100 144" width="100" height="144" role="img" aria-label=(words) {
            rect.valve x=(LEFT + WIDTH / 2.0 - 5.0) y="4" width="10" height="12" {}
            rect.shell x=(LEFT) y=(TOP) width=(WIDTH) height=(HEIGHT) rx="10" {}
            rect.added x=(LEFT + 2.0) y=(level(levels.stop)) width=(WIDTH - 4.0)
                height=(level(levels.heel) - level(levels.stop)) {}
            rect.heel x=(LEFT + 2.0) y=(level(levels.heel)) width=(WIDTH - 4.0)
                height=(TOP + HEIGHT - level(levels.heel)) rx="2" {}
            (line(0.8, "mark", "80 %", mark))
            (line(levels.limit, "limit", "limit", limit))
        }
    }
}
