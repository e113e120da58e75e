//! MAX31856: a linearising chip on SPI for all eight wires, set up by registers.
//!
//! Mode 1 or 3, at most 5 MHz, a conversion each 82 to 110 ms and 17 to 20 ms more for each further
//! sample of an average (datasheet 19-7534 rev 0, pages 3 and 19). **A chip that lost power wakes up
//! not converting, as type K, with its open-circuit test off** (table 6), so a reset that nobody notices
//! reads another wire's numbers. Therefore every cycle reads all registers in one transfer, compares the
//! set-up with what was written, and takes no reading from a chip whose set-up differs; it is written
//! anew for the next cycle. Before it is asked for the first time it is set up without being asked, so that a
//! program's start is not told as a loss.

use core::time::Duration;

use embedded_hal::spi::SpiDevice;
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::thermocouple::Thermocouple;

use super::{CONFIGURATION_LOST, Mains, NO_ANSWER};
use crate::Probe;

/// The registers in their order (table 6): ten of set-up, then what was measured.
const REGISTERS: usize = 16;
const SETUP: usize = 10;
/// A register's address with this bit is written (page 17).
const WRITE: u8 = 0x80;

/// CR0 (page 19): converting all the time; open-circuit test for leads under 5 kΩ; 50 Hz.
const CONVERTING: u8 = 1 << 7;
const OPEN_TEST: u8 = 0b01 << 4;
const HERTZ_50: u8 = 1 << 0;
/// After CR0 and CR1 the set-up is as after a reset (table 6): the fault pin is not used, no thresholds,
/// and nothing is added to the cold junction.
const AS_AFTER_RESET: [u8; SETUP - 2] = [0xFF, 0x7F, 0xC0, 0x7F, 0xFF, 0x80, 0x00, 0x00];

/// Status bits (page 25). Thresholds stand at the ends of their registers: a reading beyond them is none.
const STATUS: [(u8, ChipFaults); 3] = [
    (1 << 0, ChipFaults::OPEN),
    // Over- or undervoltage: a wire on something else than the other wire; the chip can't tell what.
    (1 << 1, ChipFaults::SHORT_TO_SUPPLY),
    (0b1111_1100, ChipFaults::OUT_OF_RANGE),
];

/// How many conversions go into a reading.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Averaging {
    /// One.
    #[default]
    One,
    /// Two.
    Two,
    /// Four.
    Four,
    /// Eight.
    Eight,
    /// Sixteen.
    Sixteen,
}

/// The chip on its bus.
#[derive(Debug)]
pub struct Max31856<S> {
    spi: S,
    setup: [u8; SETUP],
    first_conversion: Duration,
    /// Whether the next cycle finds the set-up as it was written.
    written: bool,
}

impl<S: SpiDevice> Max31856<S> {
    /// A chip on a bus in mode 1 or 3 at no more than 5 MHz. Where nobody sets it up before, the first report
    /// does, and says that its set-up was lost.
    pub fn new(spi: S, wire: Thermocouple, averaging: Averaging, mains: Mains) -> Self {
        let mut setup = [0; SETUP];
        let [cr0, cr1, rest @ ..] = &mut setup;
        *cr0 = CONVERTING | OPEN_TEST | hum(mains);
        *cr1 = averages(averaging) | letter(wire);
        *rest = AS_AFTER_RESET;
        Self { spi, setup, first_conversion: first_conversion(averaging), written: false }
    }

    /// The bus again.
    pub fn release(self) -> S {
        self.spi
    }

    /// Stopped first: the mains filter may only change while nothing converts (page 19).
    fn write_set_up(&mut self) -> Result<(), S::Error> {
        let mut frame = [WRITE; SETUP + 1];
        let [_, registers @ ..] = &mut frame;
        *registers = self.setup;
        let [_, cr0, ..] = &mut frame;
        let converting = core::mem::replace(cr0, *cr0 & !CONVERTING);
        self.spi.write(&frame)?;
        self.spi.write(&[WRITE, converting])
    }
}

impl<S: SpiDevice> Probe for Max31856<S> {
    fn report(&mut self) -> Report {
        // The address of the first register, and what it and those after it hold.
        let mut frame = [0; REGISTERS + 1];
        if self.spi.transfer_in_place(&mut frame).is_err() {
            return NO_ANSWER;
        }
        let [_, registers @ ..] = frame;
        if registers == [0; REGISTERS] || registers == [0xFF; REGISTERS] {
            self.written = false;
            return NO_ANSWER;
        }
        let [setup @ .., cj_high, cj_low, tc_high, tc_middle, tc_low, status] = registers;
        if setup != self.setup || !self.written {
            self.written = self.write_set_up().is_ok();
            return CONFIGURATION_LOST;
        }
        let mut faults = ChipFaults::NONE;
        for (bits, fault) in STATUS {
            if status & bits != 0 {
                faults = faults.with(fault);
            }
        }
        // 19 and 14 bits, signed, at the upper end of their registers (tables 3 and 2).
        let junction = i32::from_be_bytes([tc_high, tc_middle, tc_low, 0]) >> 13;
        let cold_junction = i32::from(i16::from_be_bytes([cj_high, cj_low]) >> 2);
        Report::single(Said::Words { junction, cold_junction }, faults)
    }

    fn set_up(&mut self) -> Duration {
        self.written = self.write_set_up().is_ok();
        self.first_conversion
    }
}

/// The first takes longer than those after it: up to 0.2 s at 50 Hz with the open-circuit test, and 40 ms
/// more for each further sample (page 3, from memory); a fifth of a second on top for what is not in it.
const fn first_conversion(averaging: Averaging) -> Duration {
    let further = match averaging {
        Averaging::One => 0,
        Averaging::Two => 1,
        Averaging::Four => 3,
        Averaging::Eight => 7,
        Averaging::Sixteen => 15,
    };
    Duration::from_millis(400 + 40 * further)
}

const fn hum(mains: Mains) -> u8 {
    match mains {
        Mains::Hertz50 => HERTZ_50,
        Mains::Hertz60 => 0,
    }
}

/// CR1, bits 6:4 (page 20).
const fn averages(averaging: Averaging) -> u8 {
    let code = match averaging {
        Averaging::One => 0,
        Averaging::Two => 1,
        Averaging::Four => 2,
        Averaging::Eight => 3,
        Averaging::Sixteen => 4,
    };
    code << 4
}

/// CR1, bits 3:0 (page 20).
const fn letter(wire: Thermocouple) -> u8 {
    match wire {
        Thermocouple::B => 0,
        Thermocouple::E => 1,
        Thermocouple::J => 2,
        Thermocouple::K => 3,
        Thermocouple::N => 4,
        Thermocouple::R => 5,
        Thermocouple::S => 6,
        Thermocouple::T => 7,
    }
}
