//! The packing list of a morning: spares that are of no use, the payload, the rules of the road, the day.

use crate::folder::{Folder, flat};

/// 600 lb of R-22 into tanks of 100 lb that take some 200 lb each: three of about 300 lb.
const HEAVY: &str = "\
job: Harrow
date: 2026-12-02
units: lb
yard: yard.yaml
systems:
  - { name: Chiller, refrigerant: R-22, nameplate: 600, allowance: 0 % }
";
const YARD: &str = "\
units: lb
cylinders:
  - { id: B-1, tare: 100, water_capacity: 239, gross: 100, holds: evacuated, mark: DOT-4BW400, tested: 2023-09 }
  - { id: B-2, tare: 101, water_capacity: 239, gross: 101, holds: evacuated, mark: DOT-4BW400, tested: 2023-09 }
  - { id: B-3, tare: 102, water_capacity: 239, gross: 102, holds: evacuated, mark: DOT-4BW400, tested: 2023-09 }
  - { id: S-1, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, mark: DOT-4BA400, tested: 2019-03 }
  - { id: S-2, tare: 28, water_capacity: 47.6, gross: 28.2, holds: nitrogen, mark: DOT-4BA400, tested: 2023-09 }
  - { id: S-3, tare: 28, water_capacity: 47.6, gross: 40, holds: R-410A, mark: DOT-4BA400, tested: 2023-09 }
  - { id: S-4, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, mark: DOT-4BA400, tested: 2023-09 }
";

fn morning(job: &str, truck: &str) -> Folder {
    Folder::of(&[("job.yaml", job), ("yard.yaml", YARD), ("truck.yaml", truck)])
}

