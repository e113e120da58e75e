//! Simulated pins that outlive whoever drives them: one byte a pin in a file.
//!
//! A kernel keeps a pin as it was when the program that drove it is killed. Simulated pins must do
//! the same, or killing programs would prove nothing. Levels written here stand in the kernel's
//! page cache, seen by every program at once; no program's death changes them.
//!
//! The bytes are `0` and `1`, the banks in the kiln file's order, then the contactor, the heartbeat,
//! buzzer, lamp and vent: a person can read the file with `cat`.

use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::os::unix::fs::FileExt;
use std::path::Path;
use std::vec::Vec;

use super::{BANK_PINS, NotOwned, Pin, Pins};
use crate::{Level, PinFault, Signal};

const PINS: u8 = BANK_PINS + 5;
const OFF: u8 = b'0';
const ON: u8 = b'1';

/// The pins of one simulated kiln.
#[derive(Debug)]
pub struct SimulatedPins {
    file: File,
}

impl SimulatedPins {
    /// Opens the pins, made off where there were none. Those that there are keep their levels.
    pub fn open(path: &Path) -> io::Result<Self> {
        let file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)?;
        for missing in file.metadata()?.len()..u64::from(PINS) {
            file.write_all_at(&[OFF], missing)?;
        }
        Ok(Self { file })
    }
}

impl Pins for SimulatedPins {
    fn own_contactor(&mut self) -> Result<(), NotOwned> {
        self.file.try_lock().map_err(|why| match why {
            TryLockError::WouldBlock => NotOwned::Taken,
            TryLockError::Error(why) => NotOwned::System(why),
        })
    }

    fn drive(&mut self, pin: Pin, level: Level) -> Result<(), PinFault> {
        let byte = match level {
            Level::Off => OFF,
            Level::On => ON,
        };
        self.file.write_all_at(&[byte], place(pin)?).map_err(|_| PinFault)?;
        if self.level(pin)? == level { Ok(()) } else { Err(PinFault) }
    }

    fn level(&mut self, pin: Pin) -> Result<Level, PinFault> {
        let mut byte = [0];
        self.file.read_exact_at(&mut byte, place(pin)?).map_err(|_| PinFault)?;
        match byte {
            [OFF] => Ok(Level::Off),
            [ON] => Ok(Level::On),
            [_] => Err(PinFault),
        }
    }

    fn banks(&self) -> Vec<Pin> {
        (0..BANK_PINS).map(Pin::Bank).collect()
    }

    fn signals(&self) -> Vec<Signal> {
        Signal::ALL.to_vec()
    }
}

fn place(pin: Pin) -> Result<u64, PinFault> {
    match pin {
        Pin::Bank(bank) => (bank < BANK_PINS).then_some(u64::from(bank)),
        Pin::Contactor => Some(u64::from(BANK_PINS)),
        Pin::Heartbeat => Some(u64::from(BANK_PINS) + 1),
        Pin::Signal(Signal::Buzzer) => Some(u64::from(BANK_PINS) + 2),
        Pin::Signal(Signal::Lamp) => Some(u64::from(BANK_PINS) + 3),
        Pin::Signal(Signal::Vent) => Some(u64::from(BANK_PINS) + 4),
    }
    .ok_or(PinFault)
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
        let mut pins = SimulatedPins::open(&place.0).expect("pins");
        assert_eq!(pins.not_off(), []);
        pins.drive(Pin::Contactor, Level::On).expect("driven");
        pins.drive(Pin::Bank(7), Level::On).expect("driven");
        drop(pins);
        let mut found = SimulatedPins::open(&place.0).expect("pins");
        assert_eq!(found.not_off(), [Pin::Contactor, Pin::Bank(7)]);
        found.all_off().expect("driven");
        assert_eq!(std::fs::read(&place.0).expect("a file"), b"0000000000000");
    }

    #[test]
    fn what_heats_goes_off_alone_and_buzzer_and_vent_but_not_the_lamp_are_quietened() {
        let place = Place::new("quieten");
        let mut pins = SimulatedPins::open(&place.0).expect("pins");
        for pin in [Pin::Bank(0), Pin::Contactor, Pin::Heartbeat] {
            pins.drive(pin, Level::On).expect("driven");
        }
        for signal in Signal::ALL {
            pins.drive(Pin::Signal(signal), Level::On).expect("driven");
        }
        pins.all_off().expect("driven");
        assert_eq!(std::fs::read(&place.0).expect("a file"), b"0000000001111");
        pins.quieten().expect("driven");
        assert_eq!(std::fs::read(&place.0).expect("a file"), b"0000000001010");
    }

    #[test]
    fn pins_of_an_earlier_version_keep_their_levels_and_get_what_they_lack() {
        let place = Place::new("earlier");
        std::fs::write(&place.0, b"0100000010").expect("written");
        let mut pins = SimulatedPins::open(&place.0).expect("pins");
        assert_eq!(pins.not_off(), [Pin::Contactor, Pin::Bank(1)]);
        assert_eq!(pins.level(Pin::Signal(Signal::Vent)), Ok(Level::Off));
    }

    #[test]
    fn a_pin_that_does_not_exist_or_says_nonsense_is_a_fault() {
        let place = Place::new("nonsense");
        let mut pins = SimulatedPins::open(&place.0).expect("pins");
        assert_eq!(pins.drive(Pin::Bank(BANK_PINS), Level::On), Err(PinFault));
        std::fs::write(&place.0, b"00x0000000000").expect("written");
        assert_eq!(pins.level(Pin::Bank(2)), Err(PinFault));
        assert_eq!(pins.not_off(), [Pin::Bank(2)]);
    }

    #[test]
    fn sr_43_the_contactor_has_one_owner_and_is_free_when_that_one_is_gone() {
        let place = Place::new("owner");
        let (mut first, mut second) =
            (SimulatedPins::open(&place.0).expect("pins"), SimulatedPins::open(&place.0).expect("pins"));
        first.own_contactor().expect("owned");
        assert!(matches!(second.own_contactor(), Err(NotOwned::Taken)));
        drop(first);
        second.own_contactor().expect("owned");
    }
}
