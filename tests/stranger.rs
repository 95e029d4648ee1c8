//! The way of somebody new: the very commands of README's section "From nothing to a closed job", one after the other,
//! with the weight that must not get lost on the way.

use serde_json::Value;

use crate::folder::Folder;

const README: &str = include_str!("../README.md");

/// The lines of the section's one block.
fn lines() -> Vec<&'static str> {
    let section = README.split("\n## From nothing to a closed job\n").nth(1).expect("README has the section");
    let section = section.split("\n## ").next().unwrap();
    let blocks: Vec<&str> = section.split("```sh\n").skip(1).map(|rest| rest.split("```").next().unwrap()).collect();
    assert_eq!(blocks.len(), 1, "one block says all of it");
    blocks[0].lines().collect()
}

/// Does a line of the block: a command, with its output into a file where it says so, or a change to a file.
fn obey(folder: &Folder, line: &str) -> String {
    if let Some(change) = line.strip_prefix("# in ") {
        let (file, change) = change.split_once(": ").expect("a file");
        let (before, after) = change.split_once(" becomes ").expect("what becomes what");
        let (before, after) = (before.trim_matches('"'), after.trim_matches('"'));
        let text = folder.read(file);
        assert_eq!(text.matches(before).count(), 1, "{file} has `{before}` once");
        folder.write(file, text.replace(before, after));
        return String::new();
    }
    let (command, file) = line.split_once(" > ").map_or((line, None), |(command, file)| (command, Some(file)));
    let arguments: Vec<&str> = command.split(' ').collect();
    assert_eq!(arguments[0], "chargesplit", "{line}");
    let output = folder.run(&arguments[1..]);
    assert_eq!(output.status, 0, "{line}: {}", output.err);
    if let Some(file) = file {
        folder.write(file, &output.out);
    }
    output.out
}

/// Tenths, so that sums are exact.
fn tenths(value: &Value) -> i64 {
    (value.as_f64().expect("a number") * 10.0).round() as i64
}

/// Gross weights of the yard's cylinders, in tenths, as the program reads them.
fn gross(folder: &Folder) -> i64 {
    let yard = folder.json(&["yard", "yard.yaml", "--date", "2026-12-01"]);
    yard["cylinders"].as_array().unwrap().iter().map(|cylinder| tenths(&cylinder["now"])).sum()
}

#[test]
fn the_readmes_way_from_nothing_to_a_closed_job() {
    let folder = Folder::empty();
    let mut begun = Vec::new();
    let mut recovered = 0;
    let (mut stops, mut before) = (Value::Null, (String::new(), 0));
    for line in lines() {
        let word = line.split(' ').nth(1).unwrap().to_owned();
        if word == "weigh" {
            let mut arguments = line.split(' ').skip(3);
            let (cylinder, typed) = (arguments.next().unwrap(), arguments.next().unwrap());
            let load = stops.as_array().unwrap().iter().find(|load| load["cylinder"] == cylinder);
            let load = load.expect("a cylinder of the plan");
            assert_eq!(typed.parse::<f64>().unwrap(), load["stop"].as_f64().unwrap(), "{line}: the plan's stop weight");
            recovered += tenths(&load["add"]);
        }
        let said = obey(&folder, line);
        match word.as_str() {
            "in" | "new" => {}
            // 36.5 lb x 1.05 = 38.325 lb, rounded up to a mark of 0.1 lb.
            "check" => assert!(said.contains("38.4 lb"), "{said}"),
            "plan" => {
                let plan = folder.json(&["plan", "job.yaml"]);
                assert_eq!(plan["status"], "proved");
                stops = plan["loads"].clone();
                let placed: i64 = stops.as_array().unwrap().iter().map(|load| tenths(&load["add"])).sum();
                assert_eq!(placed, 384, "all of the charge is placed");
                before = (folder.read("yard.yaml"), gross(&folder));
            }
            "sheet" => {
                assert!(said.is_empty());
                let page = folder.read("plan.html");
                for load in stops.as_array().unwrap() {
                    assert!(page.contains(&format!("<strong>{} lb</strong>", load["stop"])), "{load}");
                }
            }
            "weigh" => {
                assert!(said.contains("At the stop weight: close the valve."), "{said}");
                let lot = &folder.json(&["status", "job.yaml"])["lots"][0];
                assert_eq!((tenths(&lot["recovered"]), tenths(&lot["left"])), (recovered, 384 - recovered), "{line}");
            }
            "status" => {
                assert_eq!(recovered, 384, "every cylinder was weighed");
                assert_eq!(said.matches("at its stop").count(), stops.as_array().unwrap().len(), "{said}");
            }
            "closeout" => {
                let record: Value = serde_json::from_str(&folder.read("job.record.json")).unwrap();
                let amounts = record["rows"].as_array().unwrap().iter().map(|row| row["amount"].as_str().unwrap());
                let pounds = amounts.map(|amount| amount.strip_suffix(" lb").expect("pounds").parse::<f64>().unwrap());
                assert_eq!((pounds.sum::<f64>() * 10.0).round() as i64, 384, "the record has all of it");
                assert_eq!(folder.read("yard.before-job.yaml"), before.0, "the old yard is kept");
                assert_eq!(gross(&folder), before.1 + 384, "the cylinders weigh what was recovered more");
                assert!(folder.at("job.record.csv").exists());
            }
            other => panic!("the section does something that this test doesn't look at: {other}"),
        }
        begun.push(word);
    }
    begun.retain(|word| word != "in");
    begun.dedup();
    assert_eq!(begun, ["new", "check", "plan", "sheet", "weigh", "status", "closeout"]);
}

