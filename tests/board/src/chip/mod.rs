//! Amplifier chips as their data sheets have them, seen from the bus and from their terminals.

mod max31855;
mod max31856;

use std::time::Duration;

use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, Millivolts};

pub use max31855::Max31855;
pub use max31856::Max31856;

/// What a chip has at its terminals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Terminals {
    /// A closed circuit: its emf, and how warm the terminals are.
    Closed {
        /// Between the wires, against the terminals' own temperature.
        emf: Millivolts,
        /// The terminals', which the chip measures by itself.
        cold_junction: Celsius,
    },
    /// A broken one.
    Open {
        /// The terminals', which the chip measures by itself.
        cold_junction: Celsius,
    },
}

/// How the lines of a bus move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clocking {
    /// SPI mode, 0 to 3.
    pub mode: u8,
    /// Clock, in Hz.
    pub hertz: u32,
}

/// A chip on a bus.
pub trait Chip {
    /// One selection of the chip: as many bytes come back as were sent. A chip that is clocked in a way
    /// it isn't made for leaves its line at rest.
    fn exchange(&mut self, clocking: Clocking, sent: &[u8]) -> Vec<u8>;
    /// Lets time pass, with that at the terminals.
    fn pass(&mut self, span: Duration, terminals: &Terminals);
    /// Supply comes (back): everything as after a power-up.
    fn wake(&mut self);
}

/// Which chip stands on the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// MAX31855, the part for type K.
    Max31855,
    /// MAX31856.
    Max31856,
}

impl Kind {
    /// The kind of a name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        match name {
            "MAX31855" => Some(Self::Max31855),
            "MAX31856" => Some(Self::Max31856),
            _ => None,
        }
    }

    /// A chip of this kind, just supplied.
    #[must_use]
    pub fn chip(self) -> Box<dyn Chip + Send> {
        match self {
            Self::Max31855 => Box::new(Max31855::default()),
            Self::Max31856 => Box::new(Max31856::default()),
        }
    }
}

/// A line that nothing drives, pulled up.
const AT_REST: u8 = 0xFF;

/// The emf of a wire between a junction and terminals; `None` beyond what the type can give.
#[must_use]
pub fn emf_between(wire: Thermocouple, junction: Celsius, cold_junction: Celsius) -> Option<Millivolts> {
    let (hot, cold) = (wire.emf(junction).ok()?, wire.emf(cold_junction).ok()?);
    Millivolts::new(hot.mv() - cold.mv())
}
