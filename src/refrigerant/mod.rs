//! Refrigerants: what they are called, what they are made of, how dense their liquid is and what pressure they raise.
//!
//! The properties come from an embedded table (`data/table.txt`, with its generator, sources and measured errors in
//! `data/README.md`) or from what a job file states; see [`Refrigerant::find`] and [`Refrigerant::given`].
//!
//! This room must not know of cylinders, fills or rules of fitness: it answers what a refrigerant is, not what may be
//! done with it. It reads no file, and it never extrapolates: where it has no value it says why.

mod curve;
mod fluid;
mod given;
mod group;
mod lookup;
mod named;
mod property;
mod table;

pub use fluid::Fluid;
pub use given::{GivenError, GivenProblem, GivenRefrigerant};
pub use group::{Flammability, Grade, SafetyGroup, SafetyGroupError, Toxicity};
pub use lookup::LookupError;
pub use property::{LiquidFull, PropertyError};

use std::sync::Arc;

use crate::quantity::Temperature;
use curve::{DensityCurve, PressureCurve};
use rust_decimal::Decimal;

/// Entries of the dangerous-goods lists that refrigerants without one of their own share, from memory.
const UN_SHARED: [(u16, &str); 2] = [(1078, "refrigerant gas, n.o.s."), (3161, "liquefied gas, flammable, n.o.s.")];

/// A refrigerant out of the table, or one that a job file brings.
#[derive(Debug, Clone, PartialEq)]
pub struct Refrigerant {
    /// Shared, because every cylinder and every lot of a large yard names its refrigerant.
    record: Arc<Record>,
}

/// What is known of a refrigerant.
#[derive(Debug, Clone, PartialEq)]
struct Record {
    name: String,
    group: Option<SafetyGroup>,
    critical: Option<Temperature>,
    density: DensityCurve,
    pressure: PressureCurve,
    origin: Origin,
}

/// Where a refrigerant's values come from.
#[derive(Debug, Clone, PartialEq)]
enum Origin {
    Table(TableFacts),
    /// The source that the job file states.
    File(String),
}

/// What the table knows of a refrigerant beside its properties.
#[derive(Debug, Clone, PartialEq)]
struct TableFacts {
    grade: Grade,
    molar_mass: f64,
    composition: Vec<Component>,
    un_number: Option<u16>,
    chemical_names: Vec<&'static str>,
    composition_mark: &'static str,
    group_mark: &'static str,
    un_mark: &'static str,
}

/// One component of a blend, or the whole of a refrigerant that has but one.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// The ASHRAE number, as `R-125`.
    pub name: String,
    /// Share of the mass in per cent; the shares of a refrigerant sum to 100.
    pub mass_percent: Decimal,
}

impl From<Record> for Refrigerant {
    fn from(record: Record) -> Self {
        Self { record: Arc::new(record) }
    }
}

impl Refrigerant {
    /// The names of all refrigerants of the table, in its order: single components, then blends, each by number.
    pub fn names() -> impl Iterator<Item = &'static str> {
        table::lines().map(table::name_of)
    }

    /// The name as the table or the job file spells it: `R-404A`, `R-1234ze(E)`.
    pub fn name(&self) -> &str {
        &self.record.name
    }

    /// The ASHRAE 34 safety group; `None` where none is printed or known.
    pub fn group(&self) -> Option<SafetyGroup> {
        self.record.group
    }

    /// Whether a cylinder for it must be meant for flammable gas. An unknown group counts as flammable.
    pub fn is_flammable(&self) -> bool {
        self.record.group.is_none_or(SafetyGroup::is_flammable)
    }

    /// The temperature above which there is no liquid; `None` where the job file doesn't state it.
    pub fn critical(&self) -> Option<Temperature> {
        self.record.critical
    }

    /// How well the table knows it; `None` for a refrigerant that a job file brings, whose stated source is taken at
    /// its word.
    pub fn grade(&self) -> Option<Grade> {
        self.facts().map(|facts| facts.grade)
    }

    /// Molar mass in g/mol; `None` for a refrigerant that a job file brings.
    pub fn molar_mass(&self) -> Option<f64> {
        self.facts().map(|facts| facts.molar_mass)
    }

    /// What it is made of, in the order of ASHRAE 34; empty for a refrigerant that a job file brings.
    pub fn composition(&self) -> &[Component] {
        self.facts().map_or(&[], |facts| &facts.composition)
    }

    /// The number in the dangerous-goods lists, where it is known; confirm against the current text.
    pub fn un_number(&self) -> Option<u16> {
        self.facts().and_then(|facts| facts.un_number)
    }

    /// That number as papers and labels show it: `1018`; of an entry that many share with its name, and which one it is:
    /// `1078, refrigerant gas, n.o.s. (R-410A)`. `None` where the number isn't known.
    pub fn un_entry(&self) -> Option<String> {
        let number = self.un_number()?;
        let shared = UN_SHARED.iter().find(|(shared, _)| *shared == number);
        Some(
            shared
                .map_or_else(|| format!("{number:04}"), |(_, entry)| format!("{number:04}, {entry} ({})", self.name())),
        )
    }

    /// Chemical names of a single component, the usual one first; empty for a blend.
    pub fn chemical_names(&self) -> &[&'static str] {
        self.facts().map_or(&[], |facts| &facts.chemical_names)
    }

    /// Where density and pressure come from: the library with its version, or what the job file states.
    pub fn source(&self) -> &str {
        match &self.record.origin {
            Origin::Table(_) => "CoolProp 8.0.0, saturated liquid (bubble point)",
            Origin::File(source) => source,
        }
    }

    /// Where the composition of a blend was read; `None` for a single component or a job file's refrigerant.
    pub fn composition_source(&self) -> Option<&'static str> {
        self.facts().and_then(|facts| table::mark_in_words(facts.composition_mark))
    }

    /// Where the safety group was read.
    pub fn group_source(&self) -> Option<&'static str> {
        self.facts().and_then(|facts| table::mark_in_words(facts.group_mark))
    }

    /// Where the UN number was read; `None` where it isn't known.
    pub fn un_source(&self) -> Option<&'static str> {
        self.facts().and_then(|facts| table::mark_in_words(facts.un_mark))
    }

    /// Whether a job file brought it.
    pub fn is_given(&self) -> bool {
        matches!(self.record.origin, Origin::File(_))
    }

    /// The lowest and the highest temperature at which the liquid density is known.
    pub fn range(&self) -> (Temperature, Temperature) {
        self.record.density.range()
    }

    fn facts(&self) -> Option<&TableFacts> {
        match &self.record.origin {
            Origin::Table(facts) => Some(facts),
            Origin::File(_) => None,
        }
    }

    fn density_factor(&self) -> f64 {
        1.0 - self.grade().map_or(0.0, Grade::density_allowance)
    }

    fn pressure_factor(&self) -> f64 {
        1.0 + self.grade().map_or(0.0, Grade::pressure_allowance)
    }
}
