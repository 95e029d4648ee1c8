//! Which systems share a lot, by three and more; the strictest of their terms; and their charges.

use super::bench::*;
use crate::audit::sameness::{Group, groups};
use crate::cylinder::{Condition, Fate, Rules, Terms};
use crate::job::{Allowance, Charge, Job, JobFacts, SystemFacts};
use crate::quantity::{Temperature, Unit};
use crate::refrigerant::Fluid;

/// The labels of each group.
fn labels(jobs: &[Job]) -> Vec<String> {
    groups(jobs, Unit::Lb.default_division(), jobs.len() > 1).iter().map(Group::label).collect()
}

fn changed(name: &str, change: fn(&mut SystemFacts)) -> SystemFacts {
    let mut facts = system(name, "R-134a", lb("10"));
    change(&mut facts);
    facts
}

fn one_job(systems: Vec<SystemFacts>) -> JobFacts {
    job("Pier", terms(Unit::Lb), systems)
}

#[test]
fn refrigerant_condition_and_fate_keep_apart() {
    let systems = vec![
        changed("a", |_| ()),
        changed("b", |system| system.fluid = fluid("R-22")),
        changed("c", |system| system.condition = Condition::Wet),
        changed("d", |system| system.condition = Condition::Burnout),
        changed("e", |system| system.fate = Fate::Destroy),
        changed("f", |_| ()),
        changed("g", |system| system.fluid = fluid("R-22")),
        changed("h", |_| ()),
    ];
    assert_eq!(labels(&[valid(one_job(systems))]), ["a, f, h", "b, g", "c", "d", "e"]);
}

#[test]
fn mixed_charges_share_with_nothing() {
    let mixed = |name| {
        changed(name, |system| {
            system.fluid = Fluid::Mixed(vec![refrigerant("R-134a"), refrigerant("R-22")]);
            system.condition = Condition::Mixed;
            system.fate = Fate::Destroy;
        })
    };
    let systems = vec![mixed("a"), mixed("b"), mixed("c")];
    assert_eq!(labels(&[valid(one_job(systems))]), ["a", "b", "c"]);
}

#[test]
fn reuse_stays_with_its_system_unless_joined_and_always_with_its_job() {
    let reuse = |name| changed(name, |system| system.fate = Fate::Reuse);
    let pair = || vec![reuse("a"), reuse("b"), reuse("c")];
    let mut joined = one_job(pair());
    assert_eq!(labels(&[valid(joined.clone())]), ["a", "b", "c"]);
    joined.reuse_together = true;
    assert_eq!(labels(&[valid(joined.clone())]), ["a, b, c"]);
    let mut other = joined.clone();
    other.name = "Kiosk".into();
    let jobs = [valid(joined), valid(other)];
    assert_eq!(labels(&jobs), ["Pier / a, Pier / b, Pier / c", "Kiosk / a, Kiosk / b, Kiosk / c"]);
}

#[test]
fn a_heel_kept_for_a_job_is_a_lots_only_where_no_other_is_like_it() {
    let reuse = |name| changed(name, |system| system.fate = Fate::Reuse);
    let other = changed("d", |system| (system.fluid, system.fate) = (fluid("R-22"), Fate::Reuse));
    let job = one_job(vec![reuse("a"), reuse("b"), reuse("c"), other]);
    let joined = JobFacts { reuse_together: true, ..job.clone() };
    let kept = |job: JobFacts| {
        let jobs = [valid(job)];
        let found = groups(&jobs, Unit::Lb.default_division(), jobs.len() > 1);
        found.iter().map(|group| group.kept_for.is_some()).collect::<Vec<_>>()
    };
    assert_eq!(kept(job), [false, false, false, true]);
    assert_eq!(kept(joined), [true, true]);
}

/// Three jobs whose one system shares a lot, with these terms.
fn three(change: [fn(&mut Terms); 3]) -> [Job; 3] {
    let mut number = 0;
    change.map(|change| {
        number += 1;
        let mut terms = terms(Unit::Lb);
        change(&mut terms);
        valid(job(&format!("Job {number}"), terms, vec![changed("a", |_| ())]))
    })
}

