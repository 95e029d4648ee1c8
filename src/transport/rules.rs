//! The rules of the road, as reminders: each in one line of a closed list, with its paragraph.
//!
//! They remind; they don't judge. Paragraphs are to be confirmed against their current text.

use super::{Departure, Manifest, RoadRules, Truck};
use crate::cylinder::Id;
use crate::job::Work;
use crate::plan::Plan;
use crate::quantity::{Decimal, Division, Marks, Weight};
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
    pub said: Sentence,
}

/// A sentence whose weights can be shown in more than one unit.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sentence(Vec<Said>);

#[derive(Debug, Clone, PartialEq, Eq)]
enum Said {
    Words(String),
    /// What is there, in whole divisions of the jobs' scale.
    Weight(Marks),
}

impl Sentence {
    fn of(words: impl Into<String>) -> Self {
        Self(vec![Said::Words(words.into())])
    }

    fn words(mut self, words: impl Into<String>) -> Self {
        self.0.push(Said::Words(words.into()));
        self
    }

    fn weight(mut self, marks: Marks) -> Self {
        self.0.push(Said::Weight(marks));
        self
    }

    /// Cylinders with their weights: `B-1 (279.7 lb), B-2 (230.0 lb)`.
    fn cylinders<'c>(self, cylinders: impl IntoIterator<Item = &'c (Id, Marks)>) -> Self {
        let each = cylinders.into_iter().enumerate();
        each.fold(self, |sentence, (index, (cylinder, gross))| {
            let before = if index == 0 { "" } else { ", " };
            sentence.words(format!("{before}{cylinder} (")).weight(*gross).words(")")
        })
    }

    /// The sentence with its weights on this scale and, rounded up, on `beside` too.
    pub fn text(&self, division: Division, beside: Option<Division>) -> String {
        let said = |said: &Said| match (said, beside) {
            (Said::Words(words), _) => words.clone(),
            (Said::Weight(marks), None) => division.text(*marks),
            (Said::Weight(marks), Some(to)) => {
                format!("{} = {}", division.text(*marks), to.text(to.ceil(division.weight(*marks))))
            }
        };
        self.0.iter().map(said).collect()
    }
}

/// A weight of hazardous material on one vehicle from which more is asked of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RoadLimit {
    /// The code of its reminder.
    pub code: &'static str,
    /// Where it stands.
    pub source: &'static str,
    /// What is so from there on.
    pub text: &'static str,
}

/// The limits that so much hazardous material on one vehicle is over: 440 lb (49 CFR 173.6(d)) and, from it, 1,001 lb
/// (49 CFR 172.504(c)).
pub fn over_on_the_road(load: Weight) -> Vec<RoadLimit> {
    let whole = RoadLimit {
        code: "whole-vehicle",
        source: "49 CFR 173.6(d)",
        text: "over 440 lb (200 kg): outside the materials-of-trade exception",
    };
    let placards = RoadLimit {
        code: "placards",
        source: "49 CFR 172.504(c)",
        text: "1,001 lb (454 kg) or more: placards, and a driver with the endorsement",
    };
    let mut over = Vec::new();
    over.extend((load > pounds(WHOLE_VEHICLE)).then_some(whole));
    over.extend((load >= pounds(PLACARDS)).then_some(placards));
    over
}

/// What a rule is asked about.
struct Day<'a> {
    work: &'a Work,
    plan: &'a Plan,
    truck: &'a Truck,
    manifest: &'a Manifest,
}

type Rule = (&'static str, &'static str, fn(&Day) -> Option<Sentence>);

/// What stands in no text that was read.
const CONFIRM: &str = "from memory: confirm against the current text";

const RULES: &[Rule] = &[
    ("one-cylinder", "49 CFR 173.6(a)(2)", one_cylinder),
    ("whole-vehicle", "49 CFR 173.6(d)", whole_vehicle),
    ("placards", "49 CFR 172.504(c)", placards),
    ("endorsement", CONFIRM, endorsement),
    ("within-exception", "49 CFR 173.6", within_exception),
    ("operator", "49 CFR 173.6(c), from memory: confirm against the current text", operator),
    ("papers", "49 CFR part 172, from memory", papers),
    ("secured", "49 CFR 177.840(a)(1)", secured),
    ("ignition", "common practice, no source", ignition),
    ("other-hazmat", "49 CFR 173.6(d)", other_hazmat),
];

/// The codes of all reminders, in the order in which they are given.
pub const REMINDERS: [&str; 10] = {
    let mut codes = [""; 10];
    let mut index = 0;
    while index < 10 {
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
            .filter_map(|(code, source, find)| find(&day).map(|said| Reminder { code, source, said }))
            .collect(),
    }
}

fn pounds(number: u32) -> Weight {
    Weight::pounds(Decimal::from(number))
}

