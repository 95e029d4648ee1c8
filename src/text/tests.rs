//! Files that are read as they should be.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::cell::Cell;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::{Date, date};

use super::source::{Mark, Source};
use super::tree::Node;
use super::{Loaded, Request, Today, read_plan, read_work, read_yard, yaml};
use crate::cylinder::{Condition, Contents, Fate, Rules};
use crate::job::{Access, Allowance, Basis, Charge};
use crate::plan::Status;
use crate::problem::{Code, Problems};
use crate::quantity::{Percent, Unit, Weight};

const TODAY: Date = date(2026, 12, 1);

pub(super) fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

pub(super) fn work(folder: &Path, names: &[&str], skip_bad_rows: bool) -> Result<Loaded, Problems> {
    let jobs: Vec<PathBuf> = names.iter().map(|name| folder.join(name)).collect();
    read_work(&Request { jobs: &jobs, today: &Today::new(|| TODAY), skip_bad_rows })
}

fn codes(problems: &Problems) -> Vec<Code> {
    problems.iter().map(|problem| problem.code).collect()
}

fn pounds(text: &str) -> Weight {
    Weight::pounds(text.parse().unwrap())
}

pub(super) const JOB: &str = "\
job: North pier cold store
date: 2026-12-02
units: lb
scale_division: 0.2 lb
scale: { accuracy: 0.1 lb, capacity: 220 lb }
owner: North pier
limit: { fill: 78 %, at: 54 C, rules: both }
site: { lift_limit: 75, one_person: 50 lb, access: ladder, hottest: 140 F }
reuse_together: true
systems:
  - name: Rack 1
    refrigerant: r448a
    nameplate: 212.30
    added: 18 lb 8 oz
    allowance: 5 %
    fill: 75 %
  - { name: Walk-in, refrigerant: Trial blend 7, charge: 20..25 kg, basis: level, allowance: 2 lb, fate: destroy }
  - { name: Old unit, condition: mixed, refrigerant: R-12, may_contain: [R-134a, R-12], nameplate: 9, fate: destroy }
stock:
  - { name: fifty, tare: 28, water_capacity: 47.5, mark: DOT-4BA400, count: 3, hire: 12 per week }
labour: { crew: 2, travel: 30..45..60 min, derating: 25 %, liquid_rate: 6 lb/min, vapour_rate: 0.6 lb/min }
prices:
  currency: crowns
  labour: 80..95..110
  overtime: { after: 8 h, rate: 150 % }
  reclaim: [{ refrigerant: R-448A, credit: 1.5 per lb }]
  disposal: 4.00 per kg
  hire_days: 7..10..14
bring: [ladder]
refrigerants:
  - name: Trial blend 7
    group: A1
    liquid_density:
      - { at: 40 F, density: 75.2 lb/ft3 }
      - { at: 150 F, density: 60.1 lb/ft3 }
    pressure_at_131F: 290 psig
    pressure_at_65C: 360 psig
    source: maker's data sheet, revision 3
yard: van.csv
";
pub(super) const VAN: &str = "\u{FEFF}id,tare [lb],water_capacity [lb],gross [lb],holds,condition,mark,tested,due,made,max_gross [lb],\
flammable,damage,owner,kept_for,may_contain,confirmed,cleaned,service_pressure [psig],test_pressure\r\n\
C-1,27.90,47.5,27.9,evacuated,,DOT-4BA400,2024-06,,,75.0,FALSE,,,,,,,,\r\n\
\"C-2, blue\",28 lb 6 oz,47.5 lb,12.9 kg,Trial blend 7,burnout,,,2027-03,,,true,dent,Pier,North pier cold store,,true,\
true,350,60 bar\r\n\
,,,,,,,,,,,,,,,,,,,\r\n\
C-3,28,47.6,31,mixed,,,,,2022-01-15,,,,,,R-12;R-22,,,,\r\n";

#[test]
fn an_empty_owner_of_a_job_is_none() {
    let folder = folder(&[("job.yaml", &JOB.replace("owner: North pier\n", "owner: \"\"\n")), ("van.csv", VAN)]);
    let loaded = work(folder.path(), &["job.yaml"], false).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(loaded.work.jobs()[0].owner, None);
}

