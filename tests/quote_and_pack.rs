//! Truths that every quote and every truck's day must keep, on random work; the edges of the rules of the road; and
//! that no drawing of a quote loses an assumption or lets a formula through.

use chargesplit::audit::{self, Audited};
use chargesplit::cylinder::{Cylinder, Facts, Terms};
use chargesplit::estimate::{self, Figure, Labour, Prices, Range};
use chargesplit::job::{Access, Job, JobFacts, Work};
use chargesplit::plan::Status;
use chargesplit::planner::{self, Options};
use chargesplit::quantity::{Decimal, Unit};
use chargesplit::transport::{Manifest, REMINDERS, RoadRules, Truck, TruckFacts, manifest};
use fastrand::Rng;

use crate::folder::{Folder, flat, run};
use crate::specimens::{self, tenths};

/// A cylinder of any size: its stamp counts as read again.
fn cylinder(id: &str, water: i64, tare: i64, held: Option<(&str, i64)>) -> Cylinder {
    Cylinder::new(Facts { confirmed: true, ..specimens::cylinder(id, water, tare, held) }).unwrap()
}

/// A job of these systems: refrigerant and charge in tenths of a pound.
fn job(name: &str, lift_limit: Option<i64>, systems: &[(&str, i64)]) -> Job {
    let system =
        |(index, (of, charge)): (usize, &(&str, i64))| specimens::system(&format!("System {index}"), of, *charge);
    let systems = specimens::systems(systems.iter().enumerate().map(system));
    let terms = Terms { lift_limit: lift_limit.map(tenths), ..specimens::terms(Unit::Lb) };
    specimens::job(JobFacts { one_person: Some(tenths(500)), ..JobFacts::new(name, terms, systems) })
}

