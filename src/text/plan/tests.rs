//! The keys that are read are those of the one definition of a plan.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;

use serde::Serialize;
use serde_json::Value;

use super::{FORMAT, SHAPE, read_plan};
use crate::plan::{Plan, Reading};
use crate::text::shape::{Holds, Shape};

/// A plan with something behind every key that must be there, and in every list.
const FULL: &str = r#"{"format": "chargesplit-plan/1", "job": "A", "unit": "lb", "division": 0.1, "status": "short",
"bounds": {"cylinders": 1, "heaviest": 50.0, "carried": 50.1, "pours": 1},
"totals": {"cylinders": 2, "heaviest": 52.0, "carried": 52.1, "pours": 1},
"lots": [{"lot": "R-22", "refrigerant": "R-22", "systems": ["S", "T"], "charge": 24.3, "room": 24.4, "spare": 0.1}],
"loads": [{"order": 1, "cylinder": "C-1", "lot": "R-22", "refrigerant": "R-22", "marks": ["BURN", "WET"],
"from": [{"system": "S", "add": 24.3}],
"pours": [{"system": "S", "from": 27.8, "to": 52.0, "add": 24.3, "vapour_last": true}],
"now": 27.8, "add": 24.2, "ease_off": 49.0, "stop": 52.0, "limit": 52.2, "ceiling": "fill",
"liquid_full": "171 F"}],
"left_out": [{"cylinder": "C-2", "reasons": [{"code": "overdue", "text": "it is", "lots": ["R-22"]}]}],
"not_needed": ["C-3"],
"short": [{"lot": "R-22", "missing": 3.3, "suggest": [{"count": 1, "kind": "fifty", "cheapest": true}]}],
"remedy": {"evacuate": ["C-4"], "missing": [{"lot": "R-22", "missing": 1.5}],
"add": [{"count": 2, "kind": "thirty", "cheapest": false}]},
"warnings": [{"code": "estimate", "text": "a guess"}]}"#;

#[derive(Serialize)]
struct Written {
    format: &'static str,
    #[serde(flatten)]
    plan: Plan<Reading>,
}

fn read(text: &str) -> Plan {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.json");
    fs::write(&path, text).unwrap();
    read_plan(&path).unwrap_or_else(|problems| panic!("{problems}")).0
}

/// Where the data of a map and the table of its keys differ.
fn differences(shape: &Shape, value: &Value, found: &mut Vec<String>) {
    let fields = value.as_object().unwrap();
    for key in fields.keys().filter(|key| shape.key(key).is_none()) {
        found.push(format!("{} has no key `{key}`", shape.what));
    }
    for key in shape.keys {
        match (fields.get(key.name), key.holds) {
            (None, _) if !key.required => {}
            (None, _) => found.push(format!("no plan has `{}` in {}", key.name, shape.what)),
            (Some(value), Holds::Map(inner)) => differences(inner, value, found),
            (Some(Value::Array(items)), Holds::List(inner, _)) => {
                assert!(!items.is_empty(), "nothing in `{}`", key.name);
                items.iter().for_each(|item| differences(inner, item, found));
            }
            (Some(_), _) => {}
        }
    }
}

#[test]
fn a_plan_of_before_there_were_pours_is_read_with_them() {
    let pours = r#""pours": [{"system": "S", "from": 27.8, "to": 52.0, "add": 24.3, "vapour_last": true}],
"now": 27.8, "add": 24.2, "ease_off": 49.0,"#;
    let before = FULL.replace(pours, r#""now": 27.8, "add": 24.2,"#).replace(r#", "pours": 1}"#, "}");
    let plan = read(&before);
    let (load, pour) = (&plan.loads[0], &plan.loads[0].pours[0]);
    assert_eq!((pour.from, pour.to, pour.add, pour.vapour_last, load.ease_off), (278, 521, 243, true, 278));
    assert_eq!((plan.totals.pours, plan.bounds.pours), (1, 0));
}

#[test]
fn pours_take_from_each_system_what_is_said_to_come_from_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.json");
    fs::write(
        &path,
        FULL.replace(r#""from": [{"system": "S", "add": 24.3}]"#, r#""from": [{"system": "S", "add": 24.2}]"#),
    )
    .unwrap();
    let problems = read_plan(&path).unwrap_err().to_string();
    assert!(problems.contains("`from` isn't what the pours take from each system"), "{problems}");
}

#[test]
fn a_plan_is_read_by_the_keys_that_it_is_written_with() {
    let plan = read(FULL);
    let written = serde_json::to_string(&Written { format: FORMAT, plan: plan.readings() }).unwrap();
    assert_eq!(read(&written), plan);
    let value: Value = serde_json::from_str(&written).unwrap();
    assert_eq!(value, serde_json::from_str::<Value>(FULL).unwrap());
    let mut found = Vec::new();
    differences(&SHAPE, &value, &mut found);
    assert!(found.is_empty(), "{found:?}");
}
