//! What `schema` prints, held against the reader and the files in `scenarios/`.
//!
//! The judge here knows only the words that our schemas use, and fails at any other. `tests/references/schema.py` asks a
//! library the same in the project's check; in Rust the usual one would bring 38 crates and three minutes of building.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use chargesplit::problem::{Code, Problems};
use chargesplit::text::{FileKind, Request, Today, read_rates, read_truck, read_work, read_yard, schema};
use jiff::civil::{Date, date};
use serde_json::{Value, json};

use crate::folder;

const TODAY: Date = date(2026, 12, 1);
const KINDS: [(FileKind, &str); 4] =
    [(FileKind::Job, "job"), (FileKind::Yard, "yard"), (FileKind::Truck, "truck"), (FileKind::Rates, "rates")];

/// What a schema has against a value.
fn faults(schema: &Value, value: &Value, at: &str) -> Vec<String> {
    let mut faults = Vec::new();
    let fits = |schema: &Value| self::faults(schema, value, at).is_empty();
    for (word, says) in schema.as_object().unwrap() {
        let ok = match word.as_str() {
            "$schema" | "title" | "description" => true,
            "type" => match says {
                Value::Array(types) => types.iter().any(|one| is(value, one.as_str().unwrap())),
                one => is(value, one.as_str().unwrap()),
            },
            "enum" => says.as_array().unwrap().contains(value),
            "const" => says == value,
            "minimum" => value.as_f64().is_none_or(|number| number >= says.as_f64().unwrap()),
            "maximum" => value.as_f64().is_none_or(|number| number <= says.as_f64().unwrap()),
            "minItems" => value.as_array().is_none_or(|items| items.len() as u64 >= says.as_u64().unwrap()),
            "maxItems" => value.as_array().is_none_or(|items| items.len() as u64 <= says.as_u64().unwrap()),
            "pattern" => value.as_str().is_none_or(|text| matches(says.as_str().unwrap(), text)),
            "required" => says.as_array().unwrap().iter().all(|key| has(value, key)),
            "allOf" => says.as_array().unwrap().iter().all(fits),
            "anyOf" => says.as_array().unwrap().iter().any(fits),
            "oneOf" => says.as_array().unwrap().iter().filter(|one| fits(one)).count() == 1,
            "not" => !fits(says),
            "additionalProperties" => {
                assert_eq!(says, &json!(false));
                let keys = value.as_object().into_iter().flat_map(|map| map.keys());
                keys.clone().all(|key| schema["properties"].get(key).is_some())
            }
            "properties" => {
                for (key, inner) in value.as_object().into_iter().flatten() {
                    if let Some(schema) = says.get(key) {
                        faults.extend(self::faults(schema, inner, &format!("{at}/{key}")));
                    }
                }
                true
            }
            "items" => {
                for (index, inner) in value.as_array().into_iter().flatten().enumerate() {
                    faults.extend(self::faults(says, inner, &format!("{at}/{index}")));
                }
                true
            }
            other => panic!("`{other}` is a word that this judge doesn't know"),
        };
        if !ok {
            faults.push(format!("{at}: {word} {says}"));
        }
    }
    faults
}

fn is(value: &Value, kind: &str) -> bool {
    match kind {
        "null" => value.is_null(),
        "boolean" => value.is_boolean(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_i64() || value.is_u64(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        other => panic!("no type `{other}`"),
    }
}

fn has(value: &Value, key: &Value) -> bool {
    value.as_object().is_none_or(|map| map.contains_key(key.as_str().unwrap()))
}

/// The few patterns that the schemas have.
fn matches(pattern: &str, text: &str) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let date = |parts: &[usize]| {
        let found: Vec<&str> = text.split('-').collect();
        found.len() == parts.len() && found.iter().zip(parts).all(|(part, len)| part.len() == *len && digits(part))
    };
    match pattern {
        "[0-9]" => text.bytes().any(|byte| byte.is_ascii_digit()),
        "^[0-9]+$" => digits(text),
        "^[0-9]{4}-[0-9]{2}-[0-9]{2}$" => date(&[4, 2, 2]),
        "[0-9].* per (day|week|month)$" => {
            [" per day", " per week", " per month"].iter().any(|per| text.ends_with(per))
        }
        "[0-9].* per (hour)$" => text.ends_with(" per hour"),
        "[0-9].* per (lb|kg)$" => [" per lb", " per kg"].iter().any(|per| text.ends_with(per)),
        other => panic!("`{other}` is a pattern that this judge doesn't know"),
    }
}

fn kind_of(file: &Value) -> FileKind {
    match (file.get("job"), file.get("truck"), file.get("cylinders")) {
        (Some(_), ..) => FileKind::Job,
        (None, Some(_), _) => FileKind::Truck,
        (None, None, Some(_)) => FileKind::Yard,
        (None, None, None) => FileKind::Rates,
    }
}

fn yaml_in(folder: &str) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "yaml"));
    paths.sort();
    paths
}

