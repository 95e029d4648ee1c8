//! What is wrong on a shoulder, in a heel or in a name must show in a limit, a plan or a status: through the program.

use std::fs;

use serde_json::Value;

use crate::folder::Folder;

/// A job with 10 lb of R-404A and these cylinders, each `id: …, tare: …, water_capacity: …, gross: …, holds: …`.
fn job(cylinders: &[&str]) -> String {
    let rows: String =
        cylinders.iter().map(|row| format!("  - {{ {row}, mark: DOT-4BA400, tested: 2024-06 }}\n")).collect();
    format!(
        "job: Roof\ndate: 2026-12-01\nunits: lb\nsystems: [{{ name: Rack, refrigerant: R-404A, nameplate: 10 }}]\n\
         cylinders:\n{rows}"
    )
}

fn codes(left_out: &Value) -> Vec<&str> {
    let reasons = left_out["reasons"].as_array().unwrap();
    reasons.iter().map(|reason| reason["code"].as_str().unwrap()).collect()
}

/// 17 lb with 47.6 lb of water: the tare of a nominal 30 with the water of a nominal 50. The real cylinder, 26.2 lb of
/// water, is full at 17 + 0.691 × 26.2 = 35.1 lb; as stamped its limit would be 49.9 lb.
#[test]
fn a_copied_stamp_gets_no_limit_until_somebody_has_read_it_again() {
    let row = "id: C-1, tare: 17, water_capacity: 47.6, gross: 17, holds: evacuated";
    let confirmed = format!("{row}, confirmed: true");
    let folder = Folder::of(&[("job.yaml", &job(&[row]))]);
    // In a folder by itself: beside the ledger of the first its cylinder would be a copy.
    fs::create_dir(folder.at("sure")).unwrap();
    folder.write("sure/confirmed.yaml", job(&[&confirmed]));
    let plan = folder.json(&["plan", "job.yaml"]);
    assert_eq!(folder.run(["plan", "job.yaml"]).status, 1);
    assert_eq!((&plan["status"], plan["loads"].as_array().unwrap().len()), (&Value::from("short"), 0));
    assert_eq!(codes(&plan["left_out"][0]), ["doubtful-pair"]);

    let error = folder.run(["weigh", "job.yaml", "C-1", "27", "--system", "Rack"]).is(2).err;
    assert!(error.contains("doesn't go with a water capacity of 47.6 lb"), "{error}");

    // Confirmed, it is planned to its limit; the same plan is refused for the file that doesn't say so.
    let limit = &folder.json(&["plan", "sure/confirmed.yaml"])["loads"][0]["limit"];
    assert_eq!(limit, &Value::from(49.9));
    folder.write("plan.json", folder.run(["plan", "sure/confirmed.yaml", "--json"]).out);
    assert_eq!(folder.run(["audit", "sure/confirmed.yaml", "plan.json"]).status, 0);
    let text = folder.run(["audit", "job.yaml", "plan.json"]).is(1).out;
    assert!(text.contains("doubtful-pair"), "{text}");
}

#[test]
fn swapped_digits_other_units_and_nominal_sizes_are_left_out_as_well() {
    for (stamp, code) in [
        ("tare: 28, water_capacity: 76.4, gross: 28", "doubtful-pair"),
        ("tare: 28, water_capacity: 123, gross: 28", "doubtful-pair"),
        ("tare: 12.7, water_capacity: 21.6, gross: 12.7", "doubtful-pair"),
        ("tare: 7, water_capacity: 15, gross: 7", "doubtful-capacity"),
        ("tare: 9, water_capacity: 20, gross: 9", "doubtful-capacity"),
        ("tare: 50, water_capacity: 100, gross: 50", "doubtful-capacity"),
    ] {
        let row = format!("id: C-1, {stamp}, holds: evacuated");
        let plan = Folder::of(&[("job.yaml", &job(&[&row]))]).json(&["plan", "job.yaml"]);
        assert_eq!(codes(&plan["left_out"][0]), [code], "{stamp}");
    }
}

