//! The embedded table: one line for a refrigerant, read only when it is asked for.

use super::curve::{DensityCurve, PressureCurve};
use super::{Component, Grade, Origin, Record, Refrigerant, SafetyGroup, TableFacts};
use crate::quantity::Temperature;
use rust_decimal::Decimal;

/// Its columns are described at its top.
const TABLE: &str = include_str!("data/table.txt");

/// The lines that hold a refrigerant.
pub(super) fn lines() -> impl Iterator<Item = &'static str> {
    TABLE.lines().filter(|line| !line.starts_with('#'))
}

/// The name at the start of a line.
pub(super) fn name_of(line: &'static str) -> &'static str {
    line.split('|').next().unwrap_or_default()
}

/// The chemical names in a line.
pub(super) fn chemical_names_of(line: &'static str) -> impl Iterator<Item = &'static str> {
    line.split('|').nth(8).unwrap_or_default().split(';').filter(|name| !name.is_empty())
}

/// The refrigerant of a line; `None` where the line isn't one of the table's form.
pub(super) fn read(line: &'static str) -> Option<Refrigerant> {
    let columns: Vec<&str> = line.split('|').collect();
    let &[name, group, grade, critical, molar_mass, parts, mass, un, _, marks, points] = columns.as_slice() else {
        return None;
    };
    let critical: f64 = critical.parse().ok()?;
    let (density, pressure) = read_points(points, critical)?;
    let mut marks = marks.split(',');
    let facts = TableFacts {
        grade: read_grade(grade)?,
        molar_mass: molar_mass.parse().ok()?,
        composition: read_composition(parts, mass)?,
        un_number: if un == "-" { None } else { Some(un.parse().ok()?) },
        chemical_names: chemical_names_of(line).collect(),
        composition_mark: marks.next()?,
        group_mark: marks.next()?,
        un_mark: marks.next()?,
    };
    Some(Refrigerant::from(Record {
        name: name.to_owned(),
        group: if group == "-" { None } else { Some(group.parse::<SafetyGroup>().ok()?) },
        critical: Some(Temperature::from_kelvin(critical)),
        density,
        pressure,
        origin: Origin::Table(facts),
    }))
}

fn read_grade(text: &str) -> Option<Grade> {
    [Grade::A, Grade::B, Grade::C].into_iter().find(|grade| grade.to_string() == text)
}

fn read_composition(parts: &str, mass: &str) -> Option<Vec<Component>> {
    let names: Vec<&str> = parts.split('/').collect();
    let shares: Vec<Decimal> = mass.split('/').map(str::parse).collect::<Result<_, _>>().ok()?;
    let sums_up = shares.iter().sum::<Decimal>() == Decimal::ONE_HUNDRED && names.len() == shares.len();
    let component = |(name, mass_percent): (&str, Decimal)| Component { name: format!("R-{name}"), mass_percent };
    sums_up.then(|| names.into_iter().zip(shares).map(component).collect())
}

/// `temperature density pressure` in °C, kg/m³ and kPa, separated by semicolons.
fn read_points(text: &str, critical: f64) -> Option<(DensityCurve, PressureCurve)> {
    let (mut densities, mut pressures) = (Vec::new(), Vec::new());
    for point in text.split(';') {
        let numbers: Vec<f64> = point.split(' ').map(str::parse).collect::<Result<_, _>>().ok()?;
        let &[celsius, density, kilopascal] = numbers.as_slice() else {
            return None;
        };
        let kelvin = Temperature::from_celsius(celsius).kelvin();
        densities.push((kelvin, density));
        pressures.push((kelvin, kilopascal * 1000.0));
    }
    Some((DensityCurve::cubic(densities, critical)?, PressureCurve::new(&pressures)?))
}

/// What a mark of the table stands for.
pub(super) fn mark_in_words(mark: &str) -> Option<&'static str> {
    match mark {
        "lists" => Some("two independent public copies of the ASHRAE 34 list, which agree"),
        "handbook" => Some("2021 ASHRAE Handbook Fundamentals, chapter 29"),
        "disputed" => Some(
            "from memory (tables of Standard 34, mechanical codes); a handbook copy says A1; the more dangerous counts until \
             the standard itself is seen",
        ),
        "read" => Some("dangerous-goods lists; confirm against the current text"),
        "memory" => Some("from memory; confirm against the current text"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_line_is_read() {
        for line in lines() {
            assert!(read(line).is_some(), "{}", name_of(line));
        }
        assert!(lines().count() > 190);
    }

    #[test]
    fn a_spoiled_line_is_not_read() {
        let line = lines().next().unwrap();
        for (from, to) in
            [("|A1|", "|A7|"), ("|100|", "|99|"), (";-35 ", ";-45 "), ("-40 16", "-40 6"), ("|A|", "||A|")]
        {
            let spoiled = line.replacen(from, to, 1);
            assert_ne!(spoiled, line, "{from}");
            assert!(read(Box::leak(spoiled.into_boxed_str())).is_none(), "{from}");
        }
    }
}
