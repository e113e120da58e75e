//! MAX31856.

use embedded_hal_mock::eh1::spi::{Mock, Transaction};
use hal::Probe;
use hal::amplifier::max31856::Averaging;
use hal::amplifier::{Mains, Max31856};
use proptest::prelude::*;
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said};
use pyrometry::thermocouple::Thermocouple;

use crate::{CONFIGURATION_LOST, DeadBus, NO_ANSWER, bytes, degrees, field, vectors};

/// Set up for type S, four samples, 50 Hz: CR0 0x91 and CR1 0x26 as in the vectors, the rest as after a
/// reset (table 6).
const SETUP: [u8; 10] = [0x91, 0x26, 0xFF, 0x7F, 0xC0, 0x7F, 0xFF, 0x80, 0x00, 0x00];
/// After a reset (table 6): not converting, type K.
const RESET: [u8; 10] = [0x00, 0x03, 0xFF, 0x7F, 0xC0, 0x7F, 0xFF, 0x80, 0x00, 0x00];

/// A cold junction of 25 °C, a junction of 1000 °C (tables 2 and 3), and no complaint.
const MEASURED: [u8; 6] = [0x19, 0x00, 0x3E, 0x80, 0x00, 0x00];

fn chip(spi: Mock<u8>) -> Max31856<Mock<u8>> {
    Max31856::new(spi, Thermocouple::S, Averaging::Four, Mains::Hertz50)
}

/// One transfer: the first register's address, and all sixteen back.
fn read(setup: [u8; 10], measured: [u8; 6]) -> Vec<Transaction<u8>> {
    let answer = [&[0xFF][..], &setup, &measured].concat();
    vec![
        Transaction::transaction_start(),
        Transaction::transfer_in_place(vec![0; 17], answer),
        Transaction::transaction_end(),
    ]
}

/// Set up while it does not convert, then converting.
fn written() -> Vec<Transaction<u8>> {
    let mut setup = vec![0x80, 0x11];
    setup.extend(&SETUP[1..]);
    vec![
        Transaction::transaction_start(),
        Transaction::write_vec(setup),
        Transaction::transaction_end(),
        Transaction::transaction_start(),
        Transaction::write_vec(vec![0x80, 0x91]),
        Transaction::transaction_end(),
    ]
}

fn reports(cycles: &[Vec<Transaction<u8>>], count: usize) -> Vec<Report> {
    let mut chip = chip(Mock::new(&cycles.concat()));
    let reports = (0..count).map(|_| chip.report()).collect();
    chip.release().done();
    reports
}

/// The report of a chip that was set up and measured this.
fn reported(measured: [u8; 6]) -> Report {
    reports(&[read(RESET, MEASURED), written(), read(SETUP, measured)], 2)[1]
}

#[test]
fn sr_03_a_chip_as_after_a_reset_is_set_up_and_its_reading_not_taken() {
    let reports =
        reports(&[read(RESET, MEASURED), written(), read(SETUP, MEASURED), read(SETUP, MEASURED)], 3);
    assert_eq!(reports[0], CONFIGURATION_LOST);
    for report in &reports[1..] {
        assert_eq!((degrees(Amplifier::Max31856, report), report.faults), ((1000.0, 25.0), ChipFaults::NONE));
    }
}

#[test]
fn sr_03_a_chip_that_loses_its_power_in_mid_firing_is_never_read_as_another_type() {
    let cycles = [
        read(RESET, MEASURED),
        written(),
        read(SETUP, MEASURED),
        read(RESET, MEASURED),
        written(),
        read(SETUP, MEASURED),
    ];
    let faults: Vec<ChipFaults> = reports(&cycles, 4).iter().map(|report| report.faults).collect();
    let lost = ChipFaults::CONFIGURATION_LOST;
    assert_eq!(faults, [lost, ChipFaults::NONE, lost, ChipFaults::NONE]);
}

#[test]
fn sr_03_one_register_that_differs_is_enough() {
    for register in 0..SETUP.len() {
        let mut other = SETUP;
        other[register] ^= 0x10;
        let cycles = [read(RESET, MEASURED), written(), read(other, MEASURED), written()];
        assert_eq!(reports(&cycles, 2)[1], CONFIGURATION_LOST, "register {register:#04x}");
    }
}

