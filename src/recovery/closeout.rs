//! The close-out: what was recovered against the charge, the cylinders afterwards, the rows of the recovery record.

use jiff::civil::Date;

use super::inside::Inside;
use super::{Day, Filling};
use crate::cylinder::{Condition, Contents, Fate, Id, Label, Tag};
use crate::job::{Allowance, Charge, Evacuation, System};
use crate::quantity::{Decimal, Marks};
use crate::refrigerant::Refrigerant;

/// A system at the end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SystemAccount {
    /// The system.
    pub system: String,
    /// What the job file made of its charge: nameplate, field-added, allowance.
    pub charge: Marks,
    /// What the technician believed at the end.
    pub believed: Marks,
    /// What came out.
    pub recovered: Marks,
    /// Likely reasons for the difference, in plain words; none where there is hardly any.
    pub reasons: Vec<String>,
    /// The evacuation level that the table asks for.
    pub evacuation: Evacuation,
}

impl SystemAccount {
    /// Recovered less charge: a surplus, or below zero a shortfall.
    pub fn difference(&self) -> Marks {
        self.recovered - self.charge
    }
}

/// A lot at the end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotAccount {
    /// The lot.
    pub lot: String,
    /// Its refrigerant.
    pub refrigerant: String,
    /// What its systems were planned to hold.
    pub charge: Marks,
    /// What came out.
    pub recovered: Marks,
    /// Its systems.
    pub systems: Vec<SystemAccount>,
}

/// A cylinder afterwards, as a yard is to say it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct After {
    /// The cylinder.
    pub cylinder: Id,
    /// The lot in it; `None` where nothing went in.
    pub lot: Option<String>,
    /// What it holds, as a yard writes it.
    pub holds: String,
    /// What may be in a mixture.
    pub may_contain: Vec<String>,
    /// The condition of that.
    pub condition: &'static str,
    /// Whose it is, where that has to be said.
    pub owner: Option<String>,
    /// The job that it stays with, where it may not go together with anything else.
    pub kept_for: Option<String>,
    /// Gross weight.
    pub gross: Marks,
    /// What is in it, rounded up.
    pub net: Marks,
    /// Its tare, as it counts here: gross less net.
    pub tare: Marks,
    /// The day of its last reading.
    pub date: Date,
    /// Its marks, in their order.
    pub tags: Vec<Tag>,
    /// What is written on its label: refrigerant and marks in full words.
    pub label: String,
    /// UN number of its contents, where known.
    pub un_number: Option<u16>,
    /// The same as a label shows it, with the name of an entry that many share.
    pub un_entry: Option<String>,
}

/// What went from one system into one cylinder on one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordRow {
    /// The day.
    pub date: Date,
    /// The system.
    pub system: String,
    /// The refrigerant.
    pub refrigerant: String,
    /// Its condition.
    pub condition: &'static str,
    /// What becomes of it.
    pub fate: &'static str,
    /// The cylinder.
    pub cylinder: Id,
    /// How much; below zero where a correction fell on another day.
    pub amount: Marks,
    /// Some of it by the plan's order, as nobody read the scale when the hose moved.
    pub assumed: bool,
}

/// The whole close-out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accounts {
    /// By lot.
    pub lots: Vec<LotAccount>,
    /// Every cylinder that was read, in the order of the yard.
    pub cylinders: Vec<After>,
    /// The rows of the recovery record.
    pub rows: Vec<RecordRow>,
    /// Readings that were kept though something spoke against them.
    pub forced: usize,
}

/// The close-out of one job of a day, by its position in the work: its systems, its rows of the record, and the cylinders
/// that something of it is in.
pub fn closeout(day: &Day, job: usize) -> Accounts {
    let forced = day.fillings.iter().map(|filling| filling.forced).sum();
    Accounts {
        lots: (0..day.work.lots().len()).filter_map(|lot| of_lot(day, job, lot, forced)).collect(),
        cylinders: day.fillings.iter().filter_map(|filling| after(day, job, filling)).collect(),
        rows: rows(day, job),
        forced,
    }
}

fn of_lot(day: &Day, job: usize, lot: usize, forced: usize) -> Option<LotAccount> {
    let line = day.lot(lot);
    let ours: Vec<usize> = day.of_lot(lot).filter(|system| day.systems[*system].job == job).collect();
    let systems: Vec<SystemAccount> = ours.iter().filter_map(|system| of_system(day, *system, forced)).collect();
    (!systems.is_empty()).then(|| LotAccount {
        lot: line.name.clone(),
        refrigerant: line.intake.fluid.name(),
        charge: systems.iter().map(|system| system.charge).sum(),
        recovered: systems.iter().map(|system| system.recovered).sum(),
        systems,
    })
}

fn of_system(day: &Day, index: usize, forced: usize) -> Option<SystemAccount> {
    let line = &day.systems[index];
    let name = day.plain_name(index);
    let system = day.work.jobs().get(line.job)?.systems.iter().find(|system| system.name == name)?;
    let account = SystemAccount {
        system: name.to_owned(),
        charge: line.planned,
        believed: line.believed,
        recovered: day.recovered(index),
        reasons: Vec::new(),
        evacuation: system.evacuation(),
    };
    Some(SystemAccount { reasons: reasons(day, system, &account, forced), ..account })
}

