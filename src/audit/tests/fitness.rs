//! Every fitness rule, broken by itself in a plan that fills the cylinder all the same.

use jiff::civil::date;

use super::bench::*;
use super::faults;
use crate::audit::fitness::RULES;
use crate::cylinder::{Condition, Contents, Facts, Fate, Mark, Measured, Rules, Terms};
use crate::job::{SystemFacts, Work};
use crate::plan::{Load, LotLine, Plan, Pour, Totals};
use crate::quantity::{GaugePressure, Temperature, Unit};
use crate::refrigerant::Fluid;

/// A cylinder, a system and terms that nothing stands against, before something is changed.
struct Sound {
    cylinder: Facts,
    system: SystemFacts,
    terms: Terms,
}

/// What is changed, and the codes that follow, in the order of the rules.
type Breach = (fn(&mut Sound), &'static [&'static str]);

fn holds(name: &str) -> Contents {
    Contents::Holds(refrigerant(name))
}

fn mark(text: &str) -> Option<Mark> {
    Some(Mark::parse(text).unwrap())
}

fn psig(pressure: f64) -> Option<GaugePressure> {
    Some(GaugePressure::from_psig(pressure))
}

/// A mixed charge of R-134a and R-22 that will be destroyed.
fn mixed(case: &mut Sound) {
    case.system.fluid = Fluid::Mixed(vec![refrigerant("R-134a"), refrigerant("R-22")]);
    case.system.condition = Condition::Mixed;
    case.system.fate = Fate::Destroy;
}

fn r22_in(case: &mut Sound, stamp: &str) {
    (case.system.fluid, case.cylinder.mark) = (fluid("R-22"), mark(stamp));
}

fn r125_tested_at(case: &mut Sound, bar: f64) {
    case.system.fluid = fluid("R-125");
    case.cylinder.test_pressure = Some(GaugePressure::from_bar(bar));
    case.terms.rules = Rules::Un;
}

fn measured(case: &mut Sound, psig: f64, fahrenheit: f64) {
    let (pressure, at) = (GaugePressure::from_psig(psig), Temperature::from_fahrenheit(fahrenheit));
    case.cylinder.measured = Some(Measured { pressure, at });
}

/// An evacuated cylinder with these numbers on its shoulder, in pounds.
fn stamped(case: &mut Sound, tare: &str, water_capacity: &str) {
    let cylinder = &mut case.cylinder;
    (cylinder.tare, cylinder.gross, cylinder.water_capacity) = (lb(tare), lb(tare), lb(water_capacity));
}

