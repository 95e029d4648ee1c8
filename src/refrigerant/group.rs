//! The safety groups of ASHRAE 34, and the grades that say how well the table knows a refrigerant.

use std::fmt;
use std::str::FromStr;

/// A safety group of ASHRAE 34: toxicity, then flammability.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum SafetyGroup {
    A1,
    A2L,
    A2,
    A3,
    B1,
    B2L,
    B2,
    B3,
}

/// The letter of a safety group, the lower toxicity first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Toxicity {
    /// Lower toxicity.
    A,
    /// Higher toxicity.
    B,
}

/// The number of a safety group, the least flammable first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Flammability {
    /// 1: no flame propagation.
    None,
    /// 2L: lower flammability, slow to burn.
    LowerSlow,
    /// 2: lower flammability.
    Lower,
    /// 3: higher flammability.
    Higher,
}

/// A text that is no safety group.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is no safety group: write one of A1, A2L, A2, A3, B1, B2L, B2, B3")]
pub struct SafetyGroupError {
    /// What stood in its place.
    pub text: String,
}

impl SafetyGroup {
    /// All of them, in the order of the standard.
    pub const ALL: [Self; 8] = [Self::A1, Self::A2L, Self::A2, Self::A3, Self::B1, Self::B2L, Self::B2, Self::B3];

    /// How it burns.
    pub const fn flammability(self) -> Flammability {
        match self {
            Self::A1 | Self::B1 => Flammability::None,
            Self::A2L | Self::B2L => Flammability::LowerSlow,
            Self::A2 | Self::B2 => Flammability::Lower,
            Self::A3 | Self::B3 => Flammability::Higher,
        }
    }

    /// How toxic it is.
    pub const fn toxicity(self) -> Toxicity {
        match self {
            Self::A1 | Self::A2L | Self::A2 | Self::A3 => Toxicity::A,
            Self::B1 | Self::B2L | Self::B2 | Self::B3 => Toxicity::B,
        }
    }

    /// Whether it burns at all: 2L, 2 and 3.
    pub fn is_flammable(self) -> bool {
        self.flammability() > Flammability::None
    }

    /// The group as toxic and as flammable as the worse of two.
    pub fn worse(self, other: Self) -> Self {
        let toxicity = self.toxicity().max(other.toxicity());
        let flammability = self.flammability().max(other.flammability());
        match (toxicity, flammability) {
            (Toxicity::A, Flammability::None) => Self::A1,
            (Toxicity::A, Flammability::LowerSlow) => Self::A2L,
            (Toxicity::A, Flammability::Lower) => Self::A2,
            (Toxicity::A, Flammability::Higher) => Self::A3,
            (Toxicity::B, Flammability::None) => Self::B1,
            (Toxicity::B, Flammability::LowerSlow) => Self::B2L,
            (Toxicity::B, Flammability::Lower) => Self::B2,
            (Toxicity::B, Flammability::Higher) => Self::B3,
        }
    }
}

impl fmt::Display for SafetyGroup {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::A1 => "A1",
            Self::A2L => "A2L",
            Self::A2 => "A2",
            Self::A3 => "A3",
            Self::B1 => "B1",
            Self::B2L => "B2L",
            Self::B2 => "B2",
            Self::B3 => "B3",
        })
    }
}

impl FromStr for SafetyGroup {
    type Err = SafetyGroupError;

    /// Upper or lower case, spaces around it ignored.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let wanted = text.trim();
        Self::ALL
            .into_iter()
            .find(|group| group.to_string().eq_ignore_ascii_case(wanted))
            .ok_or_else(|| SafetyGroupError { text: text.to_owned() })
    }
}

/// How well the table knows a refrigerant, and so what is allowed for on the safe side.
///
/// The sizes of the allowances are a judgement from how far the models of CoolProp stray from each other and from
/// ideal mixing (see `data/README.md`); no standard states them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grade {
    /// A single component, or a blend each of whose pairs has a model fitted to densities.
    A,
    /// At least one pair is fitted to vapour-liquid equilibrium alone.
    B,
    /// At least one pair is estimated, or the density is known to be doubtful.
    C,
}

impl Grade {
    /// The part of the density that a limit leaves out: 0, 0.01 or 0.03.
    pub const fn density_allowance(self) -> f64 {
        match self {
            Self::A => 0.0,
            Self::B => 0.01,
            Self::C => 0.03,
        }
    }

    /// The part of the absolute pressure that is added before a cylinder's pressure is judged: 0, 0.02 or 0.10.
    pub const fn pressure_allowance(self) -> f64 {
        match self {
            Self::A => 0.0,
            Self::B => 0.02,
            Self::C => 0.10,
        }
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::A => "A",
            Self::B => "B",
            Self::C => "C",
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn groups_read_what_they_print() {
        for group in SafetyGroup::ALL {
            assert_eq!(group.to_string().parse(), Ok(group));
            assert_eq!(group.to_string().to_lowercase().parse(), Ok(group));
        }
        assert!("A4".parse::<SafetyGroup>().unwrap_err().to_string().contains("A2L"));
        assert!("".parse::<SafetyGroup>().is_err());
    }

    #[test]
    fn the_worse_of_two_groups_keeps_both_dangers() {
        assert_eq!(SafetyGroup::B1.worse(SafetyGroup::A3), SafetyGroup::B3);
        assert_eq!(SafetyGroup::A2L.worse(SafetyGroup::A2), SafetyGroup::A2);
        assert_eq!(SafetyGroup::A1.worse(SafetyGroup::A1), SafetyGroup::A1);
    }
}
