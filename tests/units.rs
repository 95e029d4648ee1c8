//! `--units`: whatever is shown in another unit lies on the safe side of what is meant, and is refused where it could be
//! taken for what the scale shows.

use chargesplit::quantity::{Decimal, Unit, Weight, parse_weight};
use serde_json::Value;

use crate::folder::{Folder, run};

fn json(arguments: &[&str]) -> Value {
    let answer = run([arguments, &["--json"]].concat());
    assert_eq!(answer.err, "", "{arguments:?}");
    answer.json()
}

/// What may be reached: rounded down. Everything else is there, or has to be placed.
const DOWN: [&str; 5] = ["limit", "room", "net", "spare", "stop"];

/// Holds every weight of a report against the same in the job's unit; returns how many there were.
fn compare(own: &Value, shown: &Value, units: (Unit, Unit), key: &str) -> usize {
    match (own, shown) {
        (Value::Object(own), Value::Object(shown)) => {
            assert_eq!(own.keys().collect::<Vec<_>>(), shown.keys().collect::<Vec<_>>());
            own.iter().map(|(key, value)| compare(value, &shown[key], units, key)).sum()
        }
        (Value::Array(own), Value::Array(shown)) => {
            assert_eq!(own.len(), shown.len(), "{key}");
            own.iter().zip(shown).map(|(own, shown)| compare(own, shown, units, key)).sum()
        }
        // Weights are written as decimals, counts as whole numbers.
        (Value::Number(own), Value::Number(shown)) if own.is_f64() && key != "division" => {
            let weight = |number: &serde_json::Number, unit: Unit| unit.weight(number.to_string().parse().unwrap());
            safe(key, weight(own, units.0), weight(shown, units.1), units.1);
            1
        }
        (own, shown) => {
            assert!(own == shown || matches!(key, "unit" | "division"), "{key}: {own} became {shown}");
            0
        }
    }
}

fn safe(key: &str, own: Weight, shown: Weight, unit: Unit) {
    let step = unit.default_division().step();
    if DOWN.contains(&key) {
        assert!(shown <= own && own < shown + step, "{key}: {own:?} is shown as {shown:?}");
    } else {
        assert!(shown >= own && own + step > shown, "{key}: {own:?} is shown as {shown:?}");
    }
}

const SCENARIOS: [(&str, Unit); 3] = [("cold-store", Unit::Lb), ("metric-un", Unit::Kg), ("ounces", Unit::LbOz)];

#[test]
fn every_weight_of_a_converted_report_lies_on_the_safe_side() {
    for (scenario, own) in SCENARIOS {
        let job = format!("scenarios/{scenario}.yaml");
        for to in Unit::ALL.into_iter().filter(|to| *to != own) {
            for command in ["check", "tradeoff", "quote"] {
                let (before, after) = (json(&[command, &job]), json(&[command, &job, "--units", to.name()]));
                let count = compare(&before, &after, (own, to), command);
                assert!(count > 0, "{command} {job} has no weights");
                assert_eq!((&before["unit"], &after["unit"]), (&own.number_name().into(), &to.number_name().into()));
            }
        }
    }
    for to in [Unit::Kg, Unit::LbOz] {
        let yard = ["yard", "scenarios/van-3.yaml", "--for", "R-448A,R-32", "--date", "2026-12-01"];
        let count =
            compare(&json(&yard), &json(&[&yard[..], &["--units", to.name()]].concat()), (Unit::Lb, to), "yard");
        assert!(count > 50, "{count}");
    }
}

/// The rows of the table under the first line that begins so.
fn rows(text: &str, under: &str) -> Vec<Vec<String>> {
    let table = text.lines().skip_while(|line| !line.starts_with(under)).skip_while(|line| !line.starts_with("---"));
    let rows = table.skip(1).take_while(|line| !line.is_empty());
    rows.map(|row| row.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).map(str::to_owned).collect())
        .collect()
}

