//! What stays apart after a day at the scale: in the plan for what is left, and in the yard afterwards.

use serde_json::Value;

use crate::folder::Folder;

const SIZE: &str = "tare: 28.0, water_capacity: 47.6, mark: DOT-4BA400, tested: 2024-06";

/// Two systems' refrigerant for reuse stays apart, and nobody knows of which of them an old heel kept for the job is.
/// With one of them done there is only one left, and the heel is no better known than before.
#[test]
fn a_heel_that_nobody_knows_isnt_taken_for_the_last_systems() {
    let job = format!(
        "job: Reuse\ndate: 2026-12-01\nunits: lb\nowner: Mill\nsystems:\n\
         - {{ name: A, refrigerant: R-22, nameplate: 10 lb, fate: reuse }}\n\
         - {{ name: B, refrigerant: R-22, nameplate: 12 lb, fate: reuse }}\ncylinders:\n\
         - {{ id: E-1, gross: 28.0, holds: evacuated, {SIZE} }}\n- {{ id: E-2, gross: 28.0, holds: evacuated, {SIZE} }}\n\
         - {{ id: H, gross: 40.0, holds: R-22, owner: Mill, kept_for: Reuse, {SIZE} }}\n"
    );
    let folder = Folder::of(&[("job.yaml", &job)]);
    folder.done(&["weigh", "job.yaml", "E-1", "38", "--system", "A"]);
    let output = folder.run(["replan", "job.yaml", "--without", "E-2", "--json"]);
    assert_eq!(output.status, 1, "neither E-1, which has A, nor H takes B: {}", output.out);
    let plan: Value = output.json();
    assert_eq!((&plan["loads"], &plan["short"][0]["missing"]), (&Value::Array(Vec::new()), &12.0.into()));
    // Afterwards both say whose they are, and that they stay by themselves.
    folder.done(&["closeout", "job.yaml"]);
    let after = folder.read("job.after-job.yaml");
    let expected = "{ id: E-1, gross: 38.0 lb, holds: R-22, owner: Mill, kept_for: Reuse, tare: 28.0";
    assert!(after.contains(expected), "{after}");
    let out = "{ id: E-2, gross: 28.0, holds: evacuated, damage: out, tare: 28.0";
    assert!(after.contains(out), "what is out is known to whoever reads the yard: {after}");
    assert_eq!(folder.read("job.yaml"), job, "without --write the job file is as it was");
}

/// Begun for destruction, a cylinder is filled on with that lot and with no other of the same refrigerant.
#[test]
fn a_begun_cylinder_goes_on_with_its_lot_alone() {
    let job = format!(
        "job: Two fates\ndate: 2026-12-01\nunits: lb\nsystems:\n\
         - {{ name: A, refrigerant: R-22, nameplate: 30 lb, fate: destroy }}\n\
         - {{ name: B, refrigerant: R-22, nameplate: 30 lb, fate: reclaim }}\ncylinders:\n\
         - {{ id: E-1, gross: 28.0, holds: evacuated, {SIZE} }}\n- {{ id: E-2, gross: 28.0, holds: evacuated, {SIZE} }}\n"
    );
    let folder = Folder::of(&[("job.yaml", &job)]);
    folder.done(&["weigh", "job.yaml", "E-1", "38", "--system", "A"]);
    let plan = folder.run(["replan", "job.yaml", "--json"]).is(0).json();
    let load = |index: usize| (plan["loads"][index]["cylinder"].as_str(), plan["loads"][index]["lot"].as_str());
    assert_eq!((load(0), load(1)), ((Some("E-1"), Some("R-22, destroy")), (Some("E-2"), Some("R-22"))));
    assert_eq!((&plan["loads"][0]["add"], &plan["loads"][1]["add"]), (&20.0.into(), &30.0.into()));
    let output = folder.run(["replan", "job.yaml", "--without", "E-2"]);
    assert_eq!(output.status, 1, "E-1 isn't for B: {}", output.out);
    assert!(output.out.contains("30.0 lb of R-22 would be left"), "{}", output.out);
}