#[test]
fn a_whole_job_is_read_as_it_is_typed() {
    let folder = folder(&[("job.yaml", JOB), ("van.csv", VAN)]);
    let loaded = work(folder.path(), &["job.yaml"], false).unwrap_or_else(|problems| panic!("{problems}"));
    let job = &loaded.work.jobs()[0];
    assert_eq!((job.name.as_str(), job.owner.as_deref()), ("North pier cold store", Some("North pier")));
    let terms = &job.terms;
    assert_eq!((terms.fill, terms.rules, terms.date), (Percent::new(78.into()), Rules::Both, date(2026, 12, 2)));
    assert!((terms.at.celsius() - 54.0).abs() < 1e-9);
    assert!((terms.hottest.unwrap().fahrenheit() - 140.0).abs() < 1e-9);
    assert_eq!((terms.lift_limit, job.one_person), (Some(pounds("75")), Some(pounds("50"))));
    assert_eq!((terms.scale.accuracy, terms.scale.capacity), (pounds("0.1"), Some(pounds("220"))));
    assert_eq!(terms.scale.division.step(), pounds("0.2"));
    assert_eq!((job.access, job.reuse_together), (Some(Access::Ladder), true));
    let [rack, walk_in, old] = job.systems.as_slice() else { panic!("three systems") };
    assert_eq!(rack.charge, Charge::Recorded { nameplate: pounds("212.3"), added: pounds("18.5") });
    assert_eq!((rack.fluid.name(), rack.allowance), ("R-448A".into(), Allowance::Share(Percent::new(5.into()))));
    assert_eq!(
        (rack.fill, rack.condition, rack.fate),
        (Some(Percent::new(75.into())), Condition::Clean, Fate::Reclaim)
    );
    let Charge::Estimated { span, basis } = walk_in.charge else { panic!("estimated") };
    assert_eq!((span.high, basis, walk_in.fate), (Weight::kilograms(25.into()), Basis::Level, Fate::Destroy));
    assert_eq!(walk_in.fluid.name(), "Trial blend 7");
    assert_eq!(old.fluid.contents().len(), 2);
    let kind = &job.stock[0];
    assert_eq!((kind.tare, kind.count, kind.flammable), (pounds("28"), Some(3), false));
    let prices = &loaded.extras[0].terms.prices;
    assert_eq!((prices.hire[0].kind.as_str(), prices.hire[0].days), (kind.name.as_str(), 7));
    assert_eq!(loaded.extras[0].terms.labour.crew, Some(2));
    assert!(loaded.skipped.is_empty());
}

#[test]
fn a_csv_yard_with_a_mark_in_front_and_any_line_ends_is_read_as_it_is_typed() {
    let folder = folder(&[("job.yaml", JOB), ("van.csv", VAN)]);
    let loaded = work(folder.path(), &["job.yaml"], false).unwrap();
    let [first, second, third] = loaded.work.yard() else { panic!("three cylinders") };
    assert_eq!((first.tare, first.max_gross, first.flammable), (pounds("27.9"), Some(pounds("75")), false));
    assert_eq!((first.contents.clone(), first.damage.clone()), (Contents::Evacuated, None));
    // Good through the end of the month five years on: 49 CFR 180.209(a).
    assert_eq!(first.test.unwrap().good_through, date(2029, 6, 30));
    assert_eq!((second.id.as_str(), second.tare), ("C-2, blue", pounds("28.375")));
    assert_eq!(second.gross, Weight::grams(12_900.into()));
    assert_eq!((second.contents.name(), second.condition), ("Trial blend 7".into(), Condition::Burnout));
    assert!((second.service_pressure.unwrap().psig() - 350.0).abs() < 1e-9);
    assert!((second.test_pressure.unwrap().bar() - 60.0).abs() < 1e-9);
    assert_eq!((second.test.unwrap().since, second.test.unwrap().good_through), (None, date(2027, 3, 31)));
    assert_eq!((second.owner.as_deref(), second.kept_for.as_deref()), (Some("Pier"), Some("North pier cold store")));
    assert!(second.flammable && second.confirmed && second.cleaned && second.damage.as_deref() == Some("dent"));
    let Contents::Mixed(parts) = &third.contents else { panic!("mixed") };
    assert_eq!((parts.len(), third.test.unwrap().good_through), (2, date(2027, 1, 31)));
}

