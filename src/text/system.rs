//! The systems of a job file.

use super::fields::{Fields, Findings, Value};
use super::refrigerants::{Known, MOST_PARTS};
use super::shape::{Holds, KeyRule, Shape, may, must, words};
use super::source::Mark;
use crate::cylinder::{Condition, Fate};
use crate::job::{Allowance, Basis, Charge, System, SystemError, SystemFacts};
use crate::problem::Code;
use crate::quantity::{A_PERCENT, Unit, Weight};
use crate::refrigerant::Fluid;

pub(super) static SHAPE: Shape = Shape {
    what: "a system",
    keys: &[
        must("name", Holds::Text, "What it is called on site; no two of a job alike."),
        may(
            "refrigerant",
            Holds::Text,
            "What is in it, such as R-404A; with `condition: mixed` what it was charged with.",
        ),
        may("nameplate", Holds::Weight, "The charge on its plate; or `charge`, where nobody knows."),
        may("added", Holds::Weight, "What was added in the field; default nothing."),
        may("allowance", Holds::Quantity(AN_ALLOWANCE), "On top, for what nobody wrote down; default nothing."),
        may(
            "charge",
            Holds::Number("a weight, or a range such as 180..230 lb"),
            "In place of `nameplate`; planned for the high end.",
        ),
        may("basis", Holds::OneOf(|| words(&Basis::ALL)), "What the `charge` rests on."),
        may("fill", Holds::Quantity(A_PERCENT), "Lower than the job's, where much oil is expected."),
        may(
            "condition",
            Holds::OneOf(|| words(&Condition::ALL)),
            "Of the charge; default clean. Burnout and mixed can't be for reuse.",
        ),
        may("fate", Holds::OneOf(|| words(&Fate::ALL)), "What becomes of it; default reclaim."),
        may("may_contain", Holds::Names(MOST_PARTS), "For `condition: mixed`: every refrigerant that may be in it."),
    ],
    rules: &[
        KeyRule::Either("nameplate", "charge"),
        KeyRule::Needs("charge", "basis"),
        KeyRule::Apart("added", "charge"),
        KeyRule::Needs("basis", "charge"),
        KeyRule::Unless("refrigerant", "condition", "mixed"),
        KeyRule::Only("may_contain", "condition", "mixed"),
    ],
};
const AN_ALLOWANCE: &str = "per cent or a weight, such as 5 % or 10 lb";

/// A valid system, with the places that later problems of it are shown at.
pub(super) struct Read {
    pub system: System,
    pub name: Option<Mark>,
    pub refrigerant: Option<Mark>,
}

/// The systems of a job that are valid; the problems of the others are among the findings.
pub(super) fn read(job: Fields, unit: Unit, known: &Known, found: &mut Findings) -> Vec<Read> {
    job.each("systems", found, |fields, found| one(fields, unit, known, found))
}

fn one(fields: Fields, unit: Unit, known: &Known, found: &mut Findings) -> Option<Read> {
    let name = fields.read("name", found, Value::text);
    let charge = charge(fields, unit, found);
    let allowance = fields.read("allowance", found, allowance);
    let fill = fields.read("fill", found, Value::percent);
    let condition = fields.read("condition", found, |value, found| value.word(&Condition::ALL, found));
    let fate = fields.read("fate", found, |value, found| value.word(&Fate::ALL, found));
    let condition = condition.unwrap_or(Condition::Clean);
    let fluid = fluid(fields, condition, known, found);
    let facts = SystemFacts {
        name: name?,
        fluid: fluid?,
        charge: charge?,
        allowance: allowance.unwrap_or(Allowance::Weight(Weight::ZERO)),
        fill,
        condition,
        fate: fate.unwrap_or(Fate::Reclaim),
    };
    match System::new(facts) {
        Ok(system) => Some(Read {
            system,
            name: fields.mark("name"),
            refrigerant: fields.mark(if fields.has("refrigerant") { "refrigerant" } else { "may_contain" }),
        }),
        Err(errors) => {
            errors.iter().for_each(|error| refused(error, fields, found));
            None
        }
    }
}

