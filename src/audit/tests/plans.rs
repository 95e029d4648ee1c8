//! Two works with a good plan each, made by hand; and what is left of the first one where it doesn't fit.
//!
//! Limits by the fill ceiling come from the density of the fluid, in [`filled`]; all other figures are written out.
//! Every stop weight keeps below a limit at 850 kg/m³, so that the plans don't hang on the density.

use super::bench::*;
use super::check;
use crate::audit::Case;
use crate::audit::loads::liquid_full_words;
use crate::audit::sameness::groups;
use crate::cylinder::{Condition, Contents, Cylinder, Facts, Fate, Rules, Tag, Terms};
use crate::job::{Allowance, Basis, Charge, Job, Work};
use crate::plan::{Against, LeftOut, Leftover, Load, LotLine, Plan, Pour, Remedy, Short, Status, Totals};
use crate::quantity::{Marks, Span, Unit, Weight};

/// `cylinder, lot, refrigerant, shares, now, limit, ceiling` of a load.
type LoadRow<'a> = (&'a str, &'a str, &'a str, &'a [(&'a str, Marks)], Marks, Marks, &'a str);

/// A load; what is added and where to stop follow from its shares.
fn load(order: usize, (cylinder, lot, refrigerant, from, now, limit, ceiling): LoadRow) -> Load {
    let add = from.iter().map(|(_, add)| add).sum();
    let mut at = now;
    let mut pour = |(system, add): &(&str, Marks)| {
        let from = at;
        at += add;
        Pour { system: (*system).into(), from, to: at, add: *add, vapour_last: false }
    };
    Load {
        order,
        cylinder: cylinder.into(),
        lot: lot.into(),
        refrigerant: refrigerant.into(),
        tags: tags(lot),
        pours: from.iter().map(&mut pour).collect(),
        now,
        add,
        // Slowly from the start: never too late.
        ease_off: now,
        stop: now + add,
        limit,
        ceiling: ceiling.into(),
        ..Load::blank()
    }
}

/// Marks of each system its last pour.
pub fn ends(loads: &mut [Load]) {
    let systems: Vec<String> = loads.iter().flat_map(|load| &load.pours).map(|pour| pour.system.clone()).collect();
    for (place, pour) in loads.iter_mut().flat_map(|load| &mut load.pours).enumerate() {
        pour.vapour_last = !systems[place + 1..].contains(&pour.system);
    }
}

/// The marks of each lot, by hand; every heel is of its lot, and A-3 and the like are empty and clean.
fn tags(lot: &str) -> Vec<Tag> {
    match lot {
        FREEZER => vec![Tag::Burnout],
        FIRST => vec![Tag::Wet, Tag::Reuse],
        SECOND => vec![Tag::Reuse],
        _ => Vec::new(),
    }
}

/// The plan with the temperature at which each cylinder is full of liquid, as the audit words it.
pub fn told(work: Work, mut plan: Plan) -> (Work, Plan) {
    let groups = groups(work.jobs(), work.division(), work.names_jobs());
    let case = Case::new(&work, &plan, &groups);
    let words = |load: &Load| {
        let cylinder = work.yard().iter().find(|cylinder| cylinder.id == load.cylinder).unwrap();
        liquid_full_words(&work, cylinder, case.group_named(&load.lot).unwrap(), load.stop)
    };
    let words: Vec<String> = plan.loads.iter().map(words).collect();
    for (load, words) in plan.loads.iter_mut().zip(words) {
        load.liquid_full = words;
    }
    (work, plan)
}

fn line(lot: &str, refrigerant: &str, systems: &[&str], charge: Marks, room: Marks) -> LotLine {
    LotLine {
        lot: lot.into(),
        refrigerant: refrigerant.into(),
        systems: systems.iter().map(|name| (*name).into()).collect(),
        charge,
        room,
        spare: (room - charge).max(0),
    }
}

/// A reason of this code that stands against these lots.
pub fn against(code: &str, lots: &[&str]) -> Against {
    Against { code: code.into(), text: String::new(), lots: lots.iter().map(|lot| (*lot).into()).collect() }
}

pub fn left_out(cylinder: &str, reasons: Vec<Against>) -> LeftOut {
    LeftOut { cylinder: cylinder.into(), reasons }
}

