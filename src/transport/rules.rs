//! The rules of the road, as reminders: each in one line of a closed list, with its paragraph.
//!
//! They remind; they don't judge. Paragraphs are to be confirmed against their current text.

use super::{Manifest, RoadRules, Truck};
use crate::job::Work;
use crate::plan::Plan;
use crate::quantity::{Decimal, Weight};
use crate::refrigerant::Refrigerant;

/// The most that one cylinder may weigh as a material of trade, gross: 220 lb, 49 CFR 173.6(a)(2).
const ONE_CYLINDER: u32 = 220;
/// The most that all hazardous materials of a vehicle may weigh as materials of trade: 440 lb, 49 CFR 173.6(d).
const WHOLE_VEHICLE: u32 = 440;
/// The gross weight of Table 2 materials from which placards stand on the vehicle: 1,001 lb, 49 CFR 172.504(c).
const PLACARDS: u32 = 1_001;

/// A rule of the road that concerns this day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reminder {
    /// Its stable code.
    pub code: &'static str,
    /// Where it stands.
    pub source: &'static str,
    /// A sentence, with the figures of this day.
    pub text: String,
}

/// What a rule is asked about.
struct Day<'a> {
    work: &'a Work,
    plan: &'a Plan,
    truck: &'a Truck,
    manifest: &'a Manifest,
}

type Rule = (&'static str, &'static str, fn(&Day) -> Option<String>);

const RULES: [Rule; 8] = [
    ("one-cylinder", "49 CFR 173.6(a)(2)", one_cylinder),
    ("whole-vehicle", "49 CFR 173.6(d)", whole_vehicle),
    ("placards", "49 CFR 172.504(c)", placards),
    ("within-exception", "49 CFR 173.6", within_exception),
    ("papers", "49 CFR part 172, from memory", papers),
    ("secured", "49 CFR 177.840(a)(1)", secured),
    ("ignition", "common practice, no source", ignition),
    ("other-hazmat", "49 CFR 173.6(d)", other_hazmat),
];

/// The codes of all reminders, in the order in which they are given.
pub const REMINDERS: [&str; 8] = {
    let mut codes = [""; 8];
    let mut index = 0;
    while index < 8 {
        codes[index] = RULES[index].0;
        index += 1;
    }
    codes
};

/// The reminders for this day; none where no country's rules are asked for.
pub(super) fn reminders(work: &Work, plan: &Plan, truck: &Truck, manifest: &Manifest) -> Vec<Reminder> {
    let day = Day { work, plan, truck, manifest };
    match truck.rules {
        RoadRules::None => Vec::new(),
        RoadRules::Us => RULES
            .iter()
            .filter_map(|(code, source, find)| find(&day).map(|text| Reminder { code, source, text }))
            .collect(),
    }
}

fn pounds(number: u32) -> Weight {
    Weight::pounds(Decimal::from(number))
}

impl Day<'_> {
    fn text(&self, marks: i64) -> String {
        self.work.division().text(marks)
    }

    fn weight(&self, marks: i64) -> Weight {
        self.work.division().weight(marks)
    }

    /// What the truck leaves, in words.
    fn place(&self, job: Option<usize>) -> String {
        let name = job.and_then(|job| self.work.jobs().get(job)).map(|job| job.name.clone());
        name.unwrap_or_else(|| "the yard".into())
    }

    fn is_one_over(&self) -> bool {
        let heaviest = self.manifest.departures.iter().filter_map(|departure| departure.heaviest.as_ref());
        heaviest.into_iter().any(|(_, gross)| self.weight(*gross) > pounds(ONE_CYLINDER))
    }

    fn is_outside(&self) -> bool {
        self.is_one_over() || self.weight(self.manifest.most_hazardous()) > pounds(WHOLE_VEHICLE)
    }
}

fn one_cylinder(day: &Day) -> Option<String> {
    let over = |departure: &&super::Departure| {
        departure.heaviest.as_ref().is_some_and(|(_, gross)| day.weight(*gross) > pounds(ONE_CYLINDER))
    };
    let first = day.manifest.departures.iter().find(over)?;
    let (cylinder, gross) = first.heaviest.as_ref()?;
    Some(format!(
        "{cylinder} weighs {} on leaving {}: over {ONE_CYLINDER} lb in one cylinder the day is outside the \
         materials-of-trade exception",
        day.text(*gross),
        day.place(first.job)
    ))
}

