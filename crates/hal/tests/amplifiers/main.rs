//! The amplifier chips' drivers by the exact transactions on their buses.
//!
//! Frames and what they mean are those of the datasheets' tables, each with its page in
//! `crates/pyrometry/tests/data/chip_vectors.csv`: MAX31855 19-5793 rev 5, MAX31856 19-7534 rev 0,
//! MAX6675 19-2235 rev 3, `MCP960x` DS20005426G.

mod max31855;
mod max31856;
mod max6675;
mod mcp9600;

use embedded_hal::spi::{ErrorKind, ErrorType, Operation, SpiDevice};
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said};
use pyrometry::units::CelsiusDelta;

/// The vectors of a chip: description, bytes in hexadecimal, what is expected.
fn vectors(chip: &str) -> Vec<(String, String, String)> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../pyrometry/tests/data/chip_vectors.csv");
    let mut reader = csv::Reader::from_path(path).expect("a data file");
    let rows = reader.records().map(|row| row.expect("a row"));
    rows.filter(|row| &row[0] == chip)
        .map(|row| (row[2].to_owned(), row[3].to_owned(), row[4].to_owned()))
        .collect()
}

fn bytes(hex: &str) -> Option<Vec<u8>> {
    let digits: String = hex.split_whitespace().collect();
    let pairs = (0..digits.len()).step_by(2);
    pairs.map(|at| u8::from_str_radix(digits.get(at..at + 2)?, 16).ok()).collect()
}

/// A field `name=value` of what is expected.
fn field(expected: &str, name: &str) -> Option<f64> {
    expected.split(';').find_map(|part| part.strip_prefix(name)?.strip_prefix('=')?.parse().ok())
}

/// The junction and cold junction that a report's words stand for, °C.
fn degrees(chip: Amplifier, report: &Report) -> (f64, f64) {
    let Said::Words { junction, cold_junction } = report.said else { panic!("{report:?}") };
    let cold_step_c = chip.cold_junction_step().map_or(0.0, CelsiusDelta::c);
    (f64::from(junction) * chip.junction_step().c(), f64::from(cold_junction) * cold_step_c)
}

/// A bus on which every transfer fails.
struct DeadBus;

impl ErrorType for DeadBus {
    type Error = ErrorKind;
}

impl SpiDevice for DeadBus {
    fn transaction(&mut self, _operations: &mut [Operation<'_, u8>]) -> Result<(), ErrorKind> {
        Err(ErrorKind::Other)
    }
}

const NO_ANSWER: Report = Report::single(Said::Nothing, ChipFaults::NO_ANSWER);
const CONFIGURATION_LOST: Report = Report::single(Said::Nothing, ChipFaults::CONFIGURATION_LOST);