/// The plan, which passes the audit.
fn planned(work: &Work) -> Audited {
    let plan = planner::plan(work, &Options::default(), &mut |_| true).unwrap();
    audit::check(work, plan).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn is_whole(plan: &Audited) -> bool {
    matches!(plan.plan().status, Status::Proved | Status::Bounded)
}

fn ids(plan: &Audited) -> Vec<&str> {
    let mut ids: Vec<&str> = plan.plan().loads.iter().map(|load| load.cylinder.as_str()).collect();
    ids.sort_unstable();
    ids
}

const REFRIGERANTS: [&str; 2] = ["R-134a", "R-404A"];

fn random_yard(rng: &mut Rng, count: usize) -> Vec<Cylinder> {
    let one = |index: usize| {
        let (water, tare) = [(262, 165), (380, 215), (476, 280)][rng.usize(..3)];
        let heel = (rng.u8(..4) == 0).then(|| (REFRIGERANTS[rng.usize(..2)], rng.i64(1..60)));
        cylinder(&format!("C-{index}"), water + rng.i64(-3..=3), tare + rng.i64(-5..=5), heel)
    };
    (0..count).map(one).collect()
}

fn random_labour(rng: &mut Rng) -> Labour {
    let three = |rng: &mut Rng, most: i64| {
        let mut figures = [rng.i64(1..most), rng.i64(1..most), rng.i64(1..most)];
        figures.sort_unstable();
        let [low, likely, high] = figures.map(Decimal::from);
        Range { low, likely, high }
    };
    let vapour = rng.i64(1..40);
    Labour {
        day: Some(Decimal::from(600)),
        crew: Some(rng.u32(1..4)),
        machines: Some(rng.u32(1..4)),
        floors: Some(rng.u32(0..4)),
        liquid_rate: Some(tenths(vapour + rng.i64(0..40))),
        vapour_rate: Some(tenths(vapour)),
        figures: vec![
            (Figure::VapourShare, three(rng, 60)),
            (Figure::Derating, three(rng, 80)),
            (Figure::CylinderChange, three(rng, 20)),
        ],
    }
}

fn random_systems(rng: &mut Rng) -> Vec<(&'static str, i64)> {
    (0..rng.usize(1..=4)).map(|_| (REFRIGERANTS[rng.usize(..2)], rng.i64(10..450))).collect()
}

#[test]
fn more_charge_with_the_same_cylinders_and_the_same_carrying_takes_no_fewer_hours_and_no_less_labour() {
    let mut compared = 0;
    for seed in 0..600 {
        let mut rng = Rng::with_seed(seed);
        let yard = random_yard(&mut rng, 6);
        let less = random_systems(&mut rng);
        let mut more = less.clone();
        let index = rng.usize(..more.len());
        more[index].1 += rng.i64(1..60);
        let rate = Some(Range::exactly(Decimal::from(90)));
        let prices = Prices { currency: Some("crowns".into()), labour: rate, ..Prices::default() };
        let terms = [estimate::Terms { labour: random_labour(&mut rng), prices, ..estimate::Terms::default() }];
        let make = |systems: &[(&str, i64)]| {
            let work = Work::new(vec![job("Job", None, systems)], yard.clone()).unwrap();
            let plan = planned(&work);
            let hours = estimate::hours(&work, plan.plan(), &terms).remove(0);
            let currency = "crowns".to_owned();
            let cost = estimate::cost(&work, plan.plan(), &terms, std::slice::from_ref(&hours), &[], currency);
            (plan, hours, cost.lines[0].amount)
        };
        let (first, second) = (make(&less), make(&more));
        for (plan, hours, pay) in [&first, &second] {
            assert!(hours.elapsed.low <= hours.elapsed.likely && hours.elapsed.likely <= hours.elapsed.high, "{seed}");
            assert!(pay.low <= pay.likely && pay.likely <= pay.high, "{seed}: {:?}", plan.plan().status);
        }
        let same = ids(&first.0) == ids(&second.0) && first.1.heavy == second.1.heavy;
        if is_whole(&first.0) && is_whole(&second.0) && same {
            compared += 1;
            let (before, after) = (&first.1, &second.1);
            let three = |range: Range<Decimal>| [range.low, range.likely, range.high];
            for (before, after) in [(before.elapsed, after.elapsed), (before.crew, after.crew)] {
                let pairs = three(before).into_iter().zip(three(after));
                assert!(pairs.into_iter().all(|(before, after)| after >= before), "{seed}: {before:?} {after:?}");
            }
            assert!(second.2.low >= first.2.low && second.2.high >= first.2.high, "{seed}");
        }
    }
    assert!(compared > 100, "only {compared} pairs had the same cylinders and carrying");
}

#[test]
fn a_higher_lift_limit_never_costs_more_cylinders() {
    let mut compared = 0;
    for seed in 0..200 {
        let mut rng = Rng::with_seed(seed);
        let (yard, systems) = (random_yard(&mut rng, 8), random_systems(&mut rng));
        let lift = rng.i64(350..600);
        let make = |lift| planned(&Work::new(vec![job("Job", Some(lift), &systems)], yard.clone()).unwrap());
        let (low, high) = (make(lift), make(lift + rng.i64(1..200)));
        if is_whole(&low) {
            compared += 1;
            assert!(is_whole(&high), "{seed}: fits under the lower limit alone");
            assert!(high.plan().totals.cylinders <= low.plan().totals.cylinders, "{seed}");
        }
    }
    assert!(compared > 50, "only {compared} fit");
}

#[test]
fn a_truck_weighs_after_a_stop_what_it_did_before_and_what_was_recovered_there() {
    let mut stops = 0;
    for seed in 0..200 {
        let mut rng = Rng::with_seed(seed);
        let yard = random_yard(&mut rng, 8);
        let jobs: Vec<Job> =
            (0..3).map(|index| job(&format!("Job {index}"), None, &random_systems(&mut rng))).collect();
        let work = Work::new(jobs, yard.clone()).unwrap();
        let plan = planned(&work);
        let taken = [yard[rng.usize(..yard.len())].id.clone()];
        let truck = Truck::unknown();
        let day = manifest(&work, &plan, &truck, &taken);
        assert_eq!(day.departures.len(), 4);
        for pair in day.departures.windows(2) {
            assert_eq!(pair[1].cylinders, pair[0].cylinders + pair[1].recovered, "{seed}");
            assert_eq!(pair[1].load, pair[0].load + pair[1].recovered, "{seed}");
            assert!(pair[1].hazardous >= pair[0].hazardous + pair[1].recovered, "{seed}");
            stops += usize::from(pair[1].recovered > 0);
        }
        let placed: i64 = plan.plan().loads.iter().map(|load| load.add).sum();
        assert_eq!(day.departures.iter().map(|departure| departure.recovered).sum::<i64>(), placed, "{seed}");
        let back: i64 = day.back.iter().map(|one| one.gross).sum();
        assert_eq!(day.departures[3].cylinders, back, "{seed}");
        for visit in &day.visits {
            for fill in &visit.fills {
                let load = &plan.plan().loads[fill.load];
                assert!(fill.before >= load.now && fill.after() <= load.stop && load.stop <= load.limit, "{seed}");
            }
        }
    }
    assert!(stops > 300, "{stops}");
}

/// A day with one cylinder of this gross (in tenths) when filled, and so much other hazardous material.
fn day(charge: i64, other: i64, rules: RoadRules) -> Manifest {
    let work = Work::new(vec![job("Job", None, &[("R-22", charge)])], vec![cylinder("B-1", 2_390, 1_000, None)]);
    let work = work.unwrap();
    let plan = planned(&work);
    assert!(is_whole(&plan));
    let facts = TruckFacts {
        name: "Truck".into(),
        payload: Some(tenths(3_000)),
        tools: Some(tenths(0)),
        other_hazmat: Some(tenths(other)),
        rules,
        carries: Vec::new(),
    };
    manifest(&work, &plan, &Truck::new(facts).unwrap(), &[])
}

fn reminded(day: &Manifest) -> Vec<&'static str> {
    day.reminders.iter().map(|reminder| reminder.code).collect()
}

