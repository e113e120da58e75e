//! What amplifier chips say, as data, and the true junction temperature behind it.
//!
//! [`Sensor::measure`] goes from report to temperature, [`Sensor::would_say`] from temperature to
//! the report a healthy chip would give, for simulators.

mod chip;
mod measure;
mod spread;

pub use chip::Amplifier;
pub use spread::Spread;

use crate::calibration::Calibration;
use crate::thermocouple::Thermocouple;
use crate::units::{Celsius, Millivolts};

/// Everything a chip, or the bus to it, can complain of in one cycle. A set; empty is healthy.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct ChipFaults(u8);

impl ChipFaults {
    /// No complaint.
    pub const NONE: Self = Self(0);
    /// The thermocouple's circuit is open.
    pub const OPEN: Self = Self(1);
    /// A thermocouple wire touches ground.
    pub const SHORT_TO_GROUND: Self = Self(2);
    /// A thermocouple wire touches the supply.
    pub const SHORT_TO_SUPPLY: Self = Self(4);
    /// No chip answers, or what it answers cannot be one of its frames.
    pub const NO_ANSWER: Self = Self(8);
    /// The chip's configuration read back is not the one written: it was reset.
    pub const CONFIGURATION_LOST: Self = Self(16);
    /// The chip says that junction or cold junction is outside what it can measure.
    pub const OUT_OF_RANGE: Self = Self(32);

    /// Every fault with the name it has in files and on screens.
    pub const ALL: [(Self, &'static str); 6] = [
        (Self::OPEN, "open"),
        (Self::SHORT_TO_GROUND, "short-to-ground"),
        (Self::SHORT_TO_SUPPLY, "short-to-supply"),
        (Self::NO_ANSWER, "no-answer"),
        (Self::CONFIGURATION_LOST, "configuration-lost"),
        (Self::OUT_OF_RANGE, "out-of-range"),
    ];

    /// Both sets together.
    #[must_use]
    pub const fn with(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether any fault of `other` is in this set.
    #[must_use]
    pub const fn has(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// Whether there is no complaint.
    #[must_use]
    pub const fn is_none(self) -> bool {
        self.0 == 0
    }

    /// The fault of that name, as written in files.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, known)| *known == name).map(|(fault, _)| *fault)
    }

    /// The names of the faults in this set.
    pub fn names(self) -> impl Iterator<Item = &'static str> {
        Self::ALL.into_iter().filter(move |(fault, _)| self.has(*fault)).map(|(_, name)| name)
    }
}

/// The value part of an amplifier's answer, kept as it was said so that a replay sees the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Said {
    /// No usable value.
    Nothing,
    /// Register words, in the chip's own steps.
    Words {
        /// Junction, as the chip reports it (a straight-line chip's is not yet true).
        junction: i32,
        /// Cold junction.
        cold_junction: i32,
    },
    /// The same, already in degrees, from a source that has no registers.
    Reading {
        /// Junction, as the configured chip would report it.
        junction: Celsius,
        /// Cold junction.
        cold_junction: Celsius,
    },
    /// A raw emf with the temperature of the cold junction it was measured against.
    Emf {
        /// The measured emf.
        emf: Millivolts,
        /// Cold junction.
        cold_junction: Celsius,
    },
}

/// One amplifier's answer in one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Report {
    /// The value, as said.
    pub said: Said,
    /// The complaints.
    pub faults: ChipFaults,
    /// How far apart the samples lay that this answer was chosen from; `None` of a single sample.
    pub spread: Option<Spread>,
}

impl Report {
    /// What a chip said when it was asked once.
    #[must_use]
    pub const fn single(said: Said, faults: ChipFaults) -> Self {
        Self { said, faults, spread: None }
    }
}

/// What stands behind a number: wire, chip and correction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensor {
    /// The wire.
    pub thermocouple: Thermocouple,
    /// The chip.
    pub amplifier: Amplifier,
    /// The correction, added to the true junction temperature before anything else sees it.
    pub calibration: Calibration,
}

/// A junction temperature that the report supports.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// The true junction temperature, corrected.
    pub junction: Celsius,
    /// The cold junction; `None` from a MAX6675, which compensates by itself and reports none.
    pub cold_junction: Option<Celsius>,
}

/// Why a report supports no temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SensorFault {
    /// Open circuit.
    Open,
    /// Short to ground or supply, or a frame that only a shorted input can give.
    Short,
    /// Dead chip or bus, or a chip that lost its configuration.
    NoAnswer,
    /// A value outside what the thermocouple type can give.
    OutOfRange,
}