fn plan(work: &Work, lots: Vec<LotLine>, rows: &[LoadRow]) -> Plan {
    let mut loads: Vec<Load> = rows.iter().enumerate().map(|(index, row)| load(index + 1, *row)).collect();
    ends(&mut loads);
    let totals = Totals {
        cylinders: loads.len(),
        heaviest: loads.iter().map(|load| load.stop).max().unwrap_or(0),
        carried: loads.iter().map(|load| load.stop).sum(),
        pours: loads.iter().map(|load| load.pours.len()).sum(),
        missing: None,
    };
    Plan {
        jobs: work.jobs().iter().map(|job| job.name.clone()).collect(),
        bounds: totals,
        totals,
        lots,
        loads,
        ..Plan::blank(work.division())
    }
}

/// North pier: lift limit 75 lb, accuracy 0.1 lb. Kiosk: lift limit 80 lb, accuracy 0.2 lb.
fn pound_jobs(heat_pump: Weight) -> Vec<Job> {
    let mut pier = terms(Unit::Lb);
    pier.lift_limit = Some(lb("75"));
    pier.scale.accuracy = lb("0.1");
    let mut kiosk = terms(Unit::Lb);
    kiosk.lift_limit = Some(lb("80"));
    kiosk.scale.accuracy = lb("0.2");
    kiosk.scale.capacity = Some(lb("220"));

    // (40 + 1.04) × 1.05 = 43.092 lb
    let mut rack_1 = system("Rack 1", "R-448A", lb("40"));
    rack_1.charge = Charge::Recorded { nameplate: lb("40"), added: lb("1.04") };
    rack_1.allowance = Allowance::Share(percent(5));
    // 14 + 0.45 = 14.45 lb
    let mut rack_2 = system("Rack 2", "R-448A", lb("14"));
    rack_2.charge = Charge::Estimated { span: Span { low: lb("10"), high: lb("14") }, basis: Basis::Level };
    rack_2.allowance = Allowance::Weight(lb("0.45"));
    let rack_3 = system("Rack 3", "R-448A", lb("7.03"));
    // 20 × 1.10 = 22 lb
    let mut freezer = system("Freezer", "R-404A", lb("20"));
    freezer.allowance = Allowance::Share(percent(10));
    freezer.condition = Condition::Burnout;
    freezer.fate = Fate::Destroy;
    let mut chiller_1 = system("Chiller 1", "R-134a", lb("15"));
    chiller_1.fate = Fate::Reuse;
    // Wet, so that a heel kept for the job is known to be of the other.
    chiller_1.condition = Condition::Wet;
    let mut chiller_2 = system("Chiller 2", "R-134a", lb("16.01"));
    chiller_2.fate = Fate::Reuse;
    let display = system("Display", "R-448A", lb("12.31"));
    let mut pump = system("Heat pump", "R-410A", heat_pump);
    pump.fill = Some(percent(75));
    let pier_systems = vec![rack_1, rack_2, rack_3, freezer, chiller_1, chiller_2];
    vec![valid(job("North pier", pier, pier_systems)), valid(job("Kiosk", kiosk, vec![display, pump]))]
}

fn usual(id: &str, gross: &str, contents: Contents) -> Facts {
    facts(id, lb("27.9"), lb("47.5"), lb(gross), contents)
}

fn pound_yard() -> Vec<Cylinder> {
    let holds = |name: &str| Contents::Holds(refrigerant(name));
    let mut carried_burnout = usual("B-1", "27.9", Contents::Evacuated);
    carried_burnout.condition = Condition::Burnout;
    let mut labelled = usual("C-1", "27.9", Contents::Evacuated);
    labelled.max_gross = Some(lb("55"));
    let mut kept = usual("C-2", "33", holds("R-134a"));
    kept.kept_for = Some("North pier".into());
    kept.owner = Some("North pier".into());
    let mut worn = usual("X-1", "27.9", Contents::Evacuated);
    worn.damage = Some("dent in the foot ring".into());
    worn.test = None;
    [
        usual("A-1", "27.9", Contents::Evacuated),
        usual("A-2", "34.25", holds("R-448A")),
        facts("A-3", lb("40"), lb("59"), lb("39.95"), Contents::Evacuated),
        carried_burnout,
        labelled,
        kept,
        usual("D-1", "27.9", Contents::Evacuated),
        usual("N-1", "27.9", Contents::Evacuated),
        worn,
        // 46.1 lb net, over the whole of 47.5 lb of water at any density up to 969 kg/m³; R-448A has 942.9 at 130 °F.
        usual("X-2", "74", holds("R-448A")),
    ]
    .map(cylinder)
    .into()
}

