//! Everything that a quote rests on and nobody has confirmed, as sentences for whoever reads it.

use super::{FIGURES, FigureUnit, Hours, NO_SOURCE, Origin, Supply, Terms, hours_and_minutes};
use crate::job::{Access, Job, notices, usual_one_person};
use crate::plan::{Plan, Status};
use crate::quantity::Decimal;

/// Said where there are no cylinders to plan with.
pub(super) const TRADE_SIZES: &str = "no cylinders are given: the plan is made from a list of trade sizes, each with \
                                      its smallest water capacity and largest tare (common practice, no source)";

/// Said where the charge doesn't fit.
const SHORT: &str = "the cylinders don't hold all of the charge: recovery and refrigerant are figured for all of it, \
                     cylinders and carrying for what they hold";

/// What a pool of jobs rests on, the cylinders first. `several`: the quote has more jobs than one.
pub(super) fn of_pool(supply: &Supply, plan: &Plan, terms: &[Terms], hours: &[Hours], several: bool) -> Vec<String> {
    let work = &supply.work;
    let mut all = supply.assumptions.clone();
    let alone = work.jobs().first().filter(|_| several && work.jobs().len() == 1);
    let of = alone.map_or_else(String::new, |job| format!("{}: ", job.name));
    all.extend(notices(work).into_iter().map(|notice| format!("{of}{}", notice.text)));
    match plan.status {
        Status::Proved => {}
        Status::Bounded => all.push(format!("{of}the choice of cylinders isn't proved to be the best")),
        Status::Short => all.push(SHORT.into()),
        Status::Undecided => all.push("no choice of cylinders was found in the time".into()),
    }
    for ((job, terms), hours) in work.jobs().iter().zip(terms).zip(hours) {
        let name = if several { format!("{}: ", job.name) } else { String::new() };
        all.extend(of_job(job, terms, hours).into_iter().map(|text| format!("{name}{text}")));
        if job.terms.rules.us() {
            all.extend(levels(job).into_iter().map(|text| format!("{name}{text}")));
        }
    }
    all
}

/// What every quote rests on.
pub(super) fn general(several: bool) -> Vec<String> {
    let mut all = Vec::new();
    if several {
        all.push("each job is counted with its own travel, set-up and paperwork".into());
    }
    all.push(
        "carrying, cylinder changes and labels are counted one after the other, beside no recovery; liquid and \
         vapour of a system together are rounded up to a minute"
            .into(),
    );
    all.push(
        "low, likely and high are all lows, all likely figures and all highs summed; none of them is a forecast. The low \
         charge is the least that is stated, the likely one the middle, the high one what is planned for"
            .into(),
    );
    all
}

fn of_job(job: &Job, terms: &Terms, hours: &Hours) -> Vec<String> {
    let labour = &terms.labour;
    let unit = job.terms.scale.division.unit();
    let mut all = Vec::new();
    let counts = [
        (labour.crew, format!("crew of {}", labour.crew())),
        (labour.machines, counted_machines(labour.machines())),
        (labour.floors, one_floor(job).to_owned()),
    ];
    all.extend(counts.into_iter().filter(|(stated, _)| stated.is_none()).map(|(_, what)| format!("{what}, assumed")));
    let mut figures: Vec<String> = Vec::new();
    for ((rate, origin), what) in [(labour.liquid_rate(), "liquid"), (labour.vapour_rate(), "vapour")] {
        if origin == Origin::Assumed {
            figures.push(format!("the machine's {what} rate {} a minute", unit.text(rate)));
        }
    }
    for line in FIGURES {
        let (range, origin) = labour.figure(line.figure);
        if origin == Origin::Assumed {
            let unit = match line.unit {
                FigureUnit::Minutes => "min",
                FigureUnit::Percent => "%",
            };
            figures.push(format!("{} {}..{}..{} {unit}", line.what, range.low, range.likely, range.high));
        }
    }
    if !figures.is_empty() {
        all.push(format!("assumed for the hours, {NO_SOURCE}: {}", figures.join("; ")));
    }
    if job.one_person.is_none() {
        all.push(format!(
            "one person lifts {}, assumed: {NO_SOURCE}; the NIOSH load constant for an ideal lift is 51 lb",
            unit.text(usual_one_person())
        ));
    }
    let (day, day_from) = labour.day();
    let of_day = hours_and_minutes(day);
    if hours.days.high > Decimal::ONE {
        let assumed = if day_from == Origin::Assumed { format!(", assumed, {NO_SOURCE}") } else { String::new() };
        all.push(format!(
            "more than fits into a working day of {of_day}{assumed} is done on further days, each with its travel and set-up"
        ));
    }
    let prices = &terms.prices;
    if prices.currency.is_some() {
        if prices.overtime.is_none() {
            all.push("no overtime is counted: the file states none".into());
        } else {
            all.push("hours of a day beyond the stated ones are overtime".into());
        }
        if prices.hire_days.is_none() && !prices.hire.is_empty() {
            all.push(format!("cylinders are hired for 7 days, or the days of the work, assumed: {NO_SOURCE}"));
        }
        if prices.contingency.is_none() {
            all.push("no contingency is counted: the file states none".into());
        }
    }
    all
}

/// How the one floor that is counted is passed.
fn one_floor(job: &Job) -> &'static str {
    match job.access {
        None | Some(Access::Level) => "carried over level ground",
        Some(Access::Stairs) => "carried over the stairs of one floor",
        Some(Access::Ladder) => "carried over the ladder of one floor",
        Some(Access::Hoist) => "carried by hoist over one floor",
    }
}

fn counted_machines(machines: u32) -> String {
    if machines == 1 { "one recovery machine".into() } else { format!("{machines} recovery machines") }
}

/// The level that each system is pulled down to, one line for all that go to the same.
fn levels(job: &Job) -> Vec<String> {
    let mut levels: Vec<(&str, Vec<&str>)> = Vec::new();
    for system in &job.systems {
        let level = system.evacuation().level;
        match levels.iter_mut().find(|(known, _)| *known == level) {
            Some((_, systems)) => systems.push(&system.name),
            None => levels.push((level, vec![&system.name])),
        }
    }
    let line = |(level, systems): (&str, Vec<&str>)| {
        format!(
            "pulled down to {level}: {} (40 CFR 82.156 table 1, by the charge without its allowance; class by the \
             pressure at 104 F, 40 CFR 82.152 from memory)",
            systems.join(", ")
        )
    };
    levels.into_iter().map(line).collect()
}
