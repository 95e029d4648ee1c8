//! The morning's truck: what goes on it, what each stop fills, what it weighs on leaving each, what comes back, and the
//! rules of the road.
//!
//! It takes a plan that has passed the audit and moves it through the day; it chooses nothing and fills nothing. Every
//! weight is a gross weight in whole divisions of the jobs' scale, rounded up. It must not know files or reports.

mod manifest;
mod rules;
mod spare;

pub use manifest::{Aboard, Departure, Manifest, Over, Returned, changes, manifest};
pub use rules::{REMINDERS, Reminder, RoadLimit, Sentence, over_on_the_road};
pub use spare::{Help, Spare};

use thiserror::Error;

use crate::quantity::{Decimal, Weight};

/// Whose rules of the road are reminded of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RoadRules {
    /// 49 CFR.
    Us,
    /// Nobody's: for other countries.
    None,
}

impl RoadRules {
    /// Every choice with its word in files.
    pub const ALL: [(Self, &'static str); 2] = [(Self::Us, "us"), (Self::None, "none")];
}

/// What a truck file says, or what is known without one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TruckFacts {
    /// What it is called.
    pub name: String,
    /// The most that it may carry altogether, people and tools included.
    pub payload: Option<Weight>,
    /// People, tools and machines: all that is on it and is neither a cylinder of the yard nor `other_hazmat`.
    pub tools: Option<Weight>,
    /// Gross weight of the hazardous material that is on it already.
    pub other_hazmat: Option<Weight>,
    /// Whose rules.
    pub rules: RoadRules,
    /// What rides on it always, in words.
    pub carries: Vec<String>,
}

/// A truck whose weights lie in their ranges. Reads like its [`TruckFacts`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Truck {
    facts: TruckFacts,
}

impl std::ops::Deref for Truck {
    type Target = TruckFacts;
    fn deref(&self) -> &TruckFacts {
        &self.facts
    }
}

/// A weight of a truck outside its range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("{key} must be {range}")]
pub struct TruckError {
    /// Which, by its key.
    pub key: &'static str,
    /// The permitted range in words.
    pub range: &'static str,
}

impl Truck {
    /// A truck with these facts.
    ///
    /// # Errors
    /// A payload that isn't above zero, a weight below zero, or one beyond any truck's: 100,000 lb.
    pub fn new(facts: TruckFacts) -> Result<Self, Vec<TruckError>> {
        let most = Weight::pounds(Decimal::from(100_000));
        let mut errors = Vec::new();
        if facts.payload.is_some_and(|payload| !payload.is_positive() || payload > most) {
            errors.push(TruckError { key: "payload", range: "more than 0 and at most 100,000 lb (45,359 kg)" });
        }
        for (key, weight) in [("tools", facts.tools), ("other_hazmat", facts.other_hazmat)] {
            if weight.is_some_and(|weight| weight.is_negative() || weight > most) {
                errors.push(TruckError { key, range: "0 to 100,000 lb (45,359 kg)" });
            }
        }
        if errors.is_empty() { Ok(Self { facts }) } else { Err(errors) }
    }

    /// A truck of which nothing is known.
    pub fn unknown() -> Self {
        let facts = TruckFacts {
            name: "the truck".into(),
            payload: None,
            tools: None,
            other_hazmat: None,
            rules: RoadRules::Us,
            carries: Vec::new(),
        };
        Self { facts }
    }
}
