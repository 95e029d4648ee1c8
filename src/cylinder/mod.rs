//! The cylinder: what is stamped on it, what it holds, how full it may be and what it may take.
//!
//! This room knows one cylinder and one intake at a time. It must not know jobs, yards or plans, and it does no
//! reading of files. Its weights are exact until [`Limit::room`] counts them in divisions of the scale.

mod alarm;
mod ceiling;
mod fitness;
mod id;
mod intake;
mod mark;
mod overfull;
mod stamp;
mod tag;
mod taught;

use std::ops::Deref;

use jiff::civil::Date;
use thiserror::Error;

pub use alarm::{Alarm, Standing, Surplus, alarms, level};
pub use ceiling::{Bound, Ceiling, CeilingKind, Limit, Room, ceilings, computable, danger_over, full_and_cold, limit};
pub use fitness::{
    Asks, CAUTIONS, EVACUATE_FIRST, Finding, HOLDING_WORDS, RULES, Rule, cautions, empty_tolerance, own_reasons,
    reasons, remark_holds,
};
pub use id::Id;
pub use intake::{Condition, Fate, Intake, Rules, Scale, Terms};
pub use mark::{Mark, MarkError, Specification};
pub use overfull::{Level, Overfull, overfull};
pub use stamp::{doubts, is_a_tanks, is_usual_capacity, nominal, nominal_order};
pub use tag::{Label, Tag};
pub use taught::{RuleOfThumb, beside_guideline};

use crate::quantity::{Decimal, GaugePressure, Temperature, Weight};
use crate::refrigerant::{Fluid, Refrigerant};

/// What is in a cylinder.
#[derive(Debug, Clone, PartialEq)]
pub enum Contents {
    /// Nothing: it has been evacuated.
    Evacuated,
    /// A holding charge of nitrogen.
    Nitrogen,
    /// Something that nobody has identified.
    Unknown,
    /// More than one refrigerant; what may be among them, as far as known.
    Mixed(Vec<Refrigerant>),
    /// One refrigerant, liquid or the vapour that is left of it.
    Holds(Refrigerant),
}

impl Contents {
    /// The fluid whose density decides, where it is known.
    pub fn fluid(&self) -> Option<Fluid> {
        match self {
            Self::Holds(refrigerant) => Some(Fluid::One(refrigerant.clone())),
            Self::Mixed(parts) if !parts.is_empty() => Some(Fluid::Mixed(parts.clone())),
            Self::Mixed(_) | Self::Evacuated | Self::Nitrogen | Self::Unknown => None,
        }
    }

    /// In a word or two, as reports say it.
    pub fn name(&self) -> String {
        match self {
            Self::Evacuated => "evacuated".into(),
            Self::Nitrogen => "nitrogen".into(),
            Self::Unknown => "unknown".into(),
            Self::Mixed(_) => self.fluid().map_or_else(|| "mixed".into(), |fluid| fluid.name()),
            Self::Holds(refrigerant) => refrigerant.name().into(),
        }
    }
}

/// How long the last test, or the making, of a cylinder is good for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TestPeriod {
    /// The month of the test or of making, where it is known.
    pub since: Option<Date>,
    /// The last day on which the cylinder may be filled: the end of a month.
    pub good_through: Date,
}

/// The pressure of a cylinder as somebody measured it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// What the gauge showed.
    pub pressure: GaugePressure,
    /// The temperature that cylinder and contents had settled to.
    pub at: Temperature,
}

/// What the ledger knows of a cylinder beside its state; nothing where there is no ledger or nothing to say.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ByLedger {
    /// Another job's plan has it: which job and on which van, in words.
    pub bound: Option<String>,
    /// Nobody knows for sure what is in it or who has it: why, in words.
    pub doubt: Option<String>,
    /// It is gone or bad: why, as it was said.
    pub out: Option<String>,
    /// Its row was changed by hand after something happened to it: what the file says and what the ledger, in words.
    pub changed: Option<String>,
    /// We have put something into it.
    pub ours: bool,
    /// Things have gone into it that must never be in one cylinder.
    pub mixed: bool,
}

/// Everything that is known of a cylinder. [`Cylinder`] is this, with every number in its range.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// How the yard names it; unique in a yard.
    pub id: Id,
    /// Stamped empty weight.
    pub tare: Weight,
    /// Stamped weight of the water that fills it at 60 °F.
    pub water_capacity: Weight,
    /// What the scale showed last.
    pub gross: Weight,
    /// What is in it.
    pub contents: Contents,
    /// Condition of what is, or was last, in it. Never [`Condition::Mixed`]: that is a kind of contents.
    pub condition: Condition,
    /// Whose refrigerant the heel is.
    pub owner: Option<String>,
    /// The job whose reuse lot it holds.
    pub kept_for: Option<String>,
    /// Specification and service pressure as stamped.
    pub mark: Option<Mark>,
    /// Service pressure where the mark doesn't say it.
    pub service_pressure: Option<GaugePressure>,
    /// Test pressure, needed under UN rules where the mark doesn't imply it.
    pub test_pressure: Option<GaugePressure>,
    /// Its pressure, where somebody measured it.
    pub measured: Option<Measured>,
    /// Requalification; `None` where the yard gives no date.
    pub test: Option<TestPeriod>,
    /// Largest gross weight that the cylinder's own label allows.
    pub max_gross: Option<Weight>,
    /// Meant for flammable refrigerant.
    pub flammable: bool,
    /// Damage somebody saw.
    pub damage: Option<String>,
    /// What somebody has written about it; some words hold it out, see [`HOLDING_WORDS`].
    pub remark: Option<String>,
    /// Somebody has looked at the remark: it no longer holds the cylinder out.
    pub remark_settled: bool,
    /// Somebody has read the doubtful numbers off the stamp again.
    pub confirmed: bool,
    /// Cleaned since it carried burnout.
    pub cleaned: bool,
    /// What the ledger knows of it; no file of a yard or a job says that.
    pub ledger: ByLedger,
}

