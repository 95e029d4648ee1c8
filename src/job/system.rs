//! A system and its charge.

use thiserror::Error;

use super::Evacuation;
use crate::cylinder::{Condition, Fate};
use crate::quantity::{Decimal, Percent, Span, Weight};
use crate::refrigerant::Fluid;

/// What is added to the recorded charge for what the records don't know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Allowance {
    /// A share of nameplate and field-added charge together.
    Share(Percent),
    /// A weight.
    Weight(Weight),
}

/// What an estimated charge rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Service records.
    Records,
    /// The level in a receiver.
    Level,
    /// Nothing better.
    Guess,
}

impl Basis {
    /// Every basis with its word in files and reports.
    pub const ALL: [(Self, &'static str); 3] =
        [(Self::Records, "records"), (Self::Level, "level"), (Self::Guess, "guess")];
}

/// The charge of a system before its allowance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Charge {
    /// As on the nameplate, with what was added in the field.
    Recorded {
        /// Nameplate charge.
        nameplate: Weight,
        /// Field-added charge.
        added: Weight,
    },
    /// Between two weights; planned for the high one.
    Estimated {
        /// From least to most.
        span: Span,
        /// What that rests on.
        basis: Basis,
    },
}

/// What a job file says of a system, before it is checked.
#[derive(Debug, Clone, PartialEq)]
pub struct SystemFacts {
    /// Its name, unique in the job.
    pub name: String,
    /// Its refrigerant, or what a mixed charge may contain.
    pub fluid: Fluid,
    /// Its charge.
    pub charge: Charge,
    /// What is added to that.
    pub allowance: Allowance,
    /// A lower fill than the job's, where much oil is expected.
    pub fill: Option<Percent>,
    /// State of the charge.
    pub condition: Condition,
    /// What becomes of it.
    pub fate: Fate,
}

impl SystemFacts {
    /// A system with this nameplate charge; the rest as in a job file that doesn't say it: nothing added, no allowance
    /// (nameplates are often too low: give one), the job's fill, clean, to a reclaimer.
    pub fn new(name: &str, fluid: Fluid, nameplate: Weight) -> Self {
        Self {
            name: name.into(),
            fluid,
            charge: Charge::Recorded { nameplate, added: Weight::ZERO },
            allowance: Allowance::Weight(Weight::ZERO),
            fill: None,
            condition: Condition::Clean,
            fate: Fate::Reclaim,
        }
    }
}

/// A valid system. Reads like its [`SystemFacts`]; can't be changed.
#[derive(Debug, Clone, PartialEq)]
pub struct System {
    facts: SystemFacts,
}

impl std::ops::Deref for System {
    type Target = SystemFacts;
    fn deref(&self) -> &SystemFacts {
        &self.facts
    }
}

/// Why a system can't be planned as stated.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SystemError {
    /// A fill that isn't above 0 and at most 80 %.
    #[error("a fill of {found} isn't planned; expected more than 0 and at most 80 %")]
    Fill {
        /// As stated.
        found: Percent,
    },
    /// Burnt-out or mixed refrigerant that is to go back into a system.
    #[error("{} refrigerant can't be for reuse", .condition.name())]
    Reuse {
        /// Its condition.
        condition: Condition,
    },
    /// No charge, or more than any system holds.
    #[error("{key} must be {range}")]
    Weight {
        /// Which weight, by its key.
        key: &'static str,
        /// The permitted range in words.
        range: &'static str,
    },
    /// An allowance over 100 %.
    #[error("an allowance of {found} isn't planned; expected 0 to 100 %")]
    Allowance {
        /// As stated.
        found: Percent,
    },
    /// A list of possible contents that isn't a mixed charge, or a mixed charge of one refrigerant.
    #[error("a charge of several possible contents is of condition mixed, and only that is")]
    Contents,
    /// A gas that doesn't go into recovery cylinders.
    #[error("{name} isn't taken into these cylinders: {reason}")]
    Refused {
        /// The refrigerant.
        name: String,
        /// Why not.
        reason: &'static str,
    },
}