#[test]
fn the_rules_of_the_road_begin_where_their_paragraphs_say() {
    let says = |charge, other, code| reminded(&day(charge, other, RoadRules::Us)).contains(&code);
    // 49 CFR 173.6(a)(2): one cylinder, at most 220 lb gross. Here 100 lb of tare and the charge.
    assert!(!says(1_200, 0, "one-cylinder") && says(1_200, 0, "within-exception"));
    assert!(says(1_201, 0, "one-cylinder") && !says(1_201, 0, "within-exception") && says(1_201, 0, "papers"));
    // 49 CFR 173.6(d): at most 440 lb gross together.
    assert!(!says(1_000, 2_400, "whole-vehicle") && says(1_000, 2_400, "within-exception"));
    assert!(says(1_000, 2_401, "whole-vehicle") && says(1_000, 2_401, "papers"));
    // 49 CFR 172.504(c): placards from 1,001 lb gross.
    assert!(!says(1_000, 8_009, "placards") && says(1_000, 8_010, "placards"));
    assert!(says(100, 0, "secured"));
    assert!(reminded(&day(1_201, 9_000, RoadRules::None)).is_empty());
    for (index, code) in REMINDERS.iter().enumerate() {
        assert!(!REMINDERS[..index].contains(code));
    }
}

#[test]
fn the_payload_is_kept_to_the_mark() {
    // Tare 100 lb, charge 120 lb, other 80 lb: the 300 lb of the payload.
    assert!(day(1_200, 800, RoadRules::Us).is_within_payload());
    assert!(!day(1_200, 801, RoadRules::Us).is_within_payload());
}

#[test]
fn every_drawing_of_a_quote_carries_every_assumption() {
    for file in ["scenarios/estimate.yaml", "scenarios/tender.yaml"] {
        let json = run(["quote", file, "--json"]).json();
        let assumptions: Vec<&str> =
            json["assumptions"].as_array().unwrap().iter().map(|text| text.as_str().unwrap()).collect();
        assert!(assumptions.len() >= 4, "{file}");
        for drawing in [&[][..], &["--csv"]] {
            let text = flat(&run([&["quote", file], drawing].concat()).out);
            for assumption in &assumptions {
                assert!(text.contains(&flat(assumption)), "{file} {drawing:?}: {assumption}");
            }
        }
    }
}

#[test]
fn names_that_are_formulas_reach_no_cell_of_a_spreadsheet() {
    let text = "job: '=HYPERLINK(\"x\")'\ndate: 2026-12-01\nunits: lb\nsystems:\n\
                \x20 - { name: '@SUM(A1)', refrigerant: R-22, \
                nameplate: 20 lb }\n  - { name: '+1', refrigerant: R-134a, nameplate: 9 lb }\nprices:\n\
                \x20 currency: '-2'\n  \
                freight: 10\n  reclaim: [{ refrigerant: R-22, credit: 1 per lb }]\n";
    let csv = Folder::of(&[("job.yaml", text)]).done(&["quote", "job.yaml", "--csv"]);
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(csv.as_bytes());
    let mut guarded = 0;
    for record in reader.records() {
        for cell in &record.unwrap() {
            guarded += usize::from(cell.starts_with('\''));
            let formula = cell.trim_start().starts_with(['=', '+', '-', '@']);
            assert!(!formula || cell.parse::<Decimal>().is_ok(), "{cell}");
        }
    }
    assert!(guarded > 10, "{csv}");
}

