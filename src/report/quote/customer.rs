//! The quote on one page for the customer, to be signed: who, what is done, up to how much, for what price, what it costs if
//! it happens, and the terms.
//!
//! Nothing of the house stands on it: no wages, no margin, no minutes, no guesses, no sources, no files.

use jiff::civil::Date;
use serde::Serialize;

use super::super::{Block, Report, Table, and, counted, name, number, words};
use super::money::grouped;
use crate::cylinder::{Condition, Fate};
use crate::estimate::{Offer, Price, PriceKind, SystemPrice, Way};
use crate::job::{Job, System, Work};
use crate::quantity::{Decimal, Money, Unit};

/// A line that somebody fills in by hand.
pub(in crate::report) const BLANK: &str = "______________________";

const INCLUDED: [&str; 4] = [
    "the way to the site and back, setting up and clearing up",
    "taking the refrigerant out, down to the level that the rules ask for, and a leak check of each system afterwards",
    "our recovery machine, our scale and the cylinders",
    "weighing, a label on each cylinder, and a record of what was recovered",
];
const EXCLUDED: [&str; 4] = [
    "repairs, new refrigerant and charging",
    "dismantling of equipment, and work on its electrical supply",
    "permits and fees of others",
    "whatever is found that isn't named above: we ask before we go on",
];
const FROM_YOU: [&str; 4] = [
    "power within reach of the units",
    "keys, and somebody who lets us in and out",
    "a place to park close to where the cylinders come out",
    "the units off before we come, and locked off while we work",
];
/// What is so of credits unless the terms say more.
const CREDIT: &str = "what the refrigerant is worth, if anything, is settled after weighing and analysis; it is no part of \
                      the price above";

/// The page for the customer.
#[derive(Debug, Serialize)]
pub struct CustomerReport {
    format: &'static str,
    pub(in crate::report) draft: bool,
    pub(in crate::report) from: Vec<String>,
    pub(in crate::report) to: Vec<String>,
    pub(in crate::report) number: String,
    pub(in crate::report) date: String,
    pub(in crate::report) valid_to: String,
    work: String,
    kind: &'static str,
    currency: String,
    sites: Vec<SiteLine>,
    subtotal: Amount,
    tax_rate: String,
    tax: Amount,
    total: Amount,
    settles: Option<String>,
    included: Vec<String>,
    extra: Vec<ExtraLine>,
    not_included: Vec<String>,
    from_you: Vec<String>,
    terms: Vec<String>,
}

/// One figure, or two of a range.
#[derive(Debug, Serialize)]
struct Amount {
    from: String,
    to: String,
}

#[derive(Debug, Serialize)]
struct SiteLine {
    job: String,
    address: Option<String>,
    price: Amount,
    systems: Vec<SystemLine>,
}

#[derive(Debug, Serialize)]
struct SystemLine {
    system: String,
    refrigerant: String,
    up_to: String,
    price: Amount,
}

#[derive(Debug, Serialize)]
struct ExtraLine {
    what: &'static str,
    price: Option<String>,
    per: &'static str,
}

fn amount((from, to): (Money, Money)) -> Amount {
    Amount { from: from.to_string(), to: to.to_string() }
}

