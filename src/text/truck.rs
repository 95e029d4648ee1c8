//! A truck file: what it may carry, and what is on it already.

use std::path::Path;

use super::fields::{Fields, Findings, Value};
use super::job::texts;
use super::shape::{Holds, Shape, may, must, words};
use super::source::Source;
use super::value::unit_words;
use super::yaml;
use crate::disk::Input;
use crate::problem::{Code, Problems};
use crate::quantity::Unit;
use crate::transport::{RoadRules, Truck, TruckFacts};

pub(super) static SHAPE: Shape = Shape {
    what: "a truck",
    keys: &[
        must("truck", Holds::Text, "What it is called."),
        must("units", Holds::OneOf(unit_words), "What a bare weight counts in; there is no default."),
        may("payload", Holds::Weight, "People, tools and load together; not checked where it isn't given."),
        may("tools", Holds::Weight, "People and all that is neither a cylinder nor other hazardous material."),
        may(
            "other_hazmat",
            Holds::Weight,
            "Gross of other hazardous material on board; reminded of where it isn't given.",
        ),
        may("rules", Holds::OneOf(|| words(&RoadRules::ALL)), "Whose rules of the road are reminded of; default us."),
        may("carries", Holds::Texts(100), "What is on it always, such as a fire extinguisher."),
    ],
    rules: &[],
};

/// Reads a truck file; returns the truck and what was read.
///
/// # Errors
/// Every problem of the file.
pub fn read_truck(path: &Path) -> Result<(Truck, Input), Problems> {
    let source = Source::read(path)?;
    let node = yaml::read(&source)?;
    let mut found = Findings::new(&source);
    let truck = Fields::open(&node, None, &SHAPE, &mut found).and_then(|fields| read(fields, &mut found));
    match (Problems::of(found.problems), truck) {
        (Some(problems), _) => Err(problems),
        (None, Some(truck)) => Ok((truck, source.input())),
        (None, None) => Err(source.whole(Code::Empty, "nothing of a truck is in the file", "name it").into()),
    }
}

fn read(fields: Fields, found: &mut Findings) -> Option<Truck> {
    let name = fields.read("truck", found, Value::text);
    let unit = fields.read("units", found, Value::unit).unwrap_or(Unit::Lb);
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

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::*;
    use crate::quantity::Weight;

    fn truck(text: &str) -> Result<Truck, Vec<Code>> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("truck.yaml");
        std::fs::write(&path, text).unwrap();
        let read = read_truck(&path).map(|(truck, _)| truck);
        read.map_err(|problems| problems.iter().map(|problem| problem.code).collect())
    }

    #[test]
    fn a_truck_is_read_as_it_is_typed() {
        let truck = truck(
            "truck: Van 7\nunits: lb\npayload: 2400\ntools: 400 kg\nother_hazmat: 45 lb\nrules: none\n\
             carries: [mats]\n",
        )
        .unwrap();
        assert_eq!(
            (truck.name.as_str(), truck.rules, truck.carries.as_slice()),
            ("Van 7", RoadRules::None, &["mats".into()][..])
        );
        assert_eq!(truck.payload, Some(Weight::pounds(2_400.into())));
        assert_eq!(truck.tools, Some(Weight::kilograms(400.into())));
        assert_eq!(truck.other_hazmat, Some(Weight::pounds(45.into())));
        let bare = super::tests::truck("truck: Van 8\nunits: kg\n").unwrap();
        assert_eq!((bare.payload, bare.other_hazmat, bare.rules), (None, None, RoadRules::Us));
    }

    #[test]
    fn what_a_truck_cannot_be_is_refused() {
        for (text, code) in [
            ("truck: Van\nunits: lb\npayload: 0\n", Code::OutOfRange),
            ("truck: Van\nunits: lb\ntools: 200000 lb\n", Code::OutOfRange),
            ("truck: Van\nunits: lb\nother_hazmat: -3 lb\n", Code::Negative),
            ("truck: Van\nunits: lb\nrules: un\n", Code::BadWord),
            ("truck: Van\n", Code::MissingKey),
            ("units: lb\n", Code::MissingKey),
            ("truck: Van\nunits: lb\nload: 3 lb\n", Code::UnknownKey),
            ("truck: Van\nunits: lb\ncarries: [{ a: b }]\n", Code::WrongShape),
            ("- Van\n", Code::WrongShape),
            ("\n", Code::Empty),
        ] {
            assert_eq!(truck(text).err(), Some(vec![code]), "{text}");
        }
    }
}