const RACKS: &str = "R-448A";
const FREEZER: &str = "R-404A burnout, destroy";
const FIRST: &str = "R-134a wet, reuse, Chiller 1 (North pier)";
const SECOND: &str = "R-134a, reuse, Chiller 2 (North pier)";
const PUMP: &str = "R-410A";
pub const EVERY: [&str; 5] = [RACKS, FREEZER, FIRST, SECOND, PUMP];

/// Limits of the usual cylinder and of A-3, for a fluid at a fill.
fn usual_limit(name: &str, share: f64) -> Marks {
    filled(Unit::Lb.default_division(), lb("27.9"), lb("47.5"), share, &fluid(name))
}

fn lot_lines(pump_charge: Marks, pump_room: Marks) -> Vec<LotLine> {
    let racks = ["North pier / Rack 1", "North pier / Rack 2", "North pier / Rack 3", "Kiosk / Display"];
    // The lot keeps the larger accuracy of its jobs free, 2 marks; A-3 is bound by the lift limit, 750 − 400.
    let (usual_448, usual_404) = (usual_limit("R-448A", 0.8), usual_limit("R-404A", 0.8));
    vec![
        line(RACKS, "R-448A", &racks, 769, (usual_448 - 2 - 279) + (usual_448 - 2 - 343) + 350),
        line(FREEZER, "R-404A", &["North pier / Freezer"], 220, usual_404 - 1 - 279),
        // The label's 55 lb less 0.1 lb, from 27.9 lb.
        line(FIRST, "R-134a", &["North pier / Chiller 1"], 150, 270),
        line(SECOND, "R-134a", &["North pier / Chiller 2"], 161, usual_limit("R-134a", 0.8) - 1 - 330),
        line(PUMP, "R-410A", &["Kiosk / Heat pump"], pump_charge, pump_room),
    ]
}

/// Two jobs that share a lot of four systems, in pounds, and their good plan.
///
/// R-448A: 43.092 + 14.45 + 7.03 + 12.31 = 76.882 lb, 769 divisions; its parts by rounding the running sum up are 431,
/// 576 − 431, 646 − 576 and 769 − 646.
pub fn pounds() -> (Work, Plan) {
    let work = Work::new(pound_jobs(lb("12")), pound_yard()).unwrap();
    let a3 = filled(work.division(), lb("39.95"), lb("59"), 0.8, &fluid("R-448A"));
    let (l448, l404, l134, l410) = (
        usual_limit("R-448A", 0.8),
        usual_limit("R-404A", 0.8),
        usual_limit("R-134a", 0.8),
        usual_limit("R-410A", 0.75),
    );
    let last: &[_] = &[("North pier / Rack 2", 76), ("North pier / Rack 3", 70), ("Kiosk / Display", 123)];
    let second: &[_] = &[("North pier / Rack 1", 131), ("North pier / Rack 2", 69)];
    let rows: [LoadRow; 7] = [
        ("A-1", RACKS, "R-448A", &[("North pier / Rack 1", 300)], 279, l448, "fill"),
        ("A-2", RACKS, "R-448A", second, 343, l448, "fill"),
        ("A-3", RACKS, "R-448A", last, 400, a3, "lift"),
        ("B-1", FREEZER, "R-404A", &[("North pier / Freezer", 220)], 279, l404, "fill"),
        ("C-1", FIRST, "R-134a", &[("North pier / Chiller 1", 150)], 279, 550, "label"),
        ("C-2", SECOND, "R-134a", &[("North pier / Chiller 2", 161)], 330, l134, "fill"),
        ("D-1", PUMP, "R-410A", &[("Kiosk / Heat pump", 120)], 279, l410, "fill"),
    ];
    let mut plan = plan(&work, lot_lines(120, l410 - 2 - 279), &rows);
    plan.not_needed = vec!["N-1".into()];
    plan.left_out = vec![
        left_out("X-1", vec![against("unknown-date", &EVERY), against("damage", &EVERY)]),
        left_out(
            "X-2",
            vec![against("over-limit", &EVERY), against("holds-other", &EVERY[1..]), against("full", &EVERY)],
        ),
    ];
    told(work, plan)
}

