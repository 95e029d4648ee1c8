//! Names that would be obeyed by a terminal, a spreadsheet or a reader of JSON, through every command and every drawing of
//! it. The page is tested in `sheet.rs`.
// The folder has a name that not every system takes.
#![cfg(unix)]

use std::collections::BTreeSet;
use std::fs;

use chargesplit::printable::is_hidden;
use serde_json::Value;

use crate::folder::{self, Answer, Folder};

/// Formulas and markup: what files may say. What doesn't show they may not, see the last test.
const IDS: [&str; 4] = ["=HYPERLINK(1)", "-C 2", "<b>C-3</b>", "+C|' /C calc'!A0"];
const SYSTEMS: [&str; 2] = ["=1+1", "@SUM(A1) \"x\", <i>"];
const JOB: &str = "=cmd|' /C calc'!A0";
/// A name of a folder, where the system takes it: colour, a bell, a turned line.
const FOLDER: &str = "a\u{1b}[31m\u{7}\u{202e}b\u{9b}c";

/// A folder with jobs, a yard, a truck and records, all with names like these; the folder within it too.
fn hostile() -> Folder {
    let folder = Folder::named(FOLDER);
    let quoted = |text: &str| format!("'{}'", text.replace('\'', "''"));
    let system = |name: &str, refrigerant: &str| {
        format!("- {{ name: {}, refrigerant: {refrigerant}, nameplate: 40 lb }}\n", quoted(name))
    };
    folder.write(
        "job.yaml",
        format!(
            "job: {}\ndate: 2026-12-01\nunits: lb\nowner: {}\nyard: van.csv\nbring: [{}]\nsystems:\n{}{}stock:\n\
             - {{ name: {}, tare: 28, water_capacity: 47.6, mark: DOT-4BA400, hire: 5 per day }}\nprices: {{ currency: '=EUR', labour: 80 }}\n",
            quoted(JOB),
            quoted("@owner"),
            quoted("-ladder"),
            system(SYSTEMS[0], "R-22"),
            system(SYSTEMS[1], "R-134a"),
            quoted("=kind")
        ),
    );
    let row = |id: &str, damage: &str| {
        format!("\"{}\",27.9,47.5,27.9,evacuated,DOT-4BA400,2024-06,{damage}\n", id.replace('"', "\"\""))
    };
    let rows: String = IDS.iter().map(|id| row(id, if *id == IDS[3] { "=dent" } else { "" })).collect();
    folder.write("van.csv", format!("id,tare [lb],water_capacity [lb],gross [lb],holds,mark,tested,damage\n{rows}"));
    folder.write("truck.yaml", format!("truck: {}\nunits: lb\npayload: 900\ncarries: ['=mats']\n", quoted("=Van")));
    folder.write(
        "bad.csv",
        format!("id,tare [lb],water_capacity [lb],gross [lb],holds\n{FOLDER},x\u{1b},47.5,27.9,\u{202e}evacuated\n"),
    );
    folder
}

/// Somebody's list of cylinders: what can't be taken is told of, and written into the yard as a comment.
fn list(text: &str) -> String {
    let heads = format!("Serial,Tare (lb),WC (lb),Gross (lb),Contents,{text}");
    format!("{heads}\n=A,27.9,47.5,27.9,evacuated,{text}\nB,27.9,47.5,27.9,{text},{text}\n")
}

#[test]
fn a_list_becomes_a_yard_that_may_be_read_on_a_terminal() {
    // A control character refuses the row; what only can't be seen is taken out of it.
    for (text, shown, code) in [("a\u{1b}[31m\u{9b}b", "a\\u{1b}[31m\\u{9b}b", 1), ("a\u{202e}b", "a\\u{202e}b", 0)] {
        let folder = hostile();
        folder.write("list.csv", list(text));
        let output = run(&folder, &["yard", "--import", "list.csv", "--date", "2026-12-01"], false);
        let (yard, said) = (output.out, output.err);
        assert_eq!(output.status, code, "{said}");
        // Of the column in the cylinder that is taken, and in the row that isn't.
        let cell = if code == 1 { shown } else { "ab" };
        assert!(yard.contains(&format!("    # {shown}: {cell}\n")), "{yard}");
        let refused = yard.contains(&format!("# Not taken, line 3: B | 27.9 | 47.5 | 27.9 | {shown} |"));
        assert_eq!(refused, code == 1, "{yard}");
        assert!(said.contains(shown), "{said}");
        assert!(!yard.chars().chain(said.chars()).any(|c| is_hidden(c) && c != '\n'), "{yard}{said}");
    }
}