fn whole_vehicle(day: &Day) -> Option<String> {
    let over = |departure: &&super::Departure| day.weight(departure.hazardous) > pounds(WHOLE_VEHICLE);
    let first = day.manifest.departures.iter().find(over)?;
    Some(format!(
        "{} of hazardous material on leaving {}: over {WHOLE_VEHICLE} lb together the day is outside the \
         materials-of-trade exception",
        day.text(first.hazardous),
        day.place(first.job)
    ))
}

fn placards(day: &Day) -> Option<String> {
    let from = |departure: &&super::Departure| day.weight(departure.hazardous) >= pounds(PLACARDS);
    let first = day.manifest.departures.iter().find(from)?;
    Some(format!(
        "{} on leaving {}: from 1,001 lb of Division 2.1 and 2.2 material the vehicle carries placards",
        day.text(first.hazardous),
        day.place(first.job)
    ))
}

fn within_exception(day: &Day) -> Option<String> {
    (!day.is_outside()).then(|| {
        format!(
            "at most {} of hazardous material together ({WHOLE_VEHICLE} lb) and none over {ONE_CYLINDER} lb in one \
             cylinder: {}within the weights of the materials-of-trade exception; its other conditions, marking among \
             them, still hold",
            day.text(day.manifest.most_hazardous()),
            if day.truck.other_hazmat.is_none() { "as far as is stated, " } else { "" }
        )
    })
}

fn papers(day: &Day) -> Option<String> {
    if !day.is_outside() {
        return None;
    }
    let mut numbers: Vec<String> = Vec::new();
    let held = day
        .manifest
        .aboard
        .iter()
        .filter_map(|one| day.work.yard().iter().find(|cylinder| cylinder.id == one.cylinder)?.contents.fluid());
    let lots = day.work.lots().iter().filter(|lot| day.plan.loads.iter().any(|load| load.lot == lot.name));
    let fluids: Vec<_> = held.chain(lots.map(|lot| lot.intake.fluid.clone())).collect();
    for refrigerant in fluids.iter().flat_map(|fluid| fluid.contents()) {
        let line = numbered(refrigerant);
        if !numbers.contains(&line) {
            numbers.push(line);
        }
    }
    Some(format!(
        "ask about shipping papers, emergency information, marking and labels, and trained drivers for: {}",
        numbers.join(", ")
    ))
}

fn numbered(refrigerant: &Refrigerant) -> String {
    match (refrigerant.un_entry(), refrigerant.un_source()) {
        (Some(entry), Some(source)) => format!("{} UN {entry} ({source})", refrigerant.name()),
        (Some(entry), None) => format!("{} UN {entry}", refrigerant.name()),
        (None, _) => format!("{} (UN number: ask)", refrigerant.name()),
    }
}

fn secured(_: &Day) -> Option<String> {
    Some(
        "cylinders upright, or lying and blocked, racked or boxed, so that none can shift, turn over or be thrown out; \
         of flammable gas the relief device stays in the vapour space, so upright"
            .into(),
    )
}

fn ignition(day: &Day) -> Option<String> {
    let burning: Vec<&str> =
        day.manifest.aboard.iter().filter(|one| one.flammable).map(|one| one.cylinder.as_str()).collect();
    (!burning.is_empty())
        .then(|| format!("{}: flammable, apart from every source of ignition, with air", burning.join(", ")))
}

fn other_hazmat(day: &Day) -> Option<String> {
    match day.truck.other_hazmat {
        None => Some(
            "nothing states what hazardous material is on the truck already (torch gas, new refrigerant, oil): its \
             gross weight comes on top of these figures"
                .into(),
        ),
        Some(weight) if weight.is_positive() => Some(format!(
            "{} of other hazardous material is counted, as the truck file states; whether each piece of it is within \
             its own limit isn't looked at",
            day.work.division().unit().text(weight)
        )),
        Some(_) => None,
    }
}
