//! A reading, judged before it is kept: one that can't be is refused with the reason.
//!
//! A reading over the limit is not one that can't be: it is kept, and [`Day::alarms`] has it.

use super::credit::{ahead, by_plan, taken_back};
use super::{Credit, Day, Filling, Judged, Moment};
use crate::cylinder::{Id, Level, full_and_cold, reasons};
use crate::quantity::{Decimal, Marks, Weight};

/// What the scale showed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// The cylinder with its contents.
    Gross(Weight),
    /// What was added since the scale was zeroed with the cylinder on it.
    Net(Weight),
}

/// A reading as somebody gives it.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The job that is asked for, by its position in the work.
    pub job: usize,
    /// The cylinder.
    pub cylinder: Id,
    /// What the scale showed.
    pub shown: Shown,
    /// The system, where it was named.
    pub system: Option<String>,
    /// The cylinder was emptied in between, into nothing that this job weighs.
    pub emptied: bool,
    /// Some of it went into another cylinder of this job, or back into the system.
    pub moved: bool,
    /// To be kept whatever speaks against it.
    pub force: bool,
    /// A remark.
    pub note: Option<String>,
    /// When it was read.
    pub at: Moment,
    /// Somebody said so; otherwise it is what the clock shows, which may have been set back.
    pub at_was_said: bool,
}

/// What speaks against a reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Why {
    /// Stable code, as it stands in the log with a reading that was kept all the same.
    pub code: &'static str,
    /// A sentence, with what to do.
    pub text: String,
}

/// A reading that isn't kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// Said first: the weight would be over a rule, or over our fill.
    pub danger: Option<String>,
    /// Every reason.
    pub whys: Vec<Why>,
    /// Whether it may be kept with a mark.
    pub may_force: bool,
}

/// Clocks of several phones differ by less than this, in seconds. A judgement, no source.
const CLOCKS: i64 = 300;

/// After so many seconds without a reading the next one is a new start, where it shows nearly the same: scales are set
/// up anew, and warm up. A judgement, no source.
const BREAK: i64 = 4 * 3600;

/// Judges a reading. One that is forced carries the codes of what speaks against it.
///
/// # Errors
/// Every reason why the reading can't be.
pub fn weigh(day: &Day, asked: &Asked) -> Result<Judged, Refusal> {
    let never = |code, text: String| Refusal { danger: None, whys: vec![Why { code, text }], may_force: false };
    let Some(index) = day.position(&asked.cylinder) else {
        let near = day.fillings.iter().map(|filling| filling.start.id.as_str());
        let text = format!("there is no cylinder `{}`{}", asked.cylinder, nearest(asked.cylinder.as_str(), near));
        return Err(never("unknown-cylinder", format!("{text}; `replan --with YARD` adds cylinders")));
    };
    let filling = &day.fillings[index];
    let (gross, net) = gross(day, filling, asked.shown)
        .ok_or_else(|| never("no-weight", "no scale shows such a weight; read it again".into()))?;
    let morning = is_new_start(day, filling, gross, asked.at);
    let change = gross - filling.now;
    let gain = if morning || (asked.emptied && change < 0) { 0 } else { change };
    let credits = credits(day, filling, asked, gain).map_err(|text| never("which-system", text))?;
    let system = credits.last().map_or(0, |credit| credit.system);
    let reading = Judged {
        cylinder: filling.start.id.clone(),
        gross,
        net,
        credits,
        emptied: asked.emptied,
        moved: asked.moved,
        morning,
        forced: Vec::new(),
        note: asked.note.clone(),
    };
    let case = AtScale { day, filling, gross, system, asked, morning };
    let whys: Vec<Why> =
        CHECKS.iter().filter_map(|(code, check)| check(&case).map(|text| Why { code, text })).collect();
    if whys.is_empty() {
        return Ok(reading);
    }
    if asked.force {
        return Ok(Judged { forced: whys.iter().map(|why| why.code.to_owned()).collect(), ..reading });
    }
    Err(Refusal { danger: case.danger(), whys, may_force: true })
}

/// The gross weight in marks, rounded up: what is there may be more, never less. With it what a zeroed scale showed.
fn gross(day: &Day, filling: &Filling, shown: Shown) -> Option<(Marks, Option<Marks>)> {
    let division = day.division();
    let (gross, net) = match shown {
        Shown::Gross(weight) => (division.ceil(weight), None),
        Shown::Net(weight) => {
            let net = division.ceil(weight);
            (filling.zero.checked_add(net)?, Some(net))
        }
    };
    // No cylinder and no scale of the trade go beyond this; sums of such weights stay exact.
    let most = division.floor(Weight::pounds(Decimal::from(20_000)));
    (0..=most).contains(&gross).then_some((gross, net))
}

