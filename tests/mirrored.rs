//! A yard and the folder of its ledger that a program for synchronising mirrors between two machines, each with a memory of its
//! own: what comes half, late, in the wrong order, twice or not at all. The table under "The ledger" in `scenarios/README.md`
//! has a row for each. No real program for synchronising is run here: files are copied as one would.

use std::fs;
use std::path::PathBuf;

use crate::folder::{Folder, flat};

const JOB: &str = "job: Mirrored\ndate: 2026-12-01\nunits: lb\nyard: van.csv\nsystems:\n\
                   - { name: Unit, refrigerant: R-22, nameplate: 60 lb }\n";
const YARD: &str = "id,tare [lb],water_capacity [lb],gross [lb],holds,mark,tested\n\
                    C-1,28.0,47.6,28.0,evacuated,DOT-4BA400,2024-06\n\
                    C-2,28.0,47.6,28.0,evacuated,DOT-4BA400,2024-06\n";
const LEDGER: &str = "van.csv.ledger";

/// The files of a machine's ledger, by name.
fn files(side: &Folder) -> Vec<(String, Vec<u8>)> {
    let entries = fs::read_dir(side.at(LEDGER)).into_iter().flatten().map(|entry| entry.unwrap().path());
    let file = |path: PathBuf| (path.file_name().unwrap().to_str().unwrap().to_owned(), fs::read(path).unwrap());
    entries.map(file).collect()
}

/// What one side has of the ledger arrives at the other, whole; where the other has more of a file, that is the newer one.
fn arrives(from: &Folder, to: &Folder) {
    fs::create_dir_all(to.at(LEDGER)).unwrap();
    for (name, bytes) in files(from) {
        let name = format!("{LEDGER}/{name}");
        if fs::metadata(to.at(&name)).map_or(0, |there| there.len()) < bytes.len() as u64 {
            to.write(&name, bytes);
        }
    }
}

fn both_ways(one: &Folder, other: &Folder) {
    arrives(one, other);
    arrives(other, one);
}

/// The office, which has begun the job, and the van, at which that has arrived.
fn sides() -> (Folder, Folder) {
    let side = |name: &str| {
        let folder = Folder::of(&[("job.yaml", JOB), ("van.csv", YARD)]);
        folder.set("CHARGESPLIT_AS", name);
        folder.set("CHARGESPLIT_NOW", "2026-12-01T08:00:00-05:00");
        folder
    };
    let (office, van) = (side("office"), side("van"));
    office.done(&["begin", "job.yaml"]);
    arrives(&office, &van);
    (office, van)
}

fn weigh(side: &Folder, cylinder: &str, gross: &str) {
    side.done(&["weigh", "job.yaml", cylinder, gross]);
}

/// Weight, and the codes of why it isn't filled, of each cylinder; what is said of the ledger.
fn seen(side: &Folder) -> (Vec<(String, Vec<String>)>, String) {
    let yard = side.json(&["yard", "van.csv", "--date", "2026-12-01"]);
    let one = |cylinder: &serde_json::Value| {
        let codes =
            cylinder["reasons"].as_array().unwrap().iter().map(|reason| reason["code"].as_str().unwrap().to_owned());
        (cylinder["now"].to_string(), codes.collect())
    };
    (yard["cylinders"].as_array().unwrap().iter().map(one).collect(), yard["of_ledger"].to_string())
}

/// Both bound for the job, with these weights, and nothing to say.
#[track_caller]
fn in_order(side: &Folder, weights: [&str; 2]) {
    let (cylinders, said) = seen(side);
    let bound = |weight: &str| (weight.to_owned(), vec!["bound-elsewhere".to_owned()]);
    assert_eq!((cylinders, said.as_str()), (weights.map(bound).to_vec(), "null"));
}

#[test]
fn of_a_file_that_has_come_half_the_whole_lines_count() {
    let (office, van) = sides();
    weigh(&van, "C-1", "40.0");
    weigh(&van, "C-1", "45.0");
    let (name, bytes) = files(&van).into_iter().find(|(name, _)| name.starts_with("van-")).unwrap();
    let name = format!("{LEDGER}/{name}");
    office.write(&name, &bytes[..bytes.len() - 20]);
    let (cylinders, said) = seen(&office);
    assert!(said.contains("it is on its way still") && cylinders[0].0 == "40.0", "{cylinders:?} {said}");
    assert!(!cylinders[0].1.contains(&"in-doubt".to_owned()), "{cylinders:?}");
    // Its end before its beginning, the rest still empty.
    let hole = bytes.len() / 2;
    let mut late = bytes.clone();
    late[..hole].fill(0);
    office.write(&name, late);
    let (cylinders, said) = seen(&office);
    assert!(said != "null" && cylinders[0].1.contains(&"in-doubt".to_owned()), "{cylinders:?} {said}");
    office.write(&name, bytes);
    in_order(&office, ["45.0", "28.0"]);
}

#[test]
fn a_conflict_copy_is_read_for_what_it_has_that_is_new() {
    let (office, van) = sides();
    weigh(&van, "C-1", "40.0");
    arrives(&van, &office);
    weigh(&van, "C-1", "45.0");
    for (name, bytes) in files(&van).into_iter().filter(|(name, _)| name.starts_with("van-")) {
        office.write(&format!("{LEDGER}/{}", name.replace(".jsonl", " (conflicted copy 2).jsonl")), bytes);
    }
    in_order(&office, ["45.0", "28.0"]);
    // One of the yard is nobody's yard.
    office.write("van (conflicted copy).csv", YARD.replace("28.0,evacuated", "44.0,R-134a"));
    in_order(&office, ["45.0", "28.0"]);
}

