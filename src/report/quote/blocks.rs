//! A quote as text: the answer, cylinders, hours, cost, the ways that were looked at, and what it rests on.

use super::super::{Block, Report, Table, counted, name, number, skipped_blocks, words};
use super::money::grouped;
use super::{CostLine, Cylinder, Hours, LookedAt, PieceLine, QuoteReport, Site, Three};
use crate::plan::Status;
use crate::report::as_drawn;

/// What a crew too small is said with.
const CREW: &str = "crew";

impl Report for QuoteReport {
    fn blocks(&self) -> Vec<Block> {
        self.summary_blocks().into_iter().chain(self.figure_blocks()).collect()
    }
}

fn three(figures: &Three) -> [String; 3] {
    [figures.low.clone(), figures.likely.clone(), figures.high.clone()]
}

fn total_row(what: &str, figures: &Three, rest: usize) -> Vec<String> {
    std::iter::once(what.to_owned()).chain(three(figures)).chain(std::iter::repeat_n(String::new(), rest)).collect()
}

impl QuoteReport {
    /// The name of the report.
    pub(in crate::report) fn title(&self) -> String {
        format!("Quote: {}", self.jobs.join(" + "))
    }

    /// The sum on one sheet: whether it is enough, cost and price, what has none, each site, the road.
    pub(in crate::report) fn summary_blocks(&self) -> Vec<Block> {
        let mut blocks: Vec<Block> = skipped_blocks(&self.skipped).collect();
        blocks.push(Block::Heading(self.title()));
        blocks.push(Block::Note(self.answer()));
        blocks.extend(self.warnings.iter().filter(|one| one.code == CREW).map(|one| Block::Note(one.text.clone())));
        if !self.missing.is_empty() {
            blocks.push(Block::List(self.missing.clone()));
        }
        if let Some(cost) = self.cost.as_ref().filter(|cost| !cost.unpriced.is_empty()) {
            blocks.push(Block::Danger(format!("NOT PRICED, and so not in the total: {}.", cost.unpriced.join("; "))));
        }
        if let (Some(price), Some(currency)) = (&self.price, &self.currency) {
            blocks.extend(price.blocks(currency));
            if !self.open.is_empty() {
                blocks.push(Block::Note(format!("The customer's page still lacks {}.", self.open.join("; "))));
            }
        }
        blocks.extend(self.site_blocks());
        blocks
    }

    /// What follows: cylinders, hours, cost, the ways that were looked at, every assumption.
    pub(in crate::report) fn figure_blocks(&self) -> Vec<Block> {
        let mut blocks = self.cylinder_blocks();
        let carrying = self.warnings.iter().filter(|one| one.code != CREW).map(|one| one.text.clone());
        let carrying: Vec<String> = carrying.collect();
        if !carrying.is_empty() {
            blocks.push(Block::Heading("Carrying".into()));
            blocks.push(Block::List(carrying));
        }
        blocks.extend(self.hours.iter().flat_map(hour_blocks));
        blocks.extend(self.cost_blocks());
        blocks.extend(self.way_blocks());
        blocks.push(Block::Heading("Assumptions: the figures hold with these alone".into()));
        blocks.push(Block::List(self.assumptions.clone()));
        blocks
    }

    /// An amount as it is read in the currency.
    fn read(&self, amount: &str) -> String {
        grouped(amount, self.currency.as_deref().unwrap_or_default())
    }

    fn answer(&self) -> String {
        let enough = match self.status_drawn {
            Status::Proved | Status::Bounded => format!("{} do it.", counted(self.cylinders.len(), "cylinder")),
            Status::Short => "NOT ENOUGH cylinders. Recovery and refrigerant are figured for all of the charge, \
                              cylinders and carrying for what they hold."
                .into(),
            Status::Undecided => "UNDECIDED: no plan in the time; give it more with --time-limit.".into(),
        };
        let price = match (&self.cost, &self.currency) {
            (Some(cost), Some(currency)) => {
                let [low, likely, high] = three(&cost.total).map(|amount| self.read(&amount));
                format!("Likely cost {currency} {likely}; all lows {low}, all highs {high}.")
            }
            _ => "No cost: no file states `prices` with a currency.".into(),
        };
        format!("{enough} {price}")
    }

    /// Each site with what it comes to, and what is too much for one trip.
    fn site_blocks(&self) -> Vec<Block> {
        let mut blocks = Vec::new();
        if self.sites.len() > 1 {
            let mut columns = vec![name("site"), number("cylinders"), number("days"), number("hours, all people")];
            columns.extend(self.cost.iter().flat_map(|_| [number("likely cost"), number("credits")]));
            let bare =
                |amount: &Option<Three>| amount.as_ref().map_or_else(|| "-".into(), |three| self.read(&three.likely));
            let row = |site: &Site| {
                let mut row = vec![site.job.clone(), site.cylinders.to_string(), site.days.likely.clone()];
                row.push(site.crew.likely.clone());
                row.extend(self.cost.iter().flat_map(|_| [bare(&site.cost), bare(&site.credits)]));
                row
            };
            blocks.push(Block::Heading("Sites".into()));
            blocks.push(Block::Table(Table { columns, rows: self.sites.iter().map(row).collect() }));
            blocks.extend(self.compared.clone().map(Block::Note));
        }
        let over = self.sites.iter().filter(|site| !site.road.is_empty()).map(|site| {
            let limits: Vec<String> = site.road.iter().map(|road| format!("{} ({})", road.text, road.source)).collect();
            let trips = match site.days.likely.as_str() {
                "1" => "in one trip".to_owned(),
                trips => format!("in the fullest of {trips} trips"),
            };
            format!("{}: {} of filled cylinders leave {trips}, {}", site.job, site.trip, limits.join("; "))
        });
        let over: Vec<String> = over.collect();
        if !over.is_empty() {
            blocks.push(Block::Heading("On the road".into()));
            blocks.push(Block::List(over));
        }
        blocks
    }

