//! A kiln's output pins by what they drive, as every program of ours holds them.
//!
//! One small file names them ([`open`]): the daemon writes it before anything may heat, the warden and
//! the helper that drives every pin off read it, and it is all they need when everything else is dead.

mod simulated;
mod wired;
mod wiring;

use core::fmt;
use std::boxed::Box;
use std::io;
use std::path::Path;
use std::vec::Vec;

pub use simulated::SimulatedPins;
pub use wired::WiredPins;
pub use wiring::{Computer, Energised, Output, Wiring};

use crate::{Level, PinFault, Signal};

/// Banks that have a pin, wired or not.
pub const BANK_PINS: u8 = 8;

/// One pin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pin {
    /// A bank's relay, by the kiln file's order, from 0.
    Bank(u8),
    /// The safety contactor's coil.
    Contactor,
    /// The heartbeat for an outside relay, which only its edges keep closed: neither level energises
    /// anything.
    Heartbeat,
    /// An output that heats nothing.
    Signal(Signal),
}

/// The output pins of one kiln. Any number of programs may hold them; who may drive which is theirs to
/// keep. Nothing is driven when they are opened or dropped.
pub trait Pins: Send {
    /// Takes the contactor for as long as this value lives (SR-43). The kernel frees it when its
    /// owner dies.
    fn own_contactor(&mut self) -> Result<(), NotOwned>;
    /// Drives one pin, and reads it back.
    fn drive(&mut self, pin: Pin, level: Level) -> Result<(), PinFault>;
    /// What a pin is at.
    fn level(&mut self, pin: Pin) -> Result<Level, PinFault>;
    /// Every bank that has a pin.
    fn banks(&self) -> Vec<Pin>;

    /// Every output that heats nothing and has a pin.
    fn signals(&self) -> Vec<Signal>;

    /// Every pin whose level heats, the contactor first: where only one pin can still be
    /// driven, it takes all heat.
    fn energising(&self) -> Vec<Pin> {
        core::iter::once(Pin::Contactor).chain(self.banks()).collect()
    }

    /// Drives every bank off, also after one that fails.
    fn banks_off(&mut self) -> Result<(), PinFault> {
        off(self, &self.banks())
    }

    /// Drives every pin that heats off, also after one that fails.
    fn all_off(&mut self) -> Result<(), PinFault> {
        off(self, &self.energising())
    }

    /// Drives buzzer and vent off, also after one that fails. The lamp stays as it is: a hot kiln is no
    /// colder for having lost its controller.
    fn quieten(&mut self) -> Result<(), PinFault> {
        let loud = self.signals().into_iter().filter(|signal| *signal != Signal::Lamp);
        off(self, &loud.map(Pin::Signal).collect::<Vec<_>>())
    }

    /// Which pins that heat are on, or cannot be read.
    fn not_off(&mut self) -> Vec<Pin> {
        let mut pins = self.energising();
        pins.retain(|pin| self.level(*pin) != Ok(Level::Off));
        pins
    }
}

fn off<P: Pins + ?Sized>(pins: &mut P, which: &[Pin]) -> Result<(), PinFault> {
    which.iter().map(|pin| pins.drive(*pin, Level::Off)).fold(Ok(()), Result::and)
}

/// Why the contactor could not be had.
#[derive(Debug)]
pub enum NotOwned {
    /// Another owner lives.
    Taken,
    /// It cannot be locked.
    System(io::Error),
}

impl fmt::Display for NotOwned {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Taken => f.write_str("another warden owns the contactor"),
            Self::System(why) => write!(f, "the contactor cannot be owned: {why}"),
        }
    }
}

/// The pins that a file names: a wiring's, or simulated ones whose levels are the file. Without a file
/// they are simulated, and off. No pin changes.
pub fn open(path: &Path) -> io::Result<Box<dyn Pins>> {
    Ok(match Wiring::read(path)? {
        Some(wiring) => Box::new(WiredPins::open(wiring)?),
        None => Box::new(SimulatedPins::open(path)?),
    })
}
