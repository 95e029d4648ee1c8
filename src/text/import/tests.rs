//! Lists as people keep them, held against the yard that comes out.
#![allow(clippy::unwrap_used, clippy::panic)]

use jiff::civil::{Date, date};
use proptest::prelude::*;

use super::{Commas, Import, Imported, import_yard};
use crate::cylinder::{Condition, Contents};
use crate::problem::{Code, Problems};
use crate::quantity::{Unit, Weight};
use crate::text::tests::folder;
use crate::text::{LoadedYard, read_yard};

const TODAY: Date = date(2026, 12, 1);

fn import(text: &str, unit: Option<Unit>, chosen: &[(&str, &str)]) -> Result<Imported, Problems> {
    import_bytes(text.as_bytes(), unit, chosen)
}

fn import_bytes(bytes: &[u8], unit: Option<Unit>, chosen: &[(&str, &str)]) -> Result<Imported, Problems> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("list.csv"), bytes).unwrap();
    let chosen: Vec<(String, String)> = chosen.iter().map(|(key, head)| ((*key).into(), (*head).into())).collect();
    import_yard(&Import { file: &folder.path().join("list.csv"), unit, chosen: &chosen, today: TODAY })
}

/// A row that stands in the cell of another one would be lost without a word.
#[test]
fn a_quotation_mark_that_isnt_closed_takes_no_rows_with_it() {
    let heads = "Serial,Tare (lb),WC (lb),Gross (lb),Contents,Notes\n";
    for (rows, taken) in [
        // To the end of the list, and to the next quotation mark.
        ("A-1,27,47.6,27,evacuated,\"top shelf\nA-2,27,47.6,27,R-22,\nA-3,27,47.6,27,R-22,\n", 0),
        ("A-1,27,47.6,27,\"evacuated,\nA-2,27,47.6,27,\"R-22,\nA-3,27,47.6,27,R-22,\n", 1),
        (",,,,,\"Total on the shelf\nA-2,27,47.6,27,R-22,\n", 0),
        // A note of two lines.
        ("A-1,27,47.6,27,evacuated,\"top shelf,\nby the door, on the left\"\nA-2,27,47.6,27,R-22,\n", 2),
    ] {
        let imported = import(&format!("{heads}{rows}"), None, &[]).unwrap_or_else(|problems| panic!("{problems}"));
        let refused: Vec<&str> = imported.refused.iter().map(|row| row.reasons[0].as_str()).collect();
        assert_eq!((imported.cylinders, refused.len()), (taken, usize::from(taken < 2)), "{rows:?}");
        assert!(refused.iter().all(|why| why.contains("quotation mark")), "{refused:?}");
    }
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

/// Before, one comma in a number refused the whole file.
#[test]
fn a_decimal_comma_is_read_where_the_whole_column_has_it() {
    let list = "Serial;Tare (kg);WC (kg);Gross (kg);Test pressure\nA-1;12,7;21,5;12,70;55,2 bar\n\
                A-2;12,65;21,5;13;\nTOTAL;25;43;25;\n";
    let imported = import(list, None, &[]).unwrap();
    let commas: Vec<Commas> = imported.columns.iter().map(|column| column.commas).collect();
    assert_eq!(commas, [Commas::None, Commas::Decimal, Commas::Decimal, Commas::Doubtful, Commas::Decimal]);
    // Of the column in which not every number has one, the row that has one is refused: not the file.
    assert_eq!(imported.refused.iter().map(|row| row.line).collect::<Vec<_>>(), [2]);
    let why = &imported.refused[0].reasons;
    assert!(why.len() == 1 && why[0].contains("Gross (kg): `12,70`: only some numbers of the column"), "{why:?}");
    let yard = yard(&imported);
    assert_eq!((yard.cylinders[0].tare, yard.cylinders[0].gross), (kilograms("12.65"), kilograms("13")));
    let all = import(&list.replace(";13;", ";13,0;"), None, &[]).unwrap();
    assert!(all.refused.is_empty() && all.text.contains("    gross: 12.70\n"), "the digits stay as typed");
    // What may part thousands everywhere may be a pound or a thousand.
    let thousands = import("Serial;Tare (g);WC (g);Gross (g)\nA-1;12,700;21,500;12,700\n", None, &[]).unwrap();
    assert!(thousands.refused[0].reasons[0].contains("`12,700` may be 12.700 or 12700"), "{:?}", thousands.refused);
}

fn kilograms(text: &str) -> Weight {
    Weight::kilograms(text.parse().unwrap())
}

/// Before, each of these was `not-text`, and unmarked UTF-16 was a list without heads.
#[test]
fn a_list_is_read_whatever_it_was_saved_as() {
    let text = "Serial,Tare (lb),WC (lb),Gross (lb),Contents,Notes\nKüche-1,27.9,47.6,41.2,R-22,“valve” leaks\n";
    let utf_16 = |text: &str, of_unit: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(of_unit).collect::<Vec<u8>>();
    let single = |c: char| match c {
        '“' => 0x93,
        '”' => 0x94,
        c => u8::try_from(c).unwrap(),
    };
    let marked = format!("\u{FEFF}{text}");
    for (bytes, encoding) in [
        (text.as_bytes().to_vec(), "UTF-8"),
        (text.chars().map(single).collect(), "windows-1252 (latin-1)"),
        (utf_16(&marked, u16::to_le_bytes), "UTF-16LE"),
        (utf_16(&marked, u16::to_be_bytes), "UTF-16BE"),
        (utf_16(text, u16::to_le_bytes), "UTF-16LE"),
        (utf_16(text, u16::to_be_bytes), "UTF-16BE"),
    ] {
        let imported = import_bytes(&bytes, None, &[]).unwrap_or_else(|problems| panic!("{encoding}: {problems}"));
        assert_eq!(imported.encoding, encoding);
        let yard = yard(&imported);
        let cylinder = &yard.cylinders[0];
        assert_eq!((cylinder.id.as_str(), cylinder.remark.as_deref()), ("Küche-1", Some("“valve” leaks")));
    }
    for bytes in [&b"Serial,Tare\nK\x81,1\n"[..], b"\xFF\xFESS", "Serial,Gr\u{fc}n\n".as_bytes()]
        .map(|bytes| [bytes, b"\xFC"].concat())
    {
        assert_eq!(codes(import_bytes(&bytes, None, &[])), [Code::NotText], "{bytes:?}");
    }
}

/// Before, a total and a note were refused as cylinders and the import ended with 1; a total that adds up the stamped
/// columns, too, came in as a cylinder.
#[test]
fn a_total_or_a_note_is_passed_over_by_name() {
    let rows = "A-1,28,47.6,28,evacuated\n,,,,\n,,,28,TOTAL\nTOTAL,28,47.6,28,\n,28,47.6,28,Total:\nTotals for both vans,,,28,\n\
                Counted by the night shift,,,,\nall weighed on Friday evening\n,,,,next count in spring\n";
    let imported = import(&format!("{HEADS}\n{rows}"), None, &[]).unwrap();
    let passed: Vec<(usize, &str)> = imported.passed.iter().map(|row| (row.line, row.name.as_str())).collect();
    let expected = [
        (4, "TOTAL"),
        (5, "TOTAL"),
        (6, "Total:"),
        (7, "Totals for both vans"),
        (8, "Counted by the night shift"),
        (9, "all weighed on Friday evening"),
        (10, "next count in spring"),
    ];
    assert_eq!((passed.as_slice(), imported.cylinders, imported.refused.len()), (&expected[..], 1, 0));
    assert!(imported.text.contains("# Not a cylinder, line 5: TOTAL | 28 | 47.6 | 28 |\n"), "{}", imported.text);
    // What may be a cylinder is refused, and counts.
    let rows = "A-1,28,47.6,28,\nA-2,,,,\nVan 3,,,,\n,28,47.6,28,R-22\n,28,,28,R-22\n,28,47.6,28,total loss\nTotal 7,28,47.6,28,\n";
    let imported = import(&format!("{HEADS}\n{rows}"), None, &[]).unwrap();
    let refused: Vec<usize> = imported.refused.iter().map(|row| row.line).collect();
    assert_eq!((refused.as_slice(), imported.cylinders, imported.passed.len()), (&[3, 4, 5, 6, 7][..], 2, 0));
}

/// Before, it stayed in the id, and a number behind it wasn't one.
#[test]
fn an_apostrophe_in_front_goes_and_is_told_of() {
    let imported = import(&format!("{HEADS},Notes\n'0042,'28,47.6,28,'R-22,'top shelf\n"), None, &[]).unwrap();
    let yard = yard(&imported);
    assert_eq!((yard.cylinders[0].id.as_str(), yard.cylinders[0].tare), ("0042", pounds("28")));
    assert_eq!(yard.cylinders[0].contents.name(), "R-22");
    let changed: Vec<(&str, &str)> =
        imported.changed.iter().map(|change| (change.typed.as_str(), change.written.as_str())).collect();
    assert_eq!(changed, [("'0042", "0042"), ("'28", "28"), ("'R-22", "R-22")]);
    assert!(imported.text.contains("    # Notes: top shelf\n"));
}

/// Before, all of these were comments and the cylinders came in as good ones; a cell that isn't a condition, under the
/// head `condition`, refused its row.
#[test]
fn remarks_that_hold_a_cylinder_out_are_its_remark() {
    for head in ["Notes", "Remarks", "remark", "Comment", "COMMENTS", "Status", "Condition", "Valve notes"] {
        let rows = ["LEAKING VALVE DO NOT FILL", "BURNOUT acid", "had burnout in it", "Yorkshire depot", "Not leaking"];
        let rows: String =
            rows.iter().zip(1..).map(|(text, id)| format!("A-{id},28,47.6,28,evacuated,{text}\n")).collect();
        let imported = import(&format!("{HEADS},{head}\n{rows}"), None, &[]).unwrap();
        let yard = yard(&imported);
        let remarks: Vec<Option<&str>> = yard.cylinders.iter().map(|cylinder| cylinder.remark.as_deref()).collect();
        let held = [
            Some("LEAKING VALVE DO NOT FILL"),
            Some("BURNOUT acid"),
            Some("had burnout in it"),
            None,
            Some("Not leaking"),
        ];
        assert_eq!(remarks, held, "{head}");
        assert!(imported.text.contains(&format!("    # {head}: Yorkshire depot\n")));
        assert_eq!(imported.remarks.iter().map(|one| one.held).collect::<Vec<_>>(), held.map(|one| one.is_some()));
        assert!(yard.cylinders.iter().all(|cylinder| !cylinder.remark_settled), "nothing here settles one");
    }
}

#[test]
fn several_remarks_of_a_cylinder_are_one() {
    let long = "on the shelf ".repeat(100);
    let text = format!(
        "{HEADS},Status,condition,Notes,Comments\nA-1,28,47.6,28,R-22,in,burnout,\"valve\nleaks\",from van 3\n\
         A-2,28,47.6,28,R-22,good,wet,,from van 3\nA-3,28,47.6,28,R-22,,dented,,\nA-4,28,47.6,28,R-22,,,do,as told\n\
         A-5,28,47.6,28,R-22,,,{long}leaks,\nA-6,28,47.6,28,R-22,,,le\u{feff}aks,\nA-7,28,47.6,28,R-22,,good,,\n"
    );
    let imported = import(&text, None, &[]).unwrap();
    let yard = yard(&imported);
    let remark = |index: usize| yard.cylinders[index].remark.as_deref();
    assert_eq!((remark(0), yard.cylinders[0].condition), (Some("in; valve leaks; from van 3"), Condition::Burnout));
    assert_eq!((remark(1), yard.cylinders[1].condition), (None, Condition::Wet));
    assert!(imported.text.contains("    # Status: good\n    # Comments: from van 3\n"), "{}", imported.text);
    // What isn't a condition and holds out is a remark; what is neither refuses its row, as before.
    assert_eq!(remark(2), Some("dented"));
    assert_eq!(imported.refused.iter().map(|row| row.line).collect::<Vec<_>>(), [9]);
    assert_eq!(remark(3), None, "two cells don't make a word");
    assert_eq!(remark(4), Some(format!("{long}leaks").as_str()));
    assert_eq!(remark(5), Some("leaks"));
}

/// Before, two columns of a condition or of damage were comments, both.
#[test]
fn what_may_hold_a_cylinder_out_is_not_lost_with_its_column() {
    let text = format!(
        "Status of our cylinders,Notes,,,,,,,,\n{HEADS},condition,Gas condition,Damage,Defects,Info\n\
         A-1,28,47.6,28,R-22,,burnout,,,\nA-2,28,47.6,28,R-22,,,,collar bent,\nA-3,28,47.6,28,R-22,clean,clean,,,leaks\n"
    );
    let imported = import(&text, None, &[]).unwrap();
    let remarks = |imported: &Imported| -> Vec<Option<String>> {
        yard(imported).cylinders.iter().map(|cylinder| cylinder.remark.clone()).collect()
    };
    assert_eq!(remarks(&imported), [Some("burnout".into()), Some("collar bent".into()), None]);
    assert_eq!(
        imported.columns.iter().map(|column| column.holding).collect::<Vec<_>>(),
        [0, 0, 0, 0, 0, 0, 0, 0, 0, 1]
    );
    let named = import(&text, None, &[("remark", "Info")]).unwrap();
    assert_eq!(remarks(&named)[2], Some("clean; clean; leaks".into()));
}

#[test]
fn only_a_column_that_is_letter_for_letter_ours_settles_a_remark() {
    let settled = |head: &str, chosen: &[(&str, &str)]| {
        let text = format!("{HEADS},Notes,{head}\nA-1,28,47.6,28,R-22,valve leaks,true\n");
        import(&text, None, chosen).map(|imported| yard(&imported).cylinders[0].remark_settled)
    };
    assert!(settled("remark_settled", &[]).unwrap());
    for head in ["Remark_settled", "remark settled", "Remark settled", "settled", "Settled?", "remark_settled [x]"] {
        assert!(!settled(head, &[]).unwrap(), "{head}");
    }
    assert_eq!(settled("Checked", &[("remark_settled", "Checked")]).map_err(|problems| problems.count()), Err(1));
    assert!(settled("remark_settled", &[("remark_settled", "remark_settled")]).unwrap());
    // Somebody names a column as remarks: the others stay remarks.
    let text = format!("{HEADS},Notes,Bemerkung\nA-1,28,47.6,28,R-22,valve leaks,scrap\n");
    let imported = import(&text, None, &[("remark", "Bemerkung")]).unwrap();
    assert_eq!(yard(&imported).cylinders[0].remark.as_deref(), Some("valve leaks; scrap"));
}

/// Each spelling of a date, in a list and in yards of both kinds. Before: of a list `Jun-24` refused its row as perhaps
/// a day, a spreadsheet's number as no month, and `Next due` wasn't a head; of a yard all but `2024-06` and
/// `2024-06-15` refused the file.
#[test]
fn dates_are_read_alike_in_lists_and_yards() {
    for (typed, expected) in [
        ("2024-06", Some(date(2024, 6, 30))),
        ("Jun-24", Some(date(2024, 6, 30))),
        ("June 2024", Some(date(2024, 6, 30))),
        ("2024/06", Some(date(2024, 6, 30))),
        ("06/2024", Some(date(2024, 6, 30))),
        ("15.06.2024", Some(date(2024, 6, 15))),
        ("45457", Some(date(2024, 6, 14))),
        ("06/24", None),
        ("6-24", None),
        ("36525", None),
    ] {
        let list = import(&format!("{HEADS},Last test\nA-1,28,47.6,28,evacuated,{typed}\n"), None, &[]).unwrap();
        let csv =
            format!("id,tare [lb],water_capacity [lb],gross [lb],holds,tested\nA-1,28,47.6,28,evacuated,{typed}\n");
        let yaml = format!(
            "units: lb\ncylinders:\n  - {{ id: A-1, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, tested: {typed} }}\n"
        );
        let folder = folder(&[("yard.csv", &csv), ("yard.yaml", &yaml)]);
        let read = |name: &str| read_yard(&folder.path().join(name), TODAY, false);
        match expected {
            Some(day) => {
                for yard in [yard(&list), read("yard.csv").unwrap(), read("yard.yaml").unwrap()] {
                    assert_eq!(yard.cylinders[0].test.unwrap().since, Some(day), "{typed}");
                }
            }
            None => {
                let why = list.refused[0].reasons.join("; ");
                let both = |text: &str| text.contains("may be 2024-06 or 24 June of a year that it doesn't say");
                assert_eq!(both(&why), typed != "36525", "{why}");
                for problems in [read("yard.csv").unwrap_err(), read("yard.yaml").unwrap_err()] {
                    assert_eq!(problems.iter().map(|one| one.code).collect::<Vec<_>>(), [Code::BadDate]);
                    assert_eq!(both(&problems.to_string().replace('\n', " ")), typed != "36525", "{problems}");
                }
            }
        }
    }
    let due = import(&format!("{HEADS},Next due\nA-1,28,47.6,28,evacuated,Jun-29\n"), None, &[]).unwrap();
    assert_eq!(yard(&due).cylinders[0].test.unwrap().good_through, date(2029, 6, 30));
}

#[test]
fn a_number_of_a_day_under_a_head_for_weights_is_a_weight() {
    let grams = import("Serial,Tare (g),WC (g),Gross (g)\nA-1,45457,90000,45457\n", None, &[]).unwrap();
    assert_eq!(yard(&grams).cylinders[0].tare, Weight::grams(45_457.into()));
    let pounds = import("Serial,Tare (lb),WC (lb),Gross (lb)\nA-1,45457,47.6,28\n", None, &[]).unwrap();
    assert!(pounds.refused[0].reasons[0].contains("tare: found `45457`"), "{:?}", pounds.refused);
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
    let text = format!("{heads}\n'=A-1,28,47.6,40,R-22,burnout,a dent,2024-06\nA-2,28,47.6,40,R-22,oily,,2024-06\n");
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
        prop_assert_eq!(imported.cylinders + imported.refused.len() + imported.passed.len(), lines);
        prop_assert_eq!(yard(&imported).cylinders.len(), imported.cylinders);
    }
}