const CYLINDER: &[Breach] = &[
    (|_| (), &[]),
    (|c| c.cylinder.mark = mark("DOT-39"), &["non-refillable"]),
    (|c| c.cylinder.mark = mark("110A500W"), &["tank"]),
    (
        |c| (c.cylinder.water_capacity, c.cylinder.tare, c.cylinder.gross) = (lb("1000.1"), lb("300"), lb("300")),
        &["tank"],
    ),
    (|c| (c.cylinder.water_capacity, c.cylinder.tare, c.cylinder.gross) = (lb("1000"), lb("300"), lb("300")), &[]),
    (|c| c.terms.date = date(2029, 7, 1), &["overdue"]),
    (|c| c.terms.date = date(2029, 6, 30), &[]),
    (|c| c.cylinder.test = None, &["unknown-date"]),
    // A month is kept as its last day: a test in the month of the job is none after it.
    (|c| c.cylinder.test.as_mut().unwrap().since = Some(date(2026, 12, 31)), &[]),
    (|c| c.cylinder.test.as_mut().unwrap().since = Some(date(2027, 1, 31)), &["unknown-date"]),
    (|c| c.cylinder.test.as_mut().unwrap().good_through = date(2039, 1, 31), &["unknown-date"]),
    (|c| c.cylinder.test.as_mut().unwrap().good_through = date(2038, 12, 31), &[]),
    (|c| c.cylinder.mark = None, &["unknown-pressure"]),
    (|c| c.cylinder.mark = mark("4L200"), &["unknown-pressure"]),
    (|c| (c.cylinder.mark, c.cylinder.service_pressure) = (None, psig(400.0)), &[]),
    // R-134a needs 161 psig (computed with CoolProp 8.0.0 under the 5/4 rule).
    (|c| c.cylinder.service_pressure = psig(100.0), &["service-pressure"]),
    (|c| (c.cylinder.mark, c.cylinder.service_pressure) = (mark("DOT-3AA150"), psig(400.0)), &["service-pressure"]),
    (
        |c| (c.cylinder.mark, c.cylinder.test_pressure, c.terms.rules) = (mark("DOT-3AA2015"), None, Rules::Un),
        &["test-pressure"],
    ),
    (
        |c| (c.cylinder.test_pressure, c.terms.rules) = (Some(GaugePressure::from_bar(10.0)), Rules::Both),
        &["test-pressure"],
    ),
    (|c| c.cylinder.test_pressure = Some(GaugePressure::from_bar(10.0)), &[]),
    (|c| c.terms.rules = Rules::Un, &[]),
    (|c| c.cylinder.damage = Some("rust".into()), &["damage"]),
    (|c| c.cylinder.remark = Some("VALVE LEAKS - DO NOT USE".into()), &["remark"]),
    (|c| c.cylinder.remark = Some("Not leaking".into()), &["remark"]),
    (|c| c.cylinder.remark = Some("from the Yorkshire depot".into()), &[]),
    (|c| (c.cylinder.remark, c.cylinder.remark_settled) = (Some("valve leaks".into()), true), &[]),
    // Neither word settles what the other one is for.
    (|c| (c.cylinder.remark, c.cylinder.confirmed) = (Some("valve leaks".into()), true), &["remark"]),
    (|c| (c.cylinder.water_capacity, c.cylinder.remark_settled) = (lb("50"), true), &["doubtful-capacity"]),
    (|c| (c.cylinder.damage, c.cylinder.remark_settled) = (Some("rust".into()), true), &["damage"]),
    (|c| c.cylinder.water_capacity = lb("50"), &["doubtful-capacity"]),
    (|c| (c.cylinder.water_capacity, c.cylinder.confirmed) = (lb("50"), true), &[]),
    // 47.5 lb of water go with 20 to 46 lb of tare (common practice, no source).
    (|c| stamped(c, "19.9", "47.5"), &["doubtful-pair"]),
    (|c| stamped(c, "20", "47.5"), &[]),
    (|c| stamped(c, "46", "47.5"), &[]),
    (|c| stamped(c, "46.1", "47.5"), &["doubtful-pair"]),
    (|c| (stamped(c, "17", "47.6"), c.cylinder.confirmed = true).0, &[]),
    (|c| stamped(c, "28", "76.4"), &["doubtful-pair"]),
    (|c| stamped(c, "28", "123"), &["doubtful-pair"]),
    (|c| stamped(c, "12.7", "21.6"), &["doubtful-pair"]),
    (|c| stamped(c, "28", "125"), &["doubtful-capacity", "doubtful-pair"]),
    (|c| stamped(c, "9.9", "9.9"), &["doubtful-pair"]),
    (|c| stamped(c, "30", "1000.1"), &["tank"]),
];

/// What only a ledger says.
const LEDGER: &[Breach] = &[
    (|c| c.cylinder.ledger.bound = Some("Kiosk, on Van 7".into()), &["bound-elsewhere"]),
    (|c| c.cylinder.ledger.doubt = Some("two entries contradict each other".into()), &["in-doubt"]),
    (|c| c.cylinder.ledger.out = Some("valve leaks".into()), &["out"]),
    (|c| c.cylinder.ledger.out = Some(String::new()), &["out"]),
    (|c| c.cylinder.ledger.changed = Some("the file says R-22".into()), &["row-changed"]),
    (|c| c.cylinder.ledger.ours = true, &[]),
    (|c| c.cylinder.ledger.mixed = true, &["holds-mixed"]),
    (|c| (c.cylinder.contents, c.cylinder.ledger.mixed) = (holds("R-134a"), true), &["holds-mixed"]),
    // More of a mixture goes to what will be destroyed; not to what must never have come together.
    (
        |c| {
            mixed(c);
            c.cylinder.contents = Contents::Mixed(vec![refrigerant("R-134a")]);
            c.cylinder.ledger.mixed = true;
        },
        &["holds-mixed"],
    ),
    (
        |c| {
            c.cylinder.ledger.doubt = Some("a line is missing".into());
            c.cylinder.ledger.bound = Some("Kiosk".into());
        },
        &["bound-elsewhere", "in-doubt"],
    ),
];

