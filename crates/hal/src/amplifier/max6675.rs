//! MAX6675: a straight-line chip on SPI for type K, above 0 °C.
//!
//! Mode 1, at most 4.3 MHz, a conversion each 220 ms, 16 bits a reading (datasheet 19-2235 rev 3, pages
//! 2, 5 and 6). Its limits: it reports no cold junction, so neither a hot box nor a reversed wire beside
//! it is seen; it ends at 1023.75 °C, which a straight line reads where type K is at 990 °C; it sees an
//! open circuit only with T− on ground, and no shorts. Prefer another chip for a new kiln.

use embedded_hal::spi::SpiDevice;
use pyrometry::amplifier::{ChipFaults, Report, Said};

use super::NO_ANSWER;
use crate::Probe;

/// D15 is a dummy sign and D1 the chip's number: both always 0 (figure 2).
const RESERVED: u16 = 1 << 15 | 1 << 1;
/// D2: the circuit is open (figure 2).
const OPEN: u16 = 1 << 2;

/// The chip on its bus.
#[derive(Debug)]
pub struct Max6675<S> {
    spi: S,
}

impl<S: SpiDevice> Max6675<S> {
    /// A chip on a bus in mode 1 at no more than 4.3 MHz.
    pub const fn new(spi: S) -> Self {
        Self { spi }
    }

    /// The bus again.
    pub fn release(self) -> S {
        self.spi
    }
}

impl<S: SpiDevice> Probe for Max6675<S> {
    fn report(&mut self) -> Report {
        let mut frame = [0; 2];
        match self.spi.read(&mut frame) {
            Ok(()) => decoded(u16::from_be_bytes(frame)),
            Err(_) => NO_ANSWER,
        }
    }
}

/// What a frame says. All zeros are what a dead line reads, and this chip at 0 °C.
#[must_use]
pub fn decoded(frame: u16) -> Report {
    if frame == 0 || frame & RESERVED != 0 {
        return NO_ANSWER;
    }
    let faults = if frame & OPEN == 0 { ChipFaults::NONE } else { ChipFaults::OPEN };
    // D14:3 (figure 2).
    let junction = i32::from(frame >> 3);
    Report::single(Said::Words { junction, cold_junction: 0 }, faults)
}
