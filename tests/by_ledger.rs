//! What only a ledger can say of a cylinder, and no file of a yard or a job: each such rule keeps it out of every plan, by
//! its own code and with what to do, and what must never have come together is danger wherever a yard is looked at.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use chargesplit::cylinder::{Asks, ByLedger, Cylinder, Facts, Level, RULES, alarms};
use chargesplit::door::plan_work;
use chargesplit::job::{JobFacts, Work};
use chargesplit::planner::Options;
use chargesplit::quantity::Unit;

use crate::specimens;

/// For each rule of the ledger a cylinder of its name, and what its reason says beside what to do.
fn each() -> Vec<(&'static str, ByLedger, &'static str)> {
    let said = |words: &str| Some(words.to_owned());
    let none = ByLedger::default;
    vec![
        (
            "bound-elsewhere",
            ByLedger { bound: said("Hollis roof, on Van 7"), ..none() },
            "it is bound for Hollis roof, on Van 7; leave it to them",
        ),
        (
            "in-doubt",
            ByLedger { doubt: said("two entries contradict each other"), ..none() },
            "it is in doubt: two entries contradict each other; weigh it",
        ),
        ("out", ByLedger { out: said("valve leaks"), ..none() }, "it is out: valve leaks; leave it"),
        (
            "row-changed",
            ByLedger { changed: said("the file says R-22, the ledger R-134a"), ..none() },
            "its row was changed by hand: the file says R-22, the ledger R-134a; put the row back",
        ),
    ]
}

/// 20 lb of R-134a, a cylinder with each of these words of the ledger, all of them fit by their rows, and one of which
/// the ledger says nothing.
fn work(by_ledger: Vec<(&str, ByLedger)>) -> Work {
    let terms = specimens::terms(Unit::Lb);
    let systems = specimens::systems([specimens::system("RTU-1", "R-134a", 200)]);
    // The least of them weighs a tenth less than the one that nothing stands against: it would be the plan's.
    let cylinder = |(id, ledger): (&str, ByLedger)| {
        Cylinder::new(Facts { ledger, ..specimens::cylinder(id, 477, 278, None) }).unwrap()
    };
    let mut yard: Vec<Cylinder> = by_ledger.into_iter().map(cylinder).collect();
    yard.push(Cylinder::new(specimens::cylinder("free", 477, 279, None)).unwrap());
    Work::new(vec![specimens::job(JobFacts::new("Annex", terms, systems))], yard).unwrap()
}

#[test]
fn every_rule_that_asks_the_ledger_leaves_out_the_cylinder_of_its_name() {
    let ours: Vec<&str> = each().iter().map(|(code, ..)| *code).collect();
    let rules: Vec<&str> = RULES.iter().filter(|rule| rule.asks == Asks::Ledger).map(|rule| rule.code).collect();
    assert_eq!(ours, rules);
    let work = work(each().into_iter().map(|(code, ledger, _)| (code, ledger)).collect());
    let audited = plan_work(&work, &Options::default(), &mut |_| true).unwrap();
    let plan = audited.plan();
    let loads: Vec<&str> = plan.loads.iter().map(|load| load.cylinder.as_str()).collect();
    assert_eq!(loads, ["free"]);
    for (left, (code, _, said)) in plan.left_out.iter().zip(each()) {
        assert_eq!(left.cylinder.as_str(), code);
        let [reason] = left.reasons.as_slice() else { panic!("{code}: {:?}", left.reasons) };
        assert_eq!(reason.code, code);
        assert!(reason.text.starts_with(said), "{code}: {}", reason.text);
    }
    assert_eq!(plan.left_out.len(), 4);
}

#[test]
fn what_is_out_for_no_given_reason_is_out() {
    let work = work(vec![("out", ByLedger { out: Some(String::new()), ..ByLedger::default() })]);
    let audited = plan_work(&work, &Options::default(), &mut |_| true).unwrap();
    let reasons = &audited.plan().left_out[0].reasons;
    assert!(reasons[0].text.starts_with("it is out; leave it"), "{}", reasons[0].text);
}

#[test]
fn what_must_never_have_come_together_is_danger_and_in_no_plan() {
    let mixed = |ours| ByLedger { ours, mixed: true, ..ByLedger::default() };
    let work = work(vec![("A-1", mixed(true)), ("A-2", mixed(false)), ("A-3", ByLedger::default())]);
    let audited = plan_work(&work, &Options::default(), &mut |_| true).unwrap();
    let left: Vec<(&str, &str)> =
        audited.plan().left_out.iter().map(|left| (left.cylinder.as_str(), left.reasons[0].code.as_str())).collect();
    assert_eq!(left, [("A-1", "holds-mixed"), ("A-2", "holds-mixed")]);
    let alarms = alarms(&work.standings(), &|_, _, _| true);
    let said: Vec<(&str, Level, bool, bool)> =
        alarms.iter().map(|alarm| (alarm.cylinder.as_str(), alarm.level, alarm.mixed, alarm.ours)).collect();
    assert_eq!(said, [("A-1", Level::Danger, true, true), ("A-2", Level::Danger, true, false)]);
}