#[test]
fn the_schemas_in_the_repository_are_those_that_the_program_prints() {
    for (_, name) in KINDS {
        let printed = folder::run(["schema", name]).is(0);
        assert_eq!(printed.err, "");
        let path = format!("scenarios/schema/{name}.json");
        let same = fs::read_to_string(&path).unwrap() == printed.out;
        assert!(same, "write it anew: chargesplit schema {name} > {path}");
    }
}

#[test]
fn every_scenario_and_template_names_its_schema_and_fits_it() {
    let templates = ["src/cli/new/job.yaml", "src/cli/new/yard.yaml"].map(PathBuf::from);
    let scenarios = yaml_in("scenarios");
    assert!(scenarios.len() > 20);
    for path in scenarios.iter().chain(&templates) {
        let text = fs::read_to_string(path).unwrap();
        let file: Value = serde_yaml::from_str(&text).unwrap();
        let kind = kind_of(&file);
        let faults = faults(&schema(kind), &file, "");
        assert!(faults.is_empty(), "{}: {faults:?}", path.display());
        let named = text.lines().next().unwrap().strip_prefix("# yaml-language-server: $schema=").expect("first line");
        let name = KINDS.iter().find(|(one, _)| *one == kind).unwrap().1;
        if templates.contains(path) {
            assert_eq!(named, format!("{name}.schema.json"), "{}", path.display());
        } else {
            assert_eq!(named, format!("schema/{name}.json"), "{}", path.display());
            assert!(path.parent().unwrap().join(named).is_file());
        }
    }
}

#[test]
fn a_yard_written_from_a_list_fits_its_schema() {
    let arguments = ["yard", "--import", "scenarios/old-list.csv", "--date", "2026-12-01"];
    let yard: Value = serde_yaml::from_str(&folder::run(arguments).out).unwrap();
    assert_eq!(yard["cylinders"].as_array().unwrap().len(), 5);
    assert_eq!(faults(&schema(FileKind::Yard), &yard, ""), Vec::<String>::new());
}

/// Faults that an editor can see without knowing what a value means, and whatever is of the shape of the file.
#[test]
fn wrong_keys_and_words_are_refused_by_the_schema_too() {
    let seen = ["unknown-key", "missing-key", "bad-word", "conflicting-keys", "wrong-shape", "nothing-to-do"];
    let mut count = 0;
    for path in yaml_in("scenarios/wrong") {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        if !seen.contains(&name.split('.').next().unwrap()) {
            continue;
        }
        count += 1;
        let file: Value = serde_yaml::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
        assert!(!faults(&schema(FileKind::Job), &file, "").is_empty(), "{name} fits the schema");
    }
    assert!(count >= 10, "{count}");
}

/// The maps of a schema, each with a file in which nothing but that map stands, with these keys.
fn maps<'s>(schema: &'s Value, wrap: &dyn Fn(Value) -> Value, all: &mut Vec<(&'s Value, Value)>) {
    all.push((schema, wrap(json!({ "zzzzzz": 1 }))));
    for (key, inner) in schema["properties"].as_object().unwrap() {
        if inner.get("properties").is_some() {
            maps(inner, &|map| wrap(json!({ key: map })), all);
        } else if inner["items"].get("properties").is_some() {
            maps(&inner["items"], &|map| wrap(json!({ key: [map] })), all);
        }
    }
}

