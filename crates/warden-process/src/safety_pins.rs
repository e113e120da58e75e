//! What the warden may do with pins: the contactor as it judges, the banks only off.

use hal::pin_file::{Pin, PinFile};
use hal::{Level, PinFault};

/// The pins as the warden holds them.
pub(crate) trait SafetyPins {
    /// Drives the contactor, and reads it back.
    fn drive_contactor(&mut self, level: Level) -> Result<(), PinFault>;
    /// What the contactor's pin is at.
    fn contactor(&mut self) -> Result<Level, PinFault>;
    /// Drives the contactor and every bank off, as far as it can be done.
    fn all_off(&mut self) -> Result<(), PinFault>;
}

impl SafetyPins for PinFile {
    fn drive_contactor(&mut self, level: Level) -> Result<(), PinFault> {
        self.drive(Pin::Contactor, level)
    }

    fn contactor(&mut self) -> Result<Level, PinFault> {
        self.level(Pin::Contactor)
    }

    fn all_off(&mut self) -> Result<(), PinFault> {
        Self::all_off(self)
    }
}
