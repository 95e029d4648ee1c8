//! Quantities with their units: parsing what people type, printing what a scale shows.
//!
//! Weights are exact decimals, because a limit that is rounded the wrong way by a hundredth is a
//! limit passed. Temperatures, pressures and densities are binary floating-point numbers, because
//! property data is.
//!
//! This room must not know what any quantity is for: no cylinder, no refrigerant, no file.

mod physical;

pub use physical::{AbsolutePressure, Density, GaugePressure, Temperature};
