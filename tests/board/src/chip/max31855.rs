//! MAX31855, the part for type K (datasheet 19-5793 rev 5): 32 bits, read only.

use std::time::Duration;

use pyrometry::units::Celsius;

use super::{AT_REST, Chip, Clocking, Terminals};

/// At most 5 MHz (page 3).
const HERTZ_MOST: u32 = 5_000_000;
/// 100 ms at most (page 4).
const CONVERSION: Duration = Duration::from_millis(100);
/// D16: set with any fault. D0: an open circuit (table 3).
const ANY_FAULT: u32 = 1 << 16;
const OPEN: u32 = 1 << 0;
/// The straight line of the part for type K, 41.276 µV/°C (page 9).
const MV_PER_C: f64 = 0.041_276;

/// The chip.
#[derive(Clone, Debug, Default)]
pub struct Max31855 {
    frame: u32,
    converting_for: Duration,
}

impl Chip for Max31855 {
    fn exchange(&mut self, clocking: Clocking, sent: &[u8]) -> Vec<u8> {
        if clocking.mode != 0 || clocking.hertz > HERTZ_MOST {
            return vec![AT_REST; sent.len()];
        }
        // After its last bit the line stays low.
        let frame = self.frame.to_be_bytes().into_iter().chain(std::iter::repeat(0));
        frame.take(sent.len()).collect()
    }

    fn pass(&mut self, span: Duration, terminals: &Terminals) {
        self.converting_for += span;
        if self.converting_for >= CONVERSION {
            self.converting_for = Duration::ZERO;
            self.frame = framed(terminals);
        }
    }

    fn wake(&mut self) {
        *self = Self::default();
    }
}

/// The frame of what is at the terminals. An open circuit's junction reads as its greatest.
fn framed(terminals: &Terminals) -> u32 {
    let (junction_c, cold, faults) = match *terminals {
        Terminals::Closed { emf, cold_junction } => {
            (emf.mv() / MV_PER_C + cold_junction.c(), cold_junction, 0)
        }
        Terminals::Open { cold_junction } => (f64::INFINITY, cold_junction, ANY_FAULT | OPEN),
    };
    word(junction_c * 4.0, 14) << 18 | cold_word(cold) << 4 | faults
}

fn cold_word(cold: Celsius) -> u32 {
    word(cold.c() * 16.0, 12)
}

/// A signed word of so many bits, held at its ends.
#[allow(clippy::cast_possible_truncation, reason = "held within the word's ends first")]
fn word(steps: f64, bits: u32) -> u32 {
    let end = 1i32 << (bits - 1);
    let held = steps.round().clamp(f64::from(-end), f64::from(end - 1)) as i32;
    held.cast_unsigned() & ((1 << bits) - 1)
}

#[cfg(test)]
mod tests {
    use pyrometry::units::Millivolts;

    use super::*;

    const SPI_MODE_0: Clocking = Clocking { mode: 0, hertz: 1_000_000 };

    fn after(emf_mv: f64, cold_c: f64) -> [u8; 4] {
        let mut chip = Max31855::default();
        let terminals = Terminals::Closed {
            emf: Millivolts::new(emf_mv).expect("an emf"),
            cold_junction: Celsius::new(cold_c).expect("a temperature"),
        };
        chip.pass(CONVERSION, &terminals);
        chip.exchange(SPI_MODE_0, &[0; 4]).try_into().expect("four bytes")
    }

    #[test]
    fn words_are_the_data_sheets() {
        // 19-5793 rev 5, tables 4 and 5: +1000 °C is 0x3E80 of 16 bits with its last two zero, 0 °C is 0;
        // +25 °C is 0x190 (thermocouple, of 16 bits) and 0x190 (cold junction, of 12 bits).
        assert_eq!(after(41.276, 0.0), [0x3E, 0x80, 0x00, 0x00]);
        assert_eq!(after(0.0, 25.0), [0x01, 0x90, 0x19, 0x00]);
        // −0.25 °C against terminals at 0 °C, and −55 °C of the terminals.
        assert_eq!(after(-0.010_319, 0.0), [0xFF, 0xFC, 0x00, 0x00]);
        assert_eq!(after(0.0, -55.0), [0xFC, 0x90, 0xC9, 0x00]);
    }

    #[test]
    fn an_open_circuit_sets_its_bit_and_the_one_for_any() {
        let mut chip = Max31855::default();
        chip.pass(CONVERSION, &Terminals::Open { cold_junction: Celsius::LEAST });
        let back = chip.exchange(SPI_MODE_0, &[0; 4]);
        assert_eq!((back[1] & 1, back[3] & 0b111), (1, 1));
    }

    #[test]
    fn in_another_mode_it_says_nothing() {
        let mut chip = Max31855::default();
        assert_eq!(chip.exchange(Clocking { mode: 1, ..SPI_MODE_0 }, &[0; 4]), [0xFF; 4]);
    }
}
