//! A cylinder as a row that an entry keeps, and back: every fact that a yard can say, exactly.

use std::path::Path;

use super::forms::weight_text;
use crate::cylinder::{Contents, Cylinder, Facts};
use crate::ledger::{CylinderState, Row};
use crate::problem::Problems;
use crate::quantity::{GaugePressure, Temperature, Unit, parse_pressure, parse_temperature};
use crate::text::refrigerants::Known;
use crate::text::row::{self, RowContext};
use crate::text::source::Source;
use crate::text::today::Latest;
use crate::text::tree::{Entry, Leaf, Node, Typed};

/// What problems of a row call the file that it stands in.
const FILE: &str = "the ledger";

/// A cylinder as a row; weights in this unit where they are numbers of it.
pub fn row_of(cylinder: &Cylinder, unit: Unit) -> Row {
    let weight = |weight| weight_text(weight, Some(unit));
    let mut stamped = vec![
        ("tare", Some(weight(cylinder.tare))),
        ("water_capacity", Some(weight(cylinder.water_capacity))),
        ("mark", cylinder.mark.as_ref().map(|mark| mark.text().to_owned())),
        ("service_pressure", cylinder.service_pressure.map(pressure)),
        ("test_pressure", cylinder.test_pressure.map(pressure)),
        ("pressure", cylinder.measured.map(|measured| pressure(measured.pressure))),
        ("temperature", cylinder.measured.map(|measured| temperature(measured.at))),
        ("tested", cylinder.test.and_then(|test| test.since).map(|since| since.to_string())),
        ("due", cylinder.test.map(|test| test.good_through.to_string())),
        ("max_gross", cylinder.max_gross.map(weight)),
        ("damage", cylinder.damage.clone()),
        ("remark", cylinder.remark.clone()),
    ];
    let flags = [
        ("flammable", cylinder.flammable),
        ("remark_settled", cylinder.remark_settled),
        ("confirmed", cylinder.confirmed),
    ];
    stamped.extend(flags.map(|(key, flag)| (key, flag.then(|| "true".to_owned()))));
    let stamped = stamped.into_iter().filter_map(|(key, value)| Some((key.to_owned(), value?))).collect();
    Row { id: cylinder.id.clone(), stamped, state: state_of(cylinder) }
}

/// The state of a cylinder.
pub fn state_of(cylinder: &Cylinder) -> CylinderState {
    let (holds, may_contain) = match &cylinder.contents {
        Contents::Evacuated => ("evacuated", Vec::new()),
        Contents::Nitrogen => ("nitrogen", Vec::new()),
        Contents::Unknown => ("unknown", Vec::new()),
        Contents::Mixed(parts) => ("mixed", parts.iter().map(|part| part.name().to_owned()).collect()),
        Contents::Holds(refrigerant) => (refrigerant.name(), Vec::new()),
    };
    CylinderState {
        gross: cylinder.gross,
        holds: holds.to_owned(),
        may_contain,
        condition: cylinder.condition,
        owner: cylinder.owner.clone(),
        kept_for: cylinder.kept_for.clone(),
        cleaned: cylinder.cleaned,
    }
}

/// A row as a cylinder, by the rules of a yard. `known` are refrigerants beside those of the table; no test can be later
/// than `latest`.
///
/// # Errors
/// Every problem of the row.
pub fn cylinder_of(row: &Row, known: &Known, latest: Latest) -> Result<Cylinder, Problems> {
    let state = &row.state;
    let mut keys: Vec<Entry> = row.stamped.iter().map(|(key, value)| entry(key, text(value))).collect();
    keys.push(entry("id", text(row.id.as_str())));
    keys.push(entry("gross", text(&weight_text(state.gross, None))));
    keys.push(entry("holds", text(&state.holds)));
    if !state.may_contain.is_empty() {
        keys.push(entry("may_contain", Node::List(state.may_contain.iter().map(|part| text(part)).collect())));
    }
    keys.push(entry("condition", text(state.condition.name())));
    keys.extend(state.owner.as_deref().map(|owner| entry("owner", text(owner))));
    keys.extend(state.kept_for.as_deref().map(|job| entry("kept_for", text(job))));
    keys.push(entry("cleaned", text(if state.cleaned { "true" } else { "false" })));
    let source = Source::from_bytes(Path::new(FILE), format!("cylinder {}", row.id).into_bytes())?;
    // Every weight has its unit: this one is asked of none.
    let terms = RowContext { unit: Unit::Lb, known, latest };
    let read = row::read(&Node::Map(keys), None, terms, &source);
    match (read.cylinder, Problems::of(read.problems)) {
        (Some(cylinder), None) => Ok(cylinder),
        (_, Some(problems)) => Err(problems),
        (None, None) => {
            Err(source.whole(crate::problem::Code::WrongShape, "the row can't be read", "see above").into())
        }
    }
}

