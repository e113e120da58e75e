//! MCP9600 and MCP9601.

use std::time::Duration;

use embedded_hal::i2c::{ErrorKind, ErrorType, I2c, NoAcknowledgeSource, Operation};
use embedded_hal_mock::eh1::i2c::{Mock, Transaction};
use hal::Probe;
use hal::amplifier::Mcp9600;
use proptest::prelude::*;
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said};
use pyrometry::thermocouple::Thermocouple;

use crate::{CONFIGURATION_LOST, NO_ANSWER, bytes, degrees, field, is_safe, signed, vectors};

/// Of `chip_vectors.csv`: 3 junctions and 2 identities.
pub(crate) const VECTORS: usize = 3 + 2;

const ADDRESS: u8 = 0x67;
/// Sensor set-up of type S (register 5-8).
const TYPE_S: u8 = 4 << 4;

fn read(register: u8, answer: &[u8]) -> Transaction {
    Transaction::write_read(ADDRESS, vec![register], answer.to_vec())
}

/// Identity and set-up.
fn checked(chip: u8, sensor: u8) -> Vec<Transaction> {
    vec![read(0x20, &[chip, 0x10]), read(0x05, &[sensor]), read(0x06, &[0x00])]
}

fn cycle(chip: u8, junction: [u8; 2], cold_junction: [u8; 2], status: u8) -> Vec<Transaction> {
    let mut cycle = checked(chip, TYPE_S);
    cycle.extend([read(0x00, &junction), read(0x02, &cold_junction), read(0x04, &[status])]);
    cycle
}

fn reported(transactions: &[Transaction]) -> Report {
    let mut chip = Mcp9600::new(Mock::new(transactions), ADDRESS, Thermocouple::S);
    let report = chip.report();
    chip.release().done();
    report
}

#[test]
fn temperatures_are_the_datasheets() {
    let mut checked = 0;
    for (what, hex, expected) in vectors("MCP9600") {
        let (Some(raw), Some(tc)) = (bytes(&hex), field(&expected, "tc")) else { continue };
        let report = reported(&cycle(0x40, [raw[0], raw[1]], [0x01, 0x94], 0));
        assert_eq!(degrees(Amplifier::Mcp9600, &report), (tc, 25.25), "{what}");
        checked += 1;
    }
    assert_eq!(checked, VECTORS - 2);
}

/// Which of the two it is shows in what an input beyond its range is called.
#[test]
fn each_chip_is_known_by_the_datasheets_identity() {
    for (chip, fault) in [("MCP9600", ChipFaults::OUT_OF_RANGE), ("MCP9601", ChipFaults::OPEN)] {
        let rows = vectors(chip);
        let identities: Vec<_> = rows.iter().filter(|row| row.0.starts_with("device id")).collect();
        let [(_, hex, _)] = identities[..] else { panic!("{identities:?}") };
        let identity = bytes(hex).expect("bytes").try_into().expect("two");
        let report =
            Mcp9600::new(Registers { identity, status: 0x10, ..HEALTHY }, ADDRESS, Thermocouple::S).report();
        assert_eq!(report.faults, fault, "{chip}");
    }
}

#[test]
fn an_input_beyond_its_range_is_an_open_circuit_where_the_chip_can_tell() {
    let faults = |chip, status| reported(&cycle(chip, [0x3E, 0x80], [0x01, 0x94], status)).faults;
    assert_eq!(faults(0x40, 0x10), ChipFaults::OUT_OF_RANGE);
    assert_eq!(faults(0x40, 0x20), ChipFaults::NONE, "the MCP9600 has no such bit");
    assert_eq!(faults(0x41, 0x10), ChipFaults::OPEN);
    assert_eq!(faults(0x41, 0x20), ChipFaults::SHORT_TO_GROUND);
    assert_eq!(faults(0x41, 0xCF), ChipFaults::NONE, "alerts and burst bits say nothing of the wire");
}

#[test]
fn sr_03_a_chip_that_forgot_its_wire_is_set_up_again_and_its_reading_not_taken() {
    let mut lost = checked(0x40, 0x00);
    lost.extend([
        Transaction::write(ADDRESS, vec![0x05, TYPE_S]),
        Transaction::write(ADDRESS, vec![0x06, 0x00]),
    ]);
    assert_eq!(reported(&lost), CONFIGURATION_LOST);
}

#[test]
fn sr_03_a_chip_that_is_set_up_before_it_is_asked_reports_no_loss_and_a_later_one_is_told() {
    let written =
        [Transaction::write(ADDRESS, vec![0x05, TYPE_S]), Transaction::write(ADDRESS, vec![0x06, 0x00])];
    let mut transactions = vec![read(0x20, &[0x40, 0x10])];
    transactions.extend(written.clone());
    transactions.extend(cycle(0x40, [0x3E, 0x80], [0x01, 0x94], 0));
    transactions.extend(checked(0x40, 0x00));
    transactions.extend(written);
    let mut chip = Mcp9600::new(Mock::new(&transactions), ADDRESS, Thermocouple::S);
    let takes = chip.set_up();
    let faults = [(); 2].map(|()| chip.report().faults);
    chip.release().done();
    assert_eq!(faults, [ChipFaults::NONE, ChipFaults::CONFIGURATION_LOST]);
    // 18 bits (page 26).
    assert!(takes >= Duration::from_millis(320));
}

