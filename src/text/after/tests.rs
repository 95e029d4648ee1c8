//! What a settling writes into a file, and what of the file stays as it was.

use super::*;

fn after(name: &str, text: &str, changes: &[NewValues]) -> Option<String> {
    yard_after(Path::new(name), text.as_bytes(), changes).ok()
}

fn change(cylinder: &str, values: &[(&'static str, &[&str])]) -> NewValues {
    let values = values.iter().map(|(key, texts)| (*key, texts.iter().map(ToString::to_string).collect()));
    NewValues { cylinder: cylinder.into(), values: values.collect() }
}

#[test]
fn comments_and_everything_else_stay() {
    let yard = "# van 3\nunits: lb # pounds\ncylinders:\n  - { id: A, tare: 27.9, gross: 27.9, holds: evacuated } # new\n  \
                - id: 'B' # old\n    holds: evacuated # yes\n    gross: \"28.0 lb\"   # weighed\n    note: 5\n";
    let changes = [
        change("A", &[("gross", &["63.6"]), ("holds", &["R-22"]), ("condition", &["burnout"]), ("owner", &[])]),
        change(
            "B",
            &[
                ("gross", &["40.1 lb"]),
                ("holds", &["mixed"]),
                ("may_contain", &["R-12", "R-22"]),
                ("kept_for", &["Job, 2"]),
            ],
        ),
        change("C", &[("gross", &["1"])]),
    ];
    let expected = "# van 3\nunits: lb # pounds\ncylinders:\n  - { id: A, tare: 27.9, gross: 63.6, holds: R-22, condition: burnout } # new\n  \
                - id: 'B' # old\n    holds: mixed # yes\n    may_contain: [R-12, R-22]\n    kept_for: \"Job, 2\"\n    gross: 40.1 lb   # weighed\n    note: 5\n";
    assert_eq!(after("yard.yaml", yard, &changes).as_deref(), Some(expected));
}

/// The keys of a row as they stand, and the values that come to that.
type StandsAs = (&'static [&'static str], [(&'static str, &'static [&'static str]); 3]);

/// What a settling has written another one finds again: nothing, a list, and what comes in their place.
#[test]
fn what_was_taken_away_or_is_a_list_is_written_anew() {
    for (begin, end) in [("{ ", " }"), ("", "")] {
        let between = if begin.is_empty() { "\n    " } else { ", " };
        let row = |keys: &[&str]| format!("units: lb\ncylinders:\n  - {begin}{}{end} # old\n", keys.join(between));
        let states: [StandsAs; 4] = [
            (
                &["id: A", "holds: R-22", "condition: burnout"],
                [("holds", &["R-22"]), ("condition", &["burnout"]), ("may_contain", &[])],
            ),
            (
                &["id: A", "holds: evacuated", "condition: null"],
                [("holds", &["evacuated"]), ("condition", &[]), ("may_contain", &[])],
            ),
            (
                &["id: A", "holds: mixed", "may_contain: [R-22, R-12]", "condition: null"],
                [("holds", &["mixed"]), ("condition", &[]), ("may_contain", &["R-22", "R-12"])],
            ),
            (
                &["id: A", "holds: mixed", "may_contain: [R-22, R-12, R-32]", "condition: burnout"],
                [("holds", &["mixed"]), ("condition", &["burnout"]), ("may_contain", &["R-22", "R-12", "R-32"])],
            ),
        ];
        for (old, _) in &states {
            for (new, values) in &states {
                let text = after("yard.yaml", &row(old), &[change("A", values)]);
                assert!(text.is_some(), "{old:?} {new:?}");
                let text = text.unwrap();
                // The order of keys and what stands for nothing are the file's.
                let said = |text: &str| {
                    let mut keys: Vec<String> = text
                        .replace(['{', '}', '-'], " ")
                        .replace("# old", "")
                        .lines()
                        .skip(2)
                        .flat_map(|line| {
                            let apart = line.replace("[", "").replace("]", "");
                            apart.replace(", R", "; R").split(", ").map(|key| key.trim().to_owned()).collect::<Vec<_>>()
                        })
                        .collect();
                    keys.retain(|key| !key.is_empty() && !key.ends_with("null"));
                    keys.sort();
                    keys
                };
                assert_eq!(said(&text), said(&row(new)), "{text}");
                assert!(text.contains("# old"), "{text}");
            }
        }
    }
}

#[test]
fn a_value_over_several_lines_is_not_touched() {
    let yard = "units: lb\ncylinders:\n  - id: A\n    gross:\n      27.9\n    holds: a\n      b c\n";
    assert_eq!(after("yard.yaml", yard, &[change("A", &[("holds", &["R-22"])])]), None);
}

const TABLE: &str =
    "id,gross [lb],holds,remark\nA,27.9,evacuated,\n\nB, 28.1 ,\"R-22\",\"a \"\"dent\"\", old\"\nC,30,R-22,'=x";

#[test]
fn a_table_keeps_everything_but_the_cells_that_change_and_gets_the_columns_that_it_lacks() {
    let changes = [
        change("A", &[("gross", &["63.0 lb"]), ("holds", &["mixed"]), ("may_contain", &["R-12", "R-22"])]),
        change("C", &[("gross", &["30.0 lb"]), ("owner", &["=x"]), ("condition", &[]), ("holds", &["R-22"])]),
        change("Z", &[("kept_for", &["x"])]),
    ];
    let expected = "id,gross [lb],holds,remark,may_contain,owner\nA,63.0,mixed,,R-12; R-22,\n\n\
                    B, 28.1 ,\"R-22\",\"a \"\"dent\"\", old\",,\nC,30.0,R-22,'=x,,'=x";
    // Whatever parts the cells and ends the lines, and what stands in front.
    for (between, end, mark) in [(",", "\n", ""), (";", "\r\n", "\u{feff}"), ("\t", "\r", ""), (";", "\n", "")] {
        let spoken = |text: &str| {
            let text = text.replace(", old", "~").replace(',', between).replace('\n', end).replace('~', ", old");
            let text = if between == ";" { text.replace("R-12; R-22", "\"R-12; R-22\"") } else { text };
            // A comma needs no quotes where nothing is parted by it; those that are there stay.
            format!("{mark}{text}")
        };
        assert_eq!(after("yard.csv", &spoken(TABLE), &changes), Some(spoken(expected)), "{between:?} {end:?}");
        assert_eq!(after("yard.csv", &spoken(TABLE), &[]), Some(spoken(TABLE)));
        assert_eq!(after("yard.csv", &spoken(expected), &changes), Some(spoken(expected)), "twice is once");
    }
}

#[test]
fn a_weight_is_a_number_of_its_columns_unit_where_it_is_one() {
    let put = |head: &str, weight: &str| {
        let table = format!("id,gross [{head}],holds\nA,1,R-22\n");
        let after = after("yard.csv", &table, &[change("A", &[("gross", &[weight])])]).unwrap();
        after.lines().nth(1).unwrap().split(',').nth(1).unwrap().to_owned()
    };
    for (head, weight, cell) in [
        ("lb", "63.60 lb", "63.60"),
        ("lb", "21.75 kg", "21.75 kg"),
        ("lb", "28 lb 6 oz", "28.375"),
        ("kg", "12900 g", "12.9"),
        ("g", "12.9 kg", "12900"),
        ("oz", "28 lb 6 oz", "454"),
        ("lb-oz", "28 lb 6 oz", "28 lb 6 oz"),
        ("lb-oz", "28.5 lb", "28.5 lb"),
    ] {
        assert_eq!(put(head, weight), cell, "{weight} under {head}");
    }
}

#[test]
fn yaml_keeps_its_byte_order_mark_and_its_ends_of_lines() {
    let yard =
        "\u{feff}units: lb\r\ncylinders:\r\n  - id: A # new\r\n    holds: evacuated # yes\r\n    gross: 27.9\r\n";
    let changes = [change("A", &[("gross", &["63.6"]), ("holds", &["mixed"]), ("may_contain", &["R-12"])])];
    let expected = "\u{feff}units: lb\r\ncylinders:\r\n  - id: A # new\r\n    holds: mixed # yes\r\n    may_contain: R-12\r\n\
                    \x20   gross: 63.6\r\n";
    assert_eq!(after("yard.yaml", yard, &changes).as_deref(), Some(expected));
}

#[test]
fn a_row_of_too_few_or_too_many_cells_is_not_touched() {
    let change = [change("A", &[("owner", &["us"])])];
    let yard = "id,gross [lb],holds\nA,27.9,R-22\nB,28.1\nC,1,2,3\n";
    let expected = "id,gross [lb],holds,owner\nA,27.9,R-22,us\nB,28.1\nC,1,2,3\n";
    assert_eq!(after("yard.csv", yard, &change).as_deref(), Some(expected));
    assert_eq!(after("yard.csv", &yard.replace("A,27.9,R-22", "A,27.9"), &change), None);
}