#[test]
fn sr_03_lines_that_stand_still_and_buses_that_fail_are_no_answer_and_the_chip_is_set_up_again() {
    for stuck in [0x00, 0xFF] {
        let cycles = [
            read(RESET, MEASURED),
            written(),
            read([stuck; 10], [stuck; 6]),
            read(SETUP, MEASURED),
            written(),
            read(SETUP, MEASURED),
        ];
        let reports = reports(&cycles, 4);
        assert_eq!((reports[1], reports[2]), (NO_ANSWER, CONFIGURATION_LOST), "{stuck:#04x}");
        assert_eq!(reports[3].faults, ChipFaults::NONE);
    }
    let mut chip = Max31856::new(DeadBus, Thermocouple::S, Averaging::Four, Mains::Hertz50);
    assert_eq!([chip.report(), chip.report()], [NO_ANSWER; 2]);
}

#[test]
fn temperatures_and_status_bits_are_the_datasheets() {
    let (mut junctions, mut cold_junctions, mut complaints) = (0, 0, 0);
    for (what, hex, expected) in vectors("MAX31856") {
        let Some(raw) = bytes(&hex) else { continue };
        let [cj_high, cj_low, tc_high, tc_middle, tc_low, status] = MEASURED;
        match (raw[..].to_owned().as_slice(), field(&expected, "tc"), field(&expected, "cj")) {
            (&[high, middle, low], Some(tc), _) => {
                let report = reported([cj_high, cj_low, high, middle, low, status]);
                assert_eq!(degrees(Amplifier::Max31856, &report).0, tc, "{what}");
                junctions += 1;
            }
            (&[high, low], _, Some(cj)) => {
                let report = reported([high, low, tc_high, tc_middle, tc_low, status]);
                assert_eq!(degrees(Amplifier::Max31856, &report).1, cj, "{what}");
                cold_junctions += 1;
            }
            (&[status], None, None) => {
                let report = reported([cj_high, cj_low, tc_high, tc_middle, tc_low, status]);
                let fault = match status {
                    0x01 => ChipFaults::OPEN,
                    0x02 => ChipFaults::SHORT_TO_SUPPLY,
                    _ => ChipFaults::OUT_OF_RANGE,
                };
                assert_eq!(report.faults, fault, "{what}: {expected}");
                complaints += 1;
            }
            _ => {}
        }
    }
    assert!(
        (junctions, cold_junctions, complaints) >= (12, 11, 8),
        "{junctions}, {cold_junctions}, {complaints}"
    );
}

#[test]
fn each_wire_average_and_mains_has_its_code() {
    for (wire, code) in [
        (Thermocouple::B, 0),
        (Thermocouple::E, 1),
        (Thermocouple::J, 2),
        (Thermocouple::K, 3),
        (Thermocouple::N, 4),
        (Thermocouple::R, 5),
        (Thermocouple::S, 6),
        (Thermocouple::T, 7),
    ] {
        for (averaging, samples) in [(Averaging::One, 0), (Averaging::Two, 1), (Averaging::Sixteen, 4)] {
            for (mains, hum) in [(Mains::Hertz50, 1), (Mains::Hertz60, 0)] {
                let mut written = vec![0x80, 0x10 | hum, samples << 4 | code];
                written.extend(&SETUP[2..]);
                let mut cycles = read(RESET, MEASURED);
                cycles.extend([
                    Transaction::transaction_start(),
                    Transaction::write_vec(written),
                    Transaction::transaction_end(),
                    Transaction::transaction_start(),
                    Transaction::write_vec(vec![0x80, 0x90 | hum]),
                    Transaction::transaction_end(),
                ]);
                let mut chip = Max31856::new(Mock::new(&cycles), wire, averaging, mains);
                assert_eq!(chip.report(), CONFIGURATION_LOST);
                chip.release().done();
            }
        }
    }
}

proptest! {
    #[test]
    fn whatever_is_measured_is_a_pair_of_words_in_range(measured in any::<[u8; 6]>()) {
        let Said::Words { junction, cold_junction } = reported(measured).said else {
            return Err(TestCaseError::fail("no words"));
        };
        prop_assert!((-262_144..=262_143).contains(&junction) && (-8192..=8191).contains(&cold_junction));
    }
}