fn run(folder: &Folder, arguments: &[&str], color: bool) -> Answer {
    let mut command = folder.command(arguments);
    command.env_remove("NO_COLOR").env_remove("CLICOLOR_FORCE");
    if color {
        command.env("CLICOLOR_FORCE", "1");
    }
    Answer::to(&mut command)
}

/// What is printed holds nothing that a terminal would obey, but our own marks of colour where they are asked for.
fn shows(arguments: &[&str], text: &str, color: bool) {
    let mut plain = text.to_owned();
    if color {
        let mut end = 0;
        while let Some(at) = plain[end..].find("\u{1b}[").map(|at| end + at) {
            let length = plain[at + 2..].find(|c: char| !matches!(c, '0'..='9' | ';')).unwrap_or(0);
            assert!(plain[at + 2 + length..].starts_with('m'), "{arguments:?}: {text:?}");
            plain.replace_range(at..at + 3 + length, "");
            end = at;
        }
    }
    let hidden = plain.chars().find(|c| is_hidden(*c) && *c != '\n');
    assert!(hidden.is_none(), "{arguments:?}: {hidden:?} in {text}");
}

fn strings(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::String(text) => found.push(text.clone()),
        Value::Array(values) => values.iter().for_each(|value| strings(value, found)),
        Value::Object(map) => map.values().for_each(|value| strings(value, found)),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// Every command with the arguments that make it repeat names, in the order of a day.
fn day<'a>(job: &'a str, van: &'a str, truck: &'a str) -> Vec<Vec<&'a str>> {
    let date = ["--date", "2026-12-01"];
    vec![
        vec!["check", job],
        vec!["yard", van, date[0], date[1]],
        vec!["yard", "bad.csv", "--skip-bad-rows"],
        vec!["yard", "bad.csv"],
        vec!["yard", "--import", "list.csv", date[0], date[1]],
        vec!["yard", "--import", "list.csv", "-o", "list.yaml", "-v", date[0], date[1]],
        vec!["yard", "--import", "list.csv", "--column", "id=a\u{1b}[31mb"],
        vec!["yard", van, "--units", FOLDER],
        vec!["plan", job],
        vec!["plan", job, "--explain", "--in-turn", "--without", IDS[0]],
        vec!["plan", job, "--keep", FOLDER],
        vec!["quote", job],
        vec!["quote", job, "--customer", "--draft"],
        vec!["tradeoff", job],
        vec!["pack", job, "--truck", truck],
        vec!["sheet", job, "-o", "page.html"],
        vec!["audit", job, "plan.json"],
        vec!["begin", job],
        vec!["begin", job, "--keep", FOLDER],
        vec!["release", job],
        vec!["begin", job, "--without", IDS[1], "--as", FOLDER],
        vec!["weigh", job, IDS[0], "50", "--note", "=note", "--system", SYSTEMS[0]],
        vec!["release", job],
        vec!["weigh", job, FOLDER, "50"],
        vec!["weigh", job, IDS[0], FOLDER],
        vec!["weigh", job, IDS[2], "60", "--system", FOLDER],
        vec!["weigh", job, IDS[2], "999", "--force", "--system", SYSTEMS[1]],
        vec!["weigh", job, "--undo"],
        vec!["replan", job, "--without", IDS[3]],
        vec!["replan", job, "--left", FOLDER],
        vec!["status", job],
        vec!["cylinder", van, IDS[0]],
        vec!["cylinder", van, FOLDER],
        vec!["cylinder", van, IDS[1], "--out", "=dent"],
        vec!["cylinder", van, IDS[1], "--out", FOLDER],
        vec!["cylinder", van, IDS[1], "--weighed", FOLDER],
        vec!["cylinder", van, IDS[1], "--weighed", "28", "--holds", FOLDER],
        vec!["yard", van, "--join", FOLDER],
        vec!["yard", van, "--give-up", FOLDER, FOLDER],
        vec!["closeout", job, "--place", "=place", "--certificate", "+1"],
        vec!["closeout", "--month", "2026-11", "."],
        vec!["refrigerant", FOLDER],
        vec!["completions", FOLDER],
        vec!["new", FOLDER],
        vec![FOLDER],
    ]
}

