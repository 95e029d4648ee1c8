//! One cylinder of a yard, from YAML or CSV.

use jiff::civil::Date;
use jiff::{Span, ToSpan};

use super::fields::{Fields, Findings, Value};
use super::refrigerants::{Known, MOST_PARTS};
use super::shape::{Holds, KeyRule, Shape, may, must, words};
use super::source::{Mark, Source};
use super::today::Latest;
use super::tree::Node;
use crate::cylinder::{ByLedger, Condition, Contents, Cylinder, Facts, Id, Measured, TestPeriod, doubts, in_range};
use crate::problem::{Code, Problem};
use crate::quantity::{A_TEMPERATURE, Decimal, Unit, Weight};

/// The keys of a cylinder, and the columns of a CSV yard.
pub(super) static SHAPE: Shape = Shape {
    what: "a cylinder",
    keys: &[
        must("id", Holds::Text, "What stands on its tape or shoulder; no two alike."),
        must("tare", Holds::Weight, "Empty weight, as stamped (TW)."),
        must("water_capacity", Holds::Weight, "Weight of the water that fills it, as stamped (WC)."),
        must("gross", Holds::Weight, "What the scale shows now, contents included."),
        must(
            "holds",
            Holds::NameOr(&CONTENTS),
            "What is in it: a refrigerant, also where only its vapour is left, or one of the words.",
        ),
        may("condition", Holds::OneOf(|| words(&CONDITIONS)), "Of what is, or was last, in it; default clean."),
        may("mark", Holds::Text, "Specification and service pressure as stamped, such as DOT-4BA400."),
        may("service_pressure", Holds::Pressure, "Where the mark doesn't say it."),
        may("test_pressure", Holds::Pressure, "Under UN rules, where the mark doesn't imply it."),
        may(
            "pressure",
            Holds::Pressure,
            "Measured now, with `temperature`; too high means air or another refrigerant.",
        ),
        may("temperature", Holds::Quantity(A_TEMPERATURE), "At which `pressure` was measured."),
        may("tested", Holds::Month, "Last test; good through the month five years on."),
        may("due", Holds::Month, "Month through which the test is good; with `tested` the earlier end counts."),
        may("made", Holds::Month, "Made; for a first period, where it was never tested again."),
        may("max_gross", Holds::Weight, "From its own label, where it has one."),
        may("flammable", Holds::Flag, "Whether it is meant for flammable refrigerant; default false."),
        may("damage", Holds::Text, "What you saw; a damaged cylinder isn't filled."),
        may(
            "remark",
            Holds::Text,
            "What somebody wrote about it; words such as leak, do not use, burnout, customer or ? hold it out.",
        ),
        may("remark_settled", Holds::Flag, "Somebody has looked: its remark doesn't hold it out; default false."),
        may("owner", Holds::Text, "Whose the contents are; without it they are for reclaim only."),
        may("kept_for", Holds::Text, "The job whose reuse lot it holds."),
        may("may_contain", Holds::Names(MOST_PARTS), "For `holds: mixed`: every refrigerant that may be in it."),
        may("confirmed", Holds::Flag, "Somebody has read doubtful numbers off the stamp again; default false."),
        may("cleaned", Holds::Flag, "Cleaned after a burnout; default false."),
    ],
    rules: &[
        KeyRule::Needs("pressure", "temperature"),
        KeyRule::Needs("temperature", "pressure"),
        KeyRule::Only("may_contain", "holds", "mixed"),
    ],
};

/// What a cylinder may hold beside a refrigerant.
const CONTENTS: [&str; 4] = ["evacuated", "nitrogen", "unknown", "mixed"];
/// Conditions of a cylinder: mixed is a kind of contents.
const CONDITIONS: [(Condition, &str); 3] = [
    (Condition::Clean, Condition::Clean.name()),
    (Condition::Wet, Condition::Wet.name()),
    (Condition::Burnout, Condition::Burnout.name()),
];
/// Years from one test to the next, or from making to the first: 5 for 4B, 4BA and 4BW unless a relief applies,
/// 49 CFR 180.209(a).
const PERIOD: i16 = 5;
/// Years of the longest relief, 49 CFR 180.209(e).
const LONGEST_PERIOD: i16 = 12;

/// What to do about a number outside its range.
const AGAIN: &str = "read the number off the cylinder or the scale again";

/// What a yard is read with.
#[derive(Clone, Copy)]
pub(super) struct RowContext<'a> {
    /// The unit of bare weights.
    pub unit: Unit,
    /// Refrigerants that the jobs bring.
    pub known: &'a Known,
    /// No test can be later than this.
    pub latest: Latest<'a>,
}

