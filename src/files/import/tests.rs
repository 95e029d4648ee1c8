//! Lists as people keep them, held against the yard that comes out.
#![allow(clippy::unwrap_used, clippy::panic)]

use jiff::civil::{Date, date};
use proptest::prelude::*;

use super::{Import, Imported, import_yard};
use crate::cylinder::{Condition, Contents};
use crate::files::tests::folder;
use crate::files::{Code, LoadedYard, Problems, read_yard};
use crate::quantity::{Unit, Weight};

const TODAY: Date = date(2026, 12, 1);

fn import(text: &str, unit: Option<Unit>, chosen: &[(&str, &str)]) -> Result<Imported, Problems> {
    let folder = folder(&[("list.csv", text)]);
    let chosen: Vec<(String, String)> = chosen.iter().map(|(key, head)| ((*key).into(), (*head).into())).collect();
    import_yard(&Import { file: &folder.path().join("list.csv"), unit, chosen: &chosen, today: TODAY })
}

/// The yard as `yard` reads it from a file.
fn yard(imported: &Imported) -> LoadedYard {
    let folder = folder(&[("yard.yaml", &imported.text)]);
    read_yard(&folder.path().join("yard.yaml"), TODAY, false).unwrap_or_else(|problems| panic!("{problems}"))
}

fn codes(result: Result<Imported, Problems>) -> Vec<Code> {
    result.unwrap_err().iter().map(|problem| problem.code).collect()
}

fn pounds(text: &str) -> Weight {
    Weight::pounds(text.parse().unwrap())
}

const HEADS: &str = "Serial,Tare (lb),WC (lb),Gross (lb),Contents";

#[test]
fn lists_of_every_country_come_out_alike() {
    let comma = "Serial,Tare (lb),WC (lb),Gross (lb),Contents\nA-1,27.90,47.6,41.2,R-22\nA-2,28.1,47.5,28.1,\n";
    let texts = [
        (comma.to_owned(), "comma"),
        (comma.replace(',', ";"), "semicolon"),
        (comma.replace(',', "\t"), "tab"),
        (format!("\u{feff}{}", comma.replace('\n', "\r\n")), "comma"),
        (format!("Our cylinders, in November\n\n{comma}"), "comma"),
        (comma.replace("A-2", "\"A-2\"").replace('\n', "\r"), "comma"),
    ];
    for (text, between) in texts {
        let imported = import(&text, None, &[]).unwrap_or_else(|problems| panic!("{text:?}: {problems}"));
        assert_eq!((imported.between, imported.cylinders, imported.unsaid), (between, 2, 1), "{text:?}");
        assert!(imported.text.contains("    tare: 27.90\n"), "the digits stay as typed");
        let yard = yard(&imported);
        assert_eq!((yard.unit, yard.cylinders[0].id.as_str()), (Unit::Lb, "A-1"));
        assert_eq!((yard.cylinders[0].tare, yard.cylinders[0].gross), (pounds("27.9"), pounds("41.2")));
        assert_eq!(yard.cylinders[1].contents, Contents::Unknown, "what isn't said is unknown");
    }
}

#[test]
fn a_unit_that_nobody_said_is_an_error() {
    let text = "Serial,Tare,WC (kg),Gross,Contents\nA-1,12.70,21.5,12.70,evacuated\n";
    assert_eq!(codes(import(text, None, &[])), [Code::MissingUnit, Code::MissingUnit]);
    let imported = import(text, Some(Unit::Lb), &[]).unwrap();
    let text = &imported.text;
    assert!(text.contains("units: lb\n") && text.contains("    water_capacity: 21.5 kg\n"), "{text}");
    let units: Vec<_> = imported.columns.iter().map(|column| column.unit).collect();
    assert_eq!(units, [None, Some("lb"), Some("kg"), Some("lb"), None], "each column in its own");
    assert_eq!(yard(&imported).cylinders[0].tare, pounds("12.7"));
    let ounces = import("Serial,Tare,WC,Gross\nA-1,28 lb 6 oz,47 lb 8 oz,28,\n", Some(Unit::LbOz), &[]).unwrap();
    assert_eq!((ounces.cylinders, ounces.refused.len()), (0, 1), "a bare number isn't pounds and ounces");
}

#[test]
fn a_decimal_comma_is_said_to_be_one() {
    let problems = import("Serial;Tare (kg);WC (kg);Gross (kg)\nA-1;12,7;21,5;12,7\nA-2;12,7;21,5;12,7\n", None, &[]);
    let problems = problems.unwrap_err();
    let first = problems.iter().next().unwrap();
    assert_eq!((problems.count(), first.code), (3, Code::Comma));
    assert_eq!(first.place.as_ref().map(|place| (place.line, place.column)), Some((2, 5)));
    assert!(first.message.contains("decimal commas aren't read"), "{first}");
}

