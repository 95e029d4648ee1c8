//! The yard: a line for each cylinder, what there is in all, what falls due; as text and as data.

use serde::Deserialize;

use crate::folder::Folder;

/// The data, written a second time: whoever reads it may count on exactly these keys.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(dead_code)]
struct Yard {
    format: String,
    unit: String,
    division: f64,
    date: String,
    cylinders: Vec<Line>,
    totals: Vec<Total>,
    due: Vec<Due>,
    notices: Vec<String>,
    skipped: Vec<String>,
    dangers: Vec<String>,
    over_fill: Vec<String>,
    alarms: Vec<serde_json::Value>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(dead_code)]
struct Line {
    cylinder: String,
    holds: String,
    marks: Vec<String>,
    size: String,
    now: f64,
    reasons: Vec<serde_json::Value>,
    rooms: Vec<Room>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(dead_code)]
struct Room {
    refrigerant: String,
    fit: bool,
    limit: Option<f64>,
    room: f64,
    ceiling: Option<String>,
    ceilings: Vec<serde_json::Value>,
    reasons: Vec<serde_json::Value>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Total {
    size: String,
    holds: String,
    marks: Vec<String>,
    cylinders: usize,
    fit: usize,
    inside: Option<f64>,
    room: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Due {
    cylinder: String,
    good_through: String,
}

/// Tested five years ago: good through 2026-12-31, 2027-01-31 and 2027-02-28.
const YARD: &str = "\
units: lb
cylinders:
  - { id: A, tare: 28, water_capacity: 47.6, gross: 38, holds: R-22, mark: DOT-4BA400, tested: 2022-01 }
  - { id: B, tare: 28, water_capacity: 47.6, gross: 40, holds: R-22, mark: DOT-4BA400, tested: 2021-12 }
  - { id: C, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, mark: DOT-4BA400, tested: 2022-02 }
  - { id: D, tare: 16, water_capacity: 26.2, gross: 16, holds: evacuated, mark: DOT-4BA400, tested: 2020-05 }
  - { id: E, tare: 28, water_capacity: 47.6, gross: 33, holds: R-22, condition: burnout, mark: DOT-4BA400, tested: 2024-01 }
";

fn yard(more: &[&str]) -> String {
    run(YARD, more)
}

fn run(yard: &str, more: &[&str]) -> String {
    let folder = Folder::of(&[("yard.yaml", yard)]);
    folder.run([&["yard", "yard.yaml", "--date", "2026-12-01"], more].concat()).out
}

#[test]
fn a_cylinder_is_a_line_and_a_test_that_runs_out_within_60_days_is_named() {
    // R-22 over water at 130 F is 1.0611 (CoolProp 8.0.0): 28 + 0.8 x 1.0611 x 47.6 = 68.4 lb.
    let expected = "\
Yard on 2026-12-01, in lb
cylinder  size  holds       now  room
--------------------------------------------
A         50    R-22       38.0  30.4
B         50    R-22       40.0  28.4
C         50    evacuated  28.0  40.4 R-22
D         30    evacuated  16.0  not filled
E         50    R-22 BURN  33.0  35.4

Not filled
- D: its test was good through 2025-05-31; have it requalified

Totals
size  holds      cylinders  fit  inside  room
----------------------------------------------
30    evacuated          1    0
50    R-22               2    2    22.0  58.8
50    evacuated          1    1
50    R-22 BURN          1    1     5.0  35.4

Due for a test within 60 days: B (2026-12-31).
";
    assert_eq!(yard(&[]), expected);
    // Every limit is there for whoever asks.
    let all = yard(&["--all"]);
    assert!(all.contains("\nEvery limit\ncylinder  for   limit  room  limited by\n"), "{all}");
    assert!(all.contains("\nD         R-22   38.2   0.0  not filled: overdue\n"), "{all}");
}

#[test]
fn of_many_refrigerants_a_line_has_the_least_and_the_most() {
    // By densities at 130 F over water (CoolProp 8.0.0): R-404A 0.8652 x 0.8 x 47.6 = 32.9, R-134a 1.0826 x 0.8 x 47.6 = 41.2.
    let text = yard(&["--for", "R-22,R-134a,R-404A"]);
    assert!(text.contains("\nC         50    evacuated  28.0  32.9 to 41.2, 3 refrigerants\n"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80));
}

/// Nothing is named that would go in, and nothing has to be: what keeps a cylinder out whatever goes in is said.
#[test]
fn an_empty_cylinder_that_takes_nothing_is_said_without_a_refrigerant_too() {
    let rows = [
        "late, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, tested: 2020-05",
        "copied, tare: 17, water_capacity: 47.6, gross: 17, holds: evacuated, tested: 2024-01",
        "gas, tare: 28, water_capacity: 47.6, gross: 31, holds: unknown, tested: 2024-01",
        "good, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, tested: 2024-01",
    ];
    let rows: String = rows.iter().map(|row| format!("  - {{ id: {row}, mark: DOT-4BA400 }}\n")).collect();
    let said = |more: &[&str]| run(&format!("units: lb\ncylinders:\n{rows}"), more);
    let text = said(&[]);
    for line in [
        "late      50    evacuated     28.0  not filled\n",
        "copied    50    evacuated     17.0  not filled\n",
        "gas       50    unknown FLAM  31.0  not filled\n",
        "- late: its test was good through 2025-05-31; have it requalified\n",
        "- copied: a tare of 17 lb doesn't go with a water capacity of 47.6 lb: expected",
        "- gas: nobody knows what it holds; identify it\n",
        "Empty, and no refrigerant is named to figure them for: good. Name some with",
    ] {
        assert!(text.contains(line), "{line}\n{text}");
    }
    assert!(!said(&["--all"]).contains("Every limit"), "no refrigerant, no limit");
    let data: Yard = serde_json::from_str(&said(&["--json"])).unwrap();
    let codes: Vec<Vec<&str>> = data
        .cylinders
        .iter()
        .map(|line| line.reasons.iter().map(|reason| reason["code"].as_str().unwrap()).collect())
        .collect();
    assert_eq!(codes, [vec!["overdue"], vec!["doubtful-pair"], vec!["holds-unknown"], vec![]]);
}

/// What to do about ammonia is to plan it apart, not to look for a cylinder with a red band.
#[test]
fn a_gas_that_is_refused_is_said_before_what_else_is_wrong() {
    let row = "units: lb\ncylinders:\n  - { id: A, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, mark: \
               DOT-4BA400, tested: 2020-05 }\n";
    let data: Yard = serde_json::from_str(&run(row, &["--for", "R-717", "--json"])).unwrap();
    let codes: Vec<&str> =
        data.cylinders[0].rooms[0].reasons.iter().map(|reason| reason["code"].as_str().unwrap()).collect();
    assert_eq!(codes, ["gas-refused", "overdue", "flammable"]);
}

#[test]
fn the_data_has_the_same() {
    let data: Yard = serde_json::from_str(&yard(&["--json"])).unwrap();
    let due: Vec<_> = data.due.iter().map(|due| (due.cylinder.as_str(), due.good_through.as_str())).collect();
    assert_eq!(due, [("B", "2026-12-31")]);
    let totals: Vec<_> = data
        .totals
        .iter()
        .map(|total| {
            let Total { size, holds, marks, cylinders, fit, inside, room } = total;
            (size.as_str(), format!("{holds} {}", marks.join(" ")), *cylinders, *fit, *inside, *room)
        })
        .collect();
    let holds = |text: &str| text.to_owned();
    assert_eq!(
        totals,
        [
            ("30", holds("evacuated "), 1, 0, None, None),
            ("50", holds("R-22 "), 2, 2, Some(22.0), Some(58.8)),
            ("50", holds("evacuated "), 1, 1, None, None),
            ("50", holds("R-22 BURN"), 1, 1, Some(5.0), Some(35.4)),
        ]
    );
}

/// Room for clean refrigerant in a cylinder with acid in it would be taken for a good one's.
#[test]
fn an_empty_cylinder_with_acid_in_it_has_no_room_for_clean_refrigerant() {
    let rows = "units: lb
cylinders:
  - { id: B, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, condition: burnout, mark: DOT-4BA400, tested: 2024-06 }
  - { id: C, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, condition: burnout, cleaned: true, mark: DOT-4BA400, tested: 2024-06 }
  - { id: W, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, condition: wet, mark: DOT-4BA400, tested: 2024-06 }
";
    let data: Yard = serde_json::from_str(&run(rows, &["--for", "R-22", "--json"])).unwrap();
    let fit: Vec<(&str, bool)> =
        data.cylinders.iter().map(|line| (line.cylinder.as_str(), line.rooms[0].fit)).collect();
    assert_eq!(fit, [("B", false), ("C", true), ("W", true)]);
    let text = run(rows, &["--for", "R-22"]);
    assert!(text.contains("- B: it carried burnout and wasn't cleaned; have it cleaned"), "{text}");
}

/// 47.6 lb of water at 400 psig take 1.7 lb of nitrogen at most; the rest of 20 lb would be let out into the air.
#[test]
fn what_weighs_more_than_nitrogen_is_not_to_be_evacuated() {
    let rows = "units: lb
cylinders:
  - { id: N, tare: 28, water_capacity: 47.6, gross: 29.5, holds: nitrogen, mark: DOT-4BA400, tested: 2024-06 }
  - { id: O, tare: 28, water_capacity: 47.6, gross: 48.3, holds: nitrogen, mark: DOT-4BA400, tested: 2024-06 }
";
    let text = run(rows, &["--for", "R-22"]);
    assert!(text.contains("- N: it holds nitrogen; evacuate it"), "{text}");
    let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = "- O: said to hold nitrogen, but 20.3 lb heavier than its tare: that isn't nitrogen alone; identify it";
    assert!(one_line.contains(said), "{text}");
}