#[test]
fn sr_03_nothing_is_written_to_a_stranger_at_the_address() {
    let mut chip = Mcp9600::new(Mock::new(&[read(0x20, &[0x54, 0x01])]), ADDRESS, Thermocouple::S);
    assert_eq!(chip.set_up(), Duration::ZERO);
    chip.release().done();
}

#[test]
fn sr_03_another_chip_at_the_address_or_none_is_no_answer() {
    assert_eq!(reported(&[read(0x20, &[0x54, 0x01])]), NO_ANSWER);
    let nobody = read(0x20, &[0, 0]).with_error(ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address));
    assert_eq!(reported(&[nobody]), NO_ANSWER);
    let mut half = cycle(0x40, [0x3E, 0x80], [0x01, 0x94], 0);
    half.truncate(4);
    half.push(read(0x02, &[0, 0]).with_error(ErrorKind::Bus));
    assert_eq!(reported(&half), NO_ANSWER, "a bus that fails half-way");
}

/// A chip's registers, each of up to two bytes, which answers whatever stands in them and takes nothing to
/// heart.
#[derive(Clone, Copy, Debug)]
struct Registers {
    identity: [u8; 2],
    sensor: u8,
    device: u8,
    junction: [u8; 2],
    cold_junction: [u8; 2],
    status: u8,
}

/// Set up for type S, 1000 °C, a cold junction of 25.25 °C, no complaint.
const HEALTHY: Registers = Registers {
    identity: [0x40, 0x10],
    sensor: TYPE_S,
    device: 0x00,
    junction: [0x3E, 0x80],
    cold_junction: [0x01, 0x94],
    status: 0x00,
};

impl ErrorType for Registers {
    type Error = ErrorKind;
}

impl I2c for Registers {
    fn transaction(&mut self, address: u8, operations: &mut [Operation<'_>]) -> Result<(), ErrorKind> {
        assert_eq!(address, ADDRESS);
        if let [Operation::Write([register]), Operation::Read(answer)] = operations {
            // Table 5-1.
            match register {
                0x00 => answer.copy_from_slice(&self.junction),
                0x02 => answer.copy_from_slice(&self.cold_junction),
                0x04 => answer.copy_from_slice(&[self.status]),
                0x05 => answer.copy_from_slice(&[self.sensor]),
                0x06 => answer.copy_from_slice(&[self.device]),
                0x20 => answer.copy_from_slice(&self.identity),
                other => panic!("register {other:#04x}"),
            }
        }
        Ok(())
    }
}

/// What these registers say by the datasheet, its numbers read from their digits.
fn by_the_datasheet(registers: Registers) -> Report {
    let [chip, _revision] = registers.identity;
    if chip != 0x40 && chip != 0x41 {
        return NO_ANSWER;
    }
    if (registers.sensor, registers.device) != (TYPE_S, 0x00) {
        return CONFIGURATION_LOST;
    }
    let word = |[high, low]: [u8; 2]| signed(&format!("{high:08b}{low:08b}"), 15, 0);
    let status = format!("{:08b}", registers.status);
    let (bit_4, bit_5) = (&status[3..4] == "1", &status[2..3] == "1");
    let faults = match (chip, bit_4, bit_5) {
        (0x40, true, _) => ChipFaults::OUT_OF_RANGE,
        (0x41, true, false) => ChipFaults::OPEN,
        (0x41, false, true) => ChipFaults::SHORT_TO_GROUND,
        (0x41, true, true) => ChipFaults::OPEN.with(ChipFaults::SHORT_TO_GROUND),
        _ => ChipFaults::NONE,
    };
    let (junction, cold_junction) = (word(registers.junction), word(registers.cold_junction));
    Report::single(Said::Words { junction, cold_junction }, faults)
}

fn assert_by_the_datasheet(registers: Registers) {
    let report = Mcp9600::new(registers, ADDRESS, Thermocouple::S).report();
    assert_eq!(report, by_the_datasheet(registers), "{registers:02x?}");
    assert!(is_safe(Amplifier::Mcp9600, Thermocouple::S, &report), "{registers:02x?}: {report:?}");
}

#[test]
fn sr_03_every_value_of_every_register_is_read_as_the_datasheet_says_and_faults_win() {
    for word in 0..=u16::MAX {
        let bytes = word.to_be_bytes();
        let [one, other] = bytes;
        for identity in [[0x40, 0x10], [0x41, 0x10]] {
            assert_by_the_datasheet(Registers { identity, junction: bytes, ..HEALTHY });
            assert_by_the_datasheet(Registers { identity, cold_junction: bytes, ..HEALTHY });
            assert_by_the_datasheet(Registers { identity, sensor: one, device: other, ..HEALTHY });
            assert_by_the_datasheet(Registers { identity, status: one, ..HEALTHY });
        }
        assert_by_the_datasheet(Registers { identity: bytes, ..HEALTHY });
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20_000))]
    #[test]
    fn sr_03_any_registers_are_a_reading_of_the_set_up_chip_or_none(
        identity in prop_oneof![any::<[u8; 2]>(), Just([0x40, 0x10]), Just([0x41, 0x10])],
        sensor in prop_oneof![any::<u8>(), Just(TYPE_S)],
        device in prop_oneof![any::<u8>(), Just(0)],
        junction in any::<[u8; 2]>(),
        cold_junction in any::<[u8; 2]>(),
        status in any::<u8>(),
    ) {
        assert_by_the_datasheet(Registers { identity, sensor, device, junction, cold_junction, status });
    }
}
