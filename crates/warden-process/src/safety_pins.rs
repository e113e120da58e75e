//! What the warden may do with pins: the contactor as it judges, the banks only off.

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

/// The kiln's pins, which a panic drives off as well. One thread drives them: nobody waits here.
#[derive(Clone)]
pub(crate) struct SharedPins(Arc<Mutex<Box<dyn Pins>>>);

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

#[cfg(test)]
mod tests {
    use hal::pins::SimulatedPins;

    use super::*;

    fn energised(folder: &tempfile::TempDir) -> SharedPins {
        let pins = SharedPins::new(Box::new(SimulatedPins::open(&folder.path().join("pins")).expect("pins")));
        for pin in [Pin::Contactor, Pin::Bank(0)] {
            pins.hold().drive(pin, Level::On).expect("driven");
        }
        pins
    }

    #[test]
    fn sr_30_a_panic_drives_everything_off() {
        let folder = tempfile::tempdir().expect("a folder");
        let pins = energised(&folder);
        pins.off_in_a_panic();
        assert_eq!(pins.hold().not_off(), []);
    }

    #[test]
    fn sr_30_a_panic_with_the_pins_in_hand_does_not_wait_for_them() {
        let folder = tempfile::tempdir().expect("a folder");
        let pins = energised(&folder);
        let mut held = pins.hold();
        pins.off_in_a_panic();
        assert_eq!(held.not_off(), [Pin::Contactor, Pin::Bank(0)], "and nobody else's are touched");
    }
}
