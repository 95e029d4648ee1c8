//! A plan stop by stop: which cylinder takes how much at which job, when the jobs are done in the order of the work.

use crate::job::Work;
use crate::plan::Plan;
use crate::quantity::Marks;

/// What one job puts into cylinders.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Visit {
    /// The job, by its position in the work.
    pub job: usize,
    /// The cylinders that it fills, in the order of the plan.
    pub fills: Vec<VisitFill>,
}

/// What one job puts into one cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VisitFill {
    /// The load of the plan, by its position.
    pub load: usize,
    /// What the scale shows before; more than the load's `now` where an earlier job began the cylinder.
    pub before: Marks,
    /// What this job adds.
    pub add: Marks,
}

impl VisitFill {
    /// The scale reading to stop at here.
    pub fn after(&self) -> Marks {
        self.before + self.add
    }
}

impl Visit {
    /// What is recovered at this job.
    pub fn recovered(&self) -> Marks {
        self.fills.iter().map(|fill| fill.add).sum()
    }
}

/// The plan cut up by jobs, one visit for each job, in the order of the work.
pub fn visits(work: &Work, plan: &Plan) -> Vec<Visit> {
    let parts = || work.lots().iter().flat_map(|lot| &lot.parts);
    let job_of = |system: &str| parts().find(|part| part.system == system).map(|part| part.job);
    let mut gross: Vec<Marks> = plan.loads.iter().map(|load| load.now).collect();
    let mut visits = Vec::with_capacity(work.jobs().len());
    for job in 0..work.jobs().len() {
        let mut fills = Vec::new();
        for (index, load) in plan.loads.iter().enumerate() {
            let here = load.pours.iter().filter(|share| job_of(&share.system) == Some(job));
            let add: Marks = here.map(|share| share.add).sum();
            if add > 0 {
                fills.push(VisitFill { load: index, before: gross[index], add });
                gross[index] += add;
            }
        }
        visits.push(Visit { job, fills });
    }
    visits
}
