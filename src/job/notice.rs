//! What a reader must know of a job before trusting its plan: the assumptions that the files bring with them.

use super::{Allowance, Basis, Charge, Work, unusual_capacities};
use crate::cylinder::Terms;
use crate::refrigerant::{Fluid, Grade};

/// Something to know about a job. Its code is one of [`NOTICES`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// Stable code.
    pub code: &'static str,
    /// A sentence.
    pub text: String,
}

/// A notice of the catalogue: its code and what finds it in the work.
type Finder = fn(&Work) -> Vec<String>;

/// Every notice.
pub const NOTICES: &[(&str, Finder)] = &[
    ("low-limit-temperature", low_limit_temperature),
    ("lower-fill", lower_fill),
    ("estimate", estimate),
    ("no-allowance", no_allowance),
    ("property-grade", property_grade),
    ("given-data", given_data),
    ("unusual-capacity", unusual_capacity),
];

/// Every notice that applies to this work, in the order of the list.
pub fn notices(work: &Work) -> Vec<Notice> {
    let mut found: Vec<Notice> = Vec::new();
    for (code, find) in NOTICES {
        for text in find(work) {
            let notice = Notice { code, text };
            if !found.contains(&notice) {
                found.push(notice);
            }
        }
    }
    found
}

fn low_limit_temperature(work: &Work) -> Vec<String> {
    let low = |terms: &Terms| terms.fill_temperature().is_below(Terms::DEFAULT_TEMPERATURE);
    let jobs = work.jobs().iter().filter(|job| low(&job.terms));
    jobs.map(|job| {
        format!(
            "\"{}\" takes its fill at {}, not at 130 F: cylinders get fuller, and un-p200 bounds them besides",
            job.name,
            job.terms.scale.temperature(job.terms.at)
        )
    })
    .collect()
}

fn lower_fill(work: &Work) -> Vec<String> {
    let lots = work.lots().iter().filter(|lot| {
        lot.parts.iter().any(|part| work.jobs().get(part.job).is_some_and(|job| job.terms.fill > lot.intake.terms.fill))
    });
    lots.map(|lot| format!("{} is filled to {} only, as its file asks", lot.name, lot.intake.terms.fill)).collect()
}

fn estimate(work: &Work) -> Vec<String> {
    let unit = work.division().unit();
    let systems = work.jobs().iter().flat_map(|job| &job.systems);
    systems
        .filter_map(|system| match system.charge {
            Charge::Estimated { span, basis } => Some(format!(
                "the charge of {} is planned for the high end, {}: {}",
                system.name,
                unit.text(span.high),
                match basis {
                    Basis::Records => "taken from records",
                    Basis::Level => "read from the level in its receiver",
                    Basis::Guess => "a guess",
                }
            )),
            Charge::Recorded { .. } => None,
        })
        .collect()
}

fn no_allowance(work: &Work) -> Vec<String> {
    let systems = work.jobs().iter().flat_map(|job| &job.systems);
    systems
        .filter(|system| matches!(system.charge, Charge::Recorded { .. }))
        .filter(|system| match system.allowance {
            Allowance::Share(share) => share.number().is_zero(),
            Allowance::Weight(weight) => !weight.is_positive(),
        })
        .map(|system| format!("the charge of {} has no allowance; nameplates are often too low", system.name))
        .collect()
}

fn property_grade(work: &Work) -> Vec<String> {
    let fluids = work.lots().iter().flat_map(|lot| match &lot.intake.fluid {
        Fluid::One(refrigerant) => std::slice::from_ref(refrigerant),
        Fluid::Mixed(parts) => parts.as_slice(),
    });
    fluids
        .filter_map(|refrigerant| {
            let grade = refrigerant.grade().filter(|grade| *grade != Grade::A)?;
            Some(format!(
                "{} has estimated property data (grade {grade}): {} % is taken off its density, {} % put on its pressure",
                refrigerant.name(),
                grade.density_allowance() * 100.0,
                grade.pressure_allowance() * 100.0
            ))
        })
        .collect()
}

fn given_data(work: &Work) -> Vec<String> {
    let fluids = work.lots().iter().map(|lot| &lot.intake.fluid);
    fluids
        .flat_map(|fluid| match fluid {
            Fluid::One(refrigerant) => std::slice::from_ref(refrigerant),
            Fluid::Mixed(parts) => parts.as_slice(),
        })
        .filter(|refrigerant| refrigerant.is_given())
        .map(|refrigerant| format!("{} is known from the job file alone: {}", refrigerant.name(), refrigerant.source()))
        .collect()
}

fn unusual_capacity(work: &Work) -> Vec<String> {
    unusual_capacities(work.yard(), work.division().unit())
}