const CONTENTS: &[Breach] = &[
    // By hand from CoolProp 8.0.0: R-134a has 1081.05 kg/m3 at 130 F, 1.0821 of water; 80 % of 47.5 lb of water with it are
    // 27.9 + 41.1 = 69.0 lb. At 131 F the whole volume is a little under 27.9 + 1.0821 x 47.5 = 79.3 lb.
    (|c| (c.cylinder.contents, c.cylinder.gross) = (holds("R-134a"), lb("80")), &["over-limit", "full"]),
    (|c| (c.cylinder.contents, c.cylinder.gross) = (holds("R-134a"), lb("70")), &["over-fill", "full"]),
    (|c| (c.cylinder.contents, c.cylinder.gross) = (holds("R-134a"), lb("68.8")), &[]),
    // Over its label, whatever it holds and however little of it.
    (
        |c| {
            (c.cylinder.contents, c.cylinder.gross) = (holds("R-134a"), lb("50"));
            c.cylinder.max_gross = Some(lb("49"));
        },
        &["over-limit", "full"],
    ),
    // A label under the tare is a slip: with nothing in it the cylinder is in no danger.
    (|c| c.cylinder.max_gross = Some(lb("20")), &["full"]),
    (
        |c| {
            (c.cylinder.contents, c.cylinder.gross) = (Contents::Unknown, lb("50"));
            c.cylinder.max_gross = Some(lb("49"));
        },
        &["over-limit", "holds-unknown", "full"],
    ),
    // Under the UN's rules packing instruction P200 is broken by less: 0.95 of 1102.31 kg/m3 at 50 C (CoolProp 8.0.0) makes
    // 27.9 + 0.95 x 1.1034 x 47.5 = 77.7 lb.
    (
        |c| {
            (c.cylinder.contents, c.cylinder.gross) = (holds("R-134a"), lb("78.5"));
            c.terms.rules = Rules::Un;
        },
        &["over-limit", "full"],
    ),
    (|c| (c.cylinder.contents, c.cylinder.gross) = (holds("R-134a"), lb("78.5")), &["over-fill", "full"]),
    (|c| c.cylinder.contents = holds("R-717"), &["gas-refused", "holds-other"]),
    (|c| c.cylinder.contents = Contents::Mixed(vec![refrigerant("R-40")]), &["gas-refused", "holds-mixed"]),
    // 2 % of 20 lb is less than half a pound; of 27.9 lb it is more.
    (|c| (c.cylinder.tare, c.cylinder.gross) = (lb("20"), lb("20.41")), &["not-empty"]),
    (|c| (c.cylinder.tare, c.cylinder.gross) = (lb("20"), lb("20.4")), &[]),
    (|c| c.cylinder.gross = lb("28.41"), &["not-empty"]),
    (|c| c.cylinder.gross = lb("28.4"), &[]),
    (|c| (c.cylinder.gross, c.terms.scale.accuracy) = (lb("28.5"), lb("0.6")), &[]),
    (|c| c.cylinder.gross = lb("27.79"), &["under-tare"]),
    (|c| c.cylinder.gross = lb("27.8"), &[]),
    // 0.95 × 27.9 = 26.505
    (|c| c.cylinder.gross = lb("26.505"), &["under-tare", "tare-lost"]),
    (|c| c.cylinder.gross = lb("26.51"), &["under-tare"]),
    (|c| c.cylinder.contents = Contents::Nitrogen, &["evacuate-first"]),
    (|c| c.cylinder.contents = Contents::Unknown, &["holds-unknown"]),
    (|c| c.cylinder.contents = Contents::Mixed(vec![refrigerant("R-134a")]), &["holds-mixed"]),
    (
        |c| {
            mixed(c);
            c.cylinder.contents = Contents::Mixed(vec![refrigerant("R-134a")]);
        },
        &[],
    ),
    (
        |c| {
            mixed(c);
            c.cylinder.contents = Contents::Mixed(Vec::new());
        },
        &["holds-mixed"],
    ),
    (
        |c| {
            mixed(c);
            c.cylinder.contents = Contents::Mixed(vec![refrigerant("R-134a")]);
            c.system.fate = Fate::Reclaim;
        },
        &["holds-mixed"],
    ),
    (|c| c.cylinder.contents = holds("R-22"), &["holds-other"]),
    (
        |c| {
            mixed(c);
            c.cylinder.contents = holds("R-134a");
        },
        &["holds-other"],
    ),
    (|c| c.cylinder.contents = holds("R-134a"), &[]),
    (|c| (c.cylinder.contents, c.system.condition) = (holds("R-134a"), Condition::Wet), &["kept-apart"]),
    (|c| (c.cylinder.contents, c.cylinder.condition) = (holds("R-134a"), Condition::Wet), &["kept-apart"]),
    (|c| (c.cylinder.contents, c.system.fate) = (holds("R-134a"), Fate::Reuse), &["kept-apart"]),
    (|c| (c.cylinder.contents, c.system.fate) = (holds("R-134a"), Fate::Destroy), &["kept-apart"]),
    (
        |c| {
            c.cylinder.contents = holds("R-134a");
            c.system.fate = Fate::Destroy;
            c.cylinder.owner = Some("Pier".into());
        },
        &[],
    ),
    (
        |c| {
            c.cylinder.contents = holds("R-134a");
            c.cylinder.kept_for = Some("Pier".into());
        },
        &["kept-apart"],
    ),
    (
        |c| {
            kept(c, "Pier");
        },
        &["kept-apart"],
    ),
    (
        |c| {
            kept(c, "Pier");
            c.cylinder.owner = Some("Pier".into());
            c.system.condition = Condition::Wet;
        },
        &["kept-apart"],
    ),
    (
        |c| {
            kept(c, "Pier");
            c.cylinder.owner = Some("Pier".into());
        },
        &[],
    ),
    (
        |c| {
            kept(c, "Pier");
            c.cylinder.owner = Some("Kiosk".into());
        },
        &["kept-apart"],
    ),
    (
        |c| {
            kept(c, "Kiosk");
            c.cylinder.owner = Some("Pier".into());
        },
        &["kept-apart"],
    ),
    (|c| c.cylinder.condition = Condition::Burnout, &["burnout"]),
    (|c| (c.cylinder.condition, c.cylinder.cleaned) = (Condition::Burnout, true), &[]),
    (|c| (c.cylinder.condition, c.system.condition) = (Condition::Burnout, Condition::Burnout), &[]),
    (|c| c.terms.lift_limit = Some(lb("27.9")), &["too-heavy"]),
    (|c| c.terms.scale.capacity = Some(lb("27.9")), &["too-heavy"]),
    (|c| c.terms.lift_limit = Some(lb("27.95")), &["full"]),
    (|c| c.cylinder.max_gross = Some(lb("27.9")), &["full"]),
    (|c| c.cylinder.max_gross = Some(lb("28")), &[]),
    (|c| (c.cylinder.max_gross, c.terms.scale.accuracy) = (Some(lb("28")), lb("0.1")), &["full"]),
];