/// As the older shell of Windows writes what goes into a file by `>`: UTF-16 with a mark, lines ended in its way.
#[test]
fn files_that_a_shell_wrote_as_utf_16_are_read_and_settled() {
    let folder = Folder::empty();
    let saved = |text: &str| {
        let text = format!("\u{feff}{}", text.replace('\n', "\r\n"));
        text.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>()
    };
    for kind in ["job", "yard"] {
        folder.write(&format!("{kind}.yaml"), saved(&folder.done(&["new", kind])));
    }
    let before = folder.bytes("yard.yaml");
    let stop = folder.json(&["plan", "job.yaml"])["loads"][0].clone();
    folder.write("plan.json", saved(&folder.done(&["plan", "job.yaml", "--json"])));
    folder.done(&["audit", "job.yaml", "plan.json"]);
    folder.done(&["weigh", "job.yaml", stop["cylinder"].as_str().unwrap(), &stop["stop"].to_string()]);
    folder.done(&["closeout", "job.yaml", "--write"]);
    assert_eq!(folder.bytes("yard.before-job.yaml"), before);
    let yard = folder.read("yard.yaml");
    assert!(yard.starts_with("\u{feff}#") && yard.contains("\r\n"), "{yard}");
    assert!(yard.contains(&format!("gross: {}", stop["stop"])), "{yard}");
    assert_eq!(folder.json(&["yard", "yard.yaml"])["cylinders"][0]["now"], stop["stop"]);
}

#[test]
fn a_new_jobs_commented_keys_are_those_of_a_quote() {
    let folder = Folder::empty();
    for kind in ["job", "yard"] {
        folder.write(&format!("{kind}.yaml"), folder.run(["new", kind]).out);
    }
    let bare = folder.json(&["quote", "job.yaml"]);
    let text = folder.read("job.yaml");
    let (job, quote) = text.split_once("# For a quote").expect("it shows them");
    let keys = quote.lines().skip(1).map(|line| line.strip_prefix("# ").expect("all of it is commented"));
    let (labour, prices): (Vec<&str>, Vec<&str>) = (
        keys.clone().take_while(|line| !line.starts_with("prices")).collect(),
        keys.skip_while(|line| !line.starts_with("prices")).collect(),
    );
    folder.write("labour.yaml", format!("{job}{}\n", labour.join("\n")));
    let stated = folder.json(&["quote", "labour.yaml"]);
    assert_eq!(
        stated["hours"][0]["elapsed_minutes"], bare["hours"][0]["elapsed_minutes"],
        "what is assumed stands there"
    );
    let origins = stated["hours"][0]["pieces"].as_array().unwrap().iter().map(|piece| &piece["origin"]);
    assert!(origins.clone().count() > 8);
    assert_eq!(origins.filter(|origin| **origin != "the file").collect::<Vec<_>>(), Vec::<&Value>::new());
    folder.write("priced.yaml", format!("{job}{}\n{}\n", labour.join("\n"), prices.join("\n")));
    let priced = folder.json(&["quote", "priced.yaml"]);
    assert_eq!(priced["cost"]["unpriced"], Value::Array(Vec::new()));
    for line in priced["assumptions"].as_array().unwrap() {
        let line = line.as_str().unwrap();
        assert!(!line.contains("assumed") && !line.contains("the file states none"), "{line}");
    }
}
