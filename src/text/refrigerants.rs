//! Refrigerants by name: those of the table, and those that a job file brings because the table lacks them.

use super::fields::{Fields, Findings, Value, meant, nearest};
use super::shape::{Holds, Shape, may, must};
use super::source::Mark;
use super::tree::Node;
use crate::problem::Code;
use crate::quantity::{A_DENSITY, A_TEMPERATURE};
use crate::refrigerant::{GivenProblem, GivenRefrigerant, LookupError, Refrigerant, SafetyGroup};

pub(super) static SHAPE: Shape = Shape {
    what: "a refrigerant",
    keys: &[
        must("name", Holds::Text, "A name that the table of chargesplit doesn't have."),
        may("group", Holds::Text, "Safety group, such as A1 or A2L; treated as flammable where it isn't given."),
        must("liquid_density", Holds::List(&POINT, 200), "Points of the saturated liquid, the temperature rising."),
        must("pressure_at_131F", Holds::Pressure, "Bubble pressure at 131 F."),
        may("pressure_at_65C", Holds::Pressure, "Bubble pressure at 65 C, for UN rules."),
        may("critical", Holds::Quantity(A_TEMPERATURE), "Critical temperature."),
        must("source", Holds::Text, "Where the figures are from; reports name it."),
    ],
    rules: &[],
};
static POINT: Shape = Shape {
    what: "a density point",
    keys: &[
        must("at", Holds::Quantity(A_TEMPERATURE), "The temperature."),
        must("density", Holds::Quantity(A_DENSITY), "Density of the liquid at it."),
    ],
    rules: &[],
};
/// The most refrigerants that a mixture may be made of.
pub(super) const MOST_PARTS: usize = 50;

/// The refrigerants that job files bring.
#[derive(Debug, Clone, Default)]
pub struct Known {
    given: Vec<Refrigerant>,
    /// Names whose description was refused; nothing more is said where they are used.
    refused: Vec<String>,
}

impl Known {
    /// Those under `refrigerants:` of a job file.
    pub(super) fn read(job: Fields, found: &mut Findings) -> Self {
        let mut known = Self::default();
        let mut names = Vec::new();
        let described = job.each("refrigerants", found, |fields, found| {
            if let Some(Node::Leaf(leaf)) = fields.node("name") {
                names.push(leaf.text.trim().to_owned());
            }
            given(fields, found)
        });
        for (refrigerant, mark) in described {
            known.add(refrigerant, mark, found);
        }
        names.retain(|name| known.given(name).is_none());
        known.refused = names;
        known
    }

    fn add(&mut self, refrigerant: Refrigerant, mark: Option<Mark>, found: &mut Findings) {
        let name = refrigerant.name();
        if self.given(name).is_some() {
            let message = format!("two refrigerants of the file are named \"{name}\"");
            found.add(Code::DuplicateName, mark, &message, "give each a name of its own");
        } else {
            self.given.push(refrigerant);
        }
    }

    /// These and those of another job planned together with it. The same name must mean the same.
    pub(super) fn join(&mut self, other: Self, mark: Option<Mark>, found: &mut Findings) {
        self.refused.extend(other.refused);
        for refrigerant in other.given {
            match self.given(refrigerant.name()) {
                None => self.given.push(refrigerant),
                Some(ours) if *ours == refrigerant => {}
                Some(_) => {
                    let message = format!("another job describes \"{}\" differently", refrigerant.name());
                    let hint = "make the two the same, or give them different names";
                    found.add(Code::DuplicateName, mark, &message, hint);
                }
            }
        }
    }

    /// One that a job file brings, by its name.
    pub fn named(&self, name: &str) -> Option<Refrigerant> {
        self.given(name).cloned()
    }

    /// These and those of other jobs; where both describe a name, these count.
    pub fn and(mut self, other: &Self) -> Self {
        for refrigerant in &other.given {
            if self.given(refrigerant.name()).is_none() {
                self.given.push(refrigerant.clone());
            }
        }
        self
    }

    fn given(&self, name: &str) -> Option<&Refrigerant> {
        self.given.iter().find(|given| given.name().eq_ignore_ascii_case(name.trim()))
    }

    /// The refrigerant of a name.
    pub(super) fn find(&self, value: Value, found: &mut Findings) -> Option<Refrigerant> {
        self.find_or(value, &[], found)
    }

    /// The refrigerant of a name where one of these words could stand too, and doesn't.
    pub(super) fn find_or(&self, value: Value, words: &[&str], found: &mut Findings) -> Option<Refrigerant> {
        let name = value.text(found)?;
        self.find_name(&name, words, value, found)
    }