/// The first reading after a long break that shows the same within 1 lb or 1 %, whichever is less.
fn is_new_start(day: &Day, filling: &Filling, gross: Marks, at: Moment) -> bool {
    if filling.last.is_none_or(|last| at.seconds_since(last) < BREAK) {
        return false;
    }
    let division = day.division();
    let pound = Weight::pounds(Decimal::ONE);
    let most = pound.min(division.weight(filling.now).times(Decimal::new(1, 2)));
    (gross - filling.now).abs() <= division.floor(most)
}

/// Whom the gain is credited to, of the job that is asked for: the system that was named; else by the plan's pours; else the
/// system of the last reading, or the only one.
fn credits(day: &Day, filling: &Filling, asked: &Asked, gain: Marks) -> Result<Vec<Credit>, String> {
    let is_ours = |system: usize| day.systems[system].job == asked.job;
    let all_to = |system: usize| vec![Credit { system, marks: gain, assumed: false }];
    if let Some(name) = &asked.system {
        return named(day, asked.job, name).map(all_to);
    }
    if gain < 0 {
        let back = taken_back(filling, gain);
        if !back.is_empty() && back.iter().all(|credit| is_ours(credit.system)) {
            return Ok(back);
        }
    }
    let pours = ahead(day, filling, is_ours);
    let by_plan = by_plan(&pours, filling.now, filling.now + gain);
    if !by_plan.is_empty() {
        return Ok(by_plan);
    }
    let last = filling.last_system().filter(|last| is_ours(*last));
    let mut ours = (0..day.systems.len()).filter(|system| is_ours(*system));
    let only = || ours.next().filter(|_| ours.next().is_none());
    let planned = || pours.iter().find(|(_, pour)| pour.to > filling.now).or(pours.last()).map(|(system, _)| *system);
    last.or_else(planned).or_else(only).map(all_to).ok_or_else(|| {
        format!("{} isn't in the plan; say with --system where its refrigerant comes from", filling.start.id)
    })
}

/// The system of a job that is called so.
fn named(day: &Day, job: usize, name: &str) -> Result<usize, String> {
    let ours = || (0..day.systems.len()).filter(|system| day.systems[*system].job == job);
    let wanted = name.trim().to_lowercase();
    let alike = |system: &usize| {
        day.plain_name(*system).to_lowercase() == wanted || day.systems[*system].name.to_lowercase() == wanted
    };
    ours().find(alike).ok_or_else(|| {
        let all = ours().map(|system| format!("\"{}\"", day.plain_name(system))).collect::<Vec<_>>().join(", ");
        format!("the job has no system \"{name}\"; its systems are {all}")
    })
}

struct AtScale<'a> {
    day: &'a Day<'a>,
    filling: &'a Filling,
    gross: Marks,
    system: usize,
    asked: &'a Asked,
    morning: bool,
}

/// What can speak against a reading: the code, and what finds it.
type Check = (&'static str, fn(&AtScale) -> Option<String>);

const CHECKS: [Check; 8] = [
    ("under-tare", under_tare),
    ("lower", lower),
    ("other-lot", other_lot),
    ("planned-otherwise", planned_otherwise),
    ("unfit", unfit),
    ("too-much", too_much),
    ("far", far),
    ("earlier", earlier),
];

impl AtScale<'_> {
    fn lot(&self) -> usize {
        self.day.systems[self.system].lot
    }

    fn text(&self, marks: Marks) -> String {
        self.day.division().text(marks)
    }

    /// Readings closer than this are the same reading.
    fn tolerance(&self) -> Marks {
        let scale = self.day.lot(self.lot()).intake.terms.scale;
        self.day.division().ceil(scale.tolerance())
    }

    fn danger(&self) -> Option<String> {
        let level = self.day.level_at(self.filling, self.gross, self.lot())?;
        let limit = self.day.room(self.filling, self.lot())?.limit;
        let what = match level {
            Level::Danger => "DANGER if this is true",
            Level::OverFill => "Over our fill if this is true",
        };
        let (id, gross, limit) = (&self.filling.start.id, self.text(self.gross), self.text(limit));
        Some(format!("{what}: {id} at {gross} is over its limit of {limit}. Shut the valve first."))
    }
}

fn under_tare(case: &AtScale) -> Option<String> {
    let tare = case.day.division().floor(case.filling.tare(case.day.division()));
    (case.gross < tare - case.tolerance()).then(|| {
        format!(
            "{} is under the tare of {}; was it a net weight? Then say `--net`",
            case.text(case.gross),
            case.text(tare)
        )
    })
}