/// A cylinder that was read, or what is wrong with it.
pub(super) struct Row {
    pub id: Option<Id>,
    pub mark: Option<Mark>,
    pub cylinder: Option<Cylinder>,
    pub problems: Vec<Problem>,
    /// What is doubtful about its stamp: a reason to leave it out, and told of at once where the file is refused anyway.
    pub doubts: Vec<Problem>,
}

/// Reads one cylinder. Its problems are kept with it.
pub(super) fn read(node: &Node, at: Option<Mark>, terms: RowContext, source: &Source) -> Row {
    let mut found = Findings::new(source);
    let Some(fields) = Fields::open(node, at, &SHAPE, &mut found) else {
        let mark = node.mark().or(at);
        return Row { id: None, mark, cylinder: None, problems: found.problems, doubts: Vec::new() };
    };
    let id = fields.read("id", &mut found, Value::text).map(Id::from);
    let mut doubtful = Findings::new(source);
    let facts = facts(fields, id.clone(), terms, &mut found, &mut doubtful);
    let cylinder = facts.and_then(|facts| checked(facts, fields, &mut found));
    Row {
        id,
        mark: fields.mark("id"),
        cylinder: cylinder.filter(|_| found.problems.is_empty()),
        problems: found.problems,
        doubts: doubtful.problems,
    }
}

fn checked(facts: Facts, fields: Fields, found: &mut Findings) -> Option<Cylinder> {
    let errors = match Cylinder::new(facts) {
        Ok(cylinder) => return Some(cylinder),
        Err(errors) => errors,
    };
    for error in errors {
        fields.outside(error.key, error.range, AGAIN, found);
    }
    None
}

/// The facts as far as they can be read; every part is read before a missing one ends it.
fn facts(
    fields: Fields,
    id: Option<Id>,
    terms: RowContext,
    found: &mut Findings,
    doubtful: &mut Findings,
) -> Option<Facts> {
    // Each range is held at once, so that a number is told of in the same round as a word that can't be read.
    let weight = |value: Value, found: &mut Findings| {
        let weight = value.weight(Some(terms.unit), found)?;
        let fits = in_range(value.key, weight).map_err(|error| fields.outside(error.key, error.range, AGAIN, found));
        fits.is_ok().then_some(weight)
    };
    let tare = fields.read("tare", found, weight);
    let water_capacity = fields.read("water_capacity", found, weight);
    let gross = fields.read("gross", found, weight);
    let max_gross = fields.read("max_gross", found, weight);
    if let Some((tare, gross)) = tare.zip(gross) {
        slipped_point(fields, tare, gross, terms.unit, found);
    }
    let contents = contents(fields, terms, found);
    let condition = fields.read("condition", found, |value, found| value.word(&CONDITIONS, found));
    let mark = fields.read("mark", found, Value::stamp);
    let service_pressure = fields.read("service_pressure", found, Value::pressure);
    let test_pressure = fields.read("test_pressure", found, Value::pressure);
    let measured = measured(fields, found);
    let test = test_period(fields, terms.latest, found);
    let flammable = fields.read("flammable", found, Value::flag);
    let damage = fields.read("damage", found, Value::text_if_any);
    let remark = fields.read("remark", found, Value::remark);
    let remark_settled = fields.read("remark_settled", found, Value::flag);
    let owner = fields.read("owner", found, Value::text_if_any);
    let kept_for = fields.read("kept_for", found, Value::text_if_any);
    let confirmed = fields.read("confirmed", found, Value::flag);
    if let Some((tare, capacity)) = tare.zip(water_capacity).filter(|_| confirmed != Some(true)) {
        for doubt in doubts(tare, capacity, terms.unit) {
            let hint = "read TW and WC off the stamp; where they really are these, say `confirmed: true`";
            doubtful.add(Code::DoubtfulStamp, fields.mark("water_capacity"), &doubt, hint);
        }
    }
    let cleaned = fields.read("cleaned", found, Value::flag);
    Some(Facts {
        id: id?,
        tare: tare?,
        water_capacity: water_capacity?,
        gross: gross?,
        contents: contents?,
        condition: condition.unwrap_or(Condition::Clean),
        owner,
        kept_for,
        mark,
        service_pressure,
        test_pressure,
        measured,
        test,
        max_gross,
        flammable: flammable.unwrap_or(false),
        damage,
        remark,
        remark_settled: remark_settled.unwrap_or(false),
        confirmed: confirmed.unwrap_or(false),
        cleaned: cleaned.unwrap_or(false),
        ledger: ByLedger::default(),
    })
}