#[test]
fn what_cannot_be_compared_by_cost_is_refused_and_what_does_not_fit_is_said() {
    let folder = Folder::empty();
    let write = |name: &str, more: &str| {
        let text = format!(
            "job: {name}\ndate: 2026-12-01\nunits: lb\nsystems:\n  - {{ name: Rack {name}, \
             refrigerant: R-22, nameplate: 20 lb }}\n{more}"
        );
        let file = format!("{name}.yaml");
        folder.write(&file, text);
        file
    };
    let (bare, one, other) = (
        write("bare", ""),
        write("one", "prices: { currency: crowns }\n"),
        write("other", "prices: { currency: marks }\n"),
    );
    folder.run(["quote", &bare]).is(0);
    folder.run(["quote", &bare, "--cheapest"]).is(2);
    folder.run(["quote", &one, &other]).is(2);
    folder.run(["quote", &one, &bare, "--cheapest"]).is(0);
    // Stock that is planned with already isn't suggested again, and what it doesn't hold is said.
    let small = write(
        "small",
        "stock: [{ name: thirty, tare: 16 lb, water_capacity: 26 lb, count: 0 }, { name: three, tare: 2 lb, water_capacity: 3 \
         lb, confirmed: true, count: 2 }]\n",
    );
    let quote = folder.run(["quote", &small, "--json"]).is(1).json();
    let missing = quote["missing"][0].as_str().unwrap();
    assert!(missing.ends_with("of R-22 would be left in the system"), "{quote}");
    // A plan still needs its cylinders.
    folder.run(["plan", &bare]).is(2);
}

#[test]
fn a_truck_says_what_to_bring_for_a_lot_with_little_to_spare_until_it_is_aboard() {
    let thin = |arguments: &[&str]| -> Vec<String> {
        let pack = run([&["pack", "scenarios/rooftop-units.yaml", "--json"], arguments].concat()).json();
        let warnings = pack["warnings"].as_array().unwrap().iter();
        let to_know: Vec<&str> = pack["to_know"].as_array().unwrap().iter().filter_map(|text| text.as_str()).collect();
        assert!(warnings.clone().all(|warning| to_know.contains(&warning["text"].as_str().unwrap())));
        let thin = warnings.filter(|warning| warning["code"] == "thin-spare");
        thin.map(|warning| warning["text"].as_str().unwrap().to_owned()).collect()
    };
    // 0.4 lb to spare for 21.8 lb of R-22. A-3 adds 22.1 lb.
    let said = thin(&[]);
    assert!(said.len() == 1 && said[0].contains("bring one more: A-3, which takes 22.1 lb more"), "{said:?}");
    assert_eq!(thin(&["--take", "A-3"]), Vec::<String>::new());
    // Without it the next best is named.
    let said = thin(&["--without", "A-3"]);
    assert!(said.len() == 1 && said[0].contains("bring one more: A-5, which takes 21.7 lb more"), "{said:?}");
}

fn decimal(value: &serde_json::Value) -> Decimal {
    value.as_str().unwrap().parse().unwrap()
}

#[test]
fn the_total_of_a_quote_is_the_sum_of_its_lines_to_the_cent() {
    for arguments in
        [&["scenarios/estimate.yaml"][..], &["scenarios/tender.yaml"], &["scenarios/tender.yaml", "--cheapest"]]
    {
        let quote = run([&["quote", "--json"], arguments].concat()).json();
        assert_eq!(quote["format"], "chargesplit-quote/1");
        for figure in ["low", "likely", "high"] {
            let lines = quote["cost"]["lines"].as_array().unwrap();
            assert!(lines.len() > 5);
            let sum: Decimal = lines.iter().map(|line| decimal(&line["amount"][figure])).sum();
            assert_eq!(sum, decimal(&quote["cost"]["total"][figure]), "{arguments:?} {figure}");
        }
        // The way that is quoted stands in the table of ways with the same figure.
        let ways = quote["ways"].as_array().unwrap();
        let chosen: Vec<_> = ways.iter().filter(|way| way["chosen"] == true).collect();
        assert_eq!(chosen.len(), 1);
        assert_eq!(chosen[0]["likely"], quote["cost"]["total"]["likely"]);
        if arguments.len() > 1 {
            let least = ways.iter().map(|way| decimal(&way["likely"])).min().unwrap();
            assert_eq!(decimal(&chosen[0]["likely"]), least);
            assert!(ways.len() > 2);
        }
    }
}