#[test]
fn an_old_file_of_our_own_is_said_and_not_gone_on_with() {
    let (office, _) = sides();
    weigh(&office, "C-1", "40.0");
    let old = files(&office);
    weigh(&office, "C-1", "45.0");
    for (name, bytes) in &old {
        office.write(&format!("{LEDGER}/{name}"), bytes);
    }
    let (cylinders, said) = seen(&office);
    assert!(flat(&said).contains("it counts all the same") && cylinders[0].0 == "45.0", "{cylinders:?} {said}");
    weigh(&office, "C-2", "30.0");
    assert_eq!(files(&office).len(), 2, "a new file begins, with what the old one lacks");
    in_order(&office, ["45.0", "30.0"]);
    for (name, bytes) in old {
        assert!(files(&office).contains(&(name, bytes)), "and the old one stays as it is");
    }
}

#[test]
fn two_machines_of_one_name_write_two_files() {
    let (office, van) = sides();
    van.set("CHARGESPLIT_AS", "office");
    weigh(&office, "C-1", "40.0");
    weigh(&van, "C-2", "41.0");
    both_ways(&office, &van);
    assert_eq!(files(&office).len(), 2);
    for side in [&office, &van] {
        in_order(side, ["40.0", "41.0"]);
    }
}

#[test]
fn a_settled_yard_that_comes_before_its_ledger_is_a_row_changed_by_hand_until_that_has_come() {
    let (office, van) = sides();
    weigh(&van, "C-1", "40.0");
    van.run(["yard", "van.csv", "--settle"]);
    office.write("van.csv", van.bytes("van.csv"));
    let (cylinders, said) = seen(&office);
    assert!(cylinders[0].1.contains(&"row-changed".to_owned()) && said != "null", "{cylinders:?} {said}");
    assert!(!cylinders[1].1.contains(&"row-changed".to_owned()));
    arrives(&van, &office);
    in_order(&office, ["40.0", "28.0"]);
    // The other way round the ledger counts, and it is said that the row is as it was before.
    office.write("van.csv", YARD);
    weigh(&van, "C-2", "41.0");
    let settled_once = van.bytes("van.csv");
    van.run(["yard", "van.csv", "--settle"]);
    office.write("van.csv", settled_once);
    arrives(&van, &office);
    let (cylinders, said) = seen(&office);
    assert!(flat(&said).contains("as it did before the last settling; the ledger counts"), "{said}");
    assert_eq!(cylinders[1], ("41.0".to_owned(), vec!["bound-elsewhere".to_owned()]));
    office.write("van.csv", van.bytes("van.csv"));
    in_order(&office, ["40.0", "41.0"]);
}

#[test]
fn what_one_side_writes_while_the_other_settles_counts_on_top() {
    let (office, van) = sides();
    weigh(&van, "C-1", "40.0");
    arrives(&van, &office);
    weigh(&van, "C-1", "45.0");
    office.run(["yard", "van.csv", "--settle"]);
    both_ways(&office, &van);
    van.write("van.csv", office.bytes("van.csv"));
    for side in [&office, &van] {
        in_order(side, ["45.0", "28.0"]);
    }
    // Both settle apart, and either file is left.
    weigh(&van, "C-2", "41.0");
    office.run(["yard", "van.csv", "--settle"]);
    van.run(["yard", "van.csv", "--settle"]);
    both_ways(&office, &van);
    let behind = office.bytes("van.csv");
    office.write("van.csv", van.bytes("van.csv"));
    in_order(&office, ["45.0", "41.0"]);
    office.write("van.csv", behind);
    let (cylinders, said) = seen(&office);
    assert!(
        flat(&said).contains("C-2: its row stands as it did before the last settling; the ledger counts"),
        "{said}"
    );
    assert_eq!(cylinders.into_iter().map(|one| one.0).collect::<Vec<_>>(), ["45.0", "41.0"]);
}

#[test]
fn a_folder_that_is_gone_is_said_by_every_machine_that_wrote_into_it() {
    let (office, van) = sides();
    weigh(&van, "C-1", "40.0");
    arrives(&van, &office);
    for side in [&office, &van] {
        fs::remove_dir_all(side.at(LEDGER)).unwrap();
        let (_, said) = seen(side);
        assert!(flat(&said).contains("it counts all the same"), "{said}");
    }
    let (cylinders, _) = seen(&van);
    assert!(cylinders[0].0 == "40.0" && cylinders[0].1.contains(&"in-doubt".to_owned()), "{cylinders:?}");
    // Whoever only read has nothing to remember.
    let shop = Folder::of(&[("job.yaml", JOB), ("van.csv", YARD)]);
    assert_eq!(seen(&shop), (vec![("28.0".to_owned(), Vec::new()); 2], "null".to_owned()));
    // What the others have comes back with them.
    let (office, van) = sides();
    weigh(&van, "C-1", "40.0");
    arrives(&van, &office);
    fs::remove_dir_all(van.at(LEDGER)).unwrap();
    arrives(&office, &van);
    in_order(&van, ["40.0", "28.0"]);
    weigh(&van, "C-1", "45.0");
    in_order(&van, ["45.0", "28.0"]);
}