impl CustomerReport {
    /// The page of this way at this price; `places` are the sites' addresses, by job. A draft may lack what the file
    /// doesn't say, and shows a blank there.
    pub fn new(
        work: &Work,
        way: &Way,
        price: Option<&Price>,
        offer: &Offer,
        places: &[Option<String>],
        today: Date,
        draft: bool,
    ) -> Self {
        let blank = |text: &Option<String>| text.clone().unwrap_or_else(|| BLANK.to_owned());
        let date = offer.date.unwrap_or(today);
        let none = (Money::ZERO, Money::ZERO);
        let sites = price.map_or_else(Vec::new, |price| {
            price
                .sites
                .iter()
                .filter_map(|site| Some(site_line(work, work.jobs().get(site.job)?, site, places)))
                .collect()
        });
        let jobs: Vec<String> = work.jobs().iter().map(|job| job.name.clone()).collect();
        let site =
            offer.to.site.clone().or_else(|| places.iter().flatten().next().cloned().filter(|_| jobs.len() == 1));
        Self {
            format: "chargesplit-customer/1",
            draft,
            from: [Some(blank(&offer.from.name)), offer.from.licence.clone(), offer.from.address.clone()]
                .into_iter()
                .flatten()
                .collect(),
            to: std::iter::once(blank(&offer.to.name)).chain(site).collect(),
            number: blank(&offer.number),
            date: date.to_string(),
            valid_to: offer.valid.map_or_else(|| BLANK.to_owned(), |valid| valid.last(date).to_string()),
            work: sentence(work, &jobs),
            kind: offer.kind().name(),
            currency: way.cost.as_ref().map_or_else(String::new, |cost| cost.currency.clone()),
            subtotal: amount(price.map_or(none, |price| price.subtotal)),
            tax_rate: offer.tax.map_or_else(|| BLANK.to_owned(), |tax| tax.to_string()),
            tax: amount(price.map_or(none, |price| price.tax)),
            total: amount(price.map_or(none, |price| price.total)),
            settles: settles(price, way, offer),
            sites,
            included: included(work, way),
            extra: extra(offer),
            not_included: EXCLUDED.map(str::to_owned).to_vec(),
            from_you: FROM_YOU.map(str::to_owned).to_vec(),
            terms: terms(work, offer),
        }
    }

    /// The name of the page.
    pub(in crate::report) fn title(&self) -> String {
        let what = if self.kind == PriceKind::Range.name() { "Estimate" } else { "Offer" };
        format!("{what} {}", self.number)
    }

    /// What stands between who it is for and where it is signed.
    pub(in crate::report) fn body(&self) -> Vec<Block> {
        let list = |heading: &str, lines: &[String]| [Block::Heading(heading.into()), Block::List(lines.to_vec())];
        let mut blocks = vec![Block::Note(self.work.clone()), Block::Heading(self.price_heading()), self.price_table()];
        blocks.extend(self.settles.clone().map(Block::Note));
        blocks.extend(list("Included", &self.included));
        blocks.push(Block::Heading(format!("Extra, only if it happens, in {}", self.currency)));
        let row = |line: &ExtraLine| {
            let price = line.price.as_ref().map_or_else(|| BLANK.to_owned(), |price| grouped(price, &self.currency));
            vec![line.what.to_owned(), price, line.per.to_owned()]
        };
        let columns = vec![words("what"), number("price"), name("for")];
        blocks.push(Block::Table(Table { columns, rows: self.extra.iter().map(row).collect() }));
        blocks.extend(list("Not included", &self.not_included));
        blocks.extend(list("From you", &self.from_you));
        blocks.extend(list("Terms", &self.terms));
        blocks
    }

    fn price_heading(&self) -> String {
        let what = if self.kind == PriceKind::Time.name() {
            "What is done, and the price beside the hours"
        } else {
            "What is done, and the price"
        };
        format!("{what}, in {}", self.currency)
    }

