//! What the work costs: every line with its figures, and by name what has no price.

use super::{Hired, Hours, Origin, PerWeight, Prices, Range, Terms};
use crate::cylinder::{Condition, Fate};
use crate::job::{Lot, Work};
use crate::plan::Plan;
use crate::quantity::{Decimal, Money, Weight};

/// Days of hire where the file doesn't say: 7. Common practice, no source.
const USUAL_HIRE_DAYS: i64 = 7;

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
    pub unpriced: Vec<String>,
}

/// The cost of this plan; `None` where no file states a currency.
pub fn cost(work: &Work, plan: &Plan, terms: &[Terms], hours: &[Hours], hired: &[Hired]) -> Option<Cost> {
    let currency = terms.iter().find_map(|terms| terms.prices.currency.clone())?;
    let mut sheet = Sheet::default();
    for (hours, terms) in hours.iter().zip(terms) {
        sheet.job = hours.job;
        let before = sheet.lines.len();
        sheet.labour(hours, &terms.prices);
        sheet.site(work, hours, terms);
        sheet.refrigerant(work, plan, &terms.prices);
        sheet.hire(plan, hired, &terms.prices);
        sheet.contingency(before, &terms.prices);
    }
    sheet.trade_sizes(plan, hired);
    let total = sheet.lines.iter().chain(&sheet.contingency).map(|line| line.amount).sum();
    let Sheet { lines, contingency, deposits, unpriced, .. } = sheet;
    Some(Cost { currency, lines, contingency, total, deposits, unpriced })
}

#[derive(Default)]
struct Sheet {
    job: usize,
    lines: Vec<CostLine>,
    contingency: Vec<CostLine>,
    deposits: Range<Money>,
    unpriced: Vec<String>,
}

/// An amount of money in a basis: as typed, without needless zeros behind the cents.
fn price(amount: Decimal) -> String {
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
        self.lines.push(CostLine { what: what.into(), job: self.job, basis, amount, origin });
    }

    fn unpriced(&mut self, what: String) {
        if !self.unpriced.contains(&what) {
            self.unpriced.push(what);
        }
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
        self.line("labour", basis, pay, origin);
        if let Some(overtime) = prices.overtime {
            let beyond = hours.elapsed.map(|minutes| (minutes - overtime.after).max(Decimal::ZERO));
            let more = (overtime.rate.number() - Decimal::ONE_HUNDRED) / Decimal::ONE_HUNDRED;
            let people = Decimal::from(hours.people);
            let extra = beyond.with(rate, |minutes, rate| minutes * people * rate * more / sixty);
            let basis = format!(
                "{} beyond {} x {} people x {} more",
                h_min(beyond.likely),
                h_min(overtime.after),
                hours.people,
                price(rate.likely * more)
            );
            self.line("overtime", basis, extra, origin);
        }
        if let Some(premium) = prices.after_hours {
            let extra = pay.map(|pay| Money::rounded(pay).amount() * premium.fraction());
            self.line("after-hours premium", format!("{premium} of labour"), extra, origin);
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
        if let Some(hoist) = prices.hoist.filter(|_| hours.heavy > 0) {
            self.line("hoist", format!("ways over one person's lift: {}", hours.heavy), hoist, Origin::File);
        }
    }

    /// Reclaim or disposal of what this job gives to each lot.
    fn refrigerant(&mut self, work: &Work, plan: &Plan, prices: &Prices) {
        for lot in work.lots() {
            let charge: i64 = lot.parts.iter().filter(|part| part.job == self.job).map(|part| part.charge).sum();
            if charge == 0 || !plan.loads.iter().any(|load| load.lot == lot.name) {
                continue;
            }
            let weight = plan.division.weight(charge);
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

    fn by_weight(&mut self, what: String, weight: Weight, per: PerWeight, credit: bool) {
        let number = per.unit.number(weight);
        let basis = format!("{} x {} a {}", per.unit.text(weight), price(per.price.likely), per.unit.name());
        // The most that comes back makes the lowest cost.
        let amount = if credit {
            per.price.turned().map(|price| -price * number)
        } else {
            per.price.map(|price| price * number)
        };
        self.line(what, basis, amount, Origin::File);
    }

    fn hire(&mut self, plan: &Plan, hired: &[Hired], prices: &Prices) {
        let ours = |one: &&Hired| one.job == Some(self.job) && plan.loads.iter().any(|load| load.cylinder == one.id);
        let used: Vec<&str> = hired.iter().filter(ours).map(|one| one.kind.as_str()).collect();
        let mut kinds = used.clone();
        kinds.dedup();
        for kind in kinds {
            let count = Decimal::from(used.iter().filter(|other| **other == kind).count());
            let hire = prices.hire.iter().find(|hire| hire.kind == kind);
            match hire.and_then(|hire| Some((hire.price?, hire.days.max(1)))) {
                Some((each, period)) => {
                    let days = prices.hire_days.unwrap_or_else(|| Range::exactly(Decimal::from(USUAL_HIRE_DAYS)));
                    let origin = if prices.hire_days.is_some() { Origin::File } else { Origin::Assumed };
                    let periods = days.map(|days| (days / Decimal::from(period)).ceil().max(Decimal::ONE));
                    let basis =
                        format!("{count} x {} begun periods of {period} days x {}", periods.likely, price(each.likely));
                    let amount = each.with(periods, |each, periods| each * periods * count);
                    self.line(format!("hire of {kind}"), basis, amount, origin);
                }
                None => self.unpriced(format!("hire of {count} x {kind}")),
            }
            if let Some(deposit) = hire.and_then(|hire| hire.deposit) {
                self.deposits = self.deposits + deposit.map(|each| Money::rounded(each * count));
            }
        }
    }

    fn trade_sizes(&mut self, plan: &Plan, hired: &[Hired]) {
        let is_used = |one: &&Hired| plan.loads.iter().any(|load| load.cylinder == one.id);
        let used: Vec<&Hired> = hired.iter().filter(|one| one.job.is_none()).filter(is_used).collect();
        let mut kinds: Vec<&str> = used.iter().map(|one| one.kind.as_str()).collect();
        kinds.dedup();
        for kind in kinds {
            let count = used.iter().filter(|one| one.kind == kind).count();
            self.unpriced(format!("{count} x cylinder, {kind}"));
        }
    }

    /// On the job's costs since line `from`, credits left aside.
    fn contingency(&mut self, from: usize, prices: &Prices) {
        let Some(share) = prices.contingency else { return };
        let costs = self.lines[from..].iter().filter(|line| !line.amount.high.is_negative());
        let sum: Range<Money> = costs.map(|line| line.amount).sum();
        let amount = sum.map(|sum| Money::rounded(sum.amount() * share.fraction()));
        self.contingency.push(CostLine {
            what: "contingency".into(),
            job: self.job,
            basis: format!("{share} of the costs, credits left aside"),
            amount,
            origin: Origin::File,
        });
    }
}

/// Nobody reclaims it: mixed, burnt, or bound for destruction.
fn is_for_disposal(lot: &Lot) -> bool {
    lot.intake.fate == Fate::Destroy || matches!(lot.intake.condition, Condition::Mixed | Condition::Burnout)
}
