//! `--quiet` and `--verbose`: what is said beside the data, and that the data stays the same.

use std::fmt::Write as _;
use std::fs;

use sha2::{Digest, Sha256};

use crate::folder::{Answer, Folder, flat};

/// What is said beside the data, when asked to say more.
fn verbose(folder: &Folder, arguments: &[&str]) -> String {
    folder.run([arguments, &["-v"]].concat()).err
}

fn quiet(folder: &Folder, arguments: &[&str]) -> Answer {
    folder.run([arguments, &["--quiet"]].concat())
}

/// The beginning of a file's SHA-256.
fn brief(file: &str) -> String {
    let mut digits = String::new();
    for byte in Sha256::digest(fs::read(file).unwrap()).iter().take(6) {
        write!(digits, "{byte:02x}").unwrap();
    }
    digits
}

#[test]
fn the_data_is_the_same_however_much_is_said() {
    let project = Folder::of_project();
    for (arguments, status) in [
        (&["check", "scenarios/cold-store.yaml"][..], 0),
        (&["plan", "scenarios/cold-store.yaml", "--json"], 0),
        (&["plan", "scenarios/too-small.yaml"], 1),
        (&["tradeoff", "scenarios/cold-store.yaml"], 0),
        (&["pack", "scenarios/over-the-limit.yaml", "--truck", "scenarios/truck-small.yaml"], 1),
        (&["quote", "scenarios/tender.yaml"], 0),
        (&["yard", "scenarios/van-3.yaml", "--date", "2026-12-01"], 0),
        (&["status", "scenarios/part-way.yaml"], 0),
        (&["refrigerant", "R-22"], 0),
        (&["plan", "scenarios/cold-store.yaml", "--units", "kg"], 0),
        (&["schema", "yard"], 0),
    ] {
        let usual = project.run(arguments);
        assert_eq!(usual.status, status, "{arguments:?}");
        assert!(!usual.out.is_empty());
        for word in ["--quiet", "--verbose", "-q", "-v"] {
            let other = project.run([arguments, &[word]].concat());
            assert_eq!((&other.out, other.status), (&usual.out, usual.status), "{arguments:?} {word}");
        }
        assert_eq!(quiet(&project, arguments).err, "", "{arguments:?}");
        // Before the command as well as behind it.
        assert_eq!(project.run([&["--quiet"], arguments].concat()).out, usual.out, "{arguments:?}");
    }
}

#[test]
fn verbose_says_what_was_read_and_assumed_and_how_long_it_took() {
    let project = Folder::of_project();
    let said = verbose(&project, &["plan", "scenarios/cold-store.yaml"]);
    for file in ["scenarios/cold-store.yaml", "scenarios/van-3.yaml"] {
        assert!(said.contains(&format!("read {file}, {}\n", brief(file))), "{said}");
    }
    for expected in ["2 systems", "11 cylinders read, 0 rows left out", "planned in "] {
        assert!(said.contains(expected), "{expected}: {said}");
    }
    // What the file says isn't assumed, also where it says the default.
    let all = "job: All\ndate: 2026-12-01\nunits: kg\nscale_division: 0.05 kg\nscale: { accuracy: 0 kg, capacity: 100 kg }\n\
               limit: { fill: 80 %, at: 130 F, rules: us }\nreuse_together: false\n\
               site: { lift_limit: 70 kg, one_person: 23 kg, hottest: 130 F }\nsystems:\n  \
               - { name: S, refrigerant: R-22, nameplate: 2 kg, allowance: 5 %, condition: clean, fate: reclaim }\n\
               cylinders: []\n";
    let folder = Folder::of(&[("job.yaml", all)]);
    let silent = verbose(&folder, &["check", "job.yaml"]);
    assert!(silent.contains("1 system") && !silent.contains("assumed"), "{silent}");
    for (line, taken) in [
        ("date: 2026-12-01\n", "date 20"),
        ("scale_division: 0.05 kg\n", "scale_division 0.05 kg"),
        ("accuracy: 0 kg, ", "scale.accuracy 0, nothing is kept free"),
        (", capacity: 100 kg", "scale.capacity none"),
        ("fill: 80 %, ", "limit.fill 80 %"),
        ("at: 130 F, ", "limit.at 54.4 C"),
        (", rules: us", "limit.rules us"),
        ("lift_limit: 70 kg, ", "site.lift_limit none"),
        ("one_person: 23 kg, ", "site.one_person 22.68 kg"),
        (", hottest: 130 F", "site.hottest none"),
        ("reuse_together: false\n", "reuse_together false"),
        (", allowance: 5 %", "allowance nothing for 1 of 1 systems"),
        (", condition: clean", "condition clean for 1 of 1 systems"),
        (", fate: reclaim", "fate reclaim for 1 of 1 systems"),
    ] {
        assert_eq!(all.matches(line).count(), 1, "{line}");
        folder.write("job.yaml", all.replace(line, ""));
        let said = verbose(&folder, &["check", "job.yaml"]);
        let assumed: Vec<&str> =
            said.lines().filter(|line| line.contains("assumed, as its file doesn't say:")).collect();
        assert!(matches!(assumed[..], [one] if one.contains(taken)), "{line}: {said}");
    }
    let said = verbose(&project, &["pack", "scenarios/day-1.yaml", "--truck", "scenarios/truck-7.yaml"]);
    assert!(said.contains(&format!("read scenarios/truck-7.yaml, {}\n", brief("scenarios/truck-7.yaml"))), "{said}");
    let list = "scenarios/old-list.csv";
    let said = verbose(&project, &["yard", "--import", list, "--date", "2026-12-01"]);
    let begins = format!("read {list}, {}\n5 cylinders read, 6 rows left out\n", brief(list));
    assert!(said.starts_with(&begins), "{said}");
    let said = verbose(&project, &["status", "scenarios/part-way.yaml"]);
    assert!(said.contains("read scenarios/part-way.yaml.ledger, 6 entries\n"), "{said}");
    // A further yard, when it is added; from then on the ledger has it, and the file isn't read again.
    let folder = Folder::of_scenarios(&["part-way.yaml", "part-way.yaml.ledger", "van-3.yaml"]);
    let said = verbose(&folder, &["replan", "part-way.yaml", "--with", "van-3.yaml"]);
    let read = format!("van-3.yaml, {}\n11 cylinders read, 0 rows left out\n", brief("scenarios/van-3.yaml"));
    assert!(said.contains(&read), "{said}");
    fs::remove_file(folder.at("van-3.yaml")).unwrap();
    let said = verbose(&folder, &["status", "part-way.yaml"]);
    assert!(!said.contains("van-3.yaml") && said.contains("2 cylinders read, 0 rows left out"), "{said}");
    assert_eq!(folder.json(&["status", "part-way.yaml"])["readings"], 3);
}