impl Facts {
    /// What has to be known of every cylinder; the rest is as a yard takes it that doesn't say it: clean, for no
    /// flammable refrigerant, without mark, test, owner, damage or remark. Without a mark and a test nothing is filled:
    /// set both.
    pub fn new(id: impl Into<Id>, tare: Weight, water_capacity: Weight, gross: Weight, contents: Contents) -> Self {
        Self {
            id: id.into(),
            tare,
            water_capacity,
            gross,
            contents,
            condition: Condition::Clean,
            owner: None,
            kept_for: None,
            mark: None,
            service_pressure: None,
            test_pressure: None,
            measured: None,
            test: None,
            max_gross: None,
            flammable: false,
            damage: None,
            remark: None,
            remark_settled: false,
            confirmed: false,
            cleaned: false,
            ledger: ByLedger::default(),
        }
    }
}

/// A cylinder whose numbers lie in their ranges. Reads like its [`Facts`]; can't be changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Cylinder {
    facts: Facts,
}

/// A number of a cylinder outside the range that any cylinder has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("{key} must be {range}")]
pub struct FactError {
    /// The fact, by its key in the yard file.
    pub key: &'static str,
    /// The permitted range in words.
    pub range: &'static str,
}

/// A permitted range of a weight: its key, its words, the most in pounds (the least is above zero).
type WeightRange = (&'static str, &'static str, i64, fn(&Facts) -> Option<Weight>);

const RANGES: [WeightRange; 4] = [
    ("tare", "more than 0 and at most 5,000 lb (2,268 kg)", 5_000, |facts| Some(facts.tare)),
    ("water_capacity", "more than 0 and at most 10,000 lb (4,536 kg)", 10_000, |facts| Some(facts.water_capacity)),
    ("gross", "more than 0 and at most 20,000 lb (9,072 kg)", 20_000, |facts| Some(facts.gross)),
    ("max_gross", "more than 0 and at most 20,000 lb (9,072 kg)", 20_000, |facts| facts.max_gross),
];

/// Service and test pressures in psig: under the lowest, a low-pressure drum; over the highest, a compressed gas.
const PRESSURES: (f64, f64) = (20.0, 10_000.0);
const PRESSURE_RANGE: &str = "20 to 10,000 psig (1.4 to 690 bar)";

/// Whether the weight behind a key of a yard is one that a cylinder can have.
///
/// # Errors
/// The range that it lies outside of.
pub fn in_range(key: &str, weight: Weight) -> Result<(), FactError> {
    let Some((key, range, most, _)) = RANGES.iter().find(|(known, ..)| *known == key) else { return Ok(()) };
    let fits = weight.is_positive() && weight <= Weight::pounds(Decimal::from(*most));
    if fits { Ok(()) } else { Err(FactError { key, range }) }
}

impl Cylinder {
    /// A cylinder with these facts.
    ///
    /// # Errors
    /// Every weight that isn't above zero or is beyond any cylinder's, and every pressure outside 20 to 10,000 psig.
    pub fn new(facts: Facts) -> Result<Self, Vec<FactError>> {
        let mut errors: Vec<FactError> =
            RANGES.iter().filter_map(|(key, .., get)| in_range(key, get(&facts)?).err()).collect();
        let pressures = [("service_pressure", facts.service_pressure), ("test_pressure", facts.test_pressure)];
        errors.extend(pressures.into_iter().filter_map(|(key, pressure)| {
            let psig = pressure?.psig();
            (!(PRESSURES.0..=PRESSURES.1).contains(&psig)).then_some(FactError { key, range: PRESSURE_RANGE })
        }));
        if errors.is_empty() { Ok(Self { facts }) } else { Err(errors) }
    }

    /// The tare that counts: the stamped one, or what the cylinder weighed where that is less. With a heel in it, it
    /// weighs even less without.
    pub fn working_tare(&self) -> Weight {
        self.tare.min(self.gross)
    }

    /// The largest net weight that the cylinder's own label allows, where it states one.
    pub fn label_net(&self) -> Option<Weight> {
        self.max_gross.map(|gross| gross - self.tare)
    }

    /// The service pressure: as marked, or as the yard gives it; the smaller where both are there and differ.
    pub fn rated_pressure(&self) -> Option<GaugePressure> {
        let marked = self.mark.as_ref().and_then(Mark::service_pressure);
        match (marked, self.service_pressure) {
            (Some(marked), Some(given)) if given < marked => Some(given),
            (Some(marked), _) => Some(marked),
            (None, given) => given,
        }
    }

    /// The test pressure: as the yard gives it, or twice the service pressure for 4B, 4BA and 4BW
    /// (49 CFR 180.209(a) table 1).
    pub fn tested_pressure(&self) -> Option<GaugePressure> {
        self.test_pressure.or_else(|| {
            let mark = self.mark.as_ref().filter(|mark| mark.is_tested_at_twice_service_pressure())?;
            mark.service_pressure().map(|pressure| pressure.scaled(2.0))
        })
    }
}

impl Deref for Cylinder {
    type Target = Facts;
    fn deref(&self) -> &Facts {
        &self.facts
    }
}