/// Rules that look at a property which only the table of refrigerants has.
const PROPERTIES: &[Breach] = &[
    // R-134a has 71.1 psig (85.8 psia) at 70 °F (from memory, a handbook's table of saturation): 1.03 × 85.8 + 2 is
    // 90.4 psia, 75.7 psig.
    (
        |c| {
            (c.cylinder.contents, c.cylinder.gross) = (holds("R-134a"), lb("35"));
            measured(c, 76.5, 70.0);
        },
        &["air-suspected"],
    ),
    (
        |c| {
            (c.cylinder.contents, c.cylinder.gross) = (holds("R-134a"), lb("35"));
            measured(c, 75.0, 70.0);
        },
        &[],
    ),
    (|c| measured(c, 0.1, 70.0), &["air-suspected"]),
    (|c| measured(c, -10.0, 70.0), &[]),
    (|c| c.system.fluid = fluid("R-290"), &["flammable"]),
    (|c| (c.system.fluid, c.cylinder.flammable) = (fluid("R-290"), true), &[]),
    // Carbon dioxide has no liquid at 130 °F.
    (
        |c| {
            mixed(c);
            c.cylinder.contents = Contents::Mixed(vec![refrigerant("R-744")]);
        },
        &["gas-refused", "service-pressure", "no-limit"],
    ),
    // 300.8 psig at 131 °F, over 5/4 of 240: for R-22 in a cylinder of a specification that the regulation names, nine of
    // them in its row (49 CFR 173.304a(a)(2)).
    (|c| (c.system.fluid, c.cylinder.mark) = (fluid("R-22"), mark("DOT-4BA240")), &[]),
    (|c| r22_in(c, "DOT-3A240"), &[]),
    (|c| r22_in(c, "DOT-3AA240"), &[]),
    (|c| r22_in(c, "DOT-3AL240"), &[]),
    (|c| r22_in(c, "DOT-3B240"), &[]),
    (|c| r22_in(c, "DOT-4B240"), &[]),
    (|c| r22_in(c, "DOT-4B240ET"), &[]),
    (|c| r22_in(c, "DOT-4BW240"), &[]),
    (|c| r22_in(c, "DOT-4E240"), &[]),
    (|c| r22_in(c, "DOT-4E239"), &["service-pressure"]),
    (
        |c| {
            r22_in(c, "DOT-4L240");
            c.cylinder.service_pressure = psig(240.0);
        },
        &["service-pressure"],
    ),
    // P200 lists 36 bar for R-125 (from memory), too near its critical point at 65 °C for a pressure.
    (|c| r125_tested_at(c, 36.0), &[]),
    (|c| r125_tested_at(c, 35.9), &["test-pressure"]),
    (
        |c| {
            (c.system.fluid, c.cylinder.mark) = (fluid("R-22"), mark("DOT-4BA240"));
            c.terms.hottest = Some(Temperature::from_fahrenheit(140.0));
        },
        &["service-pressure"],
    ),
    (|c| (c.system.fluid, c.cylinder.mark) = (fluid("R-404A"), mark("DOT-4BA240")), &["service-pressure"]),
];