#[test]
fn quiet_hides_notes_and_never_a_warning_a_refusal_or_a_danger() {
    let (project, folder) = (Folder::of_project(), Folder::of_scenarios(&["cold-store.yaml", "van-3.yaml"]));
    let sheet = ["sheet", "cold-store.yaml", "-o", "plan.html"];
    assert_eq!(folder.run(sheet).err, "wrote plan.html\n");
    assert_eq!(quiet(&folder, &sheet).err, "");
    // A refusal of a file, of a reading, and of an argument.
    for arguments in [
        &["plan", "scenarios/wrong/comma.yaml"][..],
        &["plan", "scenarios/cold-store.yaml", "--keep", "C-999"],
        &["plan", "scenarios/cold-store.yaml", "--time-limit", "none"],
    ] {
        let (usual, quiet) = (project.run(arguments), quiet(&project, arguments));
        assert_eq!(quiet.status, 2);
        assert!(!usual.err.is_empty());
        assert_eq!(quiet.err, usual.err, "{arguments:?}");
    }
    let folder = Folder::of_scenarios(&["part-way.yaml", "part-way.yaml.ledger"]);
    let refused = quiet(&folder, &["weigh", "part-way.yaml", "T-2", "700"]);
    assert_eq!(refused.status, 2);
    assert!(refused.err.starts_with("DANGER if this is true"), "{}", refused.err);
    let danger = quiet(&folder, &["weigh", "part-way.yaml", "T-1", "80"]);
    assert_eq!(danger.status, 1);
    for said in [&danger.out, &danger.err] {
        assert!(said.starts_with("!! DANGER: T-1: it weighs 80.0 lb, over 49 CFR"), "{said}");
    }
    // Rows of a list that aren't taken are told of, and a list with nothing to look at isn't.
    let list = ["yard", "--import", "scenarios/old-list.csv", "--date", "2026-12-01"];
    assert!(quiet(&project, &list).err.contains("\nNot taken\n"));
    let all = "id,tare [lb],water_capacity [lb],gross [lb],holds,condition,mark,tested\n\
               C-1,27.9,47.6,27.9,evacuated,clean,DOT-4BA400,2024-06\n";
    folder.write("list.csv", all);
    let arguments = ["yard", "--import", "list.csv", "--date", "2026-12-01"];
    assert!(folder.run(arguments).err.contains("1 of 1 cylinder taken"));
    assert_eq!(quiet(&folder, &arguments).err, "");
    // A line of the ledger that a crash tore, and a row that can't be read.
    let file = fs::read_dir(folder.at("part-way.yaml.ledger")).unwrap().next().unwrap().unwrap().path();
    fs::write(&file, fs::read_to_string(&file).unwrap() + "{\"id\":\"aaaaaa/9\",\"at").unwrap();
    let torn = quiet(&folder, &["status", "part-way.yaml"]);
    assert!(flat(&torn.out).contains("its last line has no end"), "{}", torn.out);
    let bad = folder.read("part-way.yaml")
        + "  - { id: bad, tare: 16,4, water_capacity: 26.2, gross: 16.4, holds: evacuated }\n";
    folder.write("part-way.yaml", bad);
    let skipped = quiet(&folder, &["status", "part-way.yaml", "--skip-bad-rows"]);
    assert!(skipped.err.contains("left out, its row can't be read"), "{}", skipped.err);
}