#[test]
fn a_loading_plan_keeps_the_unit_of_the_scale_and_shows_the_other_beside_it() {
    for (scenario, own) in SCENARIOS {
        let job = format!("scenarios/{scenario}.yaml");
        let plan = json(&["plan", &job]);
        let bare = run(["plan", &job]).out;
        for to in Unit::ALL.into_iter().filter(|to| *to != own) {
            let text = run(["plan", &job, "--units", to.name()]).out;
            let said = format!("For comparison, shown in {}: the scale reads {}", to.name(), own.name());
            assert!(text.contains(&said), "{text}");
            assert_eq!(rows(&text, "Loading plan"), rows(&bare, "Loading plan"), "what is filled by stays");
            let beside = rows(&text, "For comparison");
            let loads = plan["loads"].as_array().unwrap();
            assert_eq!(beside.len(), loads.len());
            for (row, load) in beside.iter().zip(loads) {
                assert_eq!(row[0], load["cylinder"].as_str().unwrap());
                for (key, cell) in ["now", "add", "stop", "limit"].iter().zip(&row[1..]) {
                    let number: Decimal = load[key].to_string().parse().unwrap();
                    safe(key, own.weight(number), parse_weight(cell, None).unwrap(), to);
                }
            }
            // Taken away, the comparison leaves the plan as it is without.
            let start = text.find("For comparison").unwrap();
            let note = start + text[start..].find("For a scale that").unwrap();
            let end = note + text[note..].find("\n\n").unwrap() + 2;
            assert_eq!(text[..start].to_owned() + &text[end..], bare);
        }
        assert_eq!(run(["plan", &job, "--units", own.name()]).out, bare, "its own unit changes nothing");
    }
}

#[test]
fn a_truck_is_weighed_in_the_unit_asked_for_and_its_stops_are_filled_in_the_scales() {
    let pack = ["pack", "scenarios/day-1.yaml", "--truck", "scenarios/truck-7.yaml"];
    let text = |more: &[&str]| run([&pack[..], more].concat()).out;
    let (own, shown) = (text(&[]), text(&["--units", "kg"]));
    assert_eq!(rows(&own, "Stop 1"), rows(&shown, "Stop 1"));
    assert!(shown.contains("recovered, in lb as the scale reads\n") && shown.contains("Payload 1088.60 kg"), "{shown}");
    for (own, shown) in rows(&own, "Gross weights").iter().zip(&rows(&shown, "Gross weights")) {
        for (own, shown) in own[1..].iter().zip(&shown[1..]).filter(|(own, _)| *own != "-") {
            let weight = |cell: &str, unit: Unit| unit.weight(cell.parse().unwrap());
            safe("gross", weight(own, Unit::Lb), weight(shown, Unit::Kg), Unit::Kg);
        }
    }
}

#[test]
fn where_a_weight_could_be_taken_for_the_scales_it_is_refused() {
    let folder = Folder::of_scenarios(&["part-way.yaml", "part-way.yaml.ledger"]);
    let job = "part-way.yaml";
    let before = folder.ledger(job);
    for arguments in [
        &["weigh", job, "T-2", "59.6"][..],
        &["status", job],
        &["sheet", job, "-o", "page.html"],
        &["replan", job, "-o", "page.html"],
        &["pack", job, "-o", "page.html"],
        &["quote", job, "-o", "page.html"],
        &["closeout", job],
        &["audit", job, "plan.json"],
        &["begin", job, "--json"],
        &["cylinder", job, "T-1", "--weighed", "40"],
        &["plan", job, "--json"],
        &["replan", job, "--json"],
        &["pack", job, "--json"],
        &["quote", job, "--csv"],
        &["quote", job, "--customer"],
        &["new", "job"],
        &["schema", "job"],
        &["completions", "bash"],
    ] {
        let said = folder.refused(&[arguments, &["--units", "kg"]].concat());
        assert!(said.starts_with("--units can't be given "), "{arguments:?}: {said}");
    }
    assert!(folder.ledger(job) == before && !folder.at("page.html").exists(), "nothing was written");
    assert_eq!(folder.run(["plan", job, "--units", "stone"]).status, 2);
}