#[test]
fn an_empty_text_of_a_cylinder_is_as_if_it_were_left_out() {
    let yard = |rest: &str| {
        let row = "{ id: C-1, tare: 27.9, water_capacity: 47.5, gross: 30, holds: R-22";
        let folder = folder(&[("yard.yaml", &format!("units: lb\ncylinders:\n  - {row}{rest} }}\n"))]);
        read_yard(&folder.path().join("yard.yaml"), TODAY, false).map(|loaded| loaded.cylinders)
    };
    let without = yard("").unwrap();
    assert_eq!((&without[0].damage, &without[0].owner, &without[0].kept_for), (&None, &None, &None));
    for key in ["damage", "owner", "kept_for"] {
        for empty in ["\"\"", "' '", ""] {
            assert_eq!(yard(&format!(", {key}: {empty}")).unwrap(), without, "{key}: {empty}");
        }
        assert_ne!(yard(&format!(", {key}: Pier")).unwrap(), without, "{key}");
    }
    assert_eq!(codes(&yard(", mark: \"\"").unwrap_err()), [Code::BadText]);
}

#[test]
fn one_bad_row_need_not_stop_a_morning() {
    let yard = "id,tare [lb],water_capacity [lb],gross [lb],holds\n\
                C-1,27.9,47.5,27.9,evacuated\nC-2,0,47.5,27.9,evacuated\nC-3,27.9,47.5,27.9\n\
                C-4,27.9,47.5,27.9,evacuated\nc-4,28.0,47.5,28.0,evacuated\n";
    let folder = folder(&[("yard.csv", yard)]);
    let path = folder.path().join("yard.csv");
    let loaded = read_yard(&path, TODAY, true).unwrap();
    assert_eq!((loaded.unit, loaded.cylinders.len()), (Unit::Lb, 1));
    let skipped: Vec<_> =
        loaded.skipped.iter().map(|row| (row.id.as_ref().unwrap().as_str(), row.problems[0].code)).collect();
    let expected = [
        ("C-2", Code::OutOfRange),
        ("C-3", Code::WrongColumns),
        ("C-4", Code::DuplicateId),
        ("c-4", Code::DuplicateId),
    ];
    assert_eq!(skipped, expected);
    assert_eq!(loaded.skipped[1].place.as_ref().unwrap().line, 4);
    let problems = read_yard(&path, TODAY, false).unwrap_err();
    assert_eq!(codes(&problems), [Code::OutOfRange, Code::WrongColumns, Code::DuplicateId]);
}

#[test]
fn a_bad_row_in_place_is_left_out_and_a_bad_system_never_is() {
    let text = |charge: &str| {
        format!(
            "job: A\nunits: kg\nsystems: [{{ name: S, refrigerant: R-22, nameplate: {charge} }}]\ncylinders:\n\
             \x20 - {{ id: C-1, tare: 12, tare: 13, water_capacity: 21, gross: 12, holds: evacuated }}\n\
             \x20 - {{ id: C-2, tare: 12, water_capacity: 21, gross: 12, holds: evacuated }}\n"
        )
    };
    let folder = folder(&[("good.yaml", &text("5")), ("bad.yaml", &text("-5"))]);
    let loaded = work(folder.path(), &["good.yaml"], true).unwrap();
    assert_eq!((loaded.work.yard().len(), loaded.skipped.len()), (1, 1));
    assert_eq!(codes(&work(folder.path(), &["bad.yaml"], true).unwrap_err()), [Code::Negative]);
}

#[test]
fn jobs_together_share_a_yard_however_its_path_is_written() {
    let job = |name: &str, yard: &str| {
        format!("job: {name}\nunits: lb\nsystems: [{{ name: S, refrigerant: R-22, nameplate: 5 }}]\nyard: {yard}\n")
    };
    let files = [("1.yaml", job("A", "van.csv")), ("2.yaml", job("B", "./van.csv")), ("3.yaml", job("B", "van.csv"))];
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
    let folder = folder(&[&files[..], &[("van.csv", "id,tare [lb],water_capacity [lb],gross [lb],holds\n")]].concat());
    assert_eq!(work(folder.path(), &["1.yaml", "2.yaml"], false).unwrap().work.jobs().len(), 2);
    let twice = work(folder.path(), &["2.yaml", "3.yaml"], false).unwrap_err();
    assert_eq!(codes(&twice), [Code::DuplicateName]);
}