    fn price_table(&self) -> Block {
        let several = self.sites.len() > 1;
        let is_range = self.kind == PriceKind::Range.name();
        let mut columns: Vec<_> = several.then(|| words("site")).into_iter().collect();
        columns.extend([words("system"), name("refrigerant"), number("included up to")]);
        columns.extend(if is_range { vec![number("from"), number("to")] } else { vec![number("price")] });
        let prices = |amount: &Amount| -> Vec<String> {
            let both = [&amount.from, &amount.to].map(|price| grouped(price, &self.currency));
            both.into_iter().take(if is_range { 2 } else { 1 }).collect()
        };
        let mut rows: Vec<Vec<String>> = Vec::new();
        for site in &self.sites {
            for (index, system) in site.systems.iter().enumerate() {
                let place = if index == 0 { site.place() } else { String::new() };
                let mut row: Vec<String> = several.then_some(place).into_iter().collect();
                row.extend([system.system.clone(), system.refrigerant.clone(), system.up_to.clone()]);
                row.extend(prices(&system.price));
                rows.push(row);
            }
        }
        let mut sum = |what: String, amount: &Amount| {
            let mut row = vec![what];
            row.resize(columns.len() - prices(amount).len(), String::new());
            row.extend(prices(amount));
            rows.push(row);
        };
        if several {
            for site in &self.sites {
                sum(format!("{}, all of it", site.job), &site.price);
            }
        }
        sum("Subtotal".into(), &self.subtotal);
        sum(format!("Tax, {}", self.tax_rate), &self.tax);
        sum("TOTAL".into(), &self.total);
        Block::Table(Table { columns, rows })
    }
}

impl SiteLine {
    fn place(&self) -> String {
        self.address.as_ref().map_or_else(|| self.job.clone(), |address| format!("{}, {address}", self.job))
    }
}

impl Report for CustomerReport {
    fn blocks(&self) -> Vec<Block> {
        let draft = || self.draft.then(|| Block::Note("DRAFT: not an offer, and not to be signed.".into()));
        let mut blocks: Vec<Block> = draft().into_iter().collect();
        blocks.push(Block::Heading(self.title()));
        blocks.push(Block::List(vec![
            format!("From: {}", self.from.join(", ")),
            format!("To: {}", self.to.join(", ")),
            format!("Date: {}, valid to {}", self.date, self.valid_to),
        ]));
        blocks.extend(self.body());
        blocks.push(Block::Heading("Accepted".into()));
        blocks.push(Block::List(SIGNED.map(|what| format!("{what}: {BLANK}")).to_vec()));
        blocks.extend(draft());
        blocks
    }
}

/// What the customer fills in.
pub(in crate::report) const SIGNED: [&str; 4] = ["Name", "Order number", "Date", "Signature"];

fn site_line(work: &Work, job: &Job, site: &crate::estimate::SitePrice, places: &[Option<String>]) -> SiteLine {
    let line = |(system, price): (&System, &SystemPrice)| {
        let state = match system.condition {
            Condition::Clean | Condition::Mixed => String::new(),
            condition @ (Condition::Wet | Condition::Burnout) => format!(" {}", condition.name()),
        };
        SystemLine {
            system: price.name.clone(),
            refrigerant: format!("{}{state}", system.fluid.name()),
            up_to: work.division().text(work.division().floor(price.up_to)),
            price: amount(price.price),
        }
    };
    SiteLine {
        job: job.name.clone(),
        address: places.get(site.job).cloned().flatten(),
        price: amount(site.price),
        systems: job.systems.iter().zip(&site.systems).map(line).collect(),
    }
}

/// Whether some refrigerant ends so: nobody reclaims what is mixed or burnt.
fn has(work: &Work, end: Fate) -> bool {
    let lost = |system: &System| matches!(system.condition, Condition::Mixed | Condition::Burnout);
    let ends = |system: &System| if lost(system) { Fate::Destroy } else { system.fate };
    work.jobs().iter().flat_map(|job| &job.systems).any(|system| ends(system) == end)
}

/// What is done, in one sentence.
fn sentence(work: &Work, jobs: &[String]) -> String {
    let systems: usize = work.jobs().iter().map(|job| job.systems.len()).sum();
    let of = counted(systems, "system");
    let away = match (has(work, Fate::Reclaim), has(work, Fate::Destroy)) {
        (true, false) => "take it away to be reclaimed",
        (false, true) => "take it away to be disposed of",
        (true, true) => "take it away to be reclaimed or, where nobody reclaims it, disposed of",
        (false, false) => "keep it apart for reuse in your own systems",
    };
    let kept = if has(work, Fate::Reuse) && !away.starts_with("keep") {
        "; what is for reuse stays apart for your own systems"
    } else {
        ""
    };
    format!("We take the refrigerant out of {of} at {}, weigh it, and {away}{kept}.", and(jobs))
}