/// Differences under two per cent of the charge, or two divisions, say nothing. Common practice, no source.
fn reasons(day: &Day, system: &System, account: &SystemAccount, forced: usize) -> Vec<String> {
    let division = day.division();
    let difference = account.difference();
    let small = division.floor(division.weight(account.charge).times(Decimal::new(2, 2))).max(2);
    let mut said = Vec::new();
    if difference.abs() <= small {
        return said;
    }
    // A guess was a range: what lies in it is what was expected.
    if let Charge::Estimated { span, .. } = &system.charge {
        let recovered = division.weight(account.recovered);
        if span.low <= recovered && recovered <= span.high {
            return said;
        }
    }
    if account.recovered == 0 {
        said.push("no reading gives it anything: not begun, or its readings were given to another system".into());
    } else if difference < 0 {
        let allowance = match system.allowance {
            Allowance::Share(share) => share.of(system.charge_by_records()),
            Allowance::Weight(weight) => weight,
        };
        if allowance.is_positive() && division.weight(-difference) <= allowance {
            let allowance = division.unit().text(allowance);
            said.push(format!("within the allowance of {allowance}: the records were right, nothing more was there"));
        } else {
            said.push("the nameplate or the records said more than was in it, or some had leaked before".into());
            said.push("some may be left: vapour, liquid behind a closed valve, refrigerant in the oil".into());
        }
    } else {
        said.push("the nameplate or the records said less than was in it: more had been added over the years".into());
        said.push(
            "oil, water or air may have come over with it; let it settle, look at pressure and temperature".into(),
        );
    }
    if forced > 0 {
        said.push("readings were kept though something spoke against them: look at them again".into());
    }
    said
}

fn after(day: &Day, job: usize, filling: &Filling) -> Option<After> {
    let last = filling.last.filter(|_| {
        let mut gains = filling.gains.iter();
        filling.readings > 0 && gains.any(|gain| day.systems[gain.system].job == job)
    })?;
    let division = day.division();
    let start = &filling.start;
    let lots = day.lots_in(filling);
    let lot = lots.first().map(|lot| day.lot(*lot));
    let Inside { contents, tags } = Inside::of(day, filling, None);
    let (holds, parts) = match &contents {
        Contents::Mixed(parts) => ("mixed".to_owned(), parts.as_slice()),
        Contents::Holds(refrigerant) => (refrigerant.name().to_owned(), &[][..]),
        Contents::Evacuated | Contents::Nitrogen | Contents::Unknown => (contents.name(), &[][..]),
    };
    let known = match &contents {
        Contents::Holds(refrigerant) => Some(refrigerant),
        Contents::Mixed(_) | Contents::Evacuated | Contents::Nitrogen | Contents::Unknown => None,
    };
    let apart = lot.filter(|lot| lot.intake.fate != Fate::Reclaim);
    let owner = lots.first().map_or(&day.work.jobs()[0], |lot| day.job_of(*lot));
    let may_contain: Vec<String> = parts.iter().map(|part| part.name().to_owned()).collect();
    let net = division.ceil(division.weight(filling.now) - filling.tare(division)).max(0);
    let whose = apart.map(|lot| day.work.whose(lot)).or(start.owner.as_deref()).or(start.kept_for.as_deref());
    Some(After {
        cylinder: start.id.clone(),
        lot: lot.map(|lot| lot.name.clone()),
        label: Label { refrigerant: &holds, tags: &tags, may_hold: &may_contain, whose }.text(),
        tags,
        holds,
        may_contain,
        condition: condition(day, filling, &lots).name(),
        owner: apart.map_or_else(|| start.owner.clone(), |_| owner.owner.clone()),
        kept_for: apart.map_or_else(|| start.kept_for.clone(), |_| Some(owner.name.clone())),
        gross: filling.now,
        net,
        tare: filling.now - net,
        date: last.date(),
        un_number: known.and_then(Refrigerant::un_number),
        un_entry: known.and_then(Refrigerant::un_entry),
    })
}

/// The worst of what went in: burnout stays burnout, wet stays wet.
pub(super) fn condition(day: &Day, filling: &Filling, lots: &[usize]) -> Condition {
    let before = (filling.start.contents != Contents::Evacuated || lots.is_empty()).then_some(filling.start.condition);
    let conditions: Vec<Condition> = lots.iter().map(|lot| day.lot(*lot).intake.condition).chain(before).collect();
    let worst = [Condition::Burnout, Condition::Wet].into_iter().find(|worst| conditions.contains(worst));
    worst.unwrap_or(Condition::Clean)
}

fn rows(day: &Day, job: usize) -> Vec<RecordRow> {
    let mut rows: Vec<RecordRow> = Vec::new();
    for filling in &day.fillings {
        for gain in filling.gains.iter().filter(|gain| day.systems[gain.system].job == job) {
            let system = &day.systems[gain.system];
            let intake = &day.lot(system.lot).intake;
            let (date, cylinder) = (gain.at.date(), &filling.start.id);
            let same = |row: &&mut RecordRow| {
                row.date == date && row.system == day.plain_name(gain.system) && row.cylinder == *cylinder
            };
            match rows.iter_mut().find(same) {
                Some(row) => {
                    row.amount += gain.marks;
                    row.assumed |= gain.assumed;
                }
                None => rows.push(RecordRow {
                    date,
                    system: day.plain_name(gain.system).to_owned(),
                    refrigerant: intake.fluid.name(),
                    condition: intake.condition.name(),
                    fate: intake.fate.name(),
                    cylinder: cylinder.clone(),
                    amount: gain.marks,
                    assumed: gain.assumed,
                }),
            }
        }
    }
    rows.retain(|row| row.amount != 0);
    rows.sort_by_key(|row| row.date);
    rows
}
