//! The audit's figures against those of the rooms that it checks, on thousands of random cylinders and jobs. The two
//! were written apart: where they differ, one of them is wrong.

use super::bench::*;
use crate::audit::fitness;
use crate::audit::fullness::{Fullness, together};
use crate::audit::sameness::{Group, groups};
use crate::audit::stamp;
use crate::cylinder::{
    ByLedger, Condition, Contents, Cylinder, Facts, Fate, Intake, Mark, Measured, Rules, Terms, doubts, limit, reasons,
};
use crate::job::{Allowance, Charge, Job, Lot, System, SystemFacts, Work};
use crate::quantity::{Decimal, GaugePressure, Temperature, Unit, Weight};
use crate::refrigerant::Fluid;
use jiff::civil::date;

/// The same throws every time: a linear congruential generator with the constants of Knuth's MMIX (from memory).
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % count
    }

    fn of<T: Clone>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())].clone()
    }

    fn once_in(&mut self, count: usize) -> bool {
        self.below(count) == 0
    }

    fn maybe<T>(&mut self, count: usize, value: impl FnOnce(&mut Self) -> T) -> Option<T> {
        self.once_in(count).then(|| value(self))
    }

    /// A weight from `low` to `high` hundredths of a pound.
    fn lb(&mut self, low: i64, high: i64) -> Weight {
        let span = usize::try_from(high - low + 1).unwrap();
        Weight::pounds(Decimal::new(low + self.below(span) as i64, 2))
    }
}

const NAMES: [&str; 4] = ["R-134a", "R-22", "R-410A", "R-448A"];
const PEOPLE: [&str; 2] = ["Pier", "Kiosk"];

fn terms_by(dice: &mut Dice) -> Terms {
    let mut terms = terms(Unit::Lb);
    terms.fill = dice.of(&[percent(80), percent(80), percent(70)]);
    terms.at = Temperature::from_fahrenheit(dice.of(&[130.0, 130.0, 130.0, 77.0, 140.0]));
    terms.rules = dice.of(&[Rules::Us, Rules::Us, Rules::Un, Rules::Both]);
    terms.hottest = dice.maybe(4, |dice| Temperature::from_fahrenheit(dice.of(&[100.0, 130.0, 135.0, 145.0])));
    terms.lift_limit = dice.maybe(3, |dice| dice.lb(2_000, 9_000));
    terms.scale.accuracy = dice.of(&[lb("0"), lb("0.1"), lb("0.25")]);
    terms.scale.capacity = dice.maybe(3, |dice| dice.lb(2_500, 11_000));
    terms.date = dice.of(&[date(2026, 12, 1), date(2029, 6, 30), date(2030, 1, 1)]);
    terms
}

fn system_by(dice: &mut Dice, name: &str) -> SystemFacts {
    let name_of = dice.of(&NAMES[..2]);
    let mut facts = system(name, name_of, dice.lb(1, 5_000));
    facts.allowance = match dice.below(3) {
        0 => Allowance::Share(percent(dice.of(&[0, 5, 10]))),
        _ => Allowance::Weight(dice.lb(0, 99)),
    };
    if let (true, Charge::Recorded { nameplate, .. }) = (dice.once_in(3), facts.charge) {
        facts.charge = Charge::Recorded { nameplate, added: dice.lb(0, 999) };
    }
    facts.fill = dice.maybe(5, |dice| percent(dice.of(&[60, 75, 80])));
    facts.fate = dice.of(&[Fate::Reclaim, Fate::Reclaim, Fate::Reuse, Fate::Destroy]);
    facts.condition = dice.of(&[Condition::Clean, Condition::Clean, Condition::Wet, Condition::Burnout]);
    if dice.once_in(6) {
        facts.condition = Condition::Mixed;
        facts.fluid = Fluid::Mixed(vec![refrigerant(dice.of(&NAMES)), refrigerant("R-22")]);
    }
    if matches!(facts.condition, Condition::Mixed | Condition::Burnout) && facts.fate == Fate::Reuse {
        facts.fate = Fate::Destroy;
    }
    facts
}

/// One to three jobs of one to four systems; none where the refrigerants have no limit under the terms.
fn jobs_by(dice: &mut Dice) -> Option<Vec<Job>> {
    let mut jobs = Vec::new();
    for index in 0..=dice.below(3) {
        let systems = (0..=dice.below(4)).map(|number| system_by(dice, &format!("Unit {number}"))).collect();
        let name = PEOPLE.get(index).copied().unwrap_or("Mill");
        let mut facts = job(name, terms_by(dice), systems);
        facts.owner = dice.maybe(2, |dice| dice.of(&PEOPLE).into());
        facts.reuse_together = dice.once_in(2);
        jobs.push(Job::new(facts).ok()?);
    }
    Some(jobs)
}