/// The same with 1,000 lb in the heat pump: N-1 takes of it too, and both its cylinders are filled to the cap.
pub fn too_much() -> (Work, Plan) {
    let (_, mut plan) = pounds();
    let work = Work::new(pound_jobs(lb("1000")), pound_yard()).unwrap();
    let l410 = usual_limit("R-410A", 0.75);
    let room = l410 - 2 - 279;
    plan.loads.pop();
    for (order, cylinder) in [(7, "D-1"), (8, "N-1")] {
        let from: &[_] = &[("Kiosk / Heat pump", room)];
        plan.loads.push(load(order, (cylinder, PUMP, "R-410A", from, 279, l410, "fill")));
    }
    ends(&mut plan.loads);
    plan.lots = lot_lines(10_000, 2 * room);
    plan.not_needed.clear();
    plan.status = Status::Short;
    plan.short = vec![Short { lot: PUMP.into(), missing: 10_000 - 2 * room, suggest: Vec::new() }];
    plan.totals = Totals {
        cylinders: 8,
        heaviest: plan.loads.iter().map(|load| load.stop).max().unwrap(),
        carried: plan.loads.iter().map(|load| load.stop).sum(),
        pours: plan.loads.iter().map(|load| load.pours.len()).sum(),
        missing: None,
    };
    plan.bounds = plan.totals;
    told(work, plan)
}

/// The same with E-1, a cylinder that holds nitrogen and whose facts are changed: evacuated it would take as much of the
/// heat pump's charge as N-1.
pub fn nitrogen(change: fn(&mut Facts)) -> (Work, Plan) {
    let (work, mut plan) = too_much();
    let mut facts = usual("E-1", "28.4", Contents::Nitrogen);
    change(&mut facts);
    let work = work.clone().with_yard(work.yard().iter().cloned().chain([cylinder(facts)]).collect());
    plan.left_out.push(left_out("E-1", vec![against("evacuate-first", &EVERY)]));
    let missing = plan.short[0].missing - (usual_limit("R-410A", 0.75) - 2 - 279);
    plan.remedy = Some(Remedy {
        evacuate: vec!["E-1".into()],
        missing: vec![Leftover { lot: PUMP.into(), missing }],
        add: Vec::new(),
    });
    (work, plan)
}

/// The first work when nothing was found in the time.
pub fn undecided() -> (Work, Plan) {
    let (work, mut plan) = pounds();
    plan.status = Status::Undecided;
    plan.totals = Totals::default();
    plan.bounds = Totals::default();
    for line in &mut plan.lots {
        (line.room, line.spare) = (0, 0);
    }
    plan.not_needed = plan.loads.iter().map(|load| load.cylinder.clone()).collect();
    plan.not_needed.push("N-1".into());
    plan.loads.clear();
    (work, plan)
}

/// Three systems in kilograms under UN rules on a scale that ends at 40 kg, in divisions of 0.05 kg.
///
/// 8.01 + 8.01 + 8.01 = 24.03 kg, 481 divisions; parts 161, 321 − 161 and 481 − 321.
pub fn kilograms() -> (Work, Plan) {
    let mut site: Terms = terms(Unit::Kg);
    site.rules = Rules::Un;
    site.scale.capacity = Some(kg("40"));
    let systems = ["Unit 1", "Unit 2", "Unit 3"].map(|name| system(name, "R-134a", kg("8.01")));
    let jobs = vec![valid(job("Flat roof", site, systems.into()))];
    let yard = [
        facts("K-1", kg("20"), kg("30"), kg("20"), Contents::Evacuated),
        facts("K-2", kg("12.5"), kg("21.6"), kg("13.02"), Contents::Holds(refrigerant("R-134a"))),
    ];
    let work = Work::new(jobs, yard.map(cylinder).into()).unwrap();
    let of = |tare, water| filled(work.division(), kg(tare), kg(water), 0.8, &fluid("R-134a"));
    let (large, small) = (of("20", "30"), of("12.5", "21.6"));
    // K-1 from 20 kg to the scale's 40 kg: 400 divisions. K-2 from 13.02 kg, 261 divisions, to its limit.
    let lots = vec![line("R-134a", "R-134a", &["Unit 1", "Unit 2", "Unit 3"], 481, 400 + small - 261)];
    let first: &[_] = &[("Unit 1", 161), ("Unit 2", 139)];
    let second: &[_] = &[("Unit 2", 21), ("Unit 3", 160)];
    let rows: [LoadRow; 2] = [
        ("K-1", "R-134a", "R-134a", first, 400, large, "scale"),
        ("K-2", "R-134a", "R-134a", second, 261, small, "fill"),
    ];
    let plan = plan(&work, lots, &rows);
    told(work, plan)
}

#[test]
fn good_plans_pass() {
    for (name, (work, plan)) in
        [("pounds", pounds()), ("too much", too_much()), ("undecided", undecided()), ("kilograms", kilograms())]
    {
        let audited = check(&work, plan.clone()).unwrap_or_else(|faults| panic!("{name}: {faults:#?}"));
        assert_eq!(*audited.plan(), plan, "{name}");
    }
}
