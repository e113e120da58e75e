//! The buses of a computer that runs Linux, and the amplifier chips on them.

use std::boxed::Box;
use std::format;
use std::io;
use std::string::{String, ToString};
use std::vec::Vec;

use embedded_hal::i2c::I2c;
use linux_embedded_hal::spidev::{SpiModeFlags, SpidevOptions};
use linux_embedded_hal::{I2cdev, SpidevDevice};
use pyrometry::amplifier::Amplifier;
use pyrometry::thermocouple::Thermocouple;

use crate::Probe;
use crate::amplifier::max31856::Averaging;
use crate::amplifier::{Mains, Max6675, Max31855, Max31856, Mcp9600};
use crate::converter::{Clamp, Currents, Mcp3008};

/// Slower than any chip's limit, so that a lead of some length still carries it; a reading is at most 17
/// bytes, 0.3 ms. Engineering judgement.
const SPI_HZ: u32 = 500_000;

/// Where an amplifier is connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Connection {
    /// On SPI.
    Spi {
        /// The bus.
        bus: u8,
        /// Its chip select.
        chip_select: u8,
    },
    /// On I2C.
    I2c {
        /// The bus.
        bus: u8,
        /// The chip's address.
        address: u8,
    },
}

/// Why a bus cannot be had.
#[derive(Debug)]
pub struct NoBus {
    device: String,
    why: String,
    cure: &'static str,
}

impl core::fmt::Display for NoBus {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "{} cannot be used: {}. {}", self.device, self.why, self.cure)
    }
}

impl std::error::Error for NoBus {}

const SPI_CURE: &str = "Is SPI switched on (on a Raspberry Pi `dtparam=spi=on` in config.txt), and is this \
                        user in the group spi?";
const I2C_CURE: &str = "Is I2C switched on (on a Raspberry Pi `dtparam=i2c_arm=on` in config.txt, and the \
                        module i2c-dev loaded), and is this user in the group i2c?";
const NO_SUCH_CHIP: &str = "Correct the kiln file: an MCP9600 is on I2C, the others are on SPI.";

impl Connection {
    /// Its device.
    #[must_use]
    pub fn device(self) -> String {
        match self {
            Self::Spi { bus, chip_select } => format!("/dev/spidev{bus}.{chip_select}"),
            Self::I2c { bus, .. } => format!("/dev/i2c-{bus}"),
        }
    }

    fn missing(self, why: &dyn core::fmt::Display) -> NoBus {
        let cure = match self {
            Self::Spi { .. } => SPI_CURE,
            Self::I2c { .. } => I2C_CURE,
        };
        NoBus { device: self.device(), why: why.to_string(), cure }
    }
}

/// The chip at a place, for a wire. Nothing is written to it or asked of it yet: one that does not answer
/// says so with its first report.
pub fn probe(
    at: Connection,
    amplifier: Amplifier,
    wire: Thermocouple,
    mains: Mains,
) -> Result<Box<dyn Probe + Send>, NoBus> {
    let spi = |mode| spi(at, mode);
    Ok(match (amplifier, at) {
        (Amplifier::Max31855, Connection::Spi { .. }) => {
            Box::new(Max31855::new(spi(SpiModeFlags::SPI_MODE_0)?))
        }
        (Amplifier::Max6675, Connection::Spi { .. }) => {
            Box::new(Max6675::new(spi(SpiModeFlags::SPI_MODE_1)?))
        }
        (Amplifier::Max31856, Connection::Spi { .. }) => {
            Box::new(Max31856::new(spi(SpiModeFlags::SPI_MODE_1)?, wire, Averaging::One, mains))
        }
        (Amplifier::Mcp9600, Connection::I2c { address, .. }) => {
            Box::new(Mcp9600::new(i2c(at)?, address, wire))
        }
        (Amplifier::Max31855 | Amplifier::Max6675 | Amplifier::Max31856, Connection::I2c { .. })
        | (Amplifier::Mcp9600, Connection::Spi { .. }) => {
            let why = format!("a {amplifier:?} is not connected so");
            return Err(NoBus { device: at.device(), why, cure: NO_SUCH_CHIP });
        }
    })
}

/// A converter on SPI with the clamps on it.
#[derive(Clone, Debug, PartialEq)]
pub struct ConnectedConverter {
    /// The bus.
    pub bus: u8,
    /// Its chip select.
    pub chip_select: u8,
    /// Its reference.
    pub reference_v: f64,
    /// The clamps.
    pub clamps: Vec<Clamp>,
}

/// The currents of a converter at its place. Nothing is asked of it yet.
pub fn currents(converter: ConnectedConverter) -> Result<Currents<SpidevDevice>, NoBus> {
    let ConnectedConverter { bus, chip_select, reference_v, clamps } = converter;
    let chip = Mcp3008::new(spi(Connection::Spi { bus, chip_select }, SpiModeFlags::SPI_MODE_0)?);
    Ok(Currents::new(chip, reference_v, clamps))
}

fn spi(at: Connection, mode: SpiModeFlags) -> Result<SpidevDevice, NoBus> {
    let opened = || -> io::Result<SpidevDevice> {
        let mut device = SpidevDevice::open(at.device()).map_err(io::Error::other)?;
        device.configure(&SpidevOptions::new().bits_per_word(8).max_speed_hz(SPI_HZ).mode(mode).build())?;
        Ok(device)
    };
    opened().map_err(|why| at.missing(&why))
}

fn i2c(at: Connection) -> Result<impl I2c + Send, NoBus> {
    I2cdev::new(at.device()).map_err(|why| at.missing(&why))
}