/// What settles a price that isn't one figure.
fn settles(price: Option<&Price>, way: &Way, offer: &Offer) -> Option<String> {
    let price = price?;
    match price.kind {
        PriceKind::Firm => {
            let unit = offer.extra.over.map_or("lb", |(_, unit)| unit.name());
            Some(format!("A firm price, up to the weights above, by our scale; each further {unit} is an extra, below."))
        }
        PriceKind::Range => Some(
            "The price lies between the two figures. What settles it: the weight that comes out, by our scale, and how \
             long it takes."
                .into(),
        ),
        PriceKind::Time => {
            let currency = way.cost.as_ref().map_or("", |cost| &cost.currency);
            let rates: Vec<(Money, u32)> = price.sites.iter().filter_map(|site| site.rate).collect();
            let all_alike = rates.windows(2).all(|pair| pair[0] == pair[1]);
            let of = |(rate, people): (Money, u32)| {
                let rate = grouped(&rate.to_string(), currency);
                let people = if people == 1 { "1 person".to_owned() } else { format!("{people} people") };
                format!("{currency} {rate} for a person and hour, {people}")
            };
            let said: Vec<String> = if all_alike {
                rates.first().map(|rate| of(*rate)).into_iter().collect()
            } else {
                let sites = way.hours.iter().zip(&rates);
                sites.map(|(hours, rate)| format!("{}: {}", hours.name, of(*rate))).collect()
            };
            Some(format!(
                "By time: beside the prices above {}, from leaving our yard to coming back, as the hours are signed each \
                 day; tax is added.",
                said.join("; ")
            ))
        }
    }
}

fn included(work: &Work, way: &Way) -> Vec<String> {
    let line = |what: &str| way.cost.iter().flat_map(|cost| &cost.lines).any(|line| line.what == what);
    let mut all = INCLUDED.map(str::to_owned).to_vec();
    for (is, what) in [
        (has(work, Fate::Reclaim), "taking the refrigerant to the reclaimer, and its reclaim"),
        (has(work, Fate::Destroy), "taking what nobody reclaims to where it is disposed of, and its disposal"),
        (line("oil disposal"), "disposal of the oil that comes with it"),
        (line("hoist"), "the hoist that the cylinders go by"),
    ] {
        all.extend(is.then(|| what.to_owned()));
    }
    all
}

fn extra(offer: &Offer) -> Vec<ExtraLine> {
    let extra = &offer.extra;
    let money = |amount: Decimal| Money::rounded(amount).to_string();
    let by_weight = |what, price: Option<(Decimal, Unit)>| ExtraLine {
        what,
        price: price.map(|(amount, _)| money(amount)),
        per: price.map_or("", |(_, unit)| unit.name()),
    };
    let once = |what, price: Option<Decimal>, per| ExtraLine { what, price: price.map(money), per };
    vec![
        by_weight("refrigerant over what is included", extra.over),
        by_weight("refrigerant that turns out mixed or burnt", extra.mixed),
        once("waiting that isn't ours", extra.waiting, "hour"),
        once("a stuck valve", extra.valve, "valve"),
        once("a further visit", extra.visit, "visit"),
    ]
}

fn terms(work: &Work, offer: &Offer) -> Vec<String> {
    let terms = &offer.terms;
    let stated = |text: &Option<String>| text.clone().unwrap_or_else(|| BLANK.to_owned());
    let mut all =
        vec![format!("Payment: {}", stated(&terms.payment)), format!("Refrigerant: {}", stated(&terms.refrigerant))];
    if has(work, Fate::Reclaim) {
        all.push(format!("Credit: {}", terms.credit.as_deref().unwrap_or(CREDIT)));
    }
    all.extend(terms.other.iter().cloned());
    all
}