/// A cylinder with what the ledger says is in it; what is stamped on it stays its own.
///
/// # Errors
/// A state that no cylinder can have, such as a refrigerant that isn't known here.
pub fn with_state(
    cylinder: &Cylinder,
    state: &CylinderState,
    known: &Known,
    latest: Latest,
) -> Result<Cylinder, Problems> {
    let row = Row { state: state.clone(), ..row_of(cylinder, Unit::Lb) };
    let read = cylinder_of(&row, known, latest)?;
    let facts = Facts {
        gross: read.gross,
        contents: read.contents.clone(),
        condition: read.condition,
        owner: read.owner.clone(),
        kept_for: read.kept_for.clone(),
        cleaned: read.cleaned,
        ..(**cylinder).clone()
    };
    // Its numbers have been checked in `read`, and the others in `cylinder`.
    Ok(Cylinder::new(facts).unwrap_or(read))
}

fn text(text: &str) -> Node {
    Node::Leaf(Leaf { text: text.to_owned(), typed: Typed::Text, mark: None, unit: None })
}

fn entry(key: &str, value: Node) -> Entry {
    Entry { key: key.to_owned(), mark: None, value }
}

/// Decimals of a pressure or a temperature that are read.
const DECIMALS: i32 = 6;

/// A unit with the number of it in a value.
type NumberIn<T> = (&'static str, fn(T) -> f64);

/// A text from which the same value is read, of the first unit in which there is one.
fn same<T: PartialEq + Copy>(value: T, units: &[NumberIn<T>], read: impl Fn(&str) -> Option<T>) -> String {
    let texts = units.iter().map(|(unit, number)| {
        let scale = 10_f64.powi(DECIMALS);
        format!("{} {unit}", (number(value) * scale).round() / scale)
    });
    let texts: Vec<String> = texts.collect();
    let same = texts.iter().find(|text| read(text) == Some(value));
    same.or(texts.first()).cloned().unwrap_or_default()
}

fn pressure(pressure: GaugePressure) -> String {
    let units: [NumberIn<GaugePressure>; 6] = [
        ("psig", GaugePressure::psig),
        ("bar", GaugePressure::bar),
        ("kPa", |pressure| pressure.bar() * 100.0),
        ("psia", |pressure| GaugePressure::from_pascal(pressure.absolute().pascal()).psig()),
        ("bara", |pressure| pressure.absolute().bar()),
        ("kPaa", |pressure| pressure.absolute().bar() * 100.0),
    ];
    same(pressure, &units, |text| parse_pressure(text).ok().map(|pressure| pressure.gauge()))
}

fn temperature(temperature: Temperature) -> String {
    let units: [NumberIn<Temperature>; 3] =
        [("F", Temperature::fahrenheit), ("C", Temperature::celsius), ("K", Temperature::kelvin)];
    same(temperature, &units, |text| parse_temperature(text).ok())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::cylinder::Condition;
    use crate::text::yard;

    fn yard(text: &str, unit: &str) -> Vec<Cylinder> {
        let text = text.replace("UNIT", unit);
        let source = Source::from_bytes(Path::new("yard.yaml"), text.into_bytes()).unwrap();
        yard::read_as(Some("yaml"), &source, &Known::default(), date(2026, 12, 1).into(), false).unwrap().cylinders
    }

    /// Every key that a cylinder can have, in every unit that it may be typed in.
    const YARD: &str = "units: UNIT\ncylinders:\n\
        - {id: A, tare: 27.9 lb, water_capacity: 47.7 lb, gross: 27.9 lb, holds: evacuated}\n\
        - {id: B, tare: 28 lb 15.9 oz, water_capacity: 21.6371 kg, gross: 13123.4567 g, holds: R22, condition: wet, \
         mark: DOT-4BA400, tested: 2024-03, owner: \"us: \\\"we\\\"\", kept_for: Cold store, confirmed: true}\n\
        - {id: C, tare: 12.7 kg, water_capacity: 21.6 kg, gross: 463.9 oz, holds: mixed, may_contain: [R-12, R-22], \
         condition: burnout, cleaned: true, due: 2027-05, max_gross: 33.3 kg, flammable: true}\n\
        - {id: Kühl 7, tare: 27.9 lb, water_capacity: 47.7 lb, gross: 30 lb, holds: nitrogen, made: 2023-05-17, tested: \
         2024-02-29, due: 2025-01-31, service_pressure: 28 bar, test_pressure: 5516 kPa, pressure: 61.23 psia, \
         temperature: 21.3 C, damage: dented, remark: \"# looks odd?\", remark_settled: true}\n\
        - {id: E, tare: 27.9 lb, water_capacity: 47.7 lb, gross: 30 lb, holds: unknown, pressure: 3.123456 bara, \
         temperature: 291.234 K, service_pressure: 401.5 kPaa, test_pressure: 20.000001 psig}\n";

    #[test]
    fn a_cylinder_is_the_same_after_it_was_a_row() {
        for (name, unit) in [("lb", Unit::Lb), ("kg", Unit::Kg), ("lb-oz", Unit::LbOz)] {
            let all = yard(YARD, name);
            assert_eq!(all.len(), 5);
            for cylinder in all {
                let row = row_of(&cylinder, unit);
                let again = cylinder_of(&row, &Known::default(), date(2026, 12, 1).into()).unwrap();
                assert_eq!(again, cylinder, "{row:?}");
                assert_eq!(row_of(&again, unit), row);
                let same = with_state(&cylinder, &row.state, &Known::default(), date(2026, 12, 1).into());
                assert_eq!(same.unwrap(), cylinder);
            }
        }
    }

    #[test]
    fn a_state_is_put_on_a_cylinder_and_its_stamp_stays() {
        let all = yard(YARD, "lb");
        let state = CylinderState { condition: Condition::Burnout, ..state_of(&all[1]) };
        let put = with_state(&all[3], &state, &Known::default(), date(2026, 12, 1).into()).unwrap();
        assert_eq!(state_of(&put), state);
        assert_eq!(Facts { contents: all[3].contents.clone(), ..(*put).clone() }.id, all[3].id);
        assert_eq!((put.test, put.measured, &put.remark), (all[3].test, all[3].measured, &all[3].remark));
        let strange = CylinderState { holds: "R-9999".into(), ..state };
        assert!(with_state(&all[3], &strange, &Known::default(), date(2026, 12, 1).into()).is_err());
    }

    #[test]
    fn what_is_no_row_of_a_yard_is_refused() {
        let row = row_of(&yard(YARD, "lb")[1], Unit::Lb);
        let read = |row: &Row| cylinder_of(row, &Known::default(), date(2026, 12, 1).into());
        assert!(read(&row).is_ok());
        let without = |key: &str| Row {
            stamped: row.stamped.iter().filter(|(known, _)| known != key).cloned().collect(),
            ..row.clone()
        };
        assert!(read(&without("tare")).is_err() && read(&without("mark")).is_ok());
        let spoiled = Row { stamped: vec![("tare".into(), "twenty".into())], ..row.clone() };
        assert!(read(&spoiled).is_err());
        let unknown =
            Row { stamped: [row.stamped.clone(), vec![("colour".into(), "red".into())]].concat(), ..row.clone() };
        assert!(read(&unknown).is_err());
    }
}