#[test]
fn where_one_person_works_alone_a_second_is_paid_for_heavy_ways_unless_they_go_by_a_hoist() {
    // 60 lb into 28.0 lb of tare twice: 58 lb each, over the 50 lb of one person; the way up empty is not.
    let make = |crew, hoist, access| {
        let job = Job::new(JobFacts { access, ..(*job("Job", None, &[("R-134a", 600)])).clone() }).unwrap();
        let yard = vec![cylinder("C-1", 476, 280, None), cylinder("C-2", 476, 280, None)];
        let work = Work::new(vec![job], yard).unwrap();
        let plan = planned(&work);
        let labour = Labour { crew: Some(crew), floors: Some(3), ..Labour::default() };
        let prices = Prices { hoist, ..Prices::default() };
        let terms = estimate::Terms { labour, prices, ..estimate::Terms::default() };
        let hours = estimate::hours(&work, plan.plan(), &[terms]).remove(0);
        assert_eq!(hours.heavy, 2);
        hours.crew.likely - hours.elapsed.likely * Decimal::from(crew)
    };
    let (level, ladder) = (Some(Access::Level), Some(Access::Ladder));
    let hoist = Some(Range::exactly(Decimal::ONE));
    // Two ways of 3 likely minutes on each of 3 floors.
    assert_eq!(make(1, None, ladder), Decimal::from(18));
    assert_eq!(make(2, None, ladder), Decimal::ZERO);
    assert_eq!(make(1, hoist, ladder), Decimal::ZERO);
    // No hoist carries over level ground, be there a price or not.
    assert_eq!((make(1, hoist, level), make(1, hoist, None)), (Decimal::from(18), Decimal::from(18)));
}

#[test]
fn a_flammable_refrigerant_is_kept_from_ignition_and_an_evacuated_cylinder_is_not_hazardous() {
    let day = run(["pack", "scenarios/day-1.yaml", "--json"]).json();
    assert_eq!(day["weights"][0]["hazardous"], 0.0);
    let work = Work::new(vec![job("Job", None, &[("R-32", 100)])], vec![flammable("F-1")]).unwrap();
    let plan = planned(&work);
    assert!(is_whole(&plan));
    let day = manifest(&work, &plan, &Truck::unknown(), &[]);
    assert!(reminded(&day).contains(&"ignition") && day.aboard[0].flammable && !day.aboard[0].hazardous);
    let other = Work::new(vec![job("Job", None, &[("R-22", 100)])], vec![cylinder("C-1", 476, 280, None)]).unwrap();
    let day = manifest(&other, &planned(&other), &Truck::unknown(), &[]);
    assert!(!reminded(&day).contains(&"ignition"));
}

fn flammable(id: &str) -> Cylinder {
    let plain = cylinder(id, 476, 280, None);
    Cylinder::new(Facts { flammable: true, ..(*plain).clone() }).unwrap()
}

/// A ladder isn't level ground: whoever reads the quote reads which way is counted.
#[test]
fn the_way_that_is_counted_stands_among_the_assumptions() {
    let job = |access: &str| {
        format!(
            "job: Roof\ndate: 2026-12-01\nunits: lb\nsite: {{ access: {access} }}\nsystems: [{{ name: Chiller, refrigerant: \
             R-22, nameplate: 20, condition: burnout }}]\n"
        )
    };
    for (access, way) in [
        ("level", "carried over level ground, assumed"),
        ("stairs", "carried over the stairs of one floor, assumed"),
        ("ladder", "carried over the ladder of one floor, assumed"),
        ("hoist", "carried by hoist over one floor, assumed"),
    ] {
        let folder = Folder::of(&[("job.yaml", &job(access))]);
        let text = flat(&folder.run(["quote", "job.yaml"]).out);
        assert!(text.contains(way), "{way}\n{text}");
    }
}

/// A job that is quoted before its cylinders are known has none to name.
#[test]
fn a_job_that_is_only_quoted_can_be_checked_and_not_planned() {
    let text = "job: Larkfield\ndate: 2026-12-16\nunits: lb\nsystems: [{ name: Rack A, refrigerant: R-404A, nameplate: 60 lb }]\n";
    let check = |text: &str| {
        let folder = Folder::of(&[("job.yaml", text)]);
        let checked = folder.run(["check", "job.yaml", "--json"]);
        let report = serde_json::from_str::<serde_json::Value>(&checked.out).ok();
        (checked.status, folder.run(["plan", "job.yaml"]).status, report)
    };
    let (status, plan, report) = check(text);
    assert_eq!((status, plan, &report.unwrap()["quote_only"]), (0, 2, &serde_json::json!(["Larkfield"])));
    let (status, plan, report) = check(&format!("{text}cylinders: []\n"));
    assert_eq!((status, plan, &report.unwrap()["quote_only"]), (0, 1, &serde_json::json!([])));
    assert_eq!(check(&format!("{text}yrad: van.yaml\n")).0, 2, "a misspelt yard is one all the same");
}
