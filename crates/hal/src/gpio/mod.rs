//! A computer's general-purpose pins, by number, each way of reaching them in a file of its own.

mod after_its_program;
mod character_device;
mod raspberry_pi;

use std::boxed::Box;
use std::io;
use std::string::String;

pub use after_its_program::{AfterItsProgram, after_its_program};
pub use character_device::CharacterDevice;
pub use raspberry_pi::RaspberryPi;

use crate::PinFault;
use crate::pins::{Computer, NotOwned};

/// What a pin is at, or is driven to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PinLevel {
    /// At ground.
    Low,
    /// At the supply.
    High,
}

/// The pins of a computer. Any number of programs may hold them; a level outlives whoever drove it
/// unless the kernel takes it back.
pub trait Gpio: Send {
    /// Drives a pin, an output from its first moment at that level, and reads it back.
    fn drive(&mut self, pin: u16, level: PinLevel) -> Result<(), PinFault>;
    /// The level at which a pin is driven, by whomever; `None` while it is no output.
    fn driven(&mut self, pin: u16) -> Result<Option<PinLevel>, PinFault>;
    /// The level of a pin that a pull-up brings high and a contact brings low.
    fn pulled_up(&mut self, pin: u16) -> Result<PinLevel, PinFault>;
    /// Takes the pin for as long as this value lives, against every other program that asks so.
    fn own(&mut self, pin: u16) -> Result<(), NotOwned>;
}

/// The pins of a computer. None changes.
pub fn open(computer: &Computer) -> Result<Box<dyn Gpio>, NoGpio> {
    Ok(match computer {
        Computer::RaspberryPi => Box::new(RaspberryPi::open()?),
        Computer::Linux { gpio_chip } => Box::new(CharacterDevice::open(gpio_chip)?),
    })
}

/// Why a computer's pins cannot be had.
#[derive(Debug)]
pub struct NoGpio {
    /// What was tried.
    pub(crate) what: String,
    /// What the system says, in words.
    pub(crate) why: String,
}

impl core::fmt::Display for NoGpio {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "{} cannot be used: {}", self.what, self.why)
    }
}

impl std::error::Error for NoGpio {}

impl From<NoGpio> for io::Error {
    fn from(why: NoGpio) -> Self {
        Self::other(why)
    }
}
