//! Density, pressure and the liquid-full temperature: the best value, the safe value, or why there is none.

use super::{Refrigerant, Temperature};
use crate::quantity::{AbsolutePressure, Density, GaugePressure};

/// Nearer to the critical temperature than this, in kelvin, liquid expands too steeply to set a limit by.
const NEAR_CRITICAL: f64 = 5.0;

/// The temperature that P200's test pressure goes by, 65 °C.
pub(super) const UN_PRESSURE_AT: Temperature = Temperature::from_celsius(65.0);

/// Why there is no density or pressure at a temperature.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PropertyError {
    /// At or above the critical temperature.
    #[error(
        "{refrigerant} has no liquid at {at}: its critical temperature is {critical}. No fill limit can be set there: \
         keep it out of refillable recovery cylinders that may get so warm"
    )]
    NoLiquid {
        /// Its name.
        refrigerant: String,
        /// The temperature asked for.
        at: Temperature,
        /// Its critical temperature.
        critical: Temperature,
    },
    /// Less than 5 K below the critical temperature.
    #[error(
        "{refrigerant} at {at} is within 9 F (5 K) of its critical temperature of {critical}, where liquid expands too \
         steeply to set a fill limit: use what the refrigerant's maker states for its cylinders"
    )]
    NearCritical {
        /// Its name.
        refrigerant: String,
        /// The temperature asked for.
        at: Temperature,
        /// Its critical temperature.
        critical: Temperature,
    },
    /// Outside the temperatures at which the values are known.
    #[error("{what} of {refrigerant} at {at} is not known: {place} {}. {remedy}", range_in_words(.from, .to))]
    Outside {
        /// Its name.
        refrigerant: String,
        /// `the liquid density` or `the bubble pressure`.
        what: &'static str,
        /// The temperature asked for.
        at: Temperature,
        /// `the table reaches` or `the job file states it`.
        place: &'static str,
        /// The lowest temperature at which it is known.
        from: Temperature,
        /// The highest.
        to: Temperature,
        /// What to do.
        remedy: &'static str,
    },
    /// A mixed charge without any possible content named.
    #[error("nothing is said of what the mixed charge may contain: have it identified first")]
    NothingNamed,
}

fn range_in_words(from: &Temperature, to: &Temperature) -> String {
    if from == to { format!("at {from} only") } else { format!("from {from} to {to}") }
}

/// What P200 asks for, the absolute pressure less 1 bar, as a gauge pressure.
pub(super) fn less_one_bar(pressure: AbsolutePressure) -> GaugePressure {
    GaugePressure::from_bar(pressure.bar() - 1.0)
}

/// The temperature at which a cylinder that holds so much becomes liquid-full.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LiquidFull {
    /// At this temperature.
    At(Temperature),
    /// Higher than this, where what is known of the refrigerant ends.
    Beyond(Temperature),
    /// Already below this, where what is known begins: far too full.
    Below(Temperature),
}

impl Refrigerant {
    /// The density of the saturated liquid (at its bubble point): the best value, without an allowance.
    ///
    /// # Errors
    /// Where there is no liquid, within 5 K of the critical temperature, or outside the known range.
    pub fn liquid_density(&self, at: Temperature) -> Result<Density, PropertyError> {
        self.check_critical(at)?;
        self.record.density.at(at).ok_or_else(|| self.outside("the liquid density", at, self.record.density.range()))
    }

    /// The bubble pressure: the best value, without an allowance.
    ///
    /// For a refrigerant of a job file it is known at 131 °F, and up to 65 °C where the file states that pressure
    /// too (the logarithm of the pressure interpolated in temperature).
    ///
    /// # Errors
    /// Where there is no liquid, within 5 K of the critical temperature, or outside the known range.
    pub fn bubble_pressure(&self, at: Temperature) -> Result<AbsolutePressure, PropertyError> {
        self.check_critical(at)?;
        self.record.pressure.at(at).ok_or_else(|| self.outside("the bubble pressure", at, self.record.pressure.range()))
    }

    /// [`liquid_density`](Self::liquid_density) less the allowance of the grade: what a limit is computed with.
    ///
    /// # Errors
    /// As there.
    pub fn safe_density(&self, at: Temperature) -> Result<Density, PropertyError> {
        Ok(self.liquid_density(at)?.scaled(self.density_factor()))
    }

    /// [`bubble_pressure`](Self::bubble_pressure) plus the allowance of the grade, on the absolute pressure: what a
    /// cylinder's marked pressure is judged by. Below the temperatures at which a job file states the pressure of its
    /// refrigerant it is the lowest stated one, which the true pressure can't reach there.
    ///
    /// # Errors
    /// As there.
    pub fn safe_pressure(&self, at: Temperature) -> Result<AbsolutePressure, PropertyError> {
        let lowest_stated = self.record.pressure.range().0;
        let asked = if self.is_given() && at.is_below(lowest_stated) { lowest_stated } else { at };
        self.check_critical(at)?;
        Ok(self.bubble_pressure(asked)?.scaled(self.pressure_factor()))
    }

    /// The test pressure that a cylinder needs by packing instruction P200 of the UN Model Regulations: the safe pressure
    /// at 65 °C less 1 bar. Where that is nearer than 5 K to the critical point, what is listed or computed for it by
    /// name.
    ///
    /// # Errors
    /// As [`safe_pressure`](Self::safe_pressure) at 65 °C.
    pub fn un_test_pressure(&self) -> Result<GaugePressure, PropertyError> {
        match self.un_named_test_pressure() {
            Some(named) => Ok(named),
            None => self.safe_pressure(UN_PRESSURE_AT).map(less_one_bar),
        }
    }

    /// The temperature at which liquid of this density on the whole fills the cylinder: ρ(T) = net weight ÷ volume,
    /// with the safe density.
    pub fn liquid_full_temperature(&self, density: Density) -> LiquidFull {
        let (from, to) = self.range();
        let best = density.kg_per_m3() / self.density_factor();
        match self.record.density.temperature_of(best) {
            Some(kelvin) => LiquidFull::At(Temperature::from_kelvin(kelvin)),
            // A density that is no number is never taken for a safe one.
            None if self.record.density.at(to).is_some_and(|lowest| best < lowest.kg_per_m3()) => {
                LiquidFull::Beyond(to)
            }
            None => LiquidFull::Below(from),
        }
    }

    fn check_critical(&self, at: Temperature) -> Result<(), PropertyError> {
        let Some(critical) = self.record.critical else { return Ok(()) };
        let refrigerant = self.record.name.clone();
        if !at.is_below(critical) {
            Err(PropertyError::NoLiquid { refrigerant, at, critical })
        } else if critical.plus_kelvin(-NEAR_CRITICAL).is_below(at) {
            Err(PropertyError::NearCritical { refrigerant, at, critical })
        } else {
            Ok(())
        }
    }

    fn outside(&self, what: &'static str, at: Temperature, (from, to): (Temperature, Temperature)) -> PropertyError {
        let (place, remedy) = if self.is_given() {
            ("the job file states it", "Add the value from the same source to the job file")
        } else {
            ("the table reaches", "Ask for a temperature within that")
        };
        PropertyError::Outside { refrigerant: self.record.name.clone(), what, at, place, from, to, remedy }
    }
}
