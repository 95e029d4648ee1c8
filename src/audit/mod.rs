//! The independent check of a plan: figured again from the input by plain arithmetic, one function for each rule.
//!
//! It reads facts of cylinders, systems and jobs and the plan as reported. It writes ceilings, fitness, which systems
//! may share and their charges again, and must not call the functions of `cylinder`, `job` or `planner` that figure
//! them: a slip there would otherwise be checked by itself. A test in `tests/rooms.rs` holds the list of such calls.
//!
//! Not audited: the words of reasons and warnings, names of lots, which cylinders to add for what is short, and the
//! height of bounds beyond that they aren't above the totals. Whether a plan is the best is asked apart ([`second`]).

mod best;
mod fault;
mod fitness;
mod fullness;
mod ledger;
mod letters;
mod loads;
mod lots;
mod places;
mod pours;
mod remarks;
mod remedy;
mod sameness;
mod stamp;
mod totals;

pub use best::{Second, second};
use fault::FaultKind;
pub use fault::{FAULTS, Fault};
pub use ledger::{Raw, ledger_faults};
use sameness::Group;

use crate::job::Work;
use crate::plan::Plan;

/// A plan in which the audit found nothing wrong: the only kind that is reported.
#[derive(Debug, Clone)]
pub struct Audited {
    plan: Plan,
}

impl Audited {
    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }
}

/// Figures everything in `plan` again from `work`.
///
/// # Errors
/// Every fault: first those of the plan as a whole, then of its lots, its loads, its totals and of the cylinders that
/// it doesn't use, each in the order of the plan. A plan in another scale division is only said to be that.
pub fn check(work: &Work, plan: Plan) -> Result<Audited, Vec<Fault>> {
    let faults = findings(work, &plan);
    if faults.is_empty() { Ok(Audited { plan }) } else { Err(faults) }
}

fn findings(work: &Work, plan: &Plan) -> Vec<Fault> {
    let mut faults = Vec::new();
    faults.extend(jobs(work, plan));
    if let Some(fault) = division(work, plan) {
        faults.push(fault);
        return faults;
    }
    let groups = sameness::groups(work.jobs(), work.division(), work.names_jobs());
    let case = Case::new(work, plan, &groups);
    faults.extend(lots::faults(&case));
    faults.extend(loads::faults(&case));
    faults.extend(totals::faults(&case));
    faults.extend(remedy::faults(&case));
    faults.extend(places::faults(&case));
    faults
}

/// The plan is for these jobs, in this order.
fn jobs(work: &Work, plan: &Plan) -> Option<Fault> {
    let ours: Vec<&str> = work.jobs().iter().map(|job| job.name.as_str()).collect();
    (plan.jobs != ours).then(|| Fault::new(FaultKind::Jobs, ours.join(", "), plan.jobs.join(", ")))
}

/// The plan counts in the division of the jobs' scale.
fn division(work: &Work, plan: &Plan) -> Option<Fault> {
    let (ours, theirs) = (work.division(), plan.division);
    (ours != theirs).then(|| Fault::new(FaultKind::Division, ours.text(1), theirs.text(1)))
}

/// A plan with the input that it is held against.
struct Case<'a> {
    work: &'a Work,
    plan: &'a Plan,
    /// The lots as the jobs give them.
    groups: &'a [Group<'a>],
    /// For each lot of the plan, the systems that it names, by their positions in the work.
    named: Vec<Vec<Named>>,
}

/// A name in a plan's lot, found in the work.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Named {
    /// The system at this position of this group.
    System { group: usize, part: usize },
    /// A system that an earlier place in the plan has named already.
    Again,
    /// No system at all.
    Unknown,
}

impl<'a> Case<'a> {
    fn new(work: &'a Work, plan: &'a Plan, groups: &'a [Group<'a>]) -> Self {
        let mut taken = Vec::new();
        let named = plan
            .lots
            .iter()
            .map(|line| line.systems.iter().map(|name| find(name, groups, &mut taken)).collect())
            .collect();
        Self { work, plan, groups, named }
    }

    /// The group that the plan's lot at this position stands for: that of its first system.
    fn group_of(&self, line: usize) -> Option<&'a Group<'a>> {
        self.named.get(line)?.iter().find_map(|named| match named {
            Named::System { group, .. } => self.groups.get(*group),
            Named::Again | Named::Unknown => None,
        })
    }

    /// The group that a load or a shortage means when it names this lot of the plan.
    fn group_named(&self, lot: &str) -> Option<&'a Group<'a>> {
        let line = self.plan.lots.iter().position(|line| line.lot == lot)?;
        self.group_of(line)
    }
}

/// The first system of this name that isn't `taken` yet; takes it.
fn find(name: &str, groups: &[Group], taken: &mut Vec<(usize, usize)>) -> Named {
    let mut known = false;
    for (group, parts) in groups.iter().map(|group| &group.parts).enumerate() {
        for part in (0..parts.len()).filter(|part| parts[*part].label == name) {
            known = true;
            if !taken.contains(&(group, part)) {
                taken.push((group, part));
                return Named::System { group, part };
            }
        }
    }
    if known { Named::Again } else { Named::Unknown }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests;