fn contents_by(dice: &mut Dice) -> Contents {
    match dice.below(8) {
        0 => Contents::Nitrogen,
        1 => Contents::Unknown,
        2 => Contents::Mixed((0..dice.below(3)).map(|_| refrigerant(dice.of(&NAMES))).collect()),
        3..6 => Contents::Holds(refrigerant(dice.of(&[NAMES[0], NAMES[0], NAMES[1], NAMES[1], "R-717"]))),
        _ => Contents::Evacuated,
    }
}

fn cylinder_by(dice: &mut Dice) -> Cylinder {
    let tare = dice.lb(900, 4_500);
    let water =
        dice.of(&[lb("26.2"), lb("47.6"), lb("47.5"), lb("50"), lb("125"), lb("21.6"), lb("76.4"), lb("1000.1")]);
    let change = dice.of(&[lb("0"), lb("0.1"), lb("0.3"), lb("0.5"), lb("0.52"), lb("3"), lb("20"), lb("40")]);
    let gross = if dice.once_in(3) { tare - change } else { tare + change };
    let gross = if gross.is_positive() { gross } else { tare };
    let mut facts: Facts = facts("T-1", tare, water, gross, contents_by(dice));
    facts.condition = dice.of(&[Condition::Clean, Condition::Clean, Condition::Wet, Condition::Burnout]);
    facts.owner = dice.maybe(2, |dice| dice.of(&PEOPLE).into());
    facts.kept_for = dice.maybe(3, |dice| dice.of(&PEOPLE).into());
    let marks = ["DOT-4BA400", "DOT-4BW240", "DOT-4BA260", "DOT-3AA240", "DOT-39", "110A500W", "4L200", "DOT-4BA300"];
    facts.mark = Some(Mark::parse(dice.of(&marks)).unwrap()).filter(|_| !dice.once_in(4));
    let pressures = [100.0, 240.0, 300.0, 400.0];
    facts.service_pressure = dice.maybe(3, |dice| GaugePressure::from_psig(dice.of(&pressures)));
    facts.test_pressure = dice.maybe(3, |dice| GaugePressure::from_bar(dice.of(&[10.0, 20.0, 30.0, 42.0])));
    let mut test = facts.test;
    if let Some(test) = &mut test {
        test.since = dice.maybe(2, |dice| date(dice.of(&[2024, 2029]), 12, 31));
        test.good_through = date(dice.of(&[2026, 2029, 2038, 2039, 2050]), dice.of(&[6, 11]), 30);
    }
    facts.test = test.filter(|_| !dice.once_in(5));
    facts.measured = dice.maybe(4, |dice| Measured {
        pressure: GaugePressure::from_psig(dice.of(&[-10.0, 60.0, 80.0, 130.0, 250.0])),
        at: Temperature::from_fahrenheit(dice.of(&[50.0, 70.0, 90.0])),
    });
    facts.max_gross = dice.maybe(3, |dice| dice.lb(1_000, 9_000));
    facts.flammable = dice.once_in(3);
    facts.damage = dice.maybe(5, |_| "dent".into());
    facts.remark = dice.maybe(8, |dice| dice.of(&["valve leaks", "Yorkshire", "re-test?", "painted", "D.N.U."]).into());
    facts.remark_settled = dice.once_in(3);
    facts.confirmed = dice.once_in(3);
    facts.cleaned = dice.once_in(3);
    // Of most cylinders it says nothing, so that enough of them are fit.
    if dice.once_in(10) {
        facts.ledger = ByLedger {
            bound: dice.maybe(3, |_| "Kiosk".into()),
            doubt: dice.maybe(3, |_| "a line is missing".into()),
            out: dice.maybe(3, |_| "valve leaks".into()),
            changed: dice.maybe(3, |_| "the file says R-22".into()),
            ours: dice.once_in(2),
            mixed: dice.once_in(3),
        };
    }
    cylinder(facts)
}

/// Charge, parts and what may share, as `job` forms them.
fn same_lot(group: &Group, lot: &Lot) {
    assert_eq!(group.charge, lot.charge);
    let ours: Vec<_> = group.parts.iter().map(|part| (part.label.as_str(), part.charge)).collect();
    let theirs: Vec<_> = lot.parts.iter().map(|part| (part.system.as_str(), part.charge)).collect();
    assert_eq!(ours, theirs);
    let intake = &lot.intake;
    assert_eq!((group.fluid, group.condition, group.fate), (&intake.fluid, intake.condition, intake.fate));
    assert_eq!((group.owner, group.kept_for), (intake.owner.as_deref(), intake.kept_for.as_deref()));
}