fn read(kind: FileKind, path: &Path) -> Result<(), Problems> {
    match kind {
        FileKind::Job => {
            read_work(&Request { jobs: &[path.to_owned()], today: &Today::new(|| TODAY), skip_bad_rows: false })
                .map(|_| ())
        }
        FileKind::Yard => read_yard(path, TODAY, false).map(|_| ()),
        FileKind::Truck => read_truck(path).map(|_| ()),
        FileKind::Rates => read_rates(path).map(|_| ()),
    }
}

#[test]
fn the_reader_and_the_schema_know_the_same_keys() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.yaml");
    for (kind, name) in KINDS {
        let schema = schema(kind);
        let mut all = Vec::new();
        maps(&schema, &|map| map, &mut all);
        let maps = match kind {
            FileKind::Job => 18,
            FileKind::Yard => 2,
            FileKind::Truck => 1,
            FileKind::Rates => 11,
        };
        assert_eq!(all.len(), maps, "{name}");
        for (map, file) in all {
            fs::write(&path, file.to_string()).unwrap();
            let problems = read(kind, &path).expect_err("an unknown key");
            let problems: Vec<_> = problems.iter().collect();
            let unknown = problems.iter().find(|one| one.code == Code::UnknownKey && one.message.contains("zzzzzz"));
            let keys = unknown.unwrap().hint.strip_prefix("the keys here are ").unwrap();
            let known: BTreeSet<&str> = keys.split(", ").collect();
            let ours: BTreeSet<&str> = map["properties"].as_object().unwrap().keys().map(String::as_str).collect();
            assert_eq!(known, ours, "{file}");
            let missing = |key: &str| problems.iter().any(|one| one.message.contains(&format!(" has no `{key}`")));
            for key in map["required"].as_array().unwrap() {
                assert!(missing(key.as_str().unwrap()), "the reader doesn't miss {key} in {file}");
            }
            for (key, property) in map["properties"].as_object().unwrap() {
                assert!(property["description"].as_str().unwrap().len() > 5, "{key} isn't described");
            }
        }
    }
}

