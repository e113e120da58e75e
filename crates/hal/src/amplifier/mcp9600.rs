//! MCP9600 and MCP9601: linearising chips on I2C for all eight wires.
//!
//! At most 100 kHz, a conversion each 320 ms; it stretches the clock, which some computers' I2C does not
//! bear (datasheet DS20005426G, pages 8, 26 to 36). Like any chip with registers it forgets its set-up
//! with its power, and wakes as type K: the set-up is read back every cycle, before anything it measured.
//! The MCP9601 sees an open circuit and a short apart; the MCP9600 tells only that its input is beyond
//! its range.

use core::time::Duration;

use embedded_hal::i2c::I2c;
use pyrometry::amplifier::{ChipFaults, Report, Said};
use pyrometry::thermocouple::Thermocouple;

use super::{CONFIGURATION_LOST, NO_ANSWER};
use crate::Probe;

/// Registers (table 5-1).
const JUNCTION: u8 = 0x00;
const COLD_JUNCTION: u8 = 0x02;
const STATUS: u8 = 0x04;
const SENSOR_SETUP: u8 = 0x05;
const DEVICE_SETUP: u8 = 0x06;
const IDENTITY: u8 = 0x20;

/// The upper byte of the identity (registers 5-12 and 5-13).
const IS_9600: u8 = 0x40;
const IS_9601: u8 = 0x41;
/// 18 bits, 0.0625 °C for the cold junction, converting all the time (register 5-9).
const CONVERTING: u8 = 0x00;
/// Status bit 4: the input is beyond its range (MCP9600), or the circuit open (MCP9601). Bit 5: a short
/// (MCP9601). Bit 5 from memory of the datasheet.
const BEYOND_RANGE: u8 = 1 << 4;
const SHORT: u8 = 1 << 5;

/// Until the first conversion is there: 320 ms at 18 bits (page 26), and a quarter of it for what is not in it.
const FIRST_CONVERSION: Duration = Duration::from_millis(400);

/// The chip on its bus.
#[derive(Debug)]
pub struct Mcp9600<I> {
    i2c: I,
    address: u8,
    sensor_setup: u8,
}

/// Which of the two answers.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Mcp9600,
    Mcp9601,
}

impl<I: I2c> Mcp9600<I> {
    /// A chip at an address, 0x60 to 0x67. Where nobody sets it up before, the first report does, and says
    /// that its set-up was lost.
    pub const fn new(i2c: I, address: u8, wire: Thermocouple) -> Self {
        Self { i2c, address, sensor_setup: letter(wire) << 4 }
    }

    /// The bus again.
    pub fn release(self) -> I {
        self.i2c
    }

    fn read<const N: usize>(&mut self, register: u8) -> Result<[u8; N], I::Error> {
        let mut bytes = [0; N];
        self.i2c.write_read(self.address, &[register], &mut bytes)?;
        Ok(bytes)
    }

    fn kind(&mut self) -> Result<Option<Kind>, I::Error> {
        let [chip, _revision] = self.read(IDENTITY)?;
        Ok(match chip {
            IS_9600 => Some(Kind::Mcp9600),
            IS_9601 => Some(Kind::Mcp9601),
            _ => None,
        })
    }

    fn write_set_up(&mut self) -> Result<(), I::Error> {
        self.i2c.write(self.address, &[SENSOR_SETUP, self.sensor_setup])?;
        self.i2c.write(self.address, &[DEVICE_SETUP, CONVERTING])
    }

    fn ask(&mut self) -> Result<Report, I::Error> {
        let Some(kind) = self.kind()? else { return Ok(NO_ANSWER) };
        let [sensor, device] = [self.read(SENSOR_SETUP)?, self.read(DEVICE_SETUP)?].map(|[byte]| byte);
        if (sensor, device) != (self.sensor_setup, CONVERTING) {
            self.write_set_up()?;
            return Ok(CONFIGURATION_LOST);
        }
        let word = |bytes| i32::from(i16::from_be_bytes(bytes));
        let junction = word(self.read(JUNCTION)?);
        let cold_junction = word(self.read(COLD_JUNCTION)?);
        let [status] = self.read(STATUS)?;
        Ok(Report::single(Said::Words { junction, cold_junction }, faults(kind, status)))
    }
}

impl<I: I2c> Probe for Mcp9600<I> {
    fn report(&mut self) -> Report {
        self.ask().unwrap_or(NO_ANSWER)
    }

    /// Nothing is written to a stranger at the address.
    fn set_up(&mut self) -> Duration {
        match self.kind() {
            Ok(Some(Kind::Mcp9600 | Kind::Mcp9601)) if self.write_set_up().is_ok() => FIRST_CONVERSION,
            Ok(_) | Err(_) => Duration::ZERO,
        }
    }
}

const fn faults(kind: Kind, status: u8) -> ChipFaults {
    let mut faults = ChipFaults::NONE;
    if status & BEYOND_RANGE != 0 {
        faults = faults.with(match kind {
            Kind::Mcp9600 => ChipFaults::OUT_OF_RANGE,
            Kind::Mcp9601 => ChipFaults::OPEN,
        });
    }
    if let Kind::Mcp9601 = kind
        && status & SHORT != 0
    {
        faults = faults.with(ChipFaults::SHORT_TO_GROUND);
    }
    faults
}

/// Sensor set-up, bits 6:4 (register 5-8).
const fn letter(wire: Thermocouple) -> u8 {
    match wire {
        Thermocouple::K => 0,
        Thermocouple::J => 1,
        Thermocouple::T => 2,
        Thermocouple::N => 3,
        Thermocouple::S => 4,
        Thermocouple::E => 5,
        Thermocouple::B => 6,
        Thermocouple::R => 7,
    }
}