/// A gross of ten times the tare: no cylinder holds so much, and a decimal point slips easily. Within 2 %, what an evacuated
/// cylinder may be over its tare.
fn slipped_point(fields: Fields, tare: Weight, gross: Weight, unit: Unit, found: &mut Findings) {
    let times = |tenths: i64| tare.times(Decimal::new(tenths, 1));
    if gross < times(98) || gross > times(102) {
        return;
    }
    let (typed, meant) = (unit.text(gross), unit.text(gross.times(Decimal::new(1, 1))));
    let message = format!("gross: ten times the tare, {}; {typed} for {meant}?", unit.text(tare));
    let hint = "read the scale and the tare again: a decimal point is lost or in the wrong place";
    found.add(Code::OutOfRange, fields.mark("gross"), &message, hint);
}

fn contents(fields: Fields, terms: RowContext, found: &mut Findings) -> Option<Contents> {
    let contents = fields.read("holds", found, |value, found| {
        let text = value.text(found)?;
        match text.to_lowercase().as_str() {
            "evacuated" => Some(Contents::Evacuated),
            "nitrogen" => Some(Contents::Nitrogen),
            "unknown" => Some(Contents::Unknown),
            "mixed" => Some(Contents::Mixed(Vec::new())),
            "empty" => {
                let message = "`empty` may mean evacuated, a holding charge of nitrogen, or the vapour that is left";
                let hint = "write `evacuated`, `nitrogen`, `unknown`, or which refrigerant's vapour is in it";
                value.problem(Code::HoldsEmpty, message, hint, found);
                None
            }
            _ => terms.known.find_or(value, &CONTENTS, found).map(Contents::Holds),
        }
    });
    let parts = terms.known.list(fields, "may_contain", found);
    match contents {
        Some(Contents::Mixed(_)) => Some(Contents::Mixed(parts)),
        Some(_) if !parts.is_empty() => {
            let message = "`may_contain` is for a cylinder that holds a mixture";
            let hint = "write `holds: mixed`, or leave `may_contain` away";
            found.add(Code::ConflictingKeys, fields.mark("may_contain"), message, hint);
            None
        }
        contents => contents,
    }
}

/// A measured pressure with the temperature that it was measured at: one says nothing without the other.
fn measured(fields: Fields, found: &mut Findings) -> Option<Measured> {
    let pressure = fields.read("pressure", found, Value::pressure);
    let at = fields.read("temperature", found, Value::temperature);
    for (key, other) in [("pressure", "temperature"), ("temperature", "pressure")] {
        if fields.has(key) && !fields.has(other) {
            let message = format!("`{key}` is given without `{other}`; a measured pressure needs both");
            found.add(Code::MissingKey, fields.mark(key), &message, "give both, or neither");
        }
    }
    Some(Measured { pressure: pressure?, at: at? })
}

/// The test that counts: `due`, or the month five years after `tested` or else `made`; the earlier where both are
/// given, because longer periods need a refrigerant that is known to be dry and free of acid.
fn test_period(fields: Fields, latest: Latest, found: &mut Findings) -> Option<TestPeriod> {
    let past = |value: Value, found: &mut Findings| {
        let since = value.month(latest, false, found)?;
        if !latest.allows(|day| since.first_of_month() <= day) {
            let text = value.leaf.text.trim();
            let message = format!("`{text}` lies in the future; expected a month up to {}", month(latest.day()));
            value.problem(Code::BadDate, &message, "read the date off the cylinder again", found);
            return None;
        }
        Some(since)
    };
    let tested = fields.read("tested", found, past);
    let made = fields.read("made", found, past);
    let due = fields.read("due", found, |value, found| value.month(latest, true, found));
    if let Some((made, tested)) = made.zip(tested).filter(|(made, tested)| tested < made) {
        let message = format!("tested: {} lies before it was made, {}", month(tested), month(made));
        found.add(Code::BadDate, fields.mark("tested"), &message, "read both dates off the cylinder again");
        return None;
    }
    let since = tested.or(made);
    match (due, since) {
        (Some(due), _) => {
            let within = |tested| years_after(tested, LONGEST_PERIOD).is_some_and(|longest| due <= longest);
            let can_be = match since {
                Some(since) => due >= since.first_of_month() && within(since),
                None => latest.allows(within),
            };
            if !can_be {
                let message = format!("due: {} can't be; a test is due at most {LONGEST_PERIOD} years on", month(due));
                found.add(Code::BadDate, fields.mark("due"), &message, "read the date off the cylinder again");
                return None;
            }
            let usual = since.map_or(Some(due), |since| years_after(since, PERIOD))?;
            Some(TestPeriod { since, good_through: due.min(usual) })
        }
        (None, Some(since)) => Some(TestPeriod { since: Some(since), good_through: years_after(since, PERIOD)? }),
        (None, None) => None,
    }
}

/// The end of the month so many years on.
fn years_after(since: Date, years: i16) -> Option<Date> {
    let span: Span = years.years();
    since.checked_add(span).ok().map(Date::last_of_month)
}

fn month(date: Date) -> String {
    date.strftime("%Y-%m").to_string()
}