    fn cylinder_blocks(&self) -> Vec<Block> {
        let several = self.sites.len() > 1;
        let mut columns = vec![name("cylinder"), name("from"), words("refrigerant")];
        columns.extend(several.then(|| words("filled at")));
        columns.extend(["now", "add", "stop"].map(number));
        let row = |one: &Cylinder| {
            let weights = [one.now, one.add, one.stop].map(super::Reading::bare);
            let place = several.then(|| one.jobs.join(", "));
            [one.cylinder.clone(), one.from.into(), one.lot.clone()].into_iter().chain(place).chain(weights).collect()
        };
        let rows = self.cylinders.iter().map(row).collect();
        vec![Block::Heading(format!("Cylinders, in {}", as_drawn(self.unit))), Block::Table(Table { columns, rows })]
    }

    fn cost_blocks(&self) -> Vec<Block> {
        let (Some(cost), Some(currency)) = (&self.cost, &self.currency) else { return Vec::new() };
        let columns = vec![words("for"), number("low"), number("likely"), number("high"), words("likely figure from")];
        let several = self.hours.len() > 1;
        let row = |line: &CostLine| {
            let what = if several { format!("{}, {}", line.what, line.job) } else { line.what.clone() };
            let amounts = three(&line.amount).map(|amount| self.read(&amount));
            std::iter::once(what).chain(amounts).chain([line.basis.clone()]).collect()
        };
        let mut rows: Vec<Vec<String>> = cost.lines.iter().map(row).collect();
        let [low, likely, high] = three(&cost.total).map(|amount| self.read(&amount));
        rows.push(total_row("TOTAL", &Three { low, likely, high }, 1));
        let mut blocks = vec![
            Block::Heading(format!("Cost, in {currency}: all lows, all likely figures, all highs")),
            Block::Table(Table { columns, rows }),
        ];
        if let Some(deposits) = &cost.deposits {
            blocks.push(Block::Note(format!(
                "Deposits to lay out besides, given back with the cylinders: {currency} {}.",
                self.read(&deposits.likely)
            )));
        }
        blocks
    }

    fn way_blocks(&self) -> Vec<Block> {
        if self.ways.len() < 2 {
            return Vec::new();
        }
        let columns = vec![
            words(""),
            number("cylinders"),
            number("not own"),
            number("heaviest"),
            number("heavy ways"),
            number("hours"),
            number("likely"),
            number("not priced"),
        ];
        let row = |way: &LookedAt| {
            vec![
                if way.chosen { "quoted".into() } else { String::new() },
                way.cylinders.to_string(),
                way.hired.to_string(),
                way.heaviest.bare(),
                way.heavy_ways.to_string(),
                way.elapsed.clone(),
                way.likely.as_ref().map_or_else(|| "-".into(), |likely| self.read(likely)),
                way.unpriced.to_string(),
            ]
        };
        let rows = self.ways.iter().map(row).collect();
        let note = if self.by_cost {
            "Quoted is the lowest likely cost of these ways, with the fewest pieces that have no price; others may be \
             cheaper still."
        } else {
            "Quoted is the way with the fewest cylinders; --cheapest takes the lowest likely cost."
        };
        vec![
            Block::Heading("More cylinders against lighter lifts".into()),
            Block::Table(Table { columns, rows }),
            Block::Note(note.into()),
        ]
    }
}

fn hour_blocks(hours: &Hours) -> Vec<Block> {
    let columns = vec![
        words("hours and minutes"),
        number("low"),
        number("likely"),
        number("high"),
        words("figured"),
        name("from"),
    ];
    let row = |piece: &PieceLine| {
        let what = piece.system.as_ref().map_or_else(|| piece.what.to_owned(), |of| format!("{of}: {}", piece.what));
        let figures = three(&piece.drawn);
        std::iter::once(what).chain(figures).chain([piece.basis.clone(), piece.origin.into()]).collect()
    };
    let mut rows: Vec<Vec<String>> = hours.pieces.iter().map(row).collect();
    let systems = hours.systems.iter().map(|one| total_row(&format!("{}, all of it", one.system), &one.drawn, 2));
    rows.extend(systems);
    if hours.days.high != "1" {
        rows.push(total_row("working days", &hours.days, 2));
    }
    rows.push(total_row("ELAPSED", &hours.elapsed, 2));
    rows.push(total_row(&format!("CREW of {}, all people", hours.people), &hours.crew, 2));
    let mut blocks = vec![Block::Heading(format!("Hours: {}", hours.job)), Block::Table(Table { columns, rows })];
    if hours.heavy_ways > 0 {
        blocks.push(Block::Note(format!(
            "Ways over what one person lifts, for two people or the hoist: {}.",
            hours.heavy_ways
        )));
    }
    blocks
}
