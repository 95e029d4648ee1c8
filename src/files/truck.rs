//! A truck file: what it may carry, and what is on it already.

use std::path::Path;

use super::code::Code;
use super::fields::{Fields, Findings, Value};
use super::job::texts;
use super::problem::Problems;
use super::source::Source;
use super::yaml;
use crate::quantity::Unit;
use crate::transport::{RoadRules, Truck, TruckFacts};

const KEYS: [&str; 7] = ["truck", "units", "payload", "tools", "other_hazmat", "rules", "carries"];

/// Reads a truck file.
///
/// # Errors
/// Every problem of the file.
pub fn read_truck(path: &Path) -> Result<Truck, Problems> {
    let source = Source::read(path)?;
    let node = yaml::read(&source)?;
    let mut found = Findings::new(&source);
    let truck = Fields::open(&node, None, "a truck", &KEYS, &mut found).and_then(|fields| read(fields, &mut found));
    match (Problems::of(found.problems), truck) {
        (Some(problems), _) => Err(problems),
        (None, Some(truck)) => Ok(truck),
        (None, None) => Err(source.whole(Code::Empty, "nothing of a truck is in the file", "name it").into()),
    }
}

fn read(fields: Fields, found: &mut Findings) -> Option<Truck> {
    let name = fields.need("truck", found, Value::text);
    let unit = fields.need("units", found, Value::unit).unwrap_or(Unit::Lb);
    let weight = |value: Value, found: &mut Findings| value.weight(Some(unit), found);
    let facts = TruckFacts {
        name: name.unwrap_or_default(),
        payload: fields.read("payload", found, weight),
        tools: fields.read("tools", found, weight),
        other_hazmat: fields.read("other_hazmat", found, weight),
        rules: fields.read("rules", found, |value, found| value.word(&RoadRules::ALL, found)).unwrap_or(RoadRules::Us),
        carries: texts(fields, "carries", found),
    };
    match Truck::new(facts) {
        Ok(truck) => Some(truck),
        Err(errors) => {
            errors.iter().for_each(|error| fields.outside(error.key, error.range, "check the number", found));
            None
        }
    }
}