/// What carried burnout stays burnout in the yard, and what was said of the cylinder before says nothing any more.
#[test]
fn burnout_stays_burnout_afterwards() {
    let job = "job: Burnout\ndate: 2026-12-01\nunits: lb\nyard: yard.yaml\nsystems:\n\
               - { name: Unit 3, refrigerant: R-22, nameplate: 20 lb, condition: burnout }\n";
    let yard = "units: lb\ncylinders:\n  # the one for acid\n  - id: C-1\n    tare: 28.0\n    water_capacity: 47.6\n    \
                gross: 28.0\n    holds: evacuated   # checked\n    condition: burnout\n    cleaned: true # in May\n    \
                mark: DOT-4BA400\n    tested: 2024-06\n";
    let folder = Folder::of(&[("job.yaml", job), ("yard.yaml", yard)]);
    folder.done(&["weigh", "job.yaml", "C-1", "47.5"]);
    folder.done(&["closeout", "job.yaml", "--write"]);
    let expected = yard
        .replace("gross: 28.0", "gross: 47.5 lb")
        .replace("holds: evacuated", "holds: R-22")
        .replace("cleaned: true", "cleaned: null");
    assert_eq!(folder.read("yard.yaml"), expected);
    let clean = job.replace("Burnout", "Clean").replace(", condition: burnout", "");
    folder.write("clean.yaml", clean);
    let output = folder.run(["plan", "clean.yaml"]);
    assert_eq!(output.status, 1, "{}", output.out);
    assert!(output.out.contains("its burnout R-22 stays apart from clean R-22"), "{}", output.out);
}

/// A yard from a spreadsheet, in another unit than the job.
#[test]
fn a_table_gets_weights_that_carry_their_unit() {
    let job = "job: Metric\ndate: 2026-12-01\nunits: kg\nyard: yard.csv\nsystems:\n\
               - { name: Unit 3, refrigerant: R-22, nameplate: 9 kg }\n";
    let yard = "id,tare [lb],water_capacity [lb],gross [lb],holds,mark,tested\nC-1,28.0,47.6,28.0,evacuated,DOT-4BA400,2024-06\n";
    let folder = Folder::of(&[("job.yaml", job), ("yard.csv", yard)]);
    // 28.0 lb are 12.7006 kg, 12.75 at the next mark of 0.05 kg.
    let said = folder.done(&["weigh", "job.yaml", "C-1", "21.75"]);
    assert!(said.contains("9.00 kg recovered, 0.00 kg left"), "{said}");
    folder.done(&["closeout", "job.yaml", "--write"]);
    assert_eq!(folder.read("yard.csv"), yard.replace("28.0,evacuated", "21.75 kg,R-22"));
    assert_eq!(folder.read("yard.before-job.csv"), yard);
    folder.done(&["yard", "yard.csv"]);
    let again = folder.run(["status", "job.yaml", "--json"]).is(0).json();
    assert_eq!(again["lots"][0]["recovered"], 9.0, "the ledger knows what was before");
}

/// What was mixed by force is shown as danger, gets nothing more, and is a mixture in the yard.
#[test]
fn what_was_mixed_by_force_stays_a_mixture() {
    let job = format!(
        "job: Mixed up\ndate: 2026-12-01\nunits: lb\nsystems:\n- {{ name: A, refrigerant: R-22, nameplate: 30 lb }}\n\
         - {{ name: B, refrigerant: R-134a, nameplate: 30 lb }}\ncylinders:\n\
         - {{ id: E-1, gross: 28.0, holds: evacuated, {SIZE} }}\n- {{ id: E-2, gross: 28.0, holds: evacuated, {SIZE} }}\n"
    );
    let folder = Folder::of(&[("job.yaml", &job)]);
    folder.done(&["weigh", "job.yaml", "E-1", "38", "--system", "A"]);
    let mixed = ["weigh", "job.yaml", "E-1", "40", "--system", "B"];
    assert_eq!(folder.run(mixed).status, 2);
    let output = folder.run([&mixed[..], &["--force"]].concat());
    assert_eq!(output.status, 1);
    assert!(output.out.starts_with("!! DANGER: E-1: it has got refrigerant of more than one kind."));
    let plan = folder.json(&["replan", "job.yaml"]);
    let loads = plan["loads"].as_array().unwrap();
    assert!(!loads.is_empty() && loads.iter().all(|load| load["cylinder"] != "E-1"), "{plan}");
    assert_eq!(folder.run(["closeout", "job.yaml"]).status, 1);
    let after = folder.read("job.after-job.yaml");
    assert!(after.contains("gross: 40.0 lb, holds: mixed, may_contain: [R-22, R-134a], tare: 28.0"), "{after}");
}

