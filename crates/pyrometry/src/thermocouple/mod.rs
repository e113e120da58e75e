//! Thermocouple types and their reference functions.
//!
//! Source: NIST Standard Reference Database 60 / NIST Monograph 175 (ITS-90); IEC 60584-1:2013
//! uses the same functions. Reference junction at 0 °C, positive emf for a hotter junction.
//! Arithmetic is plain or `libm`'s, so results are the same bits on every architecture.

mod base_metal;
mod noble_metal;
mod piece;

use core::fmt;
use core::ops::RangeInclusive;

use crate::constant;
use crate::units::{Celsius, Millivolts};
use piece::Piece;

/// An emf rounded to the 1 µV of the printed tables may lie this far outside a range it belongs to.
const ROUNDING_MV: f64 = 0.0005;

/// A letter-designated thermocouple type (IEC 60584-1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Thermocouple {
    /// Platinum-30 % rhodium / platinum-6 % rhodium.
    B,
    /// Nickel-chromium / copper-nickel.
    E,
    /// Iron / copper-nickel.
    J,
    /// Nickel-chromium / nickel-aluminium.
    K,
    /// Nickel-chromium-silicon / nickel-silicon.
    N,
    /// Platinum-13 % rhodium / platinum.
    R,
    /// Platinum-10 % rhodium / platinum.
    S,
    /// Copper / copper-nickel.
    T,
}

/// A temperature or emf for which a type's reference function has no answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// The type asked.
    pub thermocouple: Thermocouple,
    /// What it was asked about.
    pub given: Given,
}

/// What a reference function was asked about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Given {
    /// A junction temperature.
    Junction(Celsius),
    /// An emf.
    Emf(Millivolts),
}

impl Thermocouple {
    /// Every type, in the order of the letters.
    pub const ALL: [Self; 8] = [Self::B, Self::E, Self::J, Self::K, Self::N, Self::R, Self::S, Self::T];

    /// The type's letter.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::B => 'B',
            Self::E => 'E',
            Self::J => 'J',
            Self::K => 'K',
            Self::N => 'N',
            Self::R => 'R',
            Self::S => 'S',
            Self::T => 'T',
        }
    }

    /// The type of a letter, capital or small.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut letters = text.trim().chars();
        let letter = letters.next()?.to_ascii_uppercase();
        if letters.next().is_some() {
            return None;
        }
        Self::ALL.into_iter().find(|known| known.letter() == letter)
    }

    /// The temperatures for which the type has an emf.
    #[must_use]
    pub fn range(self) -> RangeInclusive<Celsius> {
        self.lowest()..=self.highest()
    }

    /// The temperatures over which the emf rises, so that an emf has one temperature: the whole
    /// range, but for type B from its minimum at 21.0203 °C up.
    #[must_use]
    pub fn rising_range(self) -> RangeInclusive<Celsius> {
        match self {
            Self::B => constant!(Celsius, 21.0203)..=self.highest(),
            Self::E | Self::J | Self::K | Self::N | Self::R | Self::S | Self::T => self.range(),
        }
    }

    /// The emf of a junction, reference junction at 0 °C. Any temperature in [`Self::range`].
    pub fn emf(self, junction: Celsius) -> Result<Millivolts, OutOfRange> {
        let (emf_mv, _) = self.emf_and_slope(junction)?;
        Millivolts::new(emf_mv).ok_or_else(|| self.out_of_range(Given::Junction(junction)))
    }

    /// The Seebeck coefficient dE/dT in µV/°C. Any temperature in [`Self::range`].
    pub fn seebeck_uv_per_c(self, junction: Celsius) -> Result<f64, OutOfRange> {
        self.emf_and_slope(junction).map(|(_, slope)| slope * 1000.0)
    }

    /// The junction temperature of an emf, reference junction at 0 °C, in [`Self::rising_range`].
    ///
    /// Within 10⁻⁵ °C of the direct function's exact inverse. An emf up to 0.5 µV outside the
    /// range, as a printed table's rounding gives, is the range's end; farther out is an error.
    pub fn junction(self, emf: Millivolts) -> Result<Celsius, OutOfRange> {
        let out_of_range = || self.out_of_range(Given::Emf(emf));
        let emf_mv = emf.mv();
        let pieces = self.pieces();
        let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else {
            return Err(out_of_range());
        };
        let lowest_mv = first.emf_low_mv - ROUNDING_MV;
        let highest_mv = last.emf_high_mv + ROUNDING_MV;
        if !(emf_mv >= lowest_mv && emf_mv <= highest_mv) {
            return Err(out_of_range());
        }
        let piece = pieces.iter().find(|piece| emf_mv <= piece.emf_high_mv).unwrap_or(last);
        Celsius::new(piece.inverse(emf_mv)).ok_or_else(out_of_range)
    }

    fn emf_and_slope(self, junction: Celsius) -> Result<(f64, f64), OutOfRange> {
        let t_c = junction.c();
        self.pieces()
            .iter()
            .find(|piece| t_c <= piece.function.high_c)
            .filter(|_| junction >= self.lowest())
            .map(|piece| piece.function.emf_and_slope(t_c))
            .ok_or_else(|| self.out_of_range(Given::Junction(junction)))
    }

    const fn out_of_range(self, given: Given) -> OutOfRange {
        OutOfRange { thermocouple: self, given }
    }

    const fn pieces(self) -> &'static [Piece] {
        match self {
            Self::B => &noble_metal::B,
            Self::E => &base_metal::E,
            Self::J => &base_metal::J,
            Self::K => &base_metal::K,
            Self::N => &base_metal::N,
            Self::R => &noble_metal::R,
            Self::S => &noble_metal::S,
            Self::T => &base_metal::T,
        }
    }

    /// The reference function's lowest temperature.
    const fn lowest(self) -> Celsius {
        match self {
            Self::B => constant!(Celsius, 0.0),
            Self::E | Self::K | Self::N | Self::T => constant!(Celsius, -270.0),
            Self::J => constant!(Celsius, -210.0),
            Self::R | Self::S => constant!(Celsius, -50.0),
        }
    }

    /// The reference function's highest temperature. (IEC 60584-1 restricts type K to 1300 °C;
    /// the function itself goes on.)
    const fn highest(self) -> Celsius {
        match self {
            Self::B => constant!(Celsius, 1820.0),
            Self::E => constant!(Celsius, 1000.0),
            Self::J => constant!(Celsius, 1200.0),
            Self::K => constant!(Celsius, 1372.0),
            Self::N => constant!(Celsius, 1300.0),
            Self::R | Self::S => constant!(Celsius, 1768.1),
            Self::T => constant!(Celsius, 400.0),
        }
    }
}

impl fmt::Display for Thermocouple {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "type {}", self.letter())
    }
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let thermocouple = self.thermocouple;
        match self.given {
            Given::Junction(junction) => {
                let (low, high) = (thermocouple.lowest(), thermocouple.highest());
                write!(f, "{junction} °C is outside {thermocouple}, which is defined from {low} to {high} °C")
            }
            Given::Emf(emf) => write!(f, "no junction of {thermocouple} gives {emf} mV"),
        }
    }
}

impl core::error::Error for OutOfRange {}
