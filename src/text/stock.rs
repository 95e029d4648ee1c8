//! The kinds of cylinder that a job can hire or buy.

use jiff::civil::Date;

use super::fields::{Fields, Findings, Value};
use super::labour::MONEY;
use super::prices::{self, PERIODS};
use super::shape::{Holds, Shape, may, must, words};
use super::source::Mark;
use crate::cylinder::doubts;
use crate::estimate::Hire;
use crate::job::Kind;
use crate::problem::Code;
use crate::quantity::{Decimal, Unit};

pub(super) static SHAPE: Shape = Shape {
    what: "a kind of cylinder",
    keys: &[
        must("name", Holds::Text, "What it is called; no two alike."),
        must("tare", Holds::Weight, "Empty weight of such a cylinder."),
        must("water_capacity", Holds::Weight, "Weight of the water that fills it."),
        may("mark", Holds::Text, "Specification and service pressure, such as DOT-4BA400."),
        may("flammable", Holds::Flag, "Whether it is meant for flammable refrigerant; default false."),
        may("confirmed", Holds::Flag, "Somebody has read doubtful numbers off the stamp again; default false."),
        may("count", Holds::Count(0, MOST_OF_A_KIND), "How many can be had; default any number."),
        may("hire", Holds::Per(|| words(&PERIODS)), "What one costs."),
        may("deposit", Holds::Number(MONEY), "Of one, paid back."),
    ],
    rules: &[],
};
const MOST_OF_A_KIND: u32 = 100_000;

/// The kinds under `stock:` that are valid, and into `hires` what their hire costs; the problems of the others are among
/// the findings.
pub(super) fn read(job: Fields, unit: Unit, found: &mut Findings, hires: &mut Vec<Hire>) -> Vec<Kind> {
    let mut kinds: Vec<Kind> = Vec::new();
    for (kind, mark) in job.each("stock", found, |fields, found| one(fields, unit, found, hires)) {
        if kinds.iter().any(|earlier| earlier.name == kind.name) {
            let message = format!("two kinds of cylinder are named \"{}\"", kind.name);
            found.add(Code::DuplicateName, mark, &message, "give each a name of its own");
        } else {
            kinds.push(kind);
        }
    }
    kinds
}

fn one(fields: Fields, unit: Unit, found: &mut Findings, hires: &mut Vec<Hire>) -> Option<(Kind, Option<Mark>)> {
    let weight = |value: Value, found: &mut Findings| value.weight(Some(unit), found);
    let name = fields.read("name", found, Value::text);
    let tare = fields.read("tare", found, weight);
    let water_capacity = fields.read("water_capacity", found, weight);
    let mark = fields.read("mark", found, Value::stamp);
    let flammable = fields.read("flammable", found, Value::flag);
    let confirmed = fields.read("confirmed", found, Value::flag);
    let count = fields.read("count", found, |value, found| value.count(MOST_OF_A_KIND, found));
    let hire = fields.read("hire", found, |value, found| prices::hire(value, found));
    let deposit = fields.read("deposit", found, |value, found| value.amounts(found));
    if hire.is_some() || deposit.is_some() {
        let kind = name.clone().unwrap_or_default();
        hires.push(Hire { kind, price: hire.map(|(price, _)| price), days: hire.map_or(1, |(_, days)| days), deposit });
    }
    let kind = Kind {
        name: name?,
        tare: tare?,
        water_capacity: water_capacity?,
        mark,
        flammable: flammable.unwrap_or(false),
        confirmed: confirmed.unwrap_or(false),
        count,
        hire: hire.map(|(price, days)| price.likely / Decimal::from(days)),
    };
    (in_range(&kind, fields, found) && undoubted(&kind, unit, fields, found)).then_some((kind, fields.mark("name")))
}

/// Whether a cylinder of this kind could be: the ranges are those of any cylinder.
fn in_range(kind: &Kind, fields: Fields, found: &mut Findings) -> bool {
    let errors = kind.specimen(kind.name.clone(), Date::MAX).err().unwrap_or_default();
    for error in errors.iter().filter(|error| error.key != "gross") {
        fields.outside(error.key, error.range, "read it off a cylinder of this kind", found);
    }
    errors.is_empty()
}

/// Whether a cylinder can have both numbers of a kind. In a yard a doubtful cylinder is left out; a kind is nothing but its
/// numbers.
fn undoubted(kind: &Kind, unit: Unit, fields: Fields, found: &mut Findings) -> bool {
    let mut doubts = doubts(kind.tare, kind.water_capacity, unit);
    doubts.retain(|_| !kind.confirmed);
    for doubt in &doubts {
        let message = format!("{}: {doubt}", kind.name);
        let hint = "read TW and WC off such a cylinder; where they really are these, say `confirmed: true`";
        found.add(Code::DoubtfulStamp, fields.mark("water_capacity"), &message, hint);
    }
    doubts.is_empty()
}
