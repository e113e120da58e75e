//! MCP3008: eight inputs on SPI, 10 bits each, read only.
//!
//! Modes 0 and 3, at most 1.35 MHz at 2.7 V and 3.6 MHz at 5 V; chip select must rise between two
//! conversions (DS21295D, pages 3 to 5 and 19 to 22). Once an input is sampled its conversion must end
//! within 1.2 ms, that is at no less than 10 kHz (section 6.2, page 22). It has no registers that could
//! be lost and no word for a fault: what its frame shows of a dead one is the null bit, and zeros are a
//! reading like any other, for whoever knows what the input ought to be.

use embedded_hal::spi::{Operation, SpiDevice};

use crate::PinFault;

/// Inputs of the chip (page 1). The MCP3004 has the first four, asked in the same way (table 5-1).
pub const CHANNELS: u8 = 8;
/// Words of 10 bits (page 1).
pub const WORDS: u16 = 1 << 10;
/// The start bit is the last of the first byte, so that the answer ends with the last of the third
/// (figure 6-1, page 21).
const START: u8 = 0b0000_0001;
/// SGL/DIFF: the input against ground (table 5-2, page 19).
const SINGLE_ENDED: u8 = 0b1000_0000;
/// D2, D1 and D0, the input's number, follow it (table 5-2, page 19).
const CHANNEL_SHIFT: u8 = 4;
/// Low before the ten bits of each answer (figure 6-1, page 21): high where nothing drives the line low.
const NULL_BIT: u8 = 0b0000_0100;
/// B9 and B8 (figure 6-1, page 21). What comes before the null bit nobody drives.
const HIGH_BITS: u8 = 0b0000_0011;

/// The chip on its bus.
#[derive(Debug)]
pub struct Mcp3008<S> {
    spi: S,
}

impl<S: SpiDevice> Mcp3008<S> {
    /// A chip on a bus in mode 0 or 3 at 10 kHz to 1.35 MHz.
    pub const fn new(spi: S) -> Self {
        Self { spi }
    }

    /// The bus again.
    pub fn release(self) -> S {
        self.spi
    }

    /// Converts an input once, 0 to 1023, then waits so long with the chip selected: one transfer and one
    /// wait, which a computer that runs Linux gives its kernel as one.
    pub fn sample(&mut self, channel: u8, then_wait_ns: u32) -> Result<u16, PinFault> {
        if channel >= CHANNELS {
            return Err(PinFault);
        }
        let mut frame = [START, SINGLE_ENDED | channel << CHANNEL_SHIFT, 0];
        let mut asked = [Operation::TransferInPlace(&mut frame), Operation::DelayNs(then_wait_ns)];
        self.spi.transaction(&mut asked).map_err(|_| PinFault)?;
        let [_, high, low] = frame;
        if high & NULL_BIT != 0 {
            return Err(PinFault);
        }
        Ok(u16::from_be_bytes([high & HIGH_BITS, low]))
    }
}
