//! MAX31855: a straight-line chip on SPI, read only, a part for each wire.
//!
//! Mode 0, at most 5 MHz, a conversion each 70 to 100 ms, 32 bits a reading (datasheet 19-5793 rev 5,
//! pages 3, 8 to 10). It has no registers that could be lost; a dead one shows in its frame. It sees an
//! open circuit and shorts to ground and supply; T− must not be on ground.

use embedded_hal::spi::SpiDevice;
use pyrometry::amplifier::{ChipFaults, Report, Said};

use super::NO_ANSWER;
use crate::Probe;

/// D17 and D3 are always 0 (table 3): a frame that has either is none of this chip's.
const RESERVED: u32 = 1 << 17 | 1 << 3;
/// D16: set with any of the three faults (table 3).
const ANY_FAULT: u32 = 1 << 16;
/// D2, D1 and D0 (table 3).
const FAULTS: [(u32, ChipFaults); 3] = [
    (1 << 2, ChipFaults::SHORT_TO_SUPPLY),
    (1 << 1, ChipFaults::SHORT_TO_GROUND),
    (1 << 0, ChipFaults::OPEN),
];

/// The chip on its bus.
#[derive(Debug)]
pub struct Max31855<S> {
    spi: S,
}

impl<S: SpiDevice> Max31855<S> {
    /// A chip on a bus in mode 0 at no more than 5 MHz.
    pub const fn new(spi: S) -> Self {
        Self { spi }
    }

    /// The bus again.
    pub fn release(self) -> S {
        self.spi
    }
}

impl<S: SpiDevice> Probe for Max31855<S> {
    fn report(&mut self) -> Report {
        let mut frame = [0; 4];
        match self.spi.read(&mut frame) {
            Ok(()) => decoded(u32::from_be_bytes(frame)),
            Err(_) => NO_ANSWER,
        }
    }
}

/// What a frame says. All zeros are what a dead line reads.
#[must_use]
pub fn decoded(frame: u32) -> Report {
    let mut faults = ChipFaults::NONE;
    for (bit, fault) in FAULTS {
        if frame & bit != 0 {
            faults = faults.with(fault);
        }
    }
    let says_so = frame & ANY_FAULT != 0;
    if frame == 0 || frame & RESERVED != 0 || says_so == faults.is_none() {
        return NO_ANSWER;
    }
    let signed = frame.cast_signed();
    // D31:18 and D15:4, signed (tables 4 and 5).
    let (junction, cold_junction) = (signed >> 18, signed << 16 >> 20);
    Report::single(Said::Words { junction, cold_junction }, faults)
}
