//! Ids that look alike are one id, in every file and on the command line; a character that can't be seen is refused, and
//! taken out of a list.

use crate::folder::{Folder, flat};

const JOB: &str = "job: One\ndate: 2026-12-03\nunits: lb\nyard: yard.yaml\nsystems:\n\
                   - { name: Rack 1, refrigerant: R-22, nameplate: 30 lb }\n";

fn row(id: &str) -> String {
    format!(
        "- {{ id: \"{id}\", tare: 27.9, water_capacity: 47.5, gross: 27.9, holds: evacuated, mark: DOT-4BA400, tested: 2024-06 }}\n"
    )
}

fn yard(ids: &[&str]) -> String {
    format!("units: lb\ncylinders:\n{}", ids.iter().map(|id| row(id)).collect::<String>())
}

/// A folder with a job and a yard of these cylinders.
fn folder(ids: &[&str]) -> Folder {
    Folder::of(&[("job.yaml", JOB), ("yard.yaml", &yard(ids))])
}

/// Two of one look. The first one of each stands in the yards of the tests below.
const ALIKE: [(&str, &[&str]); 3] = [
    ("C-1", &["c-1", "C\u{2010}1", "C\u{2011}1", "C\u{2013}1", "C\u{2015}1", "C\u{2212}1"]),
    ("C 1", &["C\u{a0}1", "C  1", "C\u{2009}1"]),
    ("K\u{fc}hl 1", &["Ku\u{308}hl 1"]),
];

#[test]
fn a_yard_has_no_two_that_look_alike() {
    for (id, others) in ALIKE {
        for other in others {
            let folder = folder(&[id, other]);
            let said = folder.run(["plan", "job.yaml"]).is(2).err;
            assert!(said.contains("error[duplicate-id]"), "{other:?}: {said}");
            // Where rows may be left out, neither of the two is used.
            let plan = folder.run(["plan", "job.yaml", "--json", "--skip-bad-rows"]).is(1).out;
            assert!(plan.contains("\"loads\": []"), "{other:?}: {plan}");
        }
    }
}

#[test]
fn a_list_takes_neither_of_two_that_look_alike() {
    for (id, others) in ALIKE {
        for other in others {
            let folder = Folder::empty();
            let heads = "Serial,Tare (lb),WC (lb),Gross (lb),Contents";
            let rows = format!(
                "{heads}\n{id},27.9,47.5,27.9,evacuated\n{other},27.9,47.5,27.9,evacuated\nB,28,47.5,28,evacuated\n"
            );
            folder.write("list.csv", rows);
            let yard = folder.run(["yard", "--import", "list.csv", "--date", "2026-12-01"]).is(1).out;
            assert_eq!(yard.matches("- id: ").count(), 1, "{other:?}: {yard}");
        }
    }
}

#[test]
fn an_id_is_found_by_its_look_from_the_command_line_to_the_close_out() {
    for (id, others) in ALIKE {
        for other in others {
            let folder = folder(&[id, "B"]);
            let plan = folder.done(&["plan", "job.yaml", "--json", "--keep", other]);
            assert!(plan.contains(&format!("\"cylinder\": \"{id}\"")), "as the yard has it: {plan}");
            let text = folder.done(&["plan", "job.yaml", "--without", other]);
            assert!(!text.contains(id), "{other:?}: {text}");
            folder.done(&["pack", "job.yaml", "--take", other]);
            // A plan whose ids were typed again, in the audit.
            folder.write("plan.json", plan.replace(id, other));
            folder.done(&["audit", "job.yaml", "plan.json"]);
            // The ledger, before and after the yard is typed again.
            folder.done(&["begin", "job.yaml", "--keep", other]);
            folder.done(&["weigh", "job.yaml", other, "40"]);
            folder.done(&["cylinder", "yard.yaml", other]);
            folder.write("yard.yaml", yard(&[other, "B"]));
            folder.done(&["weigh", "job.yaml", id, "63.9"]);
            let text = folder.done(&["status", "job.yaml"]);
            assert!(text.contains("36.0"), "{text}");
            folder.done(&["closeout", "job.yaml", "--write"]);
            let after = folder.read("yard.yaml");
            assert!(
                after.contains(&format!("id: \"{other}\", tare: 27.9, water_capacity: 47.5, gross: 63.9")),
                "{after}"
            );
        }
    }
}

const UNSEEN: [(&str, &str); 5] = [
    ("C-1\u{200b}", "U+200B zero width space, behind `C-1`"),
    ("C\u{2060}-1", "U+2060 word joiner, behind `C`"),
    ("C-\u{ad}1", "U+00AD soft hyphen, behind `C-`"),
    ("\u{202e}C-1", "U+202E right-to-left override, at its beginning"),
    ("C\u{fe0f}-1", "U+FE0F variation selector, behind `C`"),
];

#[test]
fn what_cant_be_seen_is_refused_with_its_place_and_name() {
    for (id, words) in UNSEEN {
        let folder = folder(&["C-1", id]);
        let said = folder.run(["plan", "job.yaml"]).is(2).err;
        let plain = flat(&said);
        assert!(plain.contains("error[bad-text]") && plain.contains(words), "{id:?}: {said}");
        assert!(said.contains("yard.yaml:4:"), "{id:?}: {said}");
        folder.run(["weigh", "job.yaml", id, "40"]).is(2);
    }
}

#[test]
fn a_list_loses_what_cant_be_seen_and_says_so() {
    for (id, _) in UNSEEN {
        let folder = Folder::empty();
        let heads = "Serial,Tare (lb),WC (lb),Gross (lb),Contents";
        let row = |id: &str| format!("{heads}\n{id},27.9,47.5,27.9,evacuated\n");
        folder.write("list.csv", row(id));
        let imported = folder.run(["yard", "--import", "list.csv", "--date", "2026-12-01"]).is(0);
        assert!(imported.out.contains("id: C-1\n"), "{id:?}: {}", imported.out);
        let plain = flat(&imported.err);
        assert!(plain.contains("Written in another form") && plain.contains("can't be seen"), "{id:?}: {plain}");
        // With it gone it is the other one's id: nobody knows which is right.
        folder.write("list.csv", format!("{}C-1,28,47.5,28,evacuated\n", row(id)));
        let yard = folder.run(["yard", "--import", "list.csv", "--date", "2026-12-01"]).is(1).out;
        assert_eq!(yard.matches("- id: ").count(), 0, "{id:?}: {yard}");
    }
}