#[test]
fn every_problem_of_every_file_is_told_in_order() {
    let job = JOB.replace("units: lb", "unit: lb").replace("12.9", "1").replace("basis: level", "basis: rumour");
    let folder = folder(&[("job.yaml", &job), ("van.csv", &VAN.replace("evacuated", "empty"))]);
    let problems = work(folder.path(), &["job.yaml"], true).unwrap_err();
    let found: Vec<_> = problems.iter().map(|problem| (problem.code, problem.place.as_ref().unwrap().line)).collect();
    assert_eq!(found, [(Code::UnknownKey, 3), (Code::BadWord, 17)]);
    let all = work(folder.path(), &["job.yaml"], false).unwrap_err();
    assert_eq!(codes(&all).last(), Some(&Code::HoldsEmpty), "the yard is read although the job is wrong");
}

pub(super) const PLAN: &str = r#"{"format": "chargesplit-plan/1", "jobs": ["A", "B"], "unit": "oz", "division": 1, "status": "undecided",
"bounds": {"cylinders": 1, "heaviest": 926, "carried": 926}, "totals": {"cylinders": 1, "heaviest": 926, "carried": 926},
"lots": [{"lot": "R-22", "refrigerant": "R-22", "systems": ["S"], "charge": 480, "room": 500, "spare": 20}],
"loads": [{"order": 1, "cylinder": "C-1", "lot": "R-22", "refrigerant": "R-22", "from": [{"system": "S", "add": 480}],
"now": 446, "add": 480, "stop": 926, "limit": 1000, "ceiling": "fill", "liquid_full": "171 F"}],
"left_out": [{"cylinder": "C-2", "reasons": [{"code": "overdue", "text": "it \"is\"\n", "lots": ["R-22"]}]}],
"not_needed": ["C-3"], "short": [{"lot": "R-22", "missing": 3, "suggest": [{"count": 1, "kind": "fifty"}]}],
"warnings": [{"code": "estimate", "text": "a guess"}], "explanation": ["one isn't enough"], "skipped": ["C-9: no tare"]}"#;