fn kept(case: &mut Sound, job: &str) {
    case.cylinder.contents = holds("R-134a");
    case.system.fate = Fate::Reuse;
    case.cylinder.kept_for = Some(job.into());
}

/// The rules that the audit says are broken by filling the cylinder with the system's charge.
fn unfit(change: fn(&mut Sound)) -> Vec<String> {
    let mut case = Sound {
        cylinder: facts("T-1", lb("27.9"), lb("47.5"), lb("27.9"), Contents::Evacuated),
        system: system("Unit", "R-134a", lb("10")),
        terms: terms(Unit::Lb),
    };
    change(&mut case);
    let refrigerant = case.system.fluid.name();
    let jobs = vec![valid(job("Pier", case.terms, vec![case.system]))];
    let work = Work::new(jobs, vec![cylinder(case.cylinder)]).unwrap();
    let found = faults(&work, filled_with(&work, &refrigerant));
    let unfit = found.into_iter().filter(|fault| fault.code == "unfit");
    unfit.map(|fault| fault.got).collect()
}

/// A plan that puts the whole charge of 10 lb into T-1.
fn filled_with(work: &Work, refrigerant: &str) -> Plan {
    let load = Load {
        cylinder: "T-1".into(),
        lot: "only".into(),
        refrigerant: refrigerant.into(),
        pours: vec![Pour { system: "Unit".into(), from: 279, to: 379, add: 100, vapour_last: true }],
        now: 279,
        add: 100,
        ease_off: 349,
        stop: 379,
        limit: 600,
        ceiling: "fill".into(),
        ..Load::blank()
    };
    let line = LotLine {
        lot: "only".into(),
        refrigerant: refrigerant.into(),
        systems: vec!["Unit".into()],
        charge: 100,
        room: 321,
        spare: 221,
    };
    let totals = Totals { cylinders: 1, heaviest: 379, carried: 379, pours: 1, missing: None };
    Plan {
        jobs: vec!["Pier".into()],
        bounds: totals,
        totals,
        lots: vec![line],
        loads: vec![load],
        ..Plan::blank(work.division())
    }
}

fn hold(lists: &[&[Breach]]) {
    let mut wrong = Vec::new();
    for (list, cases) in lists.iter().enumerate() {
        for (index, (change, expected)) in cases.iter().enumerate() {
            let found = unfit(*change);
            if found != *expected {
                wrong.push(format!("list {list}, case {index}: expected {expected:?}, got {found:?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn each_rule_is_found_by_its_code() {
    hold(&[CYLINDER, LEDGER, CONTENTS, PROPERTIES]);
}

#[test]
fn every_rule_is_broken_by_a_case_and_the_codes_are_those_of_the_cylinders_room() {
    let ours: Vec<&str> = RULES.iter().map(|(code, _)| *code).collect();
    let theirs: Vec<&str> = crate::cylinder::RULES.iter().map(|rule| rule.code).collect();
    assert_eq!(ours, theirs);
    let lists = [CYLINDER, LEDGER, CONTENTS, PROPERTIES];
    let broken: Vec<&str> =
        lists.iter().flat_map(|list| list.iter().flat_map(|(_, codes)| codes.iter().copied())).collect();
    for code in ours {
        assert!(broken.contains(&code), "no case breaks `{code}`");
    }
}