impl SystemError {
    /// The key of the system that the error is about.
    pub fn key(&self) -> &'static str {
        match self {
            Self::Fill { .. } => "fill",
            Self::Reuse { .. } => "fate",
            Self::Weight { key, .. } => key,
            Self::Allowance { .. } => "allowance",
            Self::Contents => "condition",
            Self::Refused { .. } => "refrigerant",
        }
    }
}

/// A fill that is planned: above 0, at most 80 %.
pub(super) fn is_fill(fill: Percent) -> bool {
    fill.number() > Decimal::ZERO && fill.number() <= Decimal::from(80)
}

impl System {
    /// A system with these facts.
    ///
    /// # Errors
    /// Every fact outside its range; see [`SystemError`].
    pub fn new(facts: SystemFacts) -> Result<Self, Vec<SystemError>> {
        let mut errors = Vec::new();
        if let Some(found) = facts.fill.filter(|fill| !is_fill(*fill)) {
            errors.push(SystemError::Fill { found });
        }
        if facts.fate == Fate::Reuse && matches!(facts.condition, Condition::Burnout | Condition::Mixed) {
            errors.push(SystemError::Reuse { condition: facts.condition });
        }
        let most = Weight::pounds(Decimal::from(200_000));
        let (key, base) = match facts.charge {
            Charge::Recorded { nameplate, .. } => ("nameplate", nameplate),
            Charge::Estimated { span, .. } => ("charge", span.high),
        };
        if !base.is_positive() || base > most {
            errors.push(SystemError::Weight { key, range: "more than 0 and at most 200,000 lb (90,718 kg)" });
        }
        let more = match facts.charge {
            Charge::Recorded { added, .. } => Some(("added", added)),
            Charge::Estimated { .. } => None,
        };
        let allowance = match facts.allowance {
            Allowance::Weight(weight) => Some(("allowance", weight)),
            Allowance::Share(found) if found.number() > Decimal::ONE_HUNDRED => {
                errors.push(SystemError::Allowance { found });
                None
            }
            Allowance::Share(_) => None,
        };
        for (key, weight) in more.into_iter().chain(allowance) {
            if weight.is_negative() || weight > most {
                errors.push(SystemError::Weight { key, range: "0 to 200,000 lb (90,718 kg)" });
            }
        }
        if matches!(facts.fluid, Fluid::Mixed(_)) != (facts.condition == Condition::Mixed) {
            errors.push(SystemError::Contents);
        }
        let refused = facts.fluid.refused();
        errors.extend(refused.map(|(name, reason)| SystemError::Refused { name: name.into(), reason }));
        if errors.is_empty() { Ok(Self { facts }) } else { Err(errors) }
    }

    /// The charge without its allowance: nameplate + field-added, or the high estimate. Exact.
    pub fn charge_by_records(&self) -> Weight {
        match self.charge {
            Charge::Recorded { nameplate, added } => nameplate + added,
            Charge::Estimated { span, .. } => span.high,
        }
    }

    /// The least that is stated: nameplate + field-added, or the low estimate. Exact.
    pub fn least_charge(&self) -> Weight {
        match self.charge {
            Charge::Recorded { .. } => self.charge_by_records(),
            Charge::Estimated { span, .. } => span.low,
        }
    }

    /// The level that it is pulled down to, by its charge without the allowance: that is what the records say of it.
    pub fn evacuation(&self) -> Evacuation {
        Evacuation::of(&self.fluid, self.charge_by_records())
    }

    /// The charge to plan for: nameplate + field-added, or the high estimate, and the allowance on it. Exact.
    pub fn planned_charge(&self) -> Weight {
        let base = self.charge_by_records();
        match self.allowance {
            Allowance::Share(share) => base + share.of(base),
            Allowance::Weight(weight) => base + weight,
        }
    }
}