/// A nominal 60 of 57.6 lb of water has 28 lb of tare as well, so that alone it may be right.
#[test]
fn a_water_capacity_unlike_the_others_is_said_in_check_plan_and_yard() {
    let rows: Vec<String> = (1..10)
        .map(|number| {
            format!(
                "id: C-{number}, tare: 28.{number}, water_capacity: 47.{}, gross: 28.{number}, holds: evacuated",
                5 + number % 4
            )
        })
        .chain(["id: C-10, tare: 28.5, water_capacity: 57.6, gross: 28.5, holds: evacuated".into()])
        .chain(["id: C-11, tare: 36, water_capacity: 76.4, gross: 36, holds: evacuated".into()])
        .collect();
    let job = job(&rows.iter().map(String::as_str).collect::<Vec<_>>());
    let yard = format!("units: lb\n{}", &job[job.find("cylinders:").unwrap()..]);
    let folder = Folder::of(&[
        ("job.yaml", &job),
        ("yard.yaml", &yard),
        ("sure.yaml", &job.replace("holds:", "confirmed: true, holds:")),
    ]);
    let stray = "water capacities that stray from the rest of the yard; read WC again: C-10 (57.6 lb, yet 9 others of its \
                 tare have 47.5 lb to 47.8 lb)";
    let few = "water capacities that few cylinders have; read WC again: C-11 (76.4 lb)";
    let has = |texts: &Value, wanted: &str| texts.as_array().unwrap().iter().any(|text| text == wanted);
    let check = folder.json(&["check", "job.yaml"]);
    let yard = folder.json(&["yard", "yard.yaml", "--for", "R-404A", "--date", "2026-12-01"]);
    for notices in [&check["notices"], &yard["notices"]] {
        assert!(has(notices, stray) && has(notices, few), "{notices}");
    }
    let plan = folder.json(&["plan", "job.yaml"]);
    let warnings = plan["warnings"].as_array().unwrap().iter();
    let texts: Vec<&str> = warnings
        .filter(|warning| warning["code"] == "unusual-capacity")
        .map(|warning| warning["text"].as_str().unwrap())
        .collect();
    assert_eq!(texts, [stray, few]);
    assert!(!folder.json(&["check", "sure.yaml"])["notices"].to_string().contains("WC"), "confirmed, nothing is asked");
}

#[test]
fn no_room_is_offered_for_a_gas_that_is_refused_nor_beside_one() {
    let rows = [
        "id: E-1, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, flammable: true",
        "id: A-1, tare: 28, water_capacity: 47.6, gross: 35, holds: R-717, flammable: true",
    ];
    let job = job(&rows);
    let yard = format!("units: lb\n{}", &job[job.find("cylinders:").unwrap()..]);
    let folder = Folder::of(&[("job.yaml", &job), ("yard.yaml", &yard)]);
    let yard = folder.json(&["yard", "yard.yaml", "--for", "R-717,R-40,R-764,R-744", "--date", "2026-12-01"]);
    let rooms = yard["cylinders"].as_array().unwrap().iter().flat_map(|line| line["rooms"].as_array().unwrap());
    let rooms: Vec<&Value> = rooms.collect();
    assert_eq!(rooms.len(), 5);
    for room in rooms {
        assert_eq!((&room["fit"], &room["room"]), (&Value::from(false), &Value::from(0.0)), "{room}");
        assert_eq!(room["limit"], Value::Null, "{room}");
        assert!(codes(room).contains(&"gas-refused"), "{room}");
    }
    let plan = folder.json(&["plan", "job.yaml"]);
    assert_eq!(
        (&plan["left_out"][0]["cylinder"], codes(&plan["left_out"][0])),
        (&Value::from("A-1"), vec!["gas-refused", "holds-other"])
    );
}

