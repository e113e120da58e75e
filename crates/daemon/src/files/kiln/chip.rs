//! What thermocouple types and amplifier chips can measure.

use super::words::{ChipWord, ToleranceClass, TypeLetter};

impl TypeLetter {
    /// Where the type's reference function ends, °C (NIST Monograph 175, IEC 60584-1).
    pub(super) const fn top_c(self) -> f64 {
        match self {
            Self::B => 1820.0,
            Self::E => 1000.0,
            Self::J => 1200.0,
            Self::K => 1372.0,
            Self::N => 1300.0,
            Self::R | Self::S => 1768.1,
            Self::T => 400.0,
        }
    }

    /// Highest use of a protected wire of that thickness, °C (sensor makers' tables); `None` where
    /// no table was found.
    pub(super) fn wire_lasts_to_c(self, wire_mm: f64) -> Option<f64> {
        const BASE: [(f64, f64); 5] =
            [(3.25, 1260.0), (1.63, 1090.0), (0.81, 980.0), (0.51, 870.0), (0.0, 760.0)];
        match self {
            Self::K | Self::N => {
                BASE.iter().find(|(least_mm, _)| wire_mm >= *least_mm).map(|(_, top_c)| *top_c)
            }
            Self::R | Self::S => Some(1480.0),
            Self::B | Self::E | Self::J | Self::T => None,
        }
    }

    /// Whether that tolerance class exists for the type (IEC 60584-1 has no class 1 for type B).
    pub(super) fn has_class(self, class: ToleranceClass) -> bool {
        !(self == Self::B && class == ToleranceClass::One)
    }
}

impl ChipWord {
    /// Whether the chip reads that type (data sheets: MAX31855 19-5793, MAX6675 19-2235; the
    /// others read all eight).
    pub(super) fn reads(self, letter: TypeLetter) -> bool {
        match self {
            Self::Max6675 => letter == TypeLetter::K,
            Self::Max31855 => letter != TypeLetter::B,
            Self::Max31856 | Self::Mcp9600 => true,
        }
    }

    /// The hottest it can say of that type, °C (the same data sheets).
    pub(super) fn top_c(self, letter: TypeLetter) -> f64 {
        let own_c = match self {
            Self::Max6675 => 1023.75,
            Self::Max31855 if letter == TypeLetter::K => 1350.0,
            Self::Max31855 | Self::Max31856 | Self::Mcp9600 => letter.top_c(),
        };
        if own_c < letter.top_c() { own_c } else { letter.top_c() }
    }

    /// Whether it is on I2C; else on SPI.
    pub(super) const fn is_on_i2c(self) -> bool {
        match self {
            Self::Mcp9600 => true,
            Self::Max31855 | Self::Max31856 | Self::Max6675 => false,
        }
    }
}