#[test]
fn a_plan_is_read_back_to_the_mark() {
    let plan = PLAN.replace(r#" \"is\"\n"#, " is");
    let folder = folder(&[("plan.json", &plan)]);
    let (plan, _) = read_plan(&folder.path().join("plan.json")).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!((plan.jobs.len(), plan.status, plan.division), (2, Status::Undecided, Unit::LbOz.default_division()));
    let load = &plan.loads[0];
    assert_eq!((load.now, load.add, load.stop, load.limit, load.pours[0].add), (446, 480, 926, 1000, 480));
    assert_eq!((plan.totals.heaviest, plan.lots[0].spare, plan.short[0].missing), (926, 20, 3));
    assert_eq!((plan.short[0].suggest[0].count, plan.not_needed.len(), plan.left_out[0].reasons.len()), (1, 1, 1));
}

#[test]
fn a_plan_lacks_nothing_and_has_nothing_besides() {
    for (from, to, code) in [
        (r#""spare": 20"#, r#""spare": 20.5"#, Code::OffDivision),
        (r#", "spare": 20"#, "", Code::MissingKey),
        (r#""spare": 20"#, r#""spare": 20, "more": 1"#, Code::UnknownKey),
        (r#""division": 1"#, r#""division": 0"#, Code::BadDivision),
        (r#""status": "undecided""#, r#""status": "best""#, Code::BadWord),
        (r#""spare": 20"#, r#""spare": 20, "spare": 21"#, Code::DuplicateKey),
        (r#""short": ["#, r#""short": {}, "x": ["#, Code::WrongShape),
        (r#"\n"#, r#"\u0007"#, Code::BadText),
    ] {
        assert!(PLAN.contains(from), "{from}");
        let folder = folder(&[("plan.json", &PLAN.replace(from, to))]);
        let problems = read_plan(&folder.path().join("plan.json")).unwrap_err();
        assert!(codes(&problems).contains(&code), "{to}: {problems}");
    }
}

#[test]
fn numbers_keep_their_digits_and_every_value_its_place() {
    let text = "a: 27.90\nb:\n  - { c: 'x: y', d: 0x1F }\n  - 1e3\n\u{e9}: ~\nf: \"\"\n";
    let source = Source::from_bytes(Path::new("t"), text.as_bytes().to_vec()).unwrap();
    let Node::Map(entries) = yaml::read(&source).unwrap() else { panic!("a map") };
    let leaf = |node: &Node| match node {
        Node::Leaf(leaf) => (leaf.text.clone(), leaf.mark.map(|Mark { line, column, .. }| (line, column))),
        other => panic!("{other:?}"),
    };
    assert_eq!(leaf(&entries[0].value), ("27.90".into(), Some((1, 4))));
    assert_eq!(entries[0].mark.map(|mark| (mark.line, mark.column)), Some((1, 1)));
    let Node::List(items) = &entries[1].value else { panic!("a list") };
    let Node::Map(inner) = &items[0] else { panic!("a map") };
    assert_eq!(leaf(&inner[0].value), ("x: y".into(), Some((3, 10))));
    assert_eq!(leaf(&inner[1].value), ("0x1F".into(), Some((3, 21))));
    assert_eq!(leaf(&items[1]), ("1e3".into(), Some((4, 5))));
    assert_eq!((entries[2].key.as_str(), &entries[2].value), ("\u{e9}", &Node::Null));
    assert_eq!(leaf(&entries[3].value), (String::new(), Some((6, 4))));
}

thread_local! {
    static ASKED: Cell<usize> = const { Cell::new(0) };
}

/// What is refused of a yard with these tests on this day, for jobs that state these days or none; and how often which
/// day it is was asked.
fn tests_of(dates: &[&str], keys: &str, day: fn() -> Date) -> (Option<String>, usize) {
    let jobs: Vec<String> = (0..dates.len()).map(|index| format!("job-{index}.yaml")).collect();
    let system = "systems: [{ name: A, refrigerant: R-22, nameplate: 9 lb }]";
    let texts: Vec<String> = dates
        .iter()
        .enumerate()
        .map(|(index, date)| format!("job: Job {index}\n{date}\nunits: lb\nyard: yard.yaml\n{system}\n"))
        .collect();
    let yard = format!(
        "units: lb\ncylinders:\n  - {{ id: C-1, tare: 28, water_capacity: 47.6, gross: 28, holds: evacuated, {keys} }}\n"
    );
    let named = jobs.iter().map(String::as_str);
    let files: Vec<(&str, &str)> =
        named.clone().zip(texts.iter().map(String::as_str)).chain([("yard.yaml", yard.as_str())]).collect();
    let folder = folder(&files);
    let paths: Vec<PathBuf> = named.map(|name| folder.path().join(name)).collect();
    ASKED.set(0);
    let read = read_work(&Request { jobs: &paths, today: &Today::new(day), skip_bad_rows: false });
    (read.err().map(|problems| problems.iter().map(|problem| problem.message.clone()).collect()), ASKED.get())
}

#[test]
fn which_day_it_is_is_asked_only_where_it_has_to_be_known_and_once() {
    let today = || {
        ASKED.set(ASKED.get() + 1);
        TODAY
    };
    let stated = ["date: 2026-10-02"; 2];
    for (dates, keys, asked) in [
        (&stated[..], "tested: 2024-06", 0),
        (&stated, "tested: 2026-10", 0),
        (&stated, "tested: 2024-06-15, made: 06/1998, due: June 2029", 0),
        (&stated, "due: 2038-10", 0),
        (&stated, "tested: 2026-11", 1),
        (&stated, "due: 2038-12", 1),
        // Two digits of a year depend on the day.
        (&stated, "tested: Jun-24", 1),
        (&["", "", ""], "tested: 2026-11", 1),
        (&["", ""], "tested: 2024-06", 1),
    ] {
        assert_eq!(tests_of(dates, keys, today), (None, asked), "{dates:?} {keys}");
    }
    let (refused, asked) = tests_of(&stated, "tested: 2027-01", today);
    assert!(refused.is_some_and(|text| text.contains("lies in the future; expected a month up to 2026-12")));
    assert_eq!(asked, 1);
    let (refused, _) = tests_of(&stated, "due: 2039-01", today);
    assert!(refused.is_some_and(|text| text.contains("a test is due at most 12 years on")));
    // The jobs' day, where that is the later one.
    let (refused, _) = tests_of(&["date: 2027-02-03"], "tested: 2027-01", today);
    assert_eq!(refused, None);
}
