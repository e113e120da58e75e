//! The chips: what each can do, its steps and its limits.
//!
//! Sources: datasheets MAX31855 (19-5793 rev 5), MAX31856 (19-7534 rev 0), MAX6675 (19-2235
//! rev 3), `MCP960x` (DS20005426G).

use core::fmt;
use core::ops::RangeInclusive;

use crate::constant;
use crate::thermocouple::Thermocouple;
use crate::units::{Celsius, CelsiusDelta};

/// A thermocouple amplifier chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Amplifier {
    /// Straight-line chip, 0.25 °C steps, one part per thermocouple type.
    Max31855,
    /// Linearising chip, 2⁻⁷ °C steps, all eight types.
    Max31856,
    /// Straight-line chip for type K only, 0.25 °C steps, above 0 °C.
    Max6675,
    /// Linearising chip on I2C, 0.0625 °C steps.
    Mcp9600,
}

/// How a chip gets from emf to the temperature it reports.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Linearity {
    /// By the type's reference function.
    Reference,
    /// By one slope in mV/°C, as if the type were a straight line.
    StraightLine(f64),
}

impl Amplifier {
    /// Every chip.
    pub const ALL: [Self; 4] = [Self::Max31855, Self::Max31856, Self::Max6675, Self::Mcp9600];

    /// The chip's name as written in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Max31855 => "max31855",
            Self::Max31856 => "max31856",
            Self::Max6675 => "max6675",
            Self::Mcp9600 => "mcp9600",
        }
    }

    /// The chip of a name, capitals or not.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|chip| chip.name().eq_ignore_ascii_case(text.trim()))
    }

    /// Whether the chip is made for the thermocouple type.
    #[must_use]
    pub fn serves(self, thermocouple: Thermocouple) -> bool {
        self.linearity(thermocouple).is_some()
    }

    /// One step of the junction's register.
    #[must_use]
    pub const fn junction_step(self) -> CelsiusDelta {
        match self {
            Self::Max31855 | Self::Max6675 => constant!(CelsiusDelta, 0.25),
            Self::Max31856 => constant!(CelsiusDelta, 0.0078125), // 2⁻⁷
            Self::Mcp9600 => constant!(CelsiusDelta, 0.0625),
        }
    }

    /// One step of the cold junction's register; `None` where it is not reported.
    #[must_use]
    pub const fn cold_junction_step(self) -> Option<CelsiusDelta> {
        match self {
            Self::Max31855 | Self::Mcp9600 => Some(constant!(CelsiusDelta, 0.0625)),
            Self::Max31856 => Some(constant!(CelsiusDelta, 0.015625)), // 2⁻⁶
            Self::Max6675 => None,
        }
    }

    /// Whether a healthy reading may stand still for longer than noise allows on a fine chip
    /// (SR-04): its step is far above the noise.
    #[must_use]
    pub const fn is_coarse(self) -> bool {
        match self {
            Self::Max31855 | Self::Max6675 => true,
            Self::Max31856 | Self::Mcp9600 => false,
        }
    }

    /// How the chip linearises the type; `None` if it is not made for it.
    pub(super) const fn linearity(self, thermocouple: Thermocouple) -> Option<Linearity> {
        match self {
            Self::Max31856 | Self::Mcp9600 => Some(Linearity::Reference),
            Self::Max31855 => match max31855_slope_mv_per_c(thermocouple) {
                Some(slope) => Some(Linearity::StraightLine(slope)),
                None => None,
            },
            Self::Max6675 => match thermocouple {
                Thermocouple::K => Some(Linearity::StraightLine(0.041)), // datasheet p. 4: 41 µV/°C
                Thermocouple::B
                | Thermocouple::E
                | Thermocouple::J
                | Thermocouple::N
                | Thermocouple::R
                | Thermocouple::S
                | Thermocouple::T => None,
            },
        }
    }

    /// The register words that can be: junction.
    pub(super) const fn junction_words(self) -> RangeInclusive<i32> {
        match self {
            Self::Max31855 => -8192..=8191,     // 14 bit, signed
            Self::Max31856 => -262144..=262143, // 19 bit, signed
            Self::Max6675 => 0..=4095,          // 12 bit
            Self::Mcp9600 => -32768..=32767,    // 16 bit, signed
        }
    }

    /// The register words that can be: cold junction.
    pub(super) const fn cold_junction_words(self) -> RangeInclusive<i32> {
        match self {
            Self::Max31855 => -2048..=2047,  // 12 bit, signed
            Self::Max31856 => -8192..=8191,  // 14 bit, signed
            Self::Max6675 => 0..=0,          // not reported
            Self::Mcp9600 => -32768..=32767, // 16 bit, signed
        }
    }

    /// The junction temperatures a linearising chip reports for a type, beyond which it holds the
    /// end and flags it. Type K: datasheets; the others: the reference function's range, from
    /// −200 °C and for type B from 250 °C (from memory of the datasheets' tables).
    pub(super) fn linearised_range(thermocouple: Thermocouple) -> RangeInclusive<Celsius> {
        let range = thermocouple.range();
        let floor = match thermocouple {
            Thermocouple::B => constant!(Celsius, 250.0),
            Thermocouple::E
            | Thermocouple::J
            | Thermocouple::K
            | Thermocouple::N
            | Thermocouple::R
            | Thermocouple::S
            | Thermocouple::T => constant!(Celsius, -200.0),
        };
        range.start().hotter(floor)..=*range.end()
    }
}

impl fmt::Display for Amplifier {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// The straight line of each MAX31855 part, in mV/°C (datasheet, "Temperature Conversion").
const fn max31855_slope_mv_per_c(thermocouple: Thermocouple) -> Option<f64> {
    match thermocouple {
        Thermocouple::K => Some(0.041276),
        Thermocouple::J => Some(0.057953),
        Thermocouple::N => Some(0.036256),
        Thermocouple::S => Some(0.009587),
        Thermocouple::T => Some(0.05218),
        Thermocouple::E => Some(0.076373),
        Thermocouple::R => Some(0.010506),
        Thermocouple::B => None, // no such part
    }
}
