//! What the work costs: every line with its figures, and by name what has no price.

use super::hire::{Rented, rented};
use super::{Hired, Hours, Origin, PerWeight, Prices, Range, Terms, charge_of};
use crate::cylinder::{Condition, Fate};
use crate::job::{Lot, Work};
use crate::plan::Plan;
use crate::quantity::{Decimal, Money, Weight};

/// The lines for the time of people.
const TIME: [&str; 3] = ["labour", "overtime", "after-hours premium"];

/// A line of the cost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostLine {
    /// What it is for.
    pub what: String,
    /// The job, by its position in the work.
    pub job: usize,
    /// How it was figured, at the likely value.
    pub basis: String,
    /// Its amount; below zero for a credit.
    pub amount: Range<Money>,
    /// What a reclaimer gives: known once it has been weighed and analysed.
    pub is_credit: bool,
    /// It is for the time of people.
    pub is_time: bool,
    /// Where its figures come from; a price always comes from the file.
    pub origin: Origin,
}

/// The cost of the work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cost {
    /// The currency, as the file writes it.
    pub currency: String,
    /// Every line.
    pub lines: Vec<CostLine>,
    /// Contingency, in the lines' way, where a file asks for it.
    pub contingency: Vec<CostLine>,
    /// All lows, all likely ones and all highs, summed.
    pub total: Range<Money>,
    /// Deposits: laid out and given back, so not in the total.
    pub deposits: Range<Money>,
    /// What the work needs and no price is stated for.
    pub unpriced: Vec<Unpriced>,
}

/// Something that the work needs and no price is stated for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unpriced {
    /// The job, by its position in the work.
    pub job: usize,
    /// What it is.
    pub what: String,
    /// How many, where they are counted.
    pub count: Option<usize>,
}

impl Cost {
    /// The lines of a job, its contingency the last.
    pub fn of_job(&self, job: usize) -> impl Iterator<Item = &CostLine> {
        self.lines.iter().chain(&self.contingency).filter(move |line| line.job == job)
    }

    /// What a job costs, credits left aside.
    pub fn before_credits(&self, job: usize) -> Range<Money> {
        self.of_job(job).filter(|line| !line.is_credit).map(|line| line.amount).sum()
    }

    /// What a job costs beside the time of people, credits and contingency left aside.
    pub fn beside_time(&self, job: usize) -> Range<Money> {
        let lines = self.lines.iter().filter(|line| line.job == job && !line.is_credit && !line.is_time);
        lines.map(|line| line.amount).sum()
    }

    /// What a job brings back, below zero.
    pub fn credits(&self, job: usize) -> Range<Money> {
        self.of_job(job).filter(|line| line.is_credit).map(|line| line.amount).sum()
    }

    /// How many pieces have no price, each counted.
    pub fn pieces_unpriced(&self) -> usize {
        self.unpriced.iter().map(|one| one.count.unwrap_or(1)).sum()
    }

    /// What has no price in words, the same of several jobs once.
    pub fn unpriced_in_words(&self) -> Vec<String> {
        let mut all: Vec<(&str, Option<usize>)> = Vec::new();
        for one in &self.unpriced {
            match all.iter_mut().find(|(what, _)| *what == one.what) {
                Some((_, count)) => *count = count.map(|count| count + one.count.unwrap_or(0)),
                None => all.push((&one.what, one.count)),
            }
        }
        let words = |(what, count): (&str, Option<usize>)| {
            count.map_or_else(|| what.to_owned(), |count| format!("{count} x {what}"))
        };
        all.into_iter().map(words).collect()
    }

    /// The same with the jobs of a pool named as in all of the work.
    pub(super) fn named_in_all(mut self, jobs: &[usize]) -> Self {
        let named = |job: usize| jobs.get(job).copied().unwrap_or(job);
        self.lines.iter_mut().chain(&mut self.contingency).for_each(|line| line.job = named(line.job));
        self.unpriced.iter_mut().for_each(|one| one.job = named(one.job));
        self
    }

    /// All of these together, job after job.
    pub(super) fn together(costs: &[&Self]) -> Option<Self> {
        let mut all = Self {
            currency: costs.first()?.currency.clone(),
            lines: costs.iter().flat_map(|cost| cost.lines.clone()).collect(),
            contingency: costs.iter().flat_map(|cost| cost.contingency.clone()).collect(),
            total: costs.iter().map(|cost| cost.total).sum(),
            deposits: costs.iter().map(|cost| cost.deposits).sum(),
            unpriced: costs.iter().flat_map(|cost| cost.unpriced.clone()).collect(),
        };
        all.lines.sort_by_key(|line| line.job);
        all.contingency.sort_by_key(|line| line.job);
        all.unpriced.sort_by_key(|one| one.job);
        Some(all)
    }
}