/// On a scale of 1 lb the tare may seem 1 lb too low. What weighs 26.9 lb with a heel in it weighs no more without: its
/// limit is 26.9 + 41.3 lb (R-134a: 0.8 × 1.0833 × 47.6), 68 lb on that scale and not 69.
#[test]
fn a_heel_in_a_cylinder_under_its_stamped_tare_counts_from_what_it_weighs() {
    let job = "job: Roof\ndate: 2026-12-01\nunits: lb\nscale_division: 1\n\
               systems: [{ name: Rack, refrigerant: R-134a, nameplate: 30 }]\ncylinders:\n  \
               - { id: C-1, tare: 27.9, water_capacity: 47.6, gross: 26.9, holds: R-134a, mark: DOT-4BA400, tested: 2024-06 }\n";
    let folder = Folder::of(&[("job.yaml", job)]);
    let plan = folder.json(&["plan", "job.yaml"]);
    assert_eq!(plan["loads"][0]["limit"], Value::from(68.0));
    // 57 − 26.9 = 30.1 lb are in it.
    let reading = folder.json(&["weigh", "job.yaml", "C-1", "57", "--system", "Rack"]);
    assert_eq!((&reading["net"], &reading["limit"]), (&Value::from(31.0), &Value::from(68.0)), "{reading}");
}

/// The heel is gone, and what is left weighs less than the stamped tare: 27 + 41.3 lb from here on.
#[test]
fn a_cylinder_that_turns_out_lighter_than_its_stamped_tare_has_a_lower_limit_and_stop() {
    let job = "job: Roof\ndate: 2026-12-01\nunits: lb\nscale_division: 1\n\
               systems: [{ name: Rack, refrigerant: R-134a, nameplate: 39 }]\ncylinders:\n  \
               - { id: C-1, tare: 27.9, water_capacity: 47.6, gross: 30, holds: R-134a, mark: DOT-4BA400, tested: 2024-06 }\n";
    let folder = Folder::of(&[("job.yaml", job)]);
    assert_eq!(folder.json(&["plan", "job.yaml"])["loads"][0]["limit"], Value::from(69.0));
    let reading = folder.json(&["weigh", "job.yaml", "C-1", "27", "--system", "Rack", "--emptied"]);
    assert_eq!((&reading["limit"], &reading["stop"]), (&Value::from(68.0), &Value::from(68.0)), "{reading}");
    let status = folder.json(&["status", "job.yaml"]);
    assert_eq!(
        (&status["cylinders"][0]["limit"], &status["cylinders"][0]["stop"]),
        (&Value::from(68.0), &Value::from(68.0))
    );
    let text = folder.run(["weigh", "job.yaml", "C-1", "69", "--system", "Rack"]).is(1).out;
    assert!(text.contains("OVER THE FILL"), "{text}");
}

/// Two jobs that are both called Roof, of different people, on one yard with a heel kept for Roof.
#[test]
fn a_heel_kept_for_a_name_is_not_shared_by_two_jobs_of_that_name() {
    let job = |name: &str, owner: &str, system: &str| {
        format!(
            "job: {name}\nowner: {owner}\ndate: 2026-12-01\nunits: lb\nyard: yard.yaml\n\
             systems: [{{ name: {system}, refrigerant: R-134a, nameplate: 10, fate: reuse }}]\n"
        )
    };
    let yard = |owner: &str| {
        format!(
            "units: lb\ncylinders:\n  - {{ id: C-1, tare: 27.9, water_capacity: 47.6, gross: 37.9, holds: R-134a, \
             kept_for: Roof, {owner}mark: DOT-4BA400, tested: 2024-06 }}\n"
        )
    };
    let files = |owner| {
        Folder::of(&[
            ("a.yaml", &job("Roof", "Hollis", "A")),
            ("b.yaml", &job("Roof", "Orchard", "B")),
            ("c.yaml", &job(" roof", "Orchard", "C")),
            ("yard.yaml", &yard(owner)),
        ])
    };
    let status = |folder: &Folder, name: &str| folder.run(["plan", name]).status;
    let nobodys = files("");
    assert_eq!((status(&nobodys, "a.yaml"), status(&nobodys, "b.yaml")), (1, 1), "a heel without owner is for reclaim");
    let hollis = files("owner: Hollis, ");
    assert_eq!((status(&hollis, "a.yaml"), status(&hollis, "b.yaml")), (0, 1));
    for other in ["b.yaml", "c.yaml"] {
        let error = hollis.run(["plan", "a.yaml", other]).is(2).err;
        assert!(
            error.contains("two jobs are named alike") && error.contains(other) && error.contains("a.yaml"),
            "{error}"
        );
    }
}
