//! What a cylinder is asked to take, and under which terms.

use jiff::civil::Date;

use super::{Contents, Cylinder};
use crate::quantity::{Division, GaugePressure, Percent, Temperature, Unit, Weight};
use crate::refrigerant::{Fluid, LiquidFull};

/// State of a refrigerant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Condition {
    /// As from a system that ran.
    Clean,
    /// With water in it.
    Wet,
    /// From a burnt-out compressor: acid.
    Burnout,
    /// More than one refrigerant.
    Mixed,
}

impl Condition {
    /// Every condition with its word in files and reports.
    pub const ALL: [(Self, &'static str); 4] =
        [(Self::Clean, "clean"), (Self::Wet, "wet"), (Self::Burnout, "burnout"), (Self::Mixed, "mixed")];

    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::Wet => "wet",
            Self::Burnout => "burnout",
            Self::Mixed => "mixed",
        }
    }
}

/// What becomes of a refrigerant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fate {
    /// To a reclaimer.
    Reclaim,
    /// Back into a system of the same owner.
    Reuse,
    /// Destroyed.
    Destroy,
}

impl Fate {
    /// Every fate with its word in files and reports.
    pub const ALL: [(Self, &'static str); 3] =
        [(Self::Reclaim, "reclaim"), (Self::Reuse, "reuse"), (Self::Destroy, "destroy")];

    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Reclaim => "reclaim",
            Self::Reuse => "reuse",
            Self::Destroy => "destroy",
        }
    }
}

/// Whose transport rules bound the filling, beside the fill fraction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rules {
    /// 49 CFR 173.304 and 173.304a.
    Us,
    /// UN Model Regulations, packing instruction P200.
    Un,
    /// Both.
    Both,
}

impl Rules {
    /// Every choice with its word in files.
    pub const ALL: [(Self, &'static str); 3] = [(Self::Us, "us"), (Self::Un, "un"), (Self::Both, "both")];

    /// Whether the United States' rules apply.
    pub const fn us(self) -> bool {
        matches!(self, Self::Us | Self::Both)
    }

    /// Whether the UN Model Regulations apply.
    pub const fn un(self) -> bool {
        matches!(self, Self::Un | Self::Both)
    }

    /// What both ask for together.
    pub fn and(self, other: Self) -> Self {
        if self == other { self } else { Self::Both }
    }
}

/// The scale on the job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    /// Its accuracy, kept free below every limit. Zero where the file states none.
    pub accuracy: Weight,
    /// Its smallest step, and the unit in which it is read.
    pub division: Division,
    /// The most that it can weigh.
    pub capacity: Option<Weight>,
}

impl Scale {
    /// Readings closer than this are the same reading: the accuracy, or the division where that is coarser.
    pub fn tolerance(&self) -> Weight {
        self.accuracy.max(self.division.step())
    }

    /// A weight in the unit of the scale, to two decimals, for a sentence.
    pub fn text(&self, weight: Weight) -> String {
        self.division.unit().text(weight)
    }

    /// A temperature in degrees Celsius beside kilograms, else Fahrenheit, for a sentence.
    pub fn temperature(&self, at: Temperature) -> String {
        match self.division.unit() {
            Unit::Kg => format!("{} C", (at.celsius() * 10.0).round() / 10.0),
            Unit::Lb | Unit::LbOz => at.to_string(),
        }
    }

    /// The temperature at which a cylinder is full of liquid, rounded down to a whole degree: nobody is told more than
    /// there is.
    pub fn liquid_full(&self, full: LiquidFull) -> String {
        let whole = |at: Temperature| match self.division.unit() {
            Unit::Kg => format!("{:.0} C", at.celsius().floor()),
            Unit::Lb | Unit::LbOz => format!("{:.0} F", at.fahrenheit().floor()),
        };
        match full {
            LiquidFull::At(at) => whole(at),
            LiquidFull::Beyond(at) => format!("over {}", whole(at)),
            LiquidFull::Below(at) => format!("under {}", whole(at)),
        }
    }

    /// A gauge pressure in bar beside kilograms, else psig, for a sentence.
    pub fn pressure(&self, pressure: GaugePressure) -> String {
        match self.division.unit() {
            Unit::Kg => format!("{:.1} bar", pressure.bar()),
            Unit::Lb | Unit::LbOz => pressure.to_string(),
        }
    }
}

/// The terms under which cylinders are filled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terms {
    /// Share of the volume that liquid may take at the limit temperature; at most 80 %.
    pub fill: Percent,
    /// The limit temperature: at which the liquid takes that share.
    pub at: Temperature,
    /// Whose transport rules.
    pub rules: Rules,
    /// The hottest place in which a filled cylinder will stand, where it is hotter than the rules assume.
    pub hottest: Option<Temperature>,
    /// The heaviest lift that the site allows.
    pub lift_limit: Option<Weight>,
    /// The scale on the job.
    pub scale: Scale,
    /// The day on which the cylinders are filled.
    pub date: Date,
}