impl Day<'_> {
    fn weight(&self, marks: Marks) -> Weight {
        self.work.division().weight(marks)
    }

    /// What the truck leaves, in words.
    fn place(&self, job: Option<usize>) -> String {
        let name = job.and_then(|job| self.work.jobs().get(job)).map(|job| job.name.clone());
        name.unwrap_or_else(|| "the yard".into())
    }

    /// Cylinders over the most that one may weigh, where the truck leaves with them first.
    fn over(&self) -> Vec<(&Departure, Vec<&(Id, Marks)>)> {
        let mut named: Vec<&Id> = Vec::new();
        let mut over = Vec::new();
        for departure in &self.manifest.departures {
            let heavy = departure.holding.iter().filter(|(_, gross)| self.weight(*gross) > pounds(ONE_CYLINDER));
            let new: Vec<&(Id, Marks)> = heavy.filter(|(id, _)| !named.contains(&id)).collect();
            named.extend(new.iter().map(|(id, _)| id));
            if !new.is_empty() {
                over.push((departure, new));
            }
        }
        over
    }

    fn is_outside(&self) -> bool {
        !self.over().is_empty() || self.weight(self.manifest.most_hazardous()) > pounds(WHOLE_VEHICLE)
    }

    /// Where the truck is first heavier with hazardous material, or as heavy.
    fn first_at(&self, is_so: impl Fn(Weight) -> bool) -> Option<&Departure> {
        self.manifest.departures.iter().find(|departure| is_so(self.weight(departure.hazardous)))
    }
}

fn one_cylinder(day: &Day) -> Option<Sentence> {
    let over = day.over();
    if over.is_empty() {
        return None;
    }
    let mut said = Sentence::default();
    for (index, (departure, cylinders)) in over.into_iter().enumerate() {
        let before = if index == 0 { "" } else { "; " };
        let place = day.place(departure.job);
        said = said.words(before).cylinders(cylinders).words(format!(" on leaving {place}"));
    }
    Some(said.words(": over 220 lb (100 kg) in one cylinder the day is outside the materials-of-trade exception"))
}

fn whole_vehicle(day: &Day) -> Option<Sentence> {
    let first = day.first_at(|hazardous| hazardous > pounds(WHOLE_VEHICLE))?;
    Some(Sentence::default().weight(first.hazardous).words(format!(
        " of hazardous material on leaving {}: over 440 lb (200 kg) together the day is outside the materials-of-trade \
         exception",
        day.place(first.job)
    )))
}

fn placards(day: &Day) -> Option<Sentence> {
    let first = day.first_at(|hazardous| hazardous >= pounds(PLACARDS))?;
    Some(Sentence::default().weight(first.hazardous).words(format!(
        " on leaving {}: from 1,001 lb (454 kg) of Division 2.1 and 2.2 material the vehicle carries placards",
        day.place(first.job)
    )))
}

fn endorsement(day: &Day) -> Option<Sentence> {
    placards(day).map(|_| Sentence::of("with placards the driver needs the hazardous-materials endorsement"))
}

fn within_exception(day: &Day) -> Option<Sentence> {
    let stated = if day.truck.other_hazmat.is_none() { "as far as is stated, " } else { "" };
    (!day.is_outside()).then(|| {
        Sentence::of("at most ").weight(day.manifest.most_hazardous()).words(format!(
            " of hazardous material together (440 lb, 200 kg) and none over 220 lb (100 kg) in one cylinder: {stated}within \
             the weights of the materials-of-trade exception; its other conditions still hold"
        ))
    })
}

fn operator(day: &Day) -> Option<Sentence> {
    let most = day.manifest.most_hazardous();
    (!day.is_outside() && most > 0).then(|| {
        Sentence::of(
            "the operator of the vehicle knows that the material is aboard, what is asked of it, and what it \
                      weighs, ",
        )
        .weight(most)
        .words(" at most; cylinders marked and labelled, valves closed and protected")
    })
}

fn papers(day: &Day) -> Option<Sentence> {
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
    Some(Sentence::of(format!(
        "ask about shipping papers, emergency information, marking and labels, and trained drivers for: {}",
        numbers.join(", ")
    )))
}

fn numbered(refrigerant: &Refrigerant) -> String {
    match (refrigerant.un_entry(), refrigerant.un_source()) {
        (Some(entry), Some(source)) => format!("{} UN {entry} ({source})", refrigerant.name()),
        (Some(entry), None) => format!("{} UN {entry}", refrigerant.name()),
        (None, _) => format!("{} (UN number: ask)", refrigerant.name()),
    }
}

fn secured(_: &Day) -> Option<Sentence> {
    Some(Sentence::of(
        "cylinders upright, or lying and blocked, racked or boxed, so that none can shift, turn over or be thrown out; \
         of flammable gas the relief device stays in the vapour space, so upright",
    ))
}

fn ignition(day: &Day) -> Option<Sentence> {
    let burning: Vec<&str> =
        day.manifest.aboard.iter().filter(|one| one.flammable).map(|one| one.cylinder.as_str()).collect();
    (!burning.is_empty()).then(|| {
        Sentence::of(format!("{}: flammable, apart from every source of ignition, with air", burning.join(", ")))
    })
}

fn other_hazmat(day: &Day) -> Option<Sentence> {
    match day.truck.other_hazmat {
        None => Some(Sentence::of(
            "nothing states what hazardous material is on the truck already (torch gas, new refrigerant, oil): its \
             gross weight comes on top of these figures",
        )),
        Some(weight) if weight.is_positive() => {
            let said = Sentence::default().weight(day.work.division().ceil(weight));
            Some(said.words(
                " of other hazardous material is counted, as the truck file states; whether each piece of it is within \
                 its own limit isn't looked at",
            ))
        }
        Some(_) => None,
    }
}
