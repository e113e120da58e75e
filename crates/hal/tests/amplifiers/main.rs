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
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::thermocouple::Thermocouple;
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

/// The signed number in the digits `high` to `low` of a frame of as many bits, by two's complement as the
/// datasheets define it: reckoned from the digits as they are printed, not by shifts.
fn signed(frame: &str, high: usize, low: usize) -> i32 {
    let digits = &frame[frame.len() - 1 - high..frame.len() - low];
    let magnitude = i32::from_str_radix(digits, 2).expect("binary digits");
    if digits.starts_with('1') { magnitude - (1 << digits.len()) } else { magnitude }
}

/// A faulty report must measure as no temperature, whatever its words; a healthy one as one within the
/// type's range, or as a fault.
fn is_safe(chip: Amplifier, wire: Thermocouple, report: &Report) -> bool {
    let sensor = Sensor { thermocouple: wire, amplifier: chip, calibration: Calibration::NONE };
    match sensor.measure(report) {
        Ok(measured) => report.faults.is_none() && wire.range().contains(&measured.junction),
        Err(_) => true,
    }
}

/// How many vectors each driver is held to; the manual says the same.
const VECTORS: [(&str, usize); 4] = [
    ("MAX31855", max31855::VECTORS),
    ("MAX31856", max31856::VECTORS),
    ("MAX6675", max6675::VECTORS),
    ("MCP9600 and MCP9601", mcp9600::VECTORS),
];

#[test]
fn the_manual_counts_the_vectors_as_they_are() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/boards.md");
    let manual = std::fs::read_to_string(path).expect("a page");
    for (chip, count) in VECTORS {
        let row = format!("| {chip} | {count} |");
        assert!(manual.lines().any(|line| line.starts_with(&row)), "docs/boards.md has no row {row}");
    }
    let all: usize = VECTORS.iter().map(|(_, count)| count).sum();
    assert!(manual.contains(&format!("driver vectors: {all}")), "{all} in all");
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