fn refused(error: &SystemError, fields: Fields, found: &mut Findings) {
    let (code, hint) = match error {
        SystemError::Weight { key, range } => {
            fields.outside(key, range, "check the number", found);
            return;
        }
        SystemError::Fill { .. } => (Code::OutOfRange, "liquid may never take more than 80 % of a cylinder"),
        SystemError::Reuse { .. } => (Code::NoReuse, "write `fate: reclaim` or `fate: destroy`"),
        SystemError::Allowance { .. } => (Code::OutOfRange, "check the number"),
        SystemError::Contents => (Code::ConflictingKeys, "write `condition: mixed` with `may_contain`, or neither"),
        SystemError::Refused { .. } => (Code::RefusedGas, "plan it apart, with equipment made for it"),
    };
    found.add(code, fields.mark(error.key()), &error.to_string(), hint);
}

/// An allowance has to say its unit: a bare 5 may be per cent or pounds.
fn allowance(value: Value, found: &mut Findings) -> Option<Allowance> {
    let text = value.leaf.text.trim();
    if text.ends_with('%') || text.ends_with("percent") || text.ends_with("per cent") {
        return value.percent(found).map(Allowance::Share);
    }
    if !text.is_empty() && text.chars().all(|c| c.is_ascii_digit() || c == '.') {
        let message = format!("`{text}` may be per cent or a weight; expected one of them, such as 5 % or 10 lb");
        value.problem(Code::MissingUnit, &message, "write the unit behind the number", found);
        return None;
    }
    value.weight(None, found).map(Allowance::Weight)
}

fn charge(fields: Fields, unit: Unit, found: &mut Findings) -> Option<Charge> {
    let weight = |value: Value, found: &mut Findings| value.weight(Some(unit), found);
    if !fields.has("charge") {
        if fields.has("basis") {
            let message = "`basis` is for a `charge` that is estimated";
            found.add(Code::ConflictingKeys, fields.mark("basis"), message, "leave it away beside a `nameplate`");
        }
        if !fields.has("nameplate") {
            fields.missing("nameplate", ", and no `charge` in its place", found);
        }
        let nameplate = fields.read("nameplate", found, weight);
        let added = fields.read("added", found, weight);
        return nameplate.map(|nameplate| Charge::Recorded { nameplate, added: added.unwrap_or(Weight::ZERO) });
    }
    for key in ["nameplate", "added"] {
        if fields.has(key) {
            let message = format!("`{key}` and `charge` exclude each other");
            let hint = "keep `nameplate` and `added` where they are known, or else `charge` with its `basis`";
            found.add(Code::ConflictingKeys, fields.mark(key), &message, hint);
        }
    }
    let span = fields.read("charge", found, |value, found| value.span(Some(unit), found));
    if !fields.has("basis") {
        fields.missing("basis", "", found);
    }
    let basis = fields.read("basis", found, |value, found| value.word(&Basis::ALL, found));
    span.zip(basis).map(|(span, basis)| Charge::Estimated { span, basis })
}

fn fluid(fields: Fields, condition: Condition, known: &Known, found: &mut Findings) -> Option<Fluid> {
    let named = fields.read("refrigerant", found, |value, found| known.find(value, found));
    let parts = known.list(fields, "may_contain", found);
    if condition != Condition::Mixed {
        if !parts.is_empty() {
            let message = "`may_contain` is for a mixed charge";
            let hint = "write `condition: mixed`, or leave `may_contain` away";
            found.add(Code::ConflictingKeys, fields.mark("may_contain"), message, hint);
        }
        if !fields.has("refrigerant") {
            fields.missing("refrigerant", "", found);
        }
        return named.map(Fluid::One);
    }
    let mut all: Vec<_> = named.into_iter().collect();
    all.extend(parts.into_iter().filter(|part| !all.contains(part)).collect::<Vec<_>>());
    // Where one name couldn't be read the list is short for another reason, which is told already.
    let complete = !fields.has("refrigerant") && !fields.has("may_contain") || !all.is_empty();
    if all.len() < 2 && complete {
        let message = "a mixed charge needs the names of at least two refrigerants that may be in it";
        let hint = "identify it first; then name each under `may_contain`";
        found.add(Code::UnidentifiedMix, fields.mark("condition"), message, hint);
        return None;
    }
    Some(Fluid::Mixed(all))
}
