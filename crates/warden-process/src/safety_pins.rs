//! What the warden may do with pins: the contactor as it judges, the banks only off.

use std::fmt;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, TryLockError};

use hal::pins::{Pin, Pins};
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

/// The kiln's pins, which a panic drives off as well. The warden has one thread: nobody waits here.
#[derive(Clone)]
pub(crate) struct SharedPins(Arc<Mutex<Box<dyn Pins>>>);

impl fmt::Debug for SharedPins {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("SharedPins")
    }
}

impl SharedPins {
    pub(crate) fn new(pins: Box<dyn Pins>) -> Self {
        Self(Arc::new(Mutex::new(pins)))
    }

    fn hold(&self) -> MutexGuard<'_, Box<dyn Pins>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Everything off, from a panic, which may have come while the pins were held.
    pub(crate) fn off_in_a_panic(&self) {
        let _nothing_more_can_be_done = match self.0.try_lock() {
            Ok(mut pins) => pins.all_off(),
            Err(TryLockError::Poisoned(pins)) => pins.into_inner().all_off(),
            Err(TryLockError::WouldBlock) => Ok(()),
        };
    }
}

impl SafetyPins for SharedPins {
    fn drive_contactor(&mut self, level: Level) -> Result<(), PinFault> {
        self.hold().drive(Pin::Contactor, level)
    }

    fn contactor(&mut self) -> Result<Level, PinFault> {
        self.hold().level(Pin::Contactor)
    }

    fn all_off(&mut self) -> Result<(), PinFault> {
        self.hold().all_off()
    }
}