#[test]
fn a_lot_has_the_strictest_of_its_jobs_terms() {
    let division = Unit::Lb.default_division();
    let usual: fn(&mut Terms) = |_| ();
    // Wherever of the three the strict one stands.
    for place in 0..3 {
        let strict = |change: fn(&mut Terms)| {
            let mut changes = [usual; 3];
            changes[place] = change;
            three(changes)
        };
        let jobs = strict(|terms| {
            terms.fill = percent(70);
            terms.hottest = Some(Temperature::from_fahrenheit(150.0));
            terms.rules = Rules::Un;
            terms.lift_limit = Some(lb("60"));
            terms.scale.capacity = Some(lb("100"));
            terms.scale.accuracy = lb("0.3");
            terms.date = jiff::civil::date(2027, 1, 2);
        });
        let groups = groups(&jobs, division, jobs.len() > 1);
        let [group] = groups.as_slice() else { panic!("{} groups", groups.len()) };
        let found = &group.strictest;
        assert_eq!(found.fill, percent(70));
        assert_eq!(found.fill_at, Temperature::from_fahrenheit(150.0));
        assert_eq!(found.pressure_at, Temperature::from_fahrenheit(150.0));
        assert_eq!((found.us, found.un, found.p200), (true, true, true));
        assert_eq!(found.lift_limit, Some(lb("60")));
        assert_eq!(found.capacity, Some(lb("100")));
        assert_eq!(found.accuracy, lb("0.3"));
        assert_eq!(found.date, jiff::civil::date(2027, 1, 2));
        assert_eq!(group.owner, None, "three owners");
    }
}

#[test]
fn a_low_limit_temperature_brings_p200_with_it() {
    let division = Unit::Lb.default_division();
    let low: fn(&mut Terms) = |terms| terms.at = Temperature::from_fahrenheit(77.0);
    let all = three([low; 3]);
    let found = groups(&all, division, all.len() > 1);
    assert_eq!((found[0].strictest.un, found[0].strictest.p200), (false, true));
    let one = three([|_| (), low, |_| ()]);
    let found = groups(&one, division, one.len() > 1);
    assert_eq!(found[0].strictest.fill_at, Temperature::from_fahrenheit(130.0));
    assert!(found[0].strictest.p200);
}

#[test]
fn a_system_lowers_the_fill_of_its_lot() {
    let systems =
        vec![changed("a", |_| ()), changed("b", |system| system.fill = Some(percent(75))), changed("c", |_| ())];
    let jobs = [valid(one_job(systems))];
    assert_eq!(groups(&jobs, Unit::Lb.default_division(), jobs.len() > 1)[0].strictest.fill, percent(75));
}

#[test]
fn charges_are_summed_exactly_and_rounded_up_once() {
    // 10.01 + 10.01 × 5 % = 10.5105; 10.5105 + 10.02 + 0.03 = 20.5605; + 10.03 = 30.5905 lb.
    let systems = vec![
        changed("a", |system| {
            system.charge = Charge::Recorded { nameplate: lb("10"), added: lb("0.01") };
            system.allowance = Allowance::Share(percent(5));
        }),
        changed("b", |system| {
            system.charge = Charge::Recorded { nameplate: lb("10.02"), added: lb("0") };
            system.allowance = Allowance::Weight(lb("0.03"));
        }),
        changed("c", |system| system.charge = Charge::Recorded { nameplate: lb("10.03"), added: lb("0") }),
    ];
    let jobs = [valid(one_job(systems))];
    let groups = groups(&jobs, Unit::Lb.default_division(), jobs.len() > 1);
    let parts: Vec<i64> = groups[0].parts.iter().map(|part| part.charge).collect();
    assert_eq!((groups[0].charge, parts), (306, vec![106, 100, 100]));
}
