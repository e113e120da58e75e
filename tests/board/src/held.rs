//! An amplifier chip alone on a bus, its thermocouple in something that somebody keeps at a temperature.

use std::fs;
use std::io::{Error, ErrorKind, Result};
use std::path::Path;
use std::time::Duration;

use pyrometry::constant;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::Celsius;

use crate::chip::{Chip, Kind, Terminals, emf_between};
use crate::spidev::{Answer, Call, Spidev};

/// The terminals' temperature.
const TERMINALS: Celsius = constant!(Celsius, 25.0);

/// What is at the wire's end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Junction {
    /// A junction at this temperature.
    At(Celsius),
    /// Nothing: the wire is broken.
    Broken,
}

impl Junction {
    /// What a word says: a temperature in °C, or `broken`.
    #[must_use]
    pub fn parse(word: &str) -> Option<Self> {
        match word.trim() {
            "broken" => Some(Self::Broken),
            number => number.parse().ok().and_then(Celsius::new).map(Self::At),
        }
    }

    /// What a file says. An empty one, as while it is being written: nothing new, so `None`.
    pub fn told(file: &Path) -> Result<Option<Self>> {
        let text = fs::read_to_string(file)?;
        if text.trim().is_empty() {
            return Ok(None);
        }
        let unknown =
            || Error::new(ErrorKind::InvalidData, format!("{text:?} is no temperature, nor `broken`"));
        Self::parse(&text).map(Some).ok_or_else(unknown)
    }
}

/// Chip and bus.
pub struct Held {
    wire: Thermocouple,
    chip: Box<dyn Chip + Send>,
    spidev: Spidev,
}

impl Held {
    /// The chip just supplied.
    #[must_use]
    pub fn new(kind: Kind, wire: Thermocouple) -> Self {
        Self { wire, chip: kind.chip(), spidev: Spidev::default() }
    }

    /// Lets time pass with that at the wire's end.
    pub fn pass(&mut self, span: Duration, junction: Junction) {
        let emf = match junction {
            Junction::At(junction) => emf_between(self.wire, junction, TERMINALS),
            Junction::Broken => None,
        };
        let terminals = match emf {
            Some(emf) => Terminals::Closed { emf, cold_junction: TERMINALS },
            None => Terminals::Open { cold_junction: TERMINALS },
        };
        self.chip.pass(span, &terminals);
    }

    /// Answers a call at the bus device.
    pub fn call(&mut self, call: &Call<'_>) -> Answer {
        self.spidev.call(&mut *self.chip, call)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MESSAGE_1: u32 = 0x4020_6B00;

    /// The chip's frame, its one transfer as after two rounds with the kernel.
    fn frame(chip: &mut Held) -> Vec<u8> {
        let mut transfer = [0; 32];
        transfer[8..16].copy_from_slice(&1u64.to_ne_bytes()); // received somewhere, nothing to send
        transfer[16..20].copy_from_slice(&4u32.to_ne_bytes());
        match chip.call(&Call { number: MESSAGE_1, argument: 1, input: &transfer, output_len: 4 }) {
            Answer::Done { output, .. } => output,
            other @ (Answer::Again { .. } | Answer::Failed(_)) => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_word_is_a_temperature_or_broken_and_no_other() {
        assert_eq!(Junction::parse("200\n"), Some(Junction::At(constant!(Celsius, 200.0))));
        assert_eq!(Junction::parse("broken\n"), Some(Junction::Broken));
        assert_eq!((Junction::parse("hot"), Junction::parse("NaN")), (None, None));
    }

    #[test]
    fn the_chip_shows_the_junction_it_is_held_at_and_a_broken_wire() {
        let mut chip = Held::new(Kind::Max31855, Thermocouple::K);
        chip.pass(Duration::from_secs(1), Junction::At(constant!(Celsius, 200.0)));
        let said = frame(&mut chip);
        let shown_c = f64::from(i16::from_be_bytes([said[0], said[1]]) >> 2) / 4.0;
        // Type K has 8.138 mV at 200 °C and 1.000 mV at 25 °C (NIST SRD 60); the chip takes 41.276 µV of it
        // for a degree (MAX31855 data sheet, page 9).
        let expected_c = 25.0 + (8.138 - 1.000) / 0.041276;
        assert!((shown_c - expected_c).abs() < 0.3, "{shown_c}, expected {expected_c}");
        chip.pass(Duration::from_secs(1), Junction::Broken);
        assert_eq!(frame(&mut chip)[3] & 1, 1, "open circuit");
    }
}
