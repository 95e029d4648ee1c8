//! The price of a quote as the house sees it, and what the customer's page still lacks.

use serde::Serialize;

use super::super::{Block, Table, name, number, words};
use super::money::grouped;
use crate::estimate::{Offer, Price, PriceKind, Way};
use crate::job::Work;
use crate::quantity::Money;

/// The price by the offer.
#[derive(Debug, Serialize)]
pub(super) struct PriceShown {
    kind: &'static str,
    at: &'static str,
    margin: String,
    sites: Vec<SiteShown>,
    subtotal: Between,
    tax: Between,
    total: Between,
}

#[derive(Debug, Serialize)]
struct SiteShown {
    job: String,
    price: Between,
    /// A person and hour, where the price goes by time.
    rate: Option<String>,
    systems: Vec<SystemShown>,
}

#[derive(Debug, Serialize)]
struct SystemShown {
    system: String,
    up_to: String,
    price: Between,
}

/// One figure twice, or the two of a range.
#[derive(Debug, Serialize)]
struct Between {
    low: String,
    high: String,
}

fn between((low, high): (Money, Money)) -> Between {
    Between { low: low.to_string(), high: high.to_string() }
}

impl Between {
    fn drawn(&self, currency: &str) -> String {
        let [low, high] = [&self.low, &self.high].map(|amount| grouped(amount, currency));
        if low == high { low } else { format!("{low} to {high}") }
    }
}

impl PriceShown {
    pub(super) fn new(work: &Work, offer: &Offer, price: &Price) -> Self {
        let unit = work.division().unit();
        let systems = |site: &crate::estimate::SitePrice| -> Vec<SystemShown> {
            let one = |system: &crate::estimate::SystemPrice| SystemShown {
                system: system.name.clone(),
                up_to: unit.text(system.up_to),
                price: between(system.price),
            };
            site.systems.iter().map(one).collect()
        };
        let site = |site: &crate::estimate::SitePrice| SiteShown {
            job: work.jobs().get(site.job).map_or_else(String::new, |job| job.name.clone()),
            price: between(site.price),
            rate: site.rate.map(|(rate, _)| rate.to_string()),
            systems: systems(site),
        };
        Self {
            kind: price.kind.name(),
            at: if price.kind == PriceKind::Range { "low to high" } else { offer.at.unwrap_or_default().name() },
            margin: offer.margin.map_or_else(|| "0 %".into(), |margin| margin.to_string()),
            sites: price.sites.iter().map(site).collect(),
            subtotal: between(price.subtotal),
            tax: between(price.tax),
            total: between(price.total),
        }
    }

    pub(super) fn blocks(&self, currency: &str) -> Vec<Block> {
        let columns = vec![name("site"), words("system"), number("up to"), number("price")];
        let mut rows: Vec<Vec<String>> = Vec::new();
        for site in &self.sites {
            rows.push(vec![site.job.clone(), String::new(), String::new(), site.price.drawn(currency)]);
            if let Some(rate) = &site.rate {
                let rate = grouped(rate, currency);
                rows.push(vec![String::new(), "a person and hour".into(), String::new(), rate]);
            }
            rows.extend(site.systems.iter().map(|system| {
                vec![String::new(), system.system.clone(), system.up_to.clone(), system.price.drawn(currency)]
            }));
        }
        for (what, amount) in [("Subtotal", &self.subtotal), ("Tax", &self.tax), ("TOTAL", &self.total)] {
            rows.push(vec![what.into(), String::new(), String::new(), amount.drawn(currency)]);
        }
        let what = match self.kind {
            "range" => "A price between two figures",
            "time" => "A price beside the hours",
            _ => "A firm price",
        };
        let note = format!(
            "{what}, made from the {} figures without credits; the margin is {} of the price. A site's price is split \
             over its systems by their likely hours.",
            self.at, self.margin
        );
        vec![Block::Heading(format!("Price, in {currency}")), Block::Table(Table { columns, rows }), Block::Note(note)]
    }
}

/// What the customer's page lacks.
pub(super) fn open(way: &Way, offer: &Offer) -> Vec<String> {
    let mut all = Vec::new();
    if !way.is_whole() {
        all.push("cylinders for all of the charge".to_owned());
    }
    match &way.cost {
        None => all.push("prices: no file states `prices` with a currency".into()),
        Some(cost) => all.extend(cost.unpriced_in_words().into_iter().map(|what| format!("a price for {what}"))),
    }
    all.extend(offer.missing().into_iter().map(|key| format!("`{key}` under `offer`")));
    all
}