/// Words of a closed list are those that the reader names when it is given another one.
#[test]
fn the_reader_and_the_schema_know_the_same_words() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.yaml");
    let mut lists = 0;
    for (kind, _) in KINDS {
        let schema = schema(kind);
        let mut all = Vec::new();
        maps(&schema, &|map| map, &mut all);
        for (map, file) in all {
            for (key, property) in map["properties"].as_object().unwrap() {
                let Some(words) = property.get("enum") else { continue };
                let words: Vec<&str> = words.as_array().unwrap().iter().filter_map(Value::as_str).collect();
                // What a charge rests on is read beside a charge alone.
                let beside = if key == "basis" { r#""charge":"1 lb","# } else { "" };
                let typed = format!(r#"{beside}"{key}":"qqq""#);
                fs::write(&path, file.to_string().replace(r#""zzzzzz":1"#, &typed)).unwrap();
                let problems = read(kind, &path).expect_err("no such word");
                let expected = format!("{key}: `qqq` isn't known here; expected {}", words.join(", "));
                assert!(problems.iter().any(|one| one.message == expected), "{expected}\n{problems}");
                lists += 1;
            }
        }
    }
    assert!(lists >= 15, "{lists}");
}

/// An editor warns of nothing that the reader takes: what a key's schema refuses, the reader refuses too.
#[test]
fn the_schema_refuses_no_value_that_the_reader_takes() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.yaml");
    let values = [
        json!(5),
        json!(2.5),
        json!(true),
        json!("words"),
        json!("5"),
        json!("5 lb"),
        json!("5 %"),
        json!("130 F"),
        json!("400 psig"),
        json!("5 per lb"),
        json!("5 min"),
        json!("2024-06"),
        json!("2024-06-15"),
        json!("Jun-24"),
        json!("June 2024"),
        json!("06/2024"),
        json!("15.06.2024"),
        json!(45457),
        json!(6.2024),
        json!("R-22; R-12"),
        json!(["R-22"]),
        json!([]),
        json!({ "zzzzzz": 1 }),
        Value::Null,
    ];
    let mut refused = 0;
    for (kind, _) in KINDS {
        let schema = schema(kind);
        let mut all = Vec::new();
        maps(&schema, &|map| map, &mut all);
        for (map, file) in all {
            for (key, property) in map["properties"].as_object().unwrap() {
                for value in values.iter().filter(|value| !faults(property, value, "").is_empty()) {
                    let beside = if key == "basis" { r#""charge":"1 lb","# } else { "" };
                    let typed = format!(r#"{beside}"{key}":{value}"#);
                    fs::write(&path, file.to_string().replace(r#""zzzzzz":1"#, &typed)).unwrap();
                    let problems = read(kind, &path).expect_err("it isn't complete");
                    let about = |one: &chargesplit::problem::Problem| {
                        one.message.starts_with(&format!("{key}: "))
                            || one.message.contains(&format!("`{key}`"))
                            || matches!(one.code, Code::WrongShape | Code::UnknownKey)
                    };
                    assert!(problems.iter().any(about), "the reader takes {key}: {value} in {file}\n{problems}");
                    refused += 1;
                }
            }
        }
    }
    assert!(refused > 500, "{refused}");
}

/// What is said between keys is said of keys with something behind them, as the reader has it.
#[test]
fn keys_that_exclude_or_need_each_other_do_so_for_both() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.yaml");
    let job = |system: &str, cylinder: &str, rest: &str| {
        format!(
            "{{\"job\":\"A\",\"units\":\"lb\",\"systems\":[{{\"name\":\"S\"{system}}}],\"cylinders\":[{{\"id\":\"C-1\",\
             \"tare\":28,\"water_capacity\":47.5,\"gross\":28{cylinder}}}]{rest}}}"
        )
    };
    let (system, cylinder) = (r#","refrigerant":"R-22","nameplate":5"#, r#","holds":"unknown""#);
    let mixed = r#","condition":"mixed","may_contain":["R-22","R-12"],"fate":"destroy""#;
    for (text, taken) in [
        (job(system, cylinder, ""), true),
        (job(r#","refrigerant":"R-22","nameplate":5,"charge":null,"basis":null"#, cylinder, ""), true),
        (job(r#","refrigerant":"R-22","charge":"5..6","basis":"guess""#, cylinder, ""), true),
        (job(r#","refrigerant":"R-22","charge":"5..6""#, cylinder, ""), false),
        (job(r#","refrigerant":"R-22","charge":"5..6","basis":"guess","added":1"#, cylinder, ""), false),
        (job(r#","refrigerant":"R-22","nameplate":5,"charge":"5..6","basis":"guess""#, cylinder, ""), false),
        (job(r#","refrigerant":"R-22","nameplate":5,"basis":"guess""#, cylinder, ""), false),
        (job(r#","refrigerant":"R-22""#, cylinder, ""), false),
        (job(r#","nameplate":5"#, cylinder, ""), false),
        (job(&format!(",\"nameplate\":5{mixed}"), cylinder, ""), true),
        (job(&format!("{system},\"may_contain\":[\"R-12\"]"), cylinder, ""), false),
        (job(&format!("{system},\"may_contain\":[]"), cylinder, ""), true),
        (job(system, r#","holds":"mixed","may_contain":"R-22; R-12""#, ""), true),
        (job(system, r#","holds":"R-22","may_contain":["R-12"]"#, ""), false),
        (job(system, r#","holds":"R-22","pressure":"118 psig","temperature":"70 F""#, ""), true),
        (job(system, r#","holds":"R-22","pressure":"118 psig""#, ""), false),
        (job(system, r#","holds":"R-22","temperature":"70 F""#, ""), false),
        (job(system, cylinder, r#","yard":null"#), true),
        (job(system, cylinder, r#","yard":"yard.yaml""#), false),
        (r#"{"job":"A","units":"lb","systems":[],"cylinders":[]}"#.to_owned(), false),
        (
            job(
                system,
                cylinder,
                r#","prices":{"currency":"EUR","reclaim":[{"refrigerant":"R-22","fee":"1 per lb"}]}"#,
            ),
            true,
        ),
        (job(system, cylinder, r#","prices":{"currency":"EUR","reclaim":[{"refrigerant":"R-22"}]}"#), false),
    ] {
        fs::write(&path, &text).unwrap();
        let value: Value = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{error}: {text}"));
        let (ours, theirs) = (read(FileKind::Job, &path), faults(&schema(FileKind::Job), &value, ""));
        assert_eq!(ours.is_ok(), taken, "{text}: {ours:?}");
        assert_eq!(theirs.is_empty(), taken, "{text}: {theirs:?}");
    }
}
