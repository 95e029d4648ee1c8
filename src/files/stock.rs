//! The kinds of cylinder that a job can hire or buy.

use super::code::Code;
use super::fields::{Fields, Findings, Value};
use super::prices;
use super::source::Mark;
use super::tree::Node;
use crate::cylinder::{Condition, Contents, Cylinder, Facts};
use crate::estimate::Hire;
use crate::job::Kind;
use crate::quantity::Unit;

const KEYS: [&str; 8] = ["name", "tare", "water_capacity", "mark", "flammable", "count", "hire", "deposit"];
const MOST_KINDS: usize = 200;
const MOST_OF_A_KIND: u32 = 100_000;

/// The kinds under `stock:` that are valid, and into `hires` what their hire costs; the problems of the others are among
/// the findings.
pub(super) fn read(job: Fields, unit: Unit, found: &mut Findings, hires: &mut Vec<Hire>) -> Vec<Kind> {
    let mut kinds: Vec<Kind> = Vec::new();
    let at = job.mark("stock");
    for node in job.list("stock", MOST_KINDS, found) {
        let Some((kind, mark)) = one(node, at, unit, found, hires) else {
            continue;
        };
        if kinds.iter().any(|earlier| earlier.name == kind.name) {
            let message = format!("two kinds of cylinder are named \"{}\"", kind.name);
            found.add(Code::DuplicateName, mark, &message, "give each a name of its own");
        } else {
            kinds.push(kind);
        }
    }
    kinds
}

fn one(
    node: &Node,
    at: Option<Mark>,
    unit: Unit,
    found: &mut Findings,
    hires: &mut Vec<Hire>,
) -> Option<(Kind, Option<Mark>)> {
    let fields = Fields::open(node, at, "a kind of cylinder", &KEYS, found)?;
    let weight = |value: Value, found: &mut Findings| value.weight(Some(unit), found);
    let name = fields.need("name", found, Value::text);
    let tare = fields.need("tare", found, weight);
    let water_capacity = fields.need("water_capacity", found, weight);
    let mark = fields.read("mark", found, Value::stamp);
    let flammable = fields.read("flammable", found, Value::flag);
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
        count,
    };
    in_range(&kind, fields, found).then_some((kind, fields.mark("name")))
}

/// Whether a cylinder of this kind could be: the ranges are those of any cylinder.
fn in_range(kind: &Kind, fields: Fields, found: &mut Findings) -> bool {
    let errors = Cylinder::new(Facts {
        id: kind.name.clone(),
        tare: kind.tare,
        water_capacity: kind.water_capacity,
        gross: kind.tare,
        contents: Contents::Evacuated,
        condition: Condition::Clean,
        owner: None,
        kept_for: None,
        mark: kind.mark.clone(),
        service_pressure: None,
        test_pressure: None,
        measured: None,
        test: None,
        max_gross: None,
        flammable: kind.flammable,
        damage: None,
        confirmed: false,
        cleaned: false,
    });
    let errors = errors.err().unwrap_or_default();
    for error in errors.iter().filter(|error| error.key != "gross") {
        fields.outside(error.key, error.range, "read it off a cylinder of this kind", found);
    }
    errors.is_empty()
}
