//! Level bounds, and the words of a fault.

use super::bench::{cylinder, facts, lb};
use super::plans::pounds;
use super::{codes, faults};
use crate::cylinder::{Contents, Id};
use crate::job::Work;
use crate::plan::Plan;
use crate::quantity::Marks;

#[test]
fn of_two_level_bounds_either_may_be_named() {
    let (work, good) = pounds();
    // A-1's label at the lift limit: both end at 75 lb, far above any fill; with the fill out of the way, by 90 lb of
    // water, they bind together once the label leaves the accuracy of 0.2 lb free.
    let mut level = facts("A-1", lb("27.9"), lb("90"), lb("27.9"), Contents::Evacuated);
    level.max_gross = Some(lb("75.2"));
    level.confirmed = true;
    let mut yard = work.yard().to_vec();
    yard[0] = cylinder(level);
    let work = Work::new(work.jobs().to_vec(), yard).unwrap();
    for (ceiling, expected) in [("label", &[][..]), ("lift", &[]), ("fill", &["ceiling"])] {
        let mut plan = good.clone();
        plan.loads[0].limit = 752;
        plan.loads[0].ceiling = ceiling.into();
        let room = work_room(&plan);
        plan.lots[0].room += 750 - 279 - room;
        plan.lots[0].spare = plan.lots[0].room - 769;
        assert_eq!(codes(&work, plan), expected, "{ceiling}");
    }
}

/// The room that the good plan counts for A-1.
fn work_room(plan: &Plan) -> Marks {
    let usual = plan.loads[1].limit;
    usual - 2 - 279
}

#[test]
fn a_fault_says_where_and_what() {
    let (work, mut plan) = pounds();
    plan.loads[1].stop += 1;
    plan.loads[1].pours[0].system = "North pier / Freezer".into();
    let found = faults(&work, plan);
    let words: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert!(
        words.contains(&"cylinder A-2: the stop weight isn't now + add: expected 54.3 lb, got 54.4 lb".into()),
        "{words:#?}"
    );
    let share = found.iter().find(|fault| fault.code == "share-system").unwrap();
    assert_eq!(
        (share.cylinder.as_ref().map(Id::as_str), share.lot.as_deref(), share.got.as_str()),
        (Some("A-2"), Some("R-448A"), "North pier / Freezer")
    );
}
