//! A kiln's probes, switches and contacts behind traits, and the boards that provide them.
//!
//! Here live the traits, the amplifier chips' drivers on `embedded-hal` buses, the choice of one report
//! from a step's samples, and the real boards. What does *not* live here: any decision about heat (crate
//! `control`), any arithmetic on a temperature (crate `pyrometry`), the simulated kiln (crate `kiln-sim`).
//!
//! Only this crate names a pin.
#![no_std]

#[cfg(feature = "linux")]
extern crate std;

pub mod amplifier;
#[cfg(feature = "linux")]
pub mod bus;
pub mod converter;
#[cfg(feature = "linux")]
pub mod gpio;
#[cfg(feature = "linux")]
pub mod pins;
pub mod sampling;
#[cfg(feature = "linux")]
pub mod wired_board;

use core::time::Duration;

use pyrometry::amplifier::Report;
use pyrometry::units::Amps;

/// A thermocouple's amplifier, as one reading a cycle.
pub trait Probe {
    /// Asks the amplifier once. Never blocks longer than one bus transfer; what goes wrong on the
    /// bus is part of the report, because a dead bus is a condition of the kiln, not an error.
    fn report(&mut self) -> Report;

    /// Writes the chip's set-up, where it has one, before it is asked for the first time: a set-up that was
    /// never written is none that got lost. Gives after how long it holds what it measured so. What goes
    /// wrong is for the first report to say.
    fn set_up(&mut self) -> Duration {
        Duration::ZERO
    }
}

/// What a switch is told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Level {
    /// Not energised.
    #[default]
    Off,
    /// Energised.
    On,
}

/// A pin that could not be driven or read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PinFault;

/// What a contact input may sense.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sensed {
    /// The lid: closed means shut.
    Lid,
    /// The safety contactor, by its mirror contact: closed means that the contactor is closed.
    Contactor,
    /// The button at the kiln by which a person shows to be there: closed means pressed.
    PresenceButton,
}

/// The level of a pin at which what its contact senses is closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClosedAt {
    /// At the supply, where the pin's pull-up brings it.
    High,
    /// At ground.
    Low,
}

/// An output that heats nothing: it tells people something, or moves air.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signal {
    /// The buzzer that a trip sounds.
    Buzzer,
    /// The lamp that says that the kiln is hot.
    Lamp,
    /// The fan that vents the kiln.
    Vent,
}

impl Signal {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::Buzzer, Self::Lamp, Self::Vent];

    /// Its name in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Buzzer => "buzzer",
            Self::Lamp => "lamp",
            Self::Vent => "vent",
        }
    }
}

/// Everything the control thread owns of a kiln's electronics. Indexes follow the kiln file.
pub trait Board {
    /// Asks every probe once more, between two steps: what a real board's next reports are gathered from.
    /// A board whose chips are as good asked once does nothing.
    fn sample(&mut self);
    /// Asks one probe's amplifier.
    fn report(&mut self, probe: usize) -> Report;
    /// Drives one bank.
    fn set_bank(&mut self, bank: usize, level: Level) -> Result<(), PinFault>;
    /// Whether what a contact senses is closed. `None` when none is fitted.
    fn is_closed(&mut self, sensed: Sensed) -> Option<Result<bool, PinFault>>;
    /// One bank's current. `None` when it has no sensor.
    fn amps(&mut self, bank: usize) -> Option<Result<Amps, PinFault>>;
    /// Drives the heartbeat's pin, whose edges keep an outside relay closed. Nothing to do where none is
    /// fitted.
    fn set_heartbeat(&mut self, level: Level) -> Result<(), PinFault>;
    /// Drives an output that heats nothing. Nothing to do where it is not fitted.
    fn set_signal(&mut self, signal: Signal, level: Level) -> Result<(), PinFault>;
    /// Everything that heats off, as far as it can be done. The heartbeat's pin is left as it is:
    /// another edge would be one too many; so are the signals. For exits and panics.
    fn all_off(&mut self);
}

/// The safety contactor's coil: a thing of its own, so that only the warden can hold it.
pub trait Contactor {
    /// Drives it.
    fn set(&mut self, level: Level) -> Result<(), PinFault>;
}
