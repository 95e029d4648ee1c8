//! How cylinders are carried: by what they weigh and by the way that they leave the place.

use serde_json::Value;

use crate::folder::{Folder, flat};

/// R-134a into one or two cylinders; `site` and `labour` as given.
fn job(site: &str, labour: &str, nameplate: u32, cylinder: &str) -> String {
    format!(
        "job: Roof\ndate: 2026-12-02\nunits: lb\n{site}{labour}systems:\n  - {{ name: Unit, refrigerant: R-134a, \
         nameplate: {nameplate}, allowance: 0 % }}\ncylinders:\n{cylinder}"
    )
}

/// Takes some 41 lb of R-134a, from 27 lb on.
const FIFTY: &str = "  - { id: C-1, tare: 27, water_capacity: 47.6, gross: 27, holds: evacuated, mark: DOT-4BA400, \
                     tested: 2023-09 }\n";
const THOUSAND: &str = "  - { id: T-1, tare: 340, water_capacity: 1000, gross: 340, holds: evacuated, mark: DOT-4BW400, \
                        tested: 2023-09 }\n";

fn run(command: &str, job: &str) -> String {
    Folder::of(&[("job.yaml", job)]).done(&[command, "job.yaml"])
}

fn json(command: &str, job: &str) -> Value {
    Folder::of(&[("job.yaml", job)]).run([command, "job.yaml", "--json"]).is(0).json()
}

fn said(command: &str, job: &str) -> String {
    flat(&run(command, job))
}

#[test]
fn weight_and_access_decide_what_is_advised() {
    // 27 lb up and 27 + 30 = 57 lb down, 340 lb up and 340 + 800 = 1,140 lb down; for 50 lb: 0.7 P = 35, 2 P = 100, 3 P = 150.
    let ladder = "site: { access: ladder, one_person: 50 lb }\n";
    let stairs = "site: { access: stairs, one_person: 50 lb }\n";
    let level = "site: { access: level }\n";
    let hoist = "site: { access: hoist }\n";
    for (site, nameplate, cylinder, expected) in [
        (
            ladder,
            30,
            FIFTY,
            "C-1 by ladder: up, to 27.0 lb, not in the hands: on a line from a fixed point, in a sling, nobody below; down, to 57.0 lb, not in the hands: on a line from a fixed point by a powered hoist",
        ),
        (ladder, 20, FIFTY, "C-1 by ladder, both ways, to 47.0 lb: not in the hands: on a line"),
        (
            stairs,
            30,
            FIFTY,
            "C-1 by stairs: up, to 27.0 lb, one person, a hand on the rail; down, to 57.0 lb, two people and a stair truck",
        ),
        (
            stairs,
            800,
            THOUSAND,
            "T-1 by stairs, both ways, to 1140.0 lb: not by stairs: lift, hoist or smaller cylinders",
        ),
        (
            level,
            30,
            FIFTY,
            "C-1 over level ground: in, to 27.0 lb, one person, better on a hand truck; out, to 57.0 lb, two people, or one with a hand truck, strapped upright",
        ),
        (level, 800, THOUSAND, "T-1 over level ground, both ways, to 1140.0 lb: truck and tail lift, never by hand"),
        (hoist, 30, FIFTY, "C-1 by hoist, both ways, to 57.0 lb: a hoist rated for at least the weight"),
        ("", 19, FIFTY, "access isn't stated: 46.0 lb"),
    ] {
        let job = job(site, "", nameplate, cylinder);
        for command in ["plan", "pack", "quote"] {
            let text = said(command, &job);
            assert!(text.contains(expected), "{command}: {expected}\n{text}");
            assert!(!text.contains("two people or a hoist"), "{text}");
        }
    }
    // 50 lb is taken where nothing is stated, and said.
    let text = said("plan", &job(level, "", 30, FIFTY));
    assert!(text.contains("one person: 50 lb, as no `one_person` is stated (common practice, no source)"), "{text}");
    assert!(!said("plan", &job(stairs, "", 30, FIFTY)).contains("one person: 50 lb"));
}

#[test]
fn a_class_is_a_line_with_its_cylinders() {
    let more = FIFTY.replace("C-1", "C-2") + &FIFTY.replace("C-1", "C-3");
    let text = said("plan", &job("site: { access: level, one_person: 50 lb }\n", "", 90, &format!("{FIFTY}{more}")));
    assert!(text.contains("C-1, C-2, C-3 over level ground: in, to 27.0 lb"), "{text}");
    assert_eq!(text.matches("over level ground").count(), 1, "{text}");
    // Seven in one class are all of them.
    let seven: String = (1..8).map(|index| FIFTY.replace("C-1", &format!("C-{index}"))).collect();
    let text = said("plan", &job("site: { access: hoist }\n", "", 280, &seven));
    assert!(text.contains("all 7 cylinders by hoist, both ways, to 67.0 lb: a hoist rated"), "{text}");
}

#[test]
fn a_crew_of_one_is_warned_of_lifts_for_two() {
    let stairs = "site: { access: stairs, one_person: 50 lb }\n";
    let warning = "WARNING: the crew is 1, and these lifts take two people: C-1";
    for (labour, warned) in [("labour: { crew: 1 }\n", true), ("labour: { crew: 2 }\n", false), ("", false)] {
        let job = job(stairs, labour, 30, FIFTY);
        for command in ["plan", "pack", "quote"] {
            assert_eq!(said(command, &job).contains(warning), warned, "{command} {labour}");
        }
        let plan = json("plan", &job);
        let quote = json("quote", &job);
        for report in [&plan, &quote] {
            let codes = report["warnings"].as_array().unwrap().iter().filter(|one| one["code"] == "crew").count();
            assert_eq!(codes, usize::from(warned));
        }
        let pack = json("pack", &job);
        let to_know = pack["to_know"].as_array().unwrap();
        assert_eq!(to_know.iter().any(|text| text.as_str().unwrap().starts_with(warning)), warned);
    }
    // One that one person carries needs no second.
    let light = job("site: { access: level, one_person: 60 lb }\n", "labour: { crew: 1 }\n", 30, FIFTY);
    let light = said("plan", &light);
    assert!(!light.contains("the crew is 1") && !light.contains("over level ground"), "nothing to arrange: {light}");
}

#[test]
fn the_card_and_the_packing_list_say_it_beside_the_cylinder() {
    let job = job("site: { access: stairs, one_person: 50 lb }\n", "", 30, FIFTY);
    let folder = Folder::of(&[("job.yaml", &job)]);
    folder.done(&["sheet", "job.yaml", "-o", "sheet.html"]);
    let page = folder.read("sheet.html");
    let expected = "Lift: empty: one person, a hand on the rail; full: two people and a stair truck.";
    assert!(page.contains(expected), "{page}");
    let pack = json("pack", &job);
    let fill = &pack["stops"][0]["fills"][0];
    assert_eq!((&fill["two_people"], &fill["lift"]), (&true.into(), &"two people and a stair truck".into()));
    // In the yard, on level ground, 27 lb are one person's.
    let aboard = &pack["aboard"][0];
    assert_eq!((&aboard["two_people"], &aboard["lift"]), (&false.into(), &"one person, better on a hand truck".into()));
}