#[test]
fn no_command_prints_what_a_terminal_obeys_and_its_json_is_data() {
    let folder = hostile();
    // In full, so that messages repeat the folder's name.
    let full = |name: &str| folder.at(name).to_str().unwrap().to_owned();
    let (job, van, truck) = (full("job.yaml"), full("van.csv"), full("truck.yaml"));
    folder.write("plan.json", run(&folder, &["plan", &job, "--json"], false).out);
    folder.write("list.csv", list(FOLDER));
    let mut seen = BTreeSet::new();
    let mut repeated = 0;
    for arguments in day(&job, &van, &truck) {
        seen.insert(arguments[0].to_owned());
        for color in [true, false] {
            let output = run(&folder, &arguments, color);
            assert!((0..3).contains(&output.status), "{arguments:?}");
            shows(&arguments, &output.out, color);
            shows(&arguments, &output.err, color);
        }
        let json: Vec<&str> = arguments.iter().copied().chain(["--json"]).collect();
        let output = run(&folder, &json, false);
        shows(&json, &output.err, false);
        shows(&json, &output.out, false);
        if let Ok(value) = serde_json::from_str::<Value>(&output.out) {
            // The same data, written again, is read again.
            assert_eq!(serde_json::from_str::<Value>(&value.to_string()).unwrap(), value);
            let mut texts = Vec::new();
            strings(&value, &mut texts);
            let names = IDS.iter().chain(&SYSTEMS).chain([&JOB]);
            repeated += usize::from(names.clone().any(|name| texts.iter().any(|text| text == name)));
        } else {
            assert!(output.out.is_empty() || output.status != 0 || arguments[0] == "weigh", "{json:?}");
        }
    }
    assert!(repeated >= 12, "only {repeated} reports repeated a name as it is");
    let help = folder::run(["--help"]).out;
    let listed = help.split("Commands:").nth(1).and_then(|rest| rest.split("Options:").next()).unwrap();
    for line in listed.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   ")) {
        let command = line.split_whitespace().next().unwrap();
        // These two repeat nothing of a file.
        assert!(seen.contains(command) || ["help", "schema"].contains(&command), "{command} isn't tried");
    }
}