/// The line of 200 lb in 40 CFR 82.156 table 1 is drawn by the charge, not by what is planned for on top: a nameplate of
/// 195 lb with an allowance of 5 % (204.75 lb) stays under it, in the quote as in the close-out.
#[test]
fn the_charge_without_its_allowance_decides_the_evacuation_level_before_and_after() {
    let row = |index: u32| format!("- {{ id: E-{index}, gross: 28.0, holds: evacuated, {SIZE} }}\n");
    let cylinders: String = (1..8).map(row).collect();
    let job = format!(
        "job: Line\ndate: 2026-12-01\nunits: lb\nsystems:\n\
         - {{ name: Rack, refrigerant: R-22, nameplate: 195 lb, allowance: 5 % }}\ncylinders:\n{cylinders}"
    );
    let folder = Folder::of(&[("job.yaml", &job)]);
    folder.done(&["weigh", "job.yaml", "E-1", "38"]);
    let quote = folder.run(["quote", "job.yaml", "--json"]).is(0).json();
    let said = quote["assumptions"].as_array().unwrap().iter().filter_map(Value::as_str);
    let quoted: Vec<&str> = said.filter(|text| text.contains("82.156")).collect();
    let closeout = folder.run(["closeout", "job.yaml", "--json"]).is(0).json();
    let system = &closeout["lots"][0]["systems"][0];
    let (level, row) = (system["evacuate_to"].as_str().unwrap(), &system["evacuate_row"]);
    assert_eq!((level, row), ("0 in. Hg vacuum", &Value::from("under 200 lb")));
    assert!(quoted.len() == 1 && quoted[0].starts_with(&format!("pulled down to {level}: Rack")), "{quoted:?}");
}

/// The record of a disposal names company, place, recipient and day of transfer: 40 CFR 82.156(a)(3), from memory.
#[test]
fn the_record_names_who_recovered_and_who_gets_it_or_the_close_out_says_what_it_lacks() {
    let job = format!(
        "job: Walk-in\ndate: 2026-12-01\nunits: lb\nsystems:\n\
         - {{ name: A, refrigerant: R-22, nameplate: 10 lb }}\ncylinders:\n\
         - {{ id: E-1, gross: 28.0, holds: evacuated, {SIZE} }}\n"
    );
    let folder = Folder::of(&[("job.yaml", &job)]);
    folder.done(&["weigh", "job.yaml", "E-1", "38"]);
    let lacking = |arguments: &[&str]| {
        let report = folder.run([arguments, &["--json"]].concat()).is(0).json();
        let files = report["files"].as_array().unwrap().iter().filter_map(Value::as_str);
        files
            .filter_map(|said| said.split_once("not given here: ").map(|(_, lacks)| lacks.to_owned()))
            .collect::<String>()
    };
    assert_eq!(lacking(&["closeout", "job.yaml"]), "--company, --recipient, --transferred");
    let some = ["closeout", "job.yaml", "--company", "Fen Street Cooling", "--recipient", "Quay reclaim"];
    assert_eq!(lacking(&some), "--transferred");
    assert_eq!(folder.run([&some[..], &["--transferred", "soon"]].concat()).status, 2);
    assert_eq!(lacking(&[&some[..], &["--transferred", "2026-12-04"]].concat()), "");
    let table = folder.read("job.record.csv");
    assert!(table.lines().next().unwrap().ends_with(",certificate,company,recipient,transferred"), "{table}");
    assert!(table.contains(",Fen Street Cooling,Quay reclaim,2026-12-04\n"), "{table}");
}

/// Jobs that are packed together share a cylinder; each is closed out by itself, and with the last of them it is free.
#[test]
fn with_the_last_of_the_jobs_that_share_it_a_cylinder_is_free() {
    let folder = Folder::of_scenarios(&["day-1.yaml", "day-2.yaml", "day-3.yaml", "van-7.csv"]);
    folder.set("CHARGESPLIT_NOW", "2026-12-01T08:00:00-05:00");
    folder.done(&["begin", "day-1.yaml", "day-2.yaml", "day-3.yaml"]);
    for (job, cylinder, gross) in
        [("1", "T-1", "40.6"), ("2", "T-2", "59.2"), ("2", "T-3", "21.7"), ("3", "T-1", "56.4")]
    {
        folder.done(&["weigh", &format!("day-{job}.yaml"), cylinder, gross]);
    }
    let bound = |id: &str| {
        let report = folder.run(["cylinder", "van-7.csv", id, "--json"]).is(0).json();
        report["now"]["bound"].as_str().map(str::to_owned)
    };
    let (both, second) = (Some("Birch Court offices, Cedar Yard market"), Some("Birch Court offices"));
    for (job, shared, other) in [("1", both, both), ("3", None, second), ("2", None, None)] {
        folder.done(&["closeout", &format!("day-{job}.yaml"), "--write"]);
        assert_eq!((bound("T-1").as_deref(), bound("T-2").as_deref()), (shared, other), "after {job}");
    }
    assert_eq!(bound("T-3"), None);
    // What came from each is in its own record, and together it is what the cylinder gained.
    let amounts = ["1", "3"].map(|job| folder.read(&format!("day-{job}.record.csv")));
    assert!(amounts[0].contains(",12.6,lb,T-1,") && amounts[1].contains(",15.8,lb,T-1,"), "{amounts:?}");
}