    /// Every refrigerant of a list: in YAML a list, in CSV one cell with `;` between.
    pub(super) fn list(&self, fields: Fields, key: &'static str, found: &mut Findings) -> Vec<Refrigerant> {
        let mut all = Vec::new();
        match fields.node(key) {
            Some(Node::Leaf(leaf)) => {
                let value = Value { key, leaf };
                let names = value.text(found).unwrap_or_default();
                let names = names.split(';').map(str::trim).filter(|name| !name.is_empty());
                all.extend(names.filter_map(|name| self.find_name(name, &[], value, found)));
            }
            _ => all.extend(fields.values(key, found).into_iter().filter_map(|value| self.find(value, found))),
        }
        let mut distinct: Vec<Refrigerant> = Vec::new();
        for refrigerant in all {
            if !distinct.contains(&refrigerant) {
                distinct.push(refrigerant);
            }
        }
        distinct
    }

    fn find_name(&self, name: &str, words: &[&str], value: Value, found: &mut Findings) -> Option<Refrigerant> {
        if let Some(given) = self.given(name) {
            return Some(given.clone());
        }
        match Refrigerant::find(name) {
            Ok(refrigerant) => Some(refrigerant),
            // The file is refused for its description already.
            Err(_) if self.refused.iter().any(|refused| refused.eq_ignore_ascii_case(name)) => None,
            Err(error) => {
                let code = match error {
                    LookupError::Refused { .. } => Code::RefusedGas,
                    LookupError::Unknown { .. }
                    | LookupError::NotListed { .. }
                    | LookupError::Ambiguous { .. }
                    | LookupError::LeftOut { .. }
                    | LookupError::Damaged { .. } => Code::UnknownRefrigerant,
                };
                if let Some(meant) = meant(name, words.iter().copied()) {
                    let message = format!("`{name}` isn't one of the words here: {}", words.join(", "));
                    value.problem(Code::BadWord, &message, &format!("write `{meant}`"), found);
                    return None;
                }
                let ours = self.given.iter().map(Refrigerant::name);
                // A number by itself is nobody else's, be it ever so near.
                let near = match error {
                    LookupError::NotListed { .. } => None,
                    _ => nearest(name, words.iter().copied().chain(ours)),
                };
                let otherwise = match error {
                    LookupError::Ambiguous { .. } => "write the letters behind its number too",
                    _ => "check its spelling, or describe it under `refrigerants:` in the job file",
                };
                let hint = near.map_or_else(|| otherwise.into(), |near| format!("did you mean `{near}`?"));
                let hint = if code == Code::RefusedGas { "plan it apart, with equipment made for it" } else { &hint };
                value.problem(code, &error.to_string(), hint, found);
                None
            }
        }
    }
}

fn given(fields: Fields, found: &mut Findings) -> Option<(Refrigerant, Option<Mark>)> {
    let before = found.problems.len();
    let name = fields.read("name", found, Value::text);
    let group = fields.read("group", found, |value, found| {
        let text = value.text(found)?;
        let group = text.parse::<SafetyGroup>();
        group.map_err(|error| value.problem(Code::BadWord, &error.to_string(), "see its data sheet", found)).ok()
    });
    let points = fields.each("liquid_density", found, |point, found| {
        let at = point.read("at", found, Value::temperature);
        at.zip(point.read("density", found, Value::density))
    });
    let pressure_at_131f = fields.read("pressure_at_131F", found, Value::pressure);
    let pressure_at_65c = fields.read("pressure_at_65C", found, Value::pressure);
    let critical = fields.read("critical", found, Value::temperature);
    let source = fields.read("source", found, Value::text);
    if found.problems.len() > before {
        return None;
    }
    let description = GivenRefrigerant {
        name: name?,
        group,
        points,
        pressure_at_131f: pressure_at_131f?,
        pressure_at_65c,
        critical,
        source: source?,
    };
    let mark = fields.mark("name");
    match Refrigerant::given(description) {
        Ok(refrigerant) => Some((refrigerant, mark)),
        Err(error) => {
            for problem in &error.problems {
                let mark = fields.mark(key_of(problem));
                found.add(Code::GivenRefrigerant, mark, &problem.to_string(), "compare it with its data sheet");
            }
            None
        }
    }
}

/// The key that a problem of a described refrigerant is about.
const fn key_of(problem: &GivenProblem) -> &'static str {
    match problem {
        GivenProblem::Name
        | GivenProblem::InTable { .. }
        | GivenProblem::NameTaken { .. }
        | GivenProblem::OutOfRange { .. } => "name",
        GivenProblem::TooFewPoints { .. } | GivenProblem::NotRising { .. } | GivenProblem::NotFalling { .. } => {
            "liquid_density"
        }
        GivenProblem::PressureNotRising => "pressure_at_65C",
        GivenProblem::CriticalTooLow => "critical",
        GivenProblem::NoSource => "source",
    }
}
