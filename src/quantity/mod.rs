//! Quantities with their units: parsing what people type, printing what a scale shows.
//!
//! Weights are exact decimals, because a limit that is rounded the wrong way by a hundredth is a
//! limit passed. Temperatures, pressures and densities are binary floating-point numbers, because
//! property data is.
//!
//! This room must not know what any quantity is for: no cylinder, no refrigerant, no file.

mod money;
mod physical;
mod text;
mod weight;

pub use money::Money;
pub use physical::{AbsolutePressure, Density, GaugePressure, Temperature};
pub use rust_decimal::Decimal;
pub use text::{
    A_DENSITY, A_PERCENT, A_PRESSURE, A_TEMPERATURE, A_WEIGHT, Pressure, QuantityError, Span, parse_amount,
    parse_density, parse_percent, parse_pressure, parse_span, parse_temperature, parse_weight,
};
pub use weight::{Division, DivisionError, Marks, Percent, Unit, Weight};