#[test]
fn a_spare_that_no_job_can_use_stays_and_it_is_said_why() {
    let folder = morning(HEAVY, "");
    let take = ["--take", "S-1", "--take", "S-2", "--take", "S-3", "--take", "S-4"];
    let text = flat(&folder.done(&[&["pack", "job.yaml"][..], &take].concat()));
    for said in ["S-1: its test", "S-2: it holds nitrogen; evacuate it", "S-3: it holds R-410A; keep it"] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let pack = folder.run([&["pack", "job.yaml", "--json"][..], &take].concat()).json();
    let ids = |list: &str| -> Vec<String> {
        pack[list].as_array().unwrap().iter().map(|one| one["cylinder"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(ids("left"), ["S-1", "S-2", "S-3"]);
    let codes = |index: usize| &pack["left"][index]["reasons"][0]["code"];
    assert_eq!([codes(0), codes(1), codes(2)], ["overdue", "evacuate-first", "holds-other"]);
    assert!(ids("aboard").contains(&"S-4".to_owned()) && !ids("aboard").contains(&"S-1".to_owned()));
    // 100 + 101 + 102 + 28 lb: what stays isn't weighed either.
    assert_eq!(pack["weights"][0]["cylinders"], 331.0);
}

#[test]
fn the_payload_comes_first_and_tools_alone_over_it_are_said_as_that() {
    // Three cylinders of 303 + 600 = 903 lb on leaving the job; the heaviest of them some 300 lb.
    let truck = |payload: u32, tools: u32| {
        format!("truck: Van\nunits: lb\npayload: {payload} lb\ntools: {tools} lb\nother_hazmat: 60 lb\n")
    };
    for (payload, tools, word, said, not_said) in [
        (
            1_800,
            2_000,
            "besides",
            "before a cylinder is on the truck: people and tools and other hazardous material weigh 2060.0 lb. More runs don't help",
            "two runs",
        ),
        (1_000, 800, "one-cylinder", "The heaviest cylinder alone is too much", "two runs"),
        (1_300, 800, "together", "Take it in two runs, or off the truck.", "alone"),
    ] {
        let folder = morning(HEAVY, &truck(payload, tools));
        let text = folder.said(1, &["pack", "job.yaml", "--truck", "truck.yaml"]);
        let text = flat(&text.replace("\n!!", ""));
        assert!(text.contains(said) && !text.contains(not_said), "{text}");
        assert!(text.find("OVER THE PAYLOAD").unwrap() < text.find("Enough").unwrap(), "{text}");
        assert_eq!(folder.json(&["pack", "job.yaml", "--truck", "truck.yaml"])["over_payload"], word);
    }
    let folder = morning(HEAVY, &truck(1_800, 800));
    let text = folder.done(&["pack", "job.yaml", "--truck", "truck.yaml"]);
    assert!(!text.contains("PAYLOAD of"), "{text}");
}

#[test]
fn the_rules_of_the_road_name_every_cylinder_and_what_placards_and_the_exception_ask() {
    let folder = morning(HEAVY, "truck: Van\nunits: lb\nother_hazmat: 100 lb\n");
    let text = flat(&folder.run(["pack", "job.yaml", "--truck", "truck.yaml"]).out);
    // 200 lb into each: 300, 301 and 302 lb, or as the planner levels them; all over the 220 lb of 49 CFR 173.6(a)(2).
    let named = text.split("on leaving Harrow: over 220 lb (100 kg) in one cylinder").next().unwrap();
    let named = named.rsplit("Rules of the road").next().unwrap();
    assert!(["B-1 (", "B-2 (", "B-3 ("].iter().all(|one| named.contains(one)), "{named}");
    let endorsement =
        "with placards the driver needs the hazardous-materials endorsement [from memory: confirm against";
    assert!(text.contains("from 1,001 lb (454 kg)") && text.contains(endorsement), "{text}");
    assert!(!text.contains("the operator of the vehicle"), "it isn't a material of trade any more: {text}");
    let small = HEAVY.replace("600", "60");
    let folder = morning(&small, "");
    let text = flat(&folder.run(["pack", "job.yaml"]).out);
    assert!(text.contains("the operator of the vehicle knows that the material is aboard"), "{text}");
    assert!(text.contains("cylinders marked and labelled, valves closed and protected [49 CFR 173.6(c), from memory"));
    assert!(!text.contains("endorsement"), "{text}");
}

#[test]
fn the_rules_of_the_road_show_kilograms_where_they_are_asked_for() {
    let folder = morning(&HEAVY.replace("600", "60"), "");
    let text = flat(&folder.run(["pack", "job.yaml", "--units", "kg"]).out);
    // One cylinder of 100 + 60 lb: 160 x 0.45359237 = 72.575 kg, rounded up to the 0.05 kg of a scale.
    assert!(text.contains("at most 160.0 lb = 72.60 kg of hazardous material together (440 lb, 200 kg)"), "{text}");
    assert!(text.contains("what it weighs, 160.0 lb = 72.60 kg at most"), "{text}");
    assert!(flat(&folder.run(["pack", "job.yaml"]).out).contains("at most 160.0 lb of hazardous"));
}

#[test]
fn jobs_of_different_days_are_not_one_day() {
    let folder = morning(HEAVY, "");
    let other = HEAVY.replace("Harrow", "Orchard").replace("2026-12-02", "2026-12-03");
    folder.write("other.yaml", &other);
    for command in ["pack", "plan", "tradeoff", "check", "quote"] {
        let said = folder.run([command, "job.yaml", "other.yaml"]).is(2).err;
        assert!(
            said.contains("error[dates-differ]") && flat(&said).contains("found 2026-12-03 here"),
            "{command}: {said}"
        );
    }
    folder.write("other.yaml", other.replace("date: 2026-12-03\n", ""));
    let said = folder.run(["pack", "job.yaml", "other.yaml"]).is(2).err;
    assert!(flat(&said).contains("(today, as its file states none)"), "{said}");
    folder.write("other.yaml", other.replace("2026-12-03", "2026-12-02"));
    assert_ne!(folder.run(["pack", "job.yaml", "other.yaml"]).status, 2);
}
