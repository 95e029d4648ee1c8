//! Temperature, absolute and gauge pressure, and density.

use std::fmt;

/// Offset between the Celsius and the Kelvin scale (exact by definition).
const ZERO_CELSIUS: f64 = 273.15;
/// Pascals in one pound-force per square inch (exact from the definitions of pound, inch and standard gravity,
/// rounded to the last digit that a 64-bit number holds).
const PSI: f64 = 6_894.757_293_168_361;
/// The standard atmosphere in pascals, exact: the difference between gauge and absolute pressure.
const ATMOSPHERE: f64 = 101_325.0;
/// Kilograms per cubic metre in one pound per cubic foot: 0.45359237 / 0.3048³.
const POUND_PER_CUBIC_FOOT: f64 = 0.453_592_37 / (0.3048 * 0.3048 * 0.3048);

/// A thermodynamic temperature. Two that differ by less than 1e-6 K are the same temperature.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Temperature {
    kelvin: f64,
}

impl Temperature {
    /// Differences below this, in kelvin, come from converting units and mean nothing.
    pub const TOLERANCE: f64 = 1e-6;

    /// From kelvin. The readers of files let no NaN and nothing infinite come here.
    pub const fn from_kelvin(kelvin: f64) -> Self {
        Self { kelvin }
    }

    /// From degrees Celsius.
    pub const fn from_celsius(celsius: f64) -> Self {
        Self { kelvin: celsius + ZERO_CELSIUS }
    }

    /// From degrees Fahrenheit.
    pub const fn from_fahrenheit(fahrenheit: f64) -> Self {
        Self { kelvin: (fahrenheit - 32.0) / 1.8 + ZERO_CELSIUS }
    }

    /// In kelvin.
    pub const fn kelvin(self) -> f64 {
        self.kelvin
    }

    /// In degrees Celsius.
    pub const fn celsius(self) -> f64 {
        self.kelvin - ZERO_CELSIUS
    }

    /// In degrees Fahrenheit.
    pub const fn fahrenheit(self) -> f64 {
        (self.kelvin - ZERO_CELSIUS) * 1.8 + 32.0
    }

    /// Whether this lies below `other` by more than the tolerance.
    pub fn is_below(self, other: Self) -> bool {
        self.kelvin < other.kelvin - Self::TOLERANCE
    }

    /// The higher of two.
    pub fn max(self, other: Self) -> Self {
        Self { kelvin: self.kelvin.max(other.kelvin) }
    }

    /// This temperature, `kelvin` higher.
    pub const fn plus_kelvin(self, kelvin: f64) -> Self {
        Self { kelvin: self.kelvin + kelvin }
    }
}

impl fmt::Display for Temperature {
    /// Degrees Fahrenheit to a tenth, without a needless `.0`: `130 F`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenths = (self.fahrenheit() * 10.0).round() / 10.0;
        write!(f, "{tenths} F")
    }
}

/// A pressure above vacuum.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct AbsolutePressure {
    pascal: f64,
}

impl AbsolutePressure {
    /// From pascals.
    pub const fn from_pascal(pascal: f64) -> Self {
        Self { pascal }
    }

    /// From bar.
    pub const fn from_bar(bar: f64) -> Self {
        Self { pascal: bar * 1e5 }
    }

    /// From pounds-force per square inch, absolute.
    pub const fn from_psia(psia: f64) -> Self {
        Self { pascal: psia * PSI }
    }

    /// In pascals.
    pub const fn pascal(self) -> f64 {
        self.pascal
    }

    /// In bar.
    pub const fn bar(self) -> f64 {
        self.pascal / 1e5
    }

    /// What a gauge shows at the standard atmosphere.
    pub const fn gauge(self) -> GaugePressure {
        GaugePressure { pascal: self.pascal - ATMOSPHERE }
    }

    /// This pressure times `factor`, for an allowance that is taken on the absolute pressure.
    pub const fn scaled(self, factor: f64) -> Self {
        Self { pascal: self.pascal * factor }
    }
}

/// A pressure above the standard atmosphere of 101.325 kPa.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct GaugePressure {
    pascal: f64,
}

impl GaugePressure {
    /// From pascals.
    pub const fn from_pascal(pascal: f64) -> Self {
        Self { pascal }
    }

    /// From bar.
    pub const fn from_bar(bar: f64) -> Self {
        Self { pascal: bar * 1e5 }
    }

    /// From pounds-force per square inch, gauge.
    pub const fn from_psig(psig: f64) -> Self {
        Self { pascal: psig * PSI }
    }

    /// In pascals.
    pub const fn pascal(self) -> f64 {
        self.pascal
    }

    /// In bar.
    pub const fn bar(self) -> f64 {
        self.pascal / 1e5
    }

    /// In pounds-force per square inch.
    pub const fn psig(self) -> f64 {
        self.pascal / PSI
    }

    /// This pressure and a difference of pressures, which is given as a gauge pressure: so much above the atmosphere.
    pub const fn plus(self, difference: Self) -> Self {
        Self { pascal: self.pascal + difference.pascal }
    }

    /// The same pressure above vacuum.
    pub const fn absolute(self) -> AbsolutePressure {
        AbsolutePressure { pascal: self.pascal + ATMOSPHERE }
    }

    /// This pressure times `factor`.
    pub const fn scaled(self, factor: f64) -> Self {
        Self { pascal: self.pascal * factor }
    }
}

impl fmt::Display for GaugePressure {
    /// psig to a tenth: `300.8 psig`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} psig", self.psig())
    }
}

/// Mass per volume.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Density {
    kg_per_m3: f64,
}

impl Density {
    /// Water at 60 °F (15.56 °C), the density that turns a stamped water capacity into a volume:
    /// 999.017 kg/m³ (IAPWS-95). Weighing in air would give 0.11 % more volume; this is the safe reading.
    pub const WATER: Self = Self { kg_per_m3: 999.017 };

    /// From kilograms per cubic metre.
    pub const fn from_kg_per_m3(kg_per_m3: f64) -> Self {
        Self { kg_per_m3 }
    }

    /// From pounds per cubic foot.
    pub const fn from_lb_per_ft3(lb_per_ft3: f64) -> Self {
        Self { kg_per_m3: lb_per_ft3 * POUND_PER_CUBIC_FOOT }
    }

    /// In kilograms per cubic metre.
    pub const fn kg_per_m3(self) -> f64 {
        self.kg_per_m3
    }

    /// As a multiple of the density of water at 60 °F: the weight that fills a cylinder of water capacity 1.
    pub const fn relative_to_water(self) -> f64 {
        self.kg_per_m3 / Self::WATER.kg_per_m3
    }

    /// This density times `factor`, for an allowance.
    pub const fn scaled(self, factor: f64) -> Self {
        Self { kg_per_m3: self.kg_per_m3 * factor }
    }

    /// The lower of two.
    pub fn min(self, other: Self) -> Self {
        Self { kg_per_m3: self.kg_per_m3.min(other.kg_per_m3) }
    }
}
