//! Drivers of the amplifier chips, one a file, on `embedded-hal` buses.
//!
//! Each asks its chip once a cycle and gives what it said as a [`Report`]. A bus that fails, a frame
//! that no chip sends and a chip that forgot its configuration are conditions of the kiln and stand
//! in the report; nothing here is an error, and nothing here is a temperature.

pub mod max31855;
pub mod max31856;
pub mod max6675;
pub mod mcp9600;

use pyrometry::amplifier::{ChipFaults, Report, Said};

pub use max6675::Max6675;
pub use max31855::Max31855;
pub use max31856::Max31856;
pub use mcp9600::Mcp9600;

/// The mains whose hum a chip is to leave out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mains {
    /// 50 Hz.
    Hertz50,
    /// 60 Hz.
    Hertz60,
}

pub(crate) const NO_ANSWER: Report = Report::single(Said::Nothing, ChipFaults::NO_ANSWER);
const CONFIGURATION_LOST: Report = Report::single(Said::Nothing, ChipFaults::CONFIGURATION_LOST);