#[test]
fn what_could_be_two_things_is_neither_until_somebody_says() {
    let text = "Serial,Cyl #,Weight (lb),WC (lb),Gross (lb),Type\nA-1,7,28.0,47.6,28.0,R-22\n";
    let problems = import(text, None, &[]).unwrap_err().to_string();
    assert!(problems.contains("no column is taken as `id`, which a yard needs; it could be \"Serial\" or \"Cyl #\""));
    assert!(problems.contains("no column is taken as `tare`, which a yard needs; it could be \"Weight (lb)\""));
    let imported = import(text, None, &[("id", "Cyl #"), ("tare", "Weight (lb)")]).unwrap();
    let taken: Vec<_> = imported.columns.iter().map(|column| column.key).collect();
    assert_eq!(taken, [None, Some("id"), Some("tare"), Some("water_capacity"), Some("gross"), None]);
    assert_eq!(imported.columns[5].why, "could be holds or mark");
    let yard = yard(&imported);
    assert_eq!((yard.cylinders[0].id.as_str(), &yard.cylinders[0].contents), ("7", &Contents::Unknown));
    assert!(imported.text.contains("    # Serial: A-1\n") && imported.text.contains("    # Type: R-22\n"));
    assert_eq!(codes(import(text, None, &[("tara", "Weight (lb)"), ("tare", "Wt")])).len(), 2);
}

#[test]
fn rows_that_cannot_be_sure_are_refused_with_the_reason() {
    let text = format!(
        "{HEADS},Tested\nA-1,28,47.6,28,evacuated,6/7/2024\nA-2,28,47.6,28\nA-3,28,47.6,28,evacuated,2024-06,x\n\
         A-4,28,47.6,-1,evacuated,\na-5,28,47.6,28,,\nA-5,28,47.6,28,,\n,28,47.6,28,,\nA-6,28,47.6,0,,\n\
         A-7,=28,47.6,28,,\nA-8,28,47.6,28,R-611,\n\"A\n9\",28,47.6,28,,\nA-10,28,47.6,28,,2024-06,\n"
    );
    let imported = import(&text, None, &[]).unwrap();
    let refused: Vec<(usize, String)> = imported.refused.iter().map(|row| (row.line, row.reasons.join("; "))).collect();
    let expected = [
        (2, "may be 2024-06-07 or 2024-07-06"),
        (3, "the row has 4 cells, the heads are 6"),
        (4, "the row has 7 cells, the heads are 6"),
        (5, "negative"),
        (6, "it stands in line 7 too"),
        (7, "it stands in line 6 too"),
        (8, "a cylinder has no `id`"),
        (9, "gross: found `0`"),
        (10, "typed `=28`"),
        (11, "not taken into refillable recovery cylinders"),
        (12, "more than one line"),
    ];
    assert_eq!(refused.len(), expected.len(), "{refused:?}");
    for ((line, why), (expected_line, expected)) in refused.iter().zip(expected) {
        assert!(*line == expected_line && why.contains(expected), "{line}: {why}; expected {expected}");
    }
    assert_eq!(yard(&imported).cylinders.len(), 1);
}

#[test]
fn a_yard_of_ours_is_read_as_it_is_written() {
    let heads = "id,tare [lb],water_capacity [lb],gross [lb],holds,condition,damage,tested";
    let text = format!("{heads}\n'=A-1,28,47.6,40,R-22,burnout,a dent,2024-06\nA-2,28,47.6,40,R-22,dented,,2024-06\n");
    let imported = import(&text, None, &[]).unwrap();
    assert!(imported.columns.iter().all(|column| column.key.is_some()), "{:?}", imported.columns);
    // What isn't a condition is no condition, but a row that isn't taken.
    assert_eq!(imported.refused.iter().map(|row| row.line).collect::<Vec<_>>(), [3]);
    let yard = yard(&imported);
    assert_eq!((yard.cylinders[0].id.as_str(), yard.cylinders[0].condition), ("=A-1", Condition::Burnout));
    assert_eq!(yard.cylinders[0].damage.as_deref(), Some("a dent"));
}

#[test]
fn a_list_that_is_none_is_refused() {
    assert_eq!(codes(import("Monday,Tuesday\n1,2\n", None, &[])), [Code::WrongColumns]);
    assert_eq!(codes(import("Serial,Tare;WC,Gross\n1,2,3\n", None, &[])).first(), Some(&Code::MissingKey));
    assert_eq!(codes(import("a: b\n", None, &[])), [Code::WrongColumns]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// No bytes make a panic.
    #[test]
    fn any_bytes_are_a_list_or_are_refused(bytes in "(Serial|Tare \\(lb\\)|WC kg|Gross|[,;\t\n\"é=]|\\PC){0,60}") {
        let _ = import(&bytes, Some(Unit::Kg), &[("id", "Serial")]);
    }

    /// Whatever stands in the cells, what comes out is a yard, and no row is lost without a word.
    #[test]
    fn any_cells_make_a_yard_or_a_reason(rows in prop::collection::vec(prop::collection::vec("[ -~\n\té–]{0,9}|[0-9]{1,3}(\\.[0-9]{1,2})?|evacuated|R-22", 6), 0..6)) {
        let rows: String = rows.iter().map(|row| {
            let cells: Vec<String> = row.iter().map(|cell| format!("\"{}\"", cell.replace('"', "\"\"").replace(',', "."))).collect();
            cells.join(",") + "\n"
        }).collect();
        let text = format!("{HEADS},Notes\n{rows}");
        let imported = import(&text, None, &[]).unwrap();
        let lines = ::csv::ReaderBuilder::new().from_reader(text.as_bytes()).into_records().filter(|record| {
            record.as_ref().is_ok_and(|record| record.iter().any(|cell| !cell.trim().is_empty()))
        }).count();
        prop_assert_eq!(imported.cylinders + imported.refused.len(), lines);
        prop_assert_eq!(yard(&imported).cylinders.len(), imported.cylinders);
    }
}