impl Terms {
    /// The temperature at which 80 % holds in common practice (no source), 130 °F.
    pub const DEFAULT_TEMPERATURE: Temperature = Temperature::from_fahrenheit(130.0);
    /// The temperature up to which liquid must not fill a cylinder, 131 °F (55 °C): 49 CFR 173.304(b).
    pub const US_FULL_TEMPERATURE: Temperature = Temperature::from_celsius(55.0);
    /// The two temperatures of P200's filling ratio, 50 °C and 60 °C.
    pub const UN_TEMPERATURES: (Temperature, Temperature) =
        (Temperature::from_celsius(50.0), Temperature::from_celsius(60.0));

    /// The terms of a job that states none: 80 % at 130 °F (common practice, no source), United States' rules, no place
    /// hotter than that, no limit of the lift, a scale of this division that is exact and has no end.
    pub fn usual(division: Division, date: Date) -> Self {
        Self {
            fill: Percent::new(80.into()),
            at: Self::DEFAULT_TEMPERATURE,
            rules: Rules::Us,
            hottest: None,
            lift_limit: None,
            scale: Scale { accuracy: Weight::ZERO, division, capacity: None },
            date,
        }
    }

    /// The temperature at which the fill share is taken: the limit temperature, or the hottest place where that is
    /// hotter.
    pub fn fill_temperature(&self) -> Temperature {
        self.hottest.map_or(self.at, |hottest| hottest.max(self.at))
    }

    /// Whether the fill is that of common practice: 80 % at 130 °F.
    pub fn is_usual_fill(&self) -> bool {
        let (at, usual) = (self.fill_temperature(), Self::DEFAULT_TEMPERATURE);
        self.fill == Percent::new(80.into()) && !at.is_below(usual) && !usual.is_below(at)
    }

    /// The temperature at which the service pressure is checked: 131 °F, or the hottest place where that is hotter.
    pub fn pressure_temperature(&self) -> Temperature {
        let usual = Self::US_FULL_TEMPERATURE;
        self.hottest.map_or(usual, |hottest| hottest.max(usual))
    }

    /// Whether P200 bounds the filling: under UN rules, and wherever the limit temperature lies under 130 °F, where a
    /// fill of 80 % alone isn't safe.
    pub fn un_applies(&self) -> bool {
        self.rules.un() || self.at.is_below(Self::DEFAULT_TEMPERATURE)
    }
}

/// What would go into a cylinder: a lot's refrigerant with everything that decides which cylinders may take it.
#[derive(Debug, Clone, PartialEq)]
pub struct Intake {
    /// The refrigerant, or what a mixed charge may contain.
    pub fluid: Fluid,
    /// Its condition.
    pub condition: Condition,
    /// What becomes of it.
    pub fate: Fate,
    /// Whose it is, where stated.
    pub owner: Option<String>,
    /// The job that it is kept for, where it is for reuse and no other lot of that job is like it.
    pub kept_for: Option<String>,
    /// How cylinders are filled.
    pub terms: Terms,
}

impl Intake {
    /// More of what a cylinder holds, in its condition, for whom it is; `None` where nobody knows what that is.
    pub fn more_of(cylinder: &Cylinder, terms: Terms) -> Option<Self> {
        let fluid = cylinder.contents.fluid()?;
        let (condition, fate) = match (&cylinder.contents, &cylinder.kept_for) {
            (Contents::Mixed(_), _) => (Condition::Mixed, Fate::Destroy),
            (_, Some(_)) => (cylinder.condition, Fate::Reuse),
            (_, None) => (cylinder.condition, Fate::Reclaim),
        };
        let (owner, kept_for) = (cylinder.owner.clone(), cylinder.kept_for.clone());
        Some(Self { fluid, condition, fate, owner, kept_for, terms })
    }

    /// The fluid that is in the cylinder once this has gone in: a mixed charge on top of a mixed heel is figured on
    /// both lists.
    pub fn with(&self, cylinder: &Cylinder) -> Fluid {
        match (&self.fluid, &cylinder.contents) {
            (Fluid::Mixed(ours), Contents::Mixed(heel)) => {
                let added = heel.iter().filter(|refrigerant| !ours.contains(refrigerant));
                Fluid::Mixed(ours.iter().chain(added).cloned().collect())
            }
            (fluid, _) => fluid.clone(),
        }
    }
}