fn lower(case: &AtScale) -> Option<String> {
    let under = case.filling.now - case.gross;
    let said = case.asked.emptied || case.asked.moved || case.morning;
    (under > case.tolerance() && !said).then(|| {
        let (under, now) = (case.text(under), case.text(case.filling.now));
        format!(
            "that is {under} less than the {now} before; where that reading was wrong, take it back with `--undo`; where \
             some went into another cylinder of this job or back into the system, say `--moved`, where it left for good, \
             `--emptied`"
        )
    })
}

fn other_lot(case: &AtScale) -> Option<String> {
    let lots = case.day.lots_in(case.filling);
    let other = lots.into_iter().find(|lot| *lot != case.lot())?;
    let (held, ours) = (&case.day.lot(other).name, &case.day.lot(case.lot()).name);
    Some(format!(
        "{} has been begun with {held}, and \"{}\" gives {ours}: they stay apart",
        case.filling.start.id, case.day.systems[case.system].name
    ))
}

/// The plan has this cylinder for another lot, and nothing has gone into it yet: the hose may be on the wrong one.
fn planned_otherwise(case: &AtScale) -> Option<String> {
    let step = case.day.step(&case.filling.start.id)?;
    let ours = &case.day.lot(case.lot()).name;
    let other = step.lot != *ours && !case.filling.begun();
    other.then(|| format!("the plan has {} for {}, not for {ours}", case.filling.start.id, step.lot))
}

/// Before anything goes in, every rule of fitness counts; later it is what the scale says, as long as the cylinder is ours
/// and nobody has taken it out or mixed something into it.
fn unfit(case: &AtScale) -> Option<String> {
    if case.gross <= case.filling.now + case.tolerance() {
        return None;
    }
    let mut found = reasons(&case.filling.start, &case.day.lot(case.lot()).intake);
    if case.filling.begun() {
        found.retain(|finding| ["bound-elsewhere", "out", "holds-mixed"].contains(&finding.rule.code));
    }
    let found: Vec<String> = found.iter().map(|finding| format!("{}; {}", finding.text, finding.rule.remedy)).collect();
    let by = &case.filling.start.ledger;
    let take_over = if by.bound.is_some() && !by.ours { "; where it is empty, `--take-over` takes it" } else { "" };
    (!found.is_empty())
        .then(|| format!("{} isn't to be filled: {}{take_over}", case.filling.start.id, found.join("; ")))
}

/// More than cold liquid in the whole cylinder would weigh.
fn too_much(case: &AtScale) -> Option<String> {
    let intake = &case.day.lot(case.lot()).intake;
    let start = &case.filling.start;
    let most = case.day.division().ceil(full_and_cold(start, &intake.with(start), &intake.terms).ok()?);
    (case.gross > most).then(|| {
        let most = case.text(most);
        format!("{} would weigh no more than {most} if it were full of cold liquid", start.id)
    })
}

/// A rise in one reading of more than twice what all that goes with it was planned for. A judgement, no source.
fn far(case: &AtScale) -> Option<String> {
    let rise = case.gross - case.filling.now;
    let charge = case.day.lot(case.lot()).charge;
    (rise > charge.saturating_mul(2)).then(|| {
        let (rise, now, charge) = (case.text(rise), case.text(case.filling.now), case.text(charge));
        format!("that is {rise} more than the {now} before, and the whole lot was planned for {charge}")
    })
}

/// Says that a reading is from before another one of the day: the clock was set back.
pub fn set_back(day: &Day, at: Moment) -> Option<String> {
    let last = day.fillings.iter().filter_map(|filling| filling.last);
    let last = last.reduce(|a, b| if b.seconds_since(a) > 0 { b } else { a })?;
    (last.seconds_since(at) > CLOCKS).then(|| {
        format!(
            "the clock shows {at}, and the ledger has a reading of {last} already; the order of the readings counts"
        )
    })
}

fn earlier(case: &AtScale) -> Option<String> {
    let (at, last) = (case.asked.at, case.filling.last.filter(|_| case.asked.at_was_said)?);
    (last.seconds_since(at) > CLOCKS).then(|| format!("it was read at {last} already, and {at} is before that"))
}

/// `; did you mean C-107?`, where a name is like it.
fn nearest<'n>(word: &str, known: impl Iterator<Item = &'n str>) -> String {
    let rated = known.map(|name| (strsim::jaro_winkler(&name.to_lowercase(), &word.to_lowercase()), name));
    let best = rated.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|(likeness, _)| *likeness > 0.7);
    best.map_or_else(String::new, |(_, name)| format!("; did you mean {name}?"))
}