/// The cost of this plan, in the currency of the prices.
pub fn cost(work: &Work, plan: &Plan, terms: &[Terms], hours: &[Hours], hired: &[Hired], currency: String) -> Cost {
    let mut sheet = Sheet::default();
    let rented = rented(work, plan, terms, hours, hired);
    for (hours, terms) in hours.iter().zip(terms) {
        sheet.job = hours.job;
        let before = sheet.lines.len();
        sheet.labour(hours, &terms.prices);
        sheet.site(work, hours, terms);
        sheet.refrigerant(work, plan, &terms.prices);
        sheet.hire(&rented);
        sheet.contingency(before, &terms.prices);
    }
    let total = sheet.lines.iter().chain(&sheet.contingency).map(|line| line.amount).sum();
    let Sheet { lines, contingency, deposits, unpriced, .. } = sheet;
    Cost { currency, lines, contingency, total, deposits, unpriced }
}

#[derive(Default)]
struct Sheet {
    job: usize,
    lines: Vec<CostLine>,
    contingency: Vec<CostLine>,
    deposits: Range<Money>,
    unpriced: Vec<Unpriced>,
}

/// An amount of money in a basis: as typed, without needless zeros behind the cents.
pub(super) fn price(amount: Decimal) -> String {
    let mut amount = amount.normalize();
    if amount.scale() < 2 {
        amount.rescale(2);
    }
    amount.to_string()
}

fn h_min(minutes: Decimal) -> String {
    super::hours_and_minutes(minutes)
}

impl Sheet {
    fn line(&mut self, what: impl Into<String>, basis: String, amount: Range<Decimal>, origin: Origin) {
        let amount = amount.map(Money::rounded);
        let what = what.into();
        let (is_credit, is_time) = (false, TIME.contains(&what.as_str()));
        self.lines.push(CostLine { what, job: self.job, basis, amount, is_credit, is_time, origin });
    }

    fn unpriced(&mut self, what: String) {
        self.unpriced.push(Unpriced { job: self.job, what, count: None });
    }

    fn labour(&mut self, hours: &Hours, prices: &Prices) {
        let Some(rate) = prices.labour else {
            self.unpriced(format!("labour of {}", hours.name));
            return;
        };
        let sixty = Decimal::from(60);
        let pay = hours.crew.with(rate, |minutes, rate| minutes * rate / sixty);
        let basis = format!("{} of all people x {}", h_min(hours.crew.likely), price(rate.likely));
        let assumed = hours.pieces.iter().any(|piece| piece.origin == Origin::Assumed);
        let origin = if assumed { Origin::Assumed } else { Origin::File };
        self.line(TIME[0], basis, pay, origin);
        if let Some(overtime) = prices.overtime {
            let beyond = hours.overtime;
            let more = (overtime.rate.number() - Decimal::ONE_HUNDRED) / Decimal::ONE_HUNDRED;
            let people = Decimal::from(hours.people);
            let extra = beyond.with(rate, |minutes, rate| minutes * people * rate * more / sixty);
            let of_days = if hours.days.likely > Decimal::ONE { " of a day" } else { "" };
            let basis = format!(
                "{} beyond {}{of_days} x {} people x {} more",
                h_min(beyond.likely),
                h_min(overtime.after),
                hours.people,
                price(rate.likely * more)
            );
            self.line(TIME[1], basis, extra, origin);
        }
        if let Some(premium) = prices.after_hours {
            let extra = pay.map(|pay| Money::rounded(pay).amount() * premium.fraction());
            self.line(TIME[2], format!("{premium} of labour"), extra, origin);
        }
    }

    fn site(&mut self, work: &Work, hours: &Hours, terms: &Terms) {
        let prices = &terms.prices;
        let machines = Decimal::from(terms.labour.machines());
        let origin = if terms.labour.machines.is_some() { Origin::File } else { Origin::Assumed };
        match prices.machine {
            Some(machine) => {
                let basis = format!("{machines} x {}", price(machine.likely));
                self.line("recovery machine", basis, machine.map(|each| each * machines), origin);
            }
            None => self.unpriced("recovery machine".into()),
        }
        match prices.freight {
            Some(freight) => self.line("freight", "once".into(), freight, Origin::File),
            None => self.unpriced("freight".into()),
        }
        let systems = work.jobs().get(hours.job).map_or(0, |job| job.systems.len());
        match prices.oil_disposal {
            Some(oil) => {
                let basis = format!("{systems} x {}", price(oil.likely));
                self.line("oil disposal", basis, oil.map(|each| each * Decimal::from(systems)), Origin::File);
            }
            None => self.unpriced("oil disposal".into()),
        }
        match prices.hoist {
            _ if hours.hoisted == 0 => {}
            Some(hoist) => {
                self.line("hoist", format!("{} ways by hoist, and no carrying", hours.hoisted), hoist, Origin::File);
            }
            None => self.unpriced("hoist".into()),
        }
    }