#[test]
fn no_cell_of_any_table_is_a_formula() {
    let folder = hostile();
    for arguments in [
        &["weigh", "job.yaml", IDS[0], "50", "--system", SYSTEMS[0]][..],
        &["weigh", "job.yaml", IDS[2], "40", "--system", SYSTEMS[1], "--force"],
        &["closeout", "job.yaml", "--place", "=place", "--certificate", "+1"],
    ] {
        let output = run(&folder, arguments, false);
        assert!(output.status == 0, "{arguments:?}: {}", output.err);
    }
    let mut tables = vec![("quote".to_owned(), run(&folder, &["quote", "job.yaml", "--csv"], false).out)];
    let mut names: Vec<String> =
        fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.retain(|name| name.ends_with(".csv") && !["van.csv", "bad.csv"].contains(&name.as_str()));
    names.sort();
    assert_eq!(names, ["job.record.csv", "van.after-job.csv"]);
    tables.extend(names.iter().map(|name| (name.clone(), folder.read(name))));
    let yard = folder.read("van.csv");
    let rows = csv::ReaderBuilder::new().has_headers(false).from_reader(yard.as_bytes()).into_records();
    let before: Vec<String> = rows.flat_map(|row| row.unwrap().iter().map(str::to_owned).collect::<Vec<_>>()).collect();
    for (name, table) in &tables {
        let (mut cells, mut kept) = (0, 0);
        for record in
            csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(table.as_bytes()).records()
        {
            for cell in &record.unwrap() {
                let number = cell.parse::<f64>().is_ok();
                // Of a yard only the cells that change are written: the others stay as their owner wrote them.
                let theirs = name.starts_with("van.") && before.iter().any(|known| known == cell);
                assert!(number || theirs || !cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{name}: {cell}");
                assert!(!cell.chars().any(is_hidden), "{name}: {cell}");
                cells += 1;
                kept += usize::from(
                    IDS.contains(&cell) || IDS.iter().chain(&SYSTEMS).any(|name| cell == format!("'{name}")),
                );
            }
        }
        assert!(cells > 20 && kept > 0, "{name}: {cells} cells, {kept} of them names");
    }
    // The yard afterwards reads as the yard before: the same names.
    let ids = |name: &str| {
        let output = run(&folder, &["yard", name, "--json"], false);
        let value = output.json();
        let cylinders = value["cylinders"].as_array().unwrap();
        cylinders.iter().map(|cylinder| cylinder["cylinder"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(ids("van.after-job.csv"), ids("van.csv"));
    assert_eq!(ids("van.csv"), IDS);
}

#[test]
fn a_ledger_and_a_record_from_elsewhere_are_shown_as_text() {
    let folder = hostile();
    let weighed = run(
        &folder,
        &["weigh", "job.yaml", IDS[0], "50", "--system", SYSTEMS[0], "--note", "here", "--at", "2026-11-20T10:00"],
        false,
    );
    assert!(weighed.status == 0, "{}", weighed.err);
    run(&folder, &["closeout", "job.yaml"], false).is(0);
    let spoiled = |name: &str, from: &str| {
        let text = folder.read(name);
        assert!(text.contains(from), "{name}: {text}");
        let hidden: String = FOLDER
            .chars()
            .map(|c| if c.is_control() { format!("\\u{:04x}", u32::from(c)) } else { c.to_string() })
            .collect();
        folder.write(name, text.replace(from, &hidden));
    };
    spoiled("job.record.json", "HYPERLINK(1)");
    spoiled("job.record.json", "R-22");
    for arguments in [&["closeout", "--month", "2026-11", "."][..], &["closeout", "--month", "2026-11", ".", "--json"]]
    {
        for color in [true, false] {
            let output = run(&folder, arguments, color);
            shows(arguments, &output.out, color);
            shows(arguments, &output.err, color);
        }
    }
    for from in ["here", "HYPERLINK(1)"] {
        let ledger = format!("van.csv.ledger/{}", ledger_file(&folder));
        spoiled(&ledger, from);
        for arguments in [
            &["status", "job.yaml"][..],
            &["status", "job.yaml", "--json"],
            &["closeout", "job.yaml"],
            &["replan", "job.yaml"],
            &["cylinder", "van.csv", IDS[2]],
            &["yard", "van.csv"],
            &["weigh", "job.yaml", "--undo"],
        ] {
            let output = run(&folder, arguments, false);
            shows(arguments, &output.out, false);
            shows(arguments, &output.err, false);
            assert!((0..3).contains(&output.status), "{arguments:?}: {}", output.err);
        }
    }
}

/// The name of the first file of the ledger.
fn ledger_file(folder: &Folder) -> String {
    let names = fs::read_dir(folder.at("van.csv.ledger")).unwrap().map(|entry| entry.unwrap().file_name());
    names.map(|name| name.into_string().unwrap()).filter(|name| name.ends_with(".jsonl")).min().unwrap()
}