/// Limit, cap, room and what binds, as `cylinder` figures them.
fn same_room(cylinder: &Cylinder, group: &Group, intake: &Intake) {
    let fluid = together(cylinder, group);
    assert_eq!(*fluid, intake.with(cylinder));
    let ours = Fullness::of(cylinder, &fluid, &group.strictest);
    let theirs = limit(cylinder, &fluid, &intake.terms);
    let (Ok(ours), Ok(theirs)) = (&ours, &theirs) else {
        assert_eq!(ours.is_ok(), theirs.is_ok(), "{cylinder:?} {intake:?}");
        return;
    };
    assert_eq!(ours.limit(), theirs.gross, "{cylinder:?} {intake:?}");
    let room = theirs.room(cylinder, &intake.terms);
    assert_eq!(ours.room(cylinder, &group.strictest), room.size(), "{cylinder:?} {intake:?}");
    assert!(ours.binding().contains(&room.bound.name()), "{cylinder:?} {intake:?}");
}

#[test]
fn the_audit_agrees_with_what_it_checks() {
    let mut dice = Dice(1);
    let (mut pairs, mut fit, mut broken) = (0, 0, Vec::new());
    while pairs < 35_000 {
        let Some(jobs) = jobs_by(&mut dice) else { continue };
        let numbered =
            |index, dice: &mut Dice| Facts { id: format!("T-{index}").into(), ..Facts::clone(&cylinder_by(dice)) };
        let yard = (0..8).map(|index| cylinder(numbered(index, &mut dice))).collect();
        let work = Work::new(jobs, yard).unwrap();
        let groups = groups(work.jobs(), work.division(), work.names_jobs());
        assert_eq!(groups.len(), work.lots().len());
        for (group, lot) in groups.iter().zip(work.lots()) {
            same_lot(group, lot);
            for cylinder in work.yard() {
                same_room(cylinder, group, &lot.intake);
                let ours = fitness::broken(cylinder, group);
                let theirs: Vec<_> = reasons(cylinder, &lot.intake).iter().map(|found| found.rule.code).collect();
                assert_eq!(ours, theirs, "{cylinder:?} {:?}", lot.intake);
                pairs += 1;
                fit += usize::from(ours.is_empty());
                broken.extend(ours);
            }
        }
        broken.sort_unstable();
        broken.dedup();
    }
    // The throws reach both answers: cylinders that fit, and every rule that doesn't hang on the refrigerants' table.
    assert!(fit > 50, "only {fit} of {pairs} pairs fit");
    let missed: Vec<_> =
        fitness::RULES.iter().filter(|(code, _)| !broken.contains(code)).map(|(code, _)| *code).collect();
    assert!(missed.iter().all(|code| ["flammable", "no-limit"].contains(code)), "never broken: {missed:?}");
}

/// Every tare with every water capacity, both on and about the ends of the bands.
#[test]
fn both_doubt_the_same_stamps() {
    let ends = [10, 18, 24, 32, 44, 52, 66, 90, 112, 145, 225, 275, 450, 560, 900, 1_000];
    let about = ends.into_iter().flat_map(|end| [end * 100 - 1, end * 100, end * 100 + 1]);
    let waters: Vec<i64> = about.chain((300..101_000).step_by(297)).chain((13..126).map(|lb| lb * 100)).collect();
    let tares = (400..70_000).step_by(613).chain([600, 1_800, 2_000, 2_200, 4_600]);
    let hundredths = |number: i64| Weight::pounds(Decimal::new(number, 2));
    let (mut real, mut doubted) = (0, 0);
    for tare in tares.map(hundredths) {
        for water in waters.iter().map(|water| hundredths(*water)) {
            let cylinder = cylinder(facts("T-1", tare, water, tare, Contents::Evacuated));
            let ours = stamp::nominal(&cylinder) || stamp::no_pair(&cylinder);
            assert_eq!(ours, !doubts(tare, water, Unit::Lb).is_empty(), "{tare:?} {water:?}");
            if ours { doubted += 1 } else { real += 1 }
        }
    }
    assert!(real > 2_000 && doubted > 2_000, "{real} real, {doubted} doubted");
}

#[test]
fn an_exact_planned_charge_is_that_of_the_system() {
    let mut dice = Dice(2);
    for _ in 0..1_000 {
        let system = System::new(system_by(&mut dice, "Unit")).unwrap();
        let jobs = [valid(job("Pier", terms(Unit::Lb), vec![(*system).clone()]))];
        let division = Unit::Lb.default_division();
        assert_eq!(groups(&jobs, division, false)[0].charge, division.ceil(system.planned_charge()));
    }
}