    /// Reclaim or disposal of what this job gives to each lot.
    fn refrigerant(&mut self, work: &Work, plan: &Plan, prices: &Prices) {
        for lot in work.lots() {
            let weight = given(work, self.job, lot);
            if !weight.high.is_positive() || !plan.loads.iter().any(|load| load.lot == lot.name) {
                continue;
            }
            if is_for_disposal(lot) {
                match prices.disposal {
                    Some(per) => self.by_weight(format!("disposal of {}", lot.name), weight, per, false),
                    None => self.unpriced(format!("disposal of {}", lot.name)),
                }
            } else if lot.intake.fate == Fate::Reclaim {
                let name = lot.intake.fluid.name();
                match prices.reclaim.iter().find(|reclaim| reclaim.refrigerant == name) {
                    Some(found) => {
                        let what = if found.credit { "credit for" } else { "reclaim of" };
                        self.by_weight(format!("{what} {}", lot.name), weight, found.price, found.credit);
                    }
                    None => self.unpriced(format!("reclaim of {}", lot.name)),
                }
            }
        }
    }

    /// The low charge stands in the lows, the high one in the highs; of prices that are paid to us the best stands in the
    /// lows.
    fn by_weight(&mut self, what: String, weight: Range<Weight>, per: PerWeight, credit: bool) {
        let number = weight.map(|weight| per.unit.number(weight));
        let basis = format!("{} x {} a {}", per.unit.text(weight.likely), price(per.price.likely), per.unit.name());
        let price = if credit { per.price.turned().map(|price| -price) } else { per.price };
        self.line(what, basis, price.with(number, |price, number| price * number), Origin::File);
        if let Some(line) = self.lines.last_mut() {
            line.is_credit = credit;
        }
    }

    /// This job's part of the cylinders that aren't on hand.
    fn hire(&mut self, rented: &[Rented]) {
        for one in rented {
            for share in one.shares.iter().filter(|share| share.job == self.job) {
                let (what, basis, origin) = (format!("hire of {}", one.kind), share.basis.clone(), share.origin);
                let (job, amount) = (self.job, share.amount);
                self.lines.push(CostLine { what, job, basis, amount, is_credit: false, is_time: false, origin });
            }
            if one.jobs.first() == Some(&self.job) {
                self.deposits = self.deposits + one.deposits;
                if one.shares.is_empty() {
                    let what = if one.is_trade_size { "cylinder," } else { "hire of" };
                    let what = format!("{what} {}", one.kind);
                    self.unpriced.push(Unpriced { job: self.job, what, count: Some(one.count) });
                }
            }
        }
    }

    /// On the job's costs since line `from`, credits left aside.
    fn contingency(&mut self, from: usize, prices: &Prices) {
        let Some(share) = prices.contingency else { return };
        let costs = self.lines[from..].iter().filter(|line| !line.is_credit);
        let sum: Range<Money> = costs.map(|line| line.amount).sum();
        let amount = sum.map(|sum| Money::rounded(sum.amount() * share.fraction()));
        self.contingency.push(CostLine {
            what: "contingency".into(),
            job: self.job,
            basis: format!("{share} of the costs, credits left aside"),
            amount,
            is_credit: false,
            is_time: false,
            origin: Origin::File,
        });
    }
}

/// What a job's systems give to a lot.
fn given(work: &Work, job: usize, lot: &Lot) -> Range<Weight> {
    let Some(of) = work.jobs().get(job) else { return Range::exactly(Weight::ZERO) };
    let parts = lot.parts.iter().filter(|part| part.job == job);
    let systems = parts.filter_map(|part| of.systems.iter().find(|system| work.part_name(of, system) == part.system));
    systems.map(charge_of).fold(Range::exactly(Weight::ZERO), |sum, charge| sum + charge)
}

/// Nobody reclaims it: mixed, burnt, or bound for destruction.
fn is_for_disposal(lot: &Lot) -> bool {
    lot.intake.fate == Fate::Destroy || matches!(lot.intake.condition, Condition::Mixed | Condition::Burnout)
}
