//! What is said before every report: cylinders in danger, and those that came over our fill or that we filled so.

use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};

use super::Block;
use crate::cylinder::{Alarm, Id, Level, Surplus};
use crate::plan::Reading;
use crate::quantity::{Division, Marks};

/// The cylinders that have to be told of: three more fields of every report that has read cylinders.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Alarms {
    dangers: Vec<AlarmLine>,
    over_fill: Vec<AlarmLine>,
}

/// As data: the sentences of each level, then every cylinder with its figures.
impl Serialize for Alarms {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Alarms", 3)?;
        let texts = |lines: &[AlarmLine]| -> Vec<String> { lines.iter().map(|line| line.text.clone()).collect() };
        fields.serialize_field("dangers", &texts(&self.dangers))?;
        fields.serialize_field("over_fill", &texts(&self.over_fill))?;
        fields.serialize_field("alarms", &self.dangers.iter().chain(&self.over_fill).collect::<Vec<_>>())?;
        fields.end()
    }
}

/// A report as data, with what is said before it.
#[derive(Debug, Serialize)]
pub struct WithAlarms<'a, R: Serialize> {
    /// The report.
    #[serde(flatten)]
    pub report: &'a R,
    /// What is said before it, where cylinders were read.
    #[serde(flatten)]
    pub alarms: Option<&'a Alarms>,
    /// What has to be said of the ledger.
    #[serde(rename = "of_ledger", skip_serializing_if = "<[String]>::is_empty")]
    pub ledger: &'a [String],
}

/// One cylinder with its sentence, and the figures in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
struct AlarmLine {
    cylinder: String,
    /// `danger` or `over-fill`, like the rule of fitness.
    level: &'static str,
    text: String,
    weighs: Reading,
    /// What it weighs over our limit; none where that isn't what is wrong.
    over: Option<Reading>,
    /// What has to come out, down to which reading, and into which cylinder.
    take: Option<Reading>,
    down_to: Option<Reading>,
    into: Option<String>,
    /// We put something into it.
    ours: bool,
    mixed: bool,
}

impl Alarms {
    /// These alarms as this scale shows them.
    pub fn new(division: Division, alarms: &[Alarm]) -> Self {
        let lines = |level: Level| {
            let alarms = alarms.iter().filter(|alarm| alarm.level == level);
            alarms.map(|alarm| line(division, alarm)).collect()
        };
        Self { dangers: lines(Level::Danger), over_fill: lines(Level::OverFill) }
    }

    /// As they stand before a report: each danger, what we filled too far, what came so.
    pub fn blocks(&self) -> Vec<Block> {
        let dangers = self.dangers.iter().map(|line| Block::Danger(line.text.clone()));
        let (ours, came): (Vec<&AlarmLine>, Vec<&AlarmLine>) = self.over_fill.iter().partition(|line| line.ours);
        let ours = ours.into_iter().map(|line| Block::Note(line.text.clone()));
        let came: Vec<String> = came.into_iter().map(|line| line.text.clone()).collect();
        let came = (!came.is_empty()).then_some(Block::List(came));
        dangers.chain(ours).chain(came).collect()
    }

    /// The cylinders in danger, each with its sentence.
    pub fn dangers(&self) -> impl Iterator<Item = (&str, &str)> {
        self.dangers.iter().map(|line| (line.cylinder.as_str(), line.text.as_str()))
    }

    /// The cylinders over our fill, each with its sentence.
    pub fn over_fill(&self) -> impl Iterator<Item = (&str, &str)> {
        self.over_fill.iter().map(|line| (line.cylinder.as_str(), line.text.as_str()))
    }

    /// What must not go unread: the cylinders in danger, and those that we filled too far.
    pub fn serious(&self) -> impl Iterator<Item = (&str, &str)> {
        let ours = self.over_fill.iter().filter(|line| line.ours);
        self.dangers.iter().chain(ours).map(|line| (line.cylinder.as_str(), line.text.as_str()))
    }
}

fn line(division: Division, alarm: &Alarm) -> AlarmLine {
    let reading = |marks: Marks| Reading::new(division, marks);
    let surplus = alarm.surplus.as_ref();
    let (level, text) = match alarm.level {
        Level::Danger => ("danger", danger(division, alarm)),
        Level::OverFill => ("over-fill", over_fill(division, alarm)),
    };
    AlarmLine {
        cylinder: alarm.cylinder.to_string(),
        level,
        text,
        weighs: reading(alarm.gross),
        over: surplus.map(|surplus| reading(surplus.over)),
        take: surplus.map(|surplus| reading(surplus.take)),
        down_to: surplus.map(|surplus| reading(surplus.down_to)),
        into: surplus.and_then(|surplus| Some(surplus.into.as_ref()?.to_string())),
        ours: alarm.ours,
        mixed: alarm.mixed,
    }
}

fn danger(division: Division, alarm: &Alarm) -> String {
    let id = &alarm.cylinder;
    let mut wrong = Vec::new();
    if !alarm.rules.is_empty() {
        wrong.push(format!("it weighs {}, {}", division.text(alarm.gross), alarm.rules));
    }
    if alarm.mixed {
        wrong.push("it has got refrigerant of more than one kind".into());
    }
    if alarm.no_limit {
        wrong.push("no limit can be computed for what is in it".into());
    }
    let mut said = format!("DANGER: {id}: {}. Shut the valve. Keep people and heat away.", wrong.join("; "));
    if let Some(surplus) = &alarm.surplus {
        said.push_str(&take_out(division, surplus, alarm.ours));
    }
    if alarm.mixed {
        said.push_str(" Label it mixed.");
    }
    if alarm.mixed || alarm.no_limit {
        said.push_str(" Put nothing more into it.");
    }
    said
}

fn over_fill(division: Division, alarm: &Alarm) -> String {
    let id = &alarm.cylinder;
    let over = alarm.surplus.as_ref().map_or_else(String::new, |surplus| division.text(surplus.over));
    if !alarm.ours {
        return format!("{id} came {over} over our fill: don't fill, keep it out of the sun.");
    }
    let out = alarm.surplus.as_ref().map_or_else(String::new, |surplus| take_out(division, surplus, true));
    format!(
        "OVER THE FILL: {id} weighs {}: we filled it {over} over our fill. Shut the valve: nothing more goes in. Keep it \
         out of the sun.{out}",
        division.text(alarm.gross)
    )
}

fn take_out(division: Division, surplus: &Surplus, ours: bool) -> String {
    let (take, down_to) = (division.text(surplus.take), division.text(surplus.down_to));
    let into = surplus.into.as_ref().map_or("an evacuated cylinder with room", Id::as_str);
    // Otherwise the next plan would take the other one for what it was.
    let then = if ours {
        ", and weigh both again, this one with --moved"
    } else {
        ", and write into the yard what both hold then"
    };
    format!(" Take at least {take} out, with the machine, on the scale, into {into}: down to {down_to} or less{then}.")
}
