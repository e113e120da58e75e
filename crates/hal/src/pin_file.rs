//! Simulated pins that outlive whoever drives them: one byte a pin in a file.
//!
//! A kernel keeps a pin as it was when the program that drove it is killed. Simulated pins must do
//! the same, or killing programs would prove nothing. Levels written here stand in the kernel's
//! page cache, seen by every program at once; no program's death changes them.
//!
//! The bytes are `0` and `1`, the banks in the kiln file's order, then the contactor, then the
//! heartbeat: a person can read the file with `cat`.

use core::fmt;
use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::os::unix::fs::FileExt;
use std::path::Path;

use crate::{Level, PinFault};

/// Banks that have a pin, wired or not.
pub const BANK_PINS: u8 = 8;
const PINS: u8 = BANK_PINS + 2;
const OFF: u8 = b'0';
const ON: u8 = b'1';

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
}

/// The pins of one simulated kiln. Any number of programs may hold the same file; who may drive
/// which pin is theirs to keep. Nothing is driven when it is opened or dropped.
#[derive(Debug)]
pub struct PinFile {
    file: File,
}

/// Why the contactor could not be had.
#[derive(Debug)]
pub enum NotOwned {
    /// Another owner lives.
    Taken,
    /// The file cannot be locked.
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

impl Pin {
    fn place(self) -> Option<u64> {
        match self {
            Self::Bank(bank) => (bank < BANK_PINS).then_some(u64::from(bank)),
            Self::Contactor => Some(u64::from(BANK_PINS)),
            Self::Heartbeat => Some(u64::from(BANK_PINS) + 1),
        }
    }

    /// Every pin whose level energises something.
    fn all() -> impl Iterator<Item = Self> {
        // The contactor first: where only one pin can still be driven, it takes all heat.
        core::iter::once(Self::Contactor).chain((0..BANK_PINS).map(Self::Bank))
    }
}

impl PinFile {
    /// Opens the pins, made off where there were none. Those that there are keep their levels.
    pub fn open(path: &Path) -> io::Result<Self> {
        let file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)?;
        for missing in file.metadata()?.len()..u64::from(PINS) {
            file.write_all_at(&[OFF], missing)?;
        }
        Ok(Self { file })
    }

    /// Takes the contactor for as long as this value lives (SR-43). The kernel frees it when its
    /// owner dies.
    pub fn own_contactor(&self) -> Result<(), NotOwned> {
        self.file.try_lock().map_err(|why| match why {
            TryLockError::WouldBlock => NotOwned::Taken,
            TryLockError::Error(why) => NotOwned::System(why),
        })
    }

    /// Drives one pin, and reads it back.
    pub fn drive(&self, pin: Pin, level: Level) -> Result<(), PinFault> {
        let place = pin.place().ok_or(PinFault)?;
        let byte = match level {
            Level::Off => OFF,
            Level::On => ON,
        };
        self.file.write_all_at(&[byte], place).map_err(|_| PinFault)?;
        if self.level(pin)? == level { Ok(()) } else { Err(PinFault) }
    }

    /// What a pin is at.
    pub fn level(&self, pin: Pin) -> Result<Level, PinFault> {
        let mut byte = [0];
        self.file.read_exact_at(&mut byte, pin.place().ok_or(PinFault)?).map_err(|_| PinFault)?;
        match byte {
            [OFF] => Ok(Level::Off),
            [ON] => Ok(Level::On),
            [_] => Err(PinFault),
        }
    }

    /// Drives every bank off, also after one that fails.
    pub fn banks_off(&self) -> Result<(), PinFault> {
        self.off((0..BANK_PINS).map(Pin::Bank))
    }

    /// Drives every pin off, also after one that fails.
    pub fn all_off(&self) -> Result<(), PinFault> {
        self.off(Pin::all())
    }

    /// Which pins are on, or cannot be read.
    pub fn not_off(&self) -> impl Iterator<Item = Pin> + '_ {
        Pin::all().filter(|pin| self.level(*pin) != Ok(Level::Off))
    }

    fn off(&self, pins: impl Iterator<Item = Pin>) -> Result<(), PinFault> {
        pins.map(|pin| self.drive(pin, Level::Off)).fold(Ok(()), Result::and)
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;

    struct Place(PathBuf);

    impl Place {
        fn new(name: &str) -> Self {
            let path = std::env::temp_dir().join(std::format!("saggar-pins-{}-{name}", std::process::id()));
            Self(path)
        }
    }

    impl Drop for Place {
        fn drop(&mut self) {
            let _gone = std::fs::remove_file(&self.0);
        }
    }

    #[test]
    fn new_pins_are_off_and_a_level_outlives_its_driver() {
        let place = Place::new("outlive");
        let pins = PinFile::open(&place.0).expect("pins");
        assert_eq!(pins.not_off().count(), 0);
        pins.drive(Pin::Contactor, Level::On).expect("driven");
        pins.drive(Pin::Bank(7), Level::On).expect("driven");
        drop(pins);
        let found = PinFile::open(&place.0).expect("pins");
        assert_eq!(found.not_off().collect::<std::vec::Vec<_>>(), [Pin::Contactor, Pin::Bank(7)]);
        found.all_off().expect("driven");
        assert_eq!(std::fs::read(&place.0).expect("a file"), b"0000000000");
    }

    #[test]
    fn a_pin_that_does_not_exist_or_says_nonsense_is_a_fault() {
        let place = Place::new("nonsense");
        let pins = PinFile::open(&place.0).expect("pins");
        assert_eq!(pins.drive(Pin::Bank(BANK_PINS), Level::On), Err(PinFault));
        std::fs::write(&place.0, b"00x0000000").expect("written");
        assert_eq!(pins.level(Pin::Bank(2)), Err(PinFault));
        assert_eq!(pins.not_off().collect::<std::vec::Vec<_>>(), [Pin::Bank(2)]);
    }

    #[test]
    fn sr_43_the_contactor_has_one_owner_and_is_free_when_that_one_is_gone() {
        let place = Place::new("owner");
        let (first, second) =
            (PinFile::open(&place.0).expect("pins"), PinFile::open(&place.0).expect("pins"));
        first.own_contactor().expect("owned");
        assert!(matches!(second.own_contactor(), Err(NotOwned::Taken)));
        drop(first);
        second.own_contactor().expect("owned");
    }
}
