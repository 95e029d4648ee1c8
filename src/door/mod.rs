//! The library's door: from files, or from jobs and cylinders made in code, to a plan that has passed the audit.
//!
//! It only puts the rooms below it together. It must not print, and it reads no clock: the caller says which day it is,
//! and when to stop looking.

mod bind;
mod history;
mod old_log;
mod quote;
mod rests_on;
mod round;
mod same;
mod settle;
mod store;
mod yard;

use thiserror::Error;

pub use bind::ToBind;
pub use history::{Happened, under_way};
pub use quote::{Asked, Quoted, quote_work};
pub use round::{Keep, NotInForce, NotOpened, Opened, Round, open, open_to_follow, open_yard};
pub use settle::{Settled, Settling};
pub use store::{Draft, Store, StoreError, ledger_folder};
pub use yard::YardRead;

use crate::audit::{self, Audited, Fault};
use crate::job::Work;
use crate::plan::Plan;
use crate::planner::{self, NoPlan, Options, Progress};
use crate::problem::Problems;
use crate::text::{Loaded, Request};

/// What was read, and the plan for it. Only [`plan_files`] makes one, and only of a plan that passed the audit.
#[derive(Debug)]
pub struct Planned {
    loaded: Loaded,
    audited: Audited,
}

impl Planned {
    /// The plan.
    pub fn plan(&self) -> &Plan {
        self.audited.plan()
    }

    /// The same plan with the mark of the audit, as reports ask for it.
    pub fn audited(&self) -> &Audited {
        &self.audited
    }

    /// What was read: the jobs on their yard, rows of it that can't be read, what was assumed.
    pub fn loaded(&self) -> &Loaded {
        &self.loaded
    }
}

/// Why there is no plan to hand out.
#[derive(Debug, Error)]
pub enum NotPlanned {
    /// The files are at fault.
    #[error(transparent)]
    Files(#[from] Problems),
    /// The ledger can't be read, or says otherwise than the files.
    #[error(transparent)]
    Ledger(NotOpened),
    /// No plan keeps what the options insist on.
    #[error(transparent)]
    NoPlan(#[from] NoPlan),
    /// A plan was made that fails the audit; it is handed to nobody.
    #[error(
        "a plan was made and not shown, because it failed the audit. This is a fault of chargesplit:\n{}", listed(.faults)
    )]
    Faults {
        /// What the audit found.
        faults: Vec<Fault>,
    },
}

impl From<NotOpened> for NotPlanned {
    fn from(error: NotOpened) -> Self {
        match error {
            NotOpened::Files(problems) => Self::Files(problems),
            NotOpened::Faults(faults) => Self::Faults { faults },
            other => Self::Ledger(other),
        }
    }
}

/// Faults by line, each with its code.
fn listed(faults: &[Fault]) -> String {
    let lines: Vec<String> = faults.iter().map(|fault| format!("- {}: {fault}", fault.code)).collect();
    lines.join("\n")
}

/// Reads jobs with their yard, plans them together, and has the plan audited.
///
/// `go_on` is asked again and again while a better plan is looked for; with the first `false` the best plan so far is
/// taken, and its status and bounds say how good it is. A charge that doesn't fit is no error: [`Plan::status`] says so.
///
/// # Errors
/// Every problem of every file; options that no plan keeps; a plan that fails the audit.
pub fn plan_files(
    request: &Request,
    options: &Options,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Planned, NotPlanned> {
    let loaded = open(request, true, &Keep::Read(None))?.loaded;
    let audited = plan_work(&loaded.work, options, go_on)?;
    Ok(Planned { loaded, audited })
}

/// Plans jobs on a yard, wherever they come from, and has the plan audited; otherwise as [`plan_files`].
///
/// # Errors
/// Options that no plan keeps; a plan that fails the audit.
pub fn plan_work(
    work: &Work,
    options: &Options,
    go_on: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Audited, NotPlanned> {
    audited(work, planner::plan(work, options, go_on)?)
}

/// A plan that was made for this work, once the audit has found nothing in it.
///
/// # Errors
/// A plan that fails the audit.
pub fn audited(work: &Work, plan: Plan) -> Result<Audited, NotPlanned> {
    audit::check(work, plan).map_err(|faults| NotPlanned::Faults { faults })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use std::path::PathBuf;

    use jiff::civil::date;

    use super::*;
    use crate::cylinder::{Cylinder, Facts};
    use crate::job::WorkError;
    use crate::text::Today;

    fn cold_store() -> Planned {
        let jobs = [PathBuf::from("scenarios/cold-store.yaml")];
        let today = Today::new(|| date(2026, 12, 1));
        let request = Request { jobs: &jobs, today: &today, skip_bad_rows: false };
        plan_files(&request, &Options::default(), &mut |_| true).unwrap()
    }

    #[test]
    fn a_plan_that_fails_the_audit_is_handed_to_nobody() {
        let planned = cold_store();
        let mut plan = planned.plan().clone();
        assert!(audited(&planned.loaded().work, plan.clone()).is_ok());
        plan.loads[0].stop += 1;
        let refused = audited(&planned.loaded().work, plan).unwrap_err();
        let NotPlanned::Faults { faults } = &refused else { panic!("{refused}") };
        assert!(faults.iter().any(|fault| fault.code == "stop"), "{faults:?}");
        assert!(refused.to_string().contains("\n- stop: "), "{refused}");
    }

    #[test]
    fn two_cylinders_of_one_id_are_planned_with_from_code_as_little_as_from_files() {
        let work = cold_store().loaded.work;
        let mut yard = work.yard().to_vec();
        yard.push(Cylinder::new(Facts { id: "c-101".into(), ..Facts::clone(&yard[1]) }).unwrap());
        let refused = Work::new(work.jobs().to_vec(), yard).unwrap_err();
        assert_eq!(refused, WorkError::SameId { id: "c-101".into() });
    }

    #[test]
    fn options_that_no_plan_keeps_are_refused() {
        let work = &cold_store().loaded;
        let options = Options { at_most: Some(1), ..Options::default() };
        let refused = plan_work(&work.work, &options, &mut |_| true).unwrap_err();
        assert!(matches!(refused, NotPlanned::NoPlan(NoPlan::TooFew { at_most: 1, .. })), "{refused}");
    }
}
