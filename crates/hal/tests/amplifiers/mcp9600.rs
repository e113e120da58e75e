//! MCP9600 and MCP9601.

use embedded_hal::i2c::{ErrorKind, NoAcknowledgeSource};
use embedded_hal_mock::eh1::i2c::{Mock, Transaction};
use hal::Probe;
use hal::amplifier::Mcp9600;
use proptest::prelude::*;
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said};
use pyrometry::thermocouple::Thermocouple;

use crate::{CONFIGURATION_LOST, NO_ANSWER, bytes, degrees, field, vectors};

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
    assert!(checked >= 3, "{checked}");
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
fn sr_03_another_chip_at_the_address_or_none_is_no_answer() {
    assert_eq!(reported(&[read(0x20, &[0x54, 0x01])]), NO_ANSWER);
    let nobody = read(0x20, &[0, 0]).with_error(ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address));
    assert_eq!(reported(&[nobody]), NO_ANSWER);
    let mut half = cycle(0x40, [0x3E, 0x80], [0x01, 0x94], 0);
    half.truncate(4);
    half.push(read(0x02, &[0, 0]).with_error(ErrorKind::Bus));
    assert_eq!(reported(&half), NO_ANSWER, "a bus that fails half-way");
}

proptest! {
    #[test]
    fn whatever_is_measured_is_a_pair_of_words_in_range(
        junction in any::<[u8; 2]>(), cold_junction in any::<[u8; 2]>(), status in any::<u8>(),
    ) {
        let Said::Words { junction, cold_junction } =
            reported(&cycle(0x40, junction, cold_junction, status)).said
        else {
            return Err(TestCaseError::fail("no words"));
        };
        prop_assert!((-32_768..=32_767).contains(&junction) && (-32_768..=32_767).contains(&cold_junction));
    }
}
