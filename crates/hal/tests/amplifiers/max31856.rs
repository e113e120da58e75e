//! MAX31856.

use std::cell::Cell;
use std::rc::Rc;
use std::time::Duration;

use embedded_hal::spi::{ErrorKind, ErrorType, Operation, SpiDevice};
use embedded_hal_mock::eh1::spi::{Mock, Transaction};
use hal::Probe;
use hal::amplifier::max31856::Averaging;
use hal::amplifier::{Mains, Max31856};
use proptest::prelude::*;
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said};
use pyrometry::thermocouple::Thermocouple;

use crate::{CONFIGURATION_LOST, DeadBus, NO_ANSWER, bytes, degrees, field, is_safe, signed, vectors};

/// Of `chip_vectors.csv`: 12 junctions, 11 cold junctions, 8 bits of status, and 3 of the set-up.
pub(crate) const VECTORS: usize = 12 + 11 + 8 + 3;

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

/// As it woke, or as an earlier run of the program left it.
#[test]
fn sr_03_a_chip_that_is_set_up_before_it_is_asked_reports_no_loss_and_a_later_one_is_told() {
    let cycles = [written(), read(SETUP, MEASURED), read(RESET, MEASURED), written(), read(SETUP, MEASURED)];
    let mut chip = chip(Mock::new(&cycles.concat()));
    let takes = chip.set_up();
    let faults = [(); 3].map(|()| chip.report().faults);
    chip.release().done();
    assert_eq!(faults, [ChipFaults::NONE, ChipFaults::CONFIGURATION_LOST, ChipFaults::NONE]);
    // Four samples in automatic mode at 50 Hz: 110 ms and three times 20 (page 3).
    assert!(takes >= Duration::from_millis(110 + 3 * 20));
}

#[test]
fn sr_03_a_set_up_that_did_not_reach_the_chip_is_told_by_the_first_report() {
    let cycles = [written(), read(RESET, MEASURED), written(), read(SETUP, MEASURED)];
    let mut chip = chip(Mock::new(&cycles.concat()));
    chip.set_up();
    let reports = [chip.report(), chip.report()];
    chip.release().done();
    assert_eq!((reports[0], reports[1].faults), (CONFIGURATION_LOST, ChipFaults::NONE));
    let mut dead = Max31856::new(DeadBus, Thermocouple::S, Averaging::Four, Mains::Hertz50);
    dead.set_up();
    assert_eq!(dead.report(), NO_ANSWER);
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
    assert_eq!((junctions, cold_junctions, complaints), (12, 11, 8));
}

/// What was written to CR0 and CR1 and what stands in the registers after a reset, as the vectors have it.
#[test]
fn set_up_and_reset_are_the_datasheets() {
    let rows: Vec<_> = vectors("MAX31856").into_iter().filter(|row| row.1.contains(' ')).collect();
    let row = |what: &str| {
        let row = rows.iter().find(|row| row.0.starts_with(what)).expect(what);
        bytes(&row.1).expect("bytes")
    };
    assert_eq!(row("write CR0"), [0x80, SETUP[0]]);
    assert_eq!(row("write CR1"), [0x81, SETUP[1]]);
    assert_eq!(row("power-on defaults"), image(RESET, [0; 6]));
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

/// A chip as sixteen registers, which answers whatever stands in them and takes nothing to heart.
#[derive(Clone)]
struct Registers(Rc<Cell<[u8; 16]>>);

impl ErrorType for Registers {
    type Error = ErrorKind;
}

impl SpiDevice for Registers {
    fn transaction(&mut self, operations: &mut [Operation<'_, u8>]) -> Result<(), ErrorKind> {
        for operation in operations {
            if let Operation::TransferInPlace(frame) = operation {
                frame[1..].copy_from_slice(&self.0.get());
            }
        }
        Ok(())
    }
}

/// A chip that was set up, and the registers that it answers with from now on.
fn set_up() -> (Max31856<Registers>, Rc<Cell<[u8; 16]>>) {
    let registers = Rc::new(Cell::new(image(RESET, MEASURED)));
    let spi = Registers(Rc::clone(&registers));
    let mut chip = Max31856::new(spi, Thermocouple::S, Averaging::Four, Mains::Hertz50);
    assert_eq!(chip.report(), CONFIGURATION_LOST);
    (chip, registers)
}

fn image(setup: [u8; 10], measured: [u8; 6]) -> [u8; 16] {
    [&setup[..], &measured[..]].concat().try_into().expect("ten and six")
}

/// What sixteen registers say by tables 2, 3 and 6 and page 25 of the datasheet, read from their digits.
fn by_the_datasheet(registers: [u8; 16]) -> Report {
    if registers == [0x00; 16] || registers == [0xFF; 16] {
        return NO_ANSWER;
    }
    if registers[..10] != SETUP {
        return CONFIGURATION_LOST;
    }
    let digits =
        registers[10..].iter().map(|register| format!("{register:08b}")).collect::<Vec<_>>().concat();
    let status = &digits[40..];
    let set = |bits: std::ops::Range<usize>, fault| {
        if status[bits].contains('1') { fault } else { ChipFaults::NONE }
    };
    // Printed from bit 7 down to bit 0.
    let faults = set(7..8, ChipFaults::OPEN)
        .with(set(6..7, ChipFaults::SHORT_TO_SUPPLY))
        .with(set(0..6, ChipFaults::OUT_OF_RANGE));
    let (cold_junction, junction) = (signed(&digits[..16], 15, 2), signed(&digits[16..40], 23, 5));
    Report::single(Said::Words { junction, cold_junction }, faults)
}

fn assert_by_the_datasheet(registers: [u8; 16]) {
    let (mut chip, answers) = set_up();
    answers.set(registers);
    let report = chip.report();
    assert_eq!(report, by_the_datasheet(registers), "{registers:02x?}");
    assert!(is_safe(Amplifier::Max31856, Thermocouple::S, &report), "{registers:02x?}: {report:?}");
}

#[test]
fn every_junction_every_cold_junction_and_every_status_is_read_as_the_datasheet_says_and_faults_win() {
    let [cj_high, cj_low, tc_high, tc_middle, tc_low, sound] = MEASURED;
    for word in 0..1_u32 << 19 {
        // The lowest five bits are not of the junction: whatever floats there.
        let [_, high, middle, low] = ((word << 5) | (word % 32)).to_be_bytes();
        assert_by_the_datasheet(image(SETUP, [cj_high, cj_low, high, middle, low, sound]));
    }
    for word in 0..=u16::MAX {
        let [high, low] = word.to_be_bytes();
        assert_by_the_datasheet(image(SETUP, [high, low, tc_high, tc_middle, tc_low, sound]));
    }
    for status in 0..=u8::MAX {
        assert_by_the_datasheet(image(SETUP, [cj_high, cj_low, tc_high, tc_middle, tc_low, status]));
    }
}

#[test]
fn sr_03_every_value_but_the_written_one_in_any_register_of_the_set_up_is_enough() {
    for register in 0..SETUP.len() {
        for value in 0..=u8::MAX {
            let mut other = SETUP;
            other[register] = value;
            assert_by_the_datasheet(image(other, MEASURED));
        }
    }
}

/// Any set-up, and often the right one.
fn setups() -> impl Strategy<Value = [u8; 10]> {
    prop_oneof![any::<[u8; 10]>(), Just(SETUP), Just([0x00; 10]), Just([0xFF; 10])]
}

/// Anything measured, and often what a dead line reads.
fn measurements() -> impl Strategy<Value = [u8; 6]> {
    prop_oneof![any::<[u8; 6]>(), Just([0x00; 6]), Just([0xFF; 6])]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20_000))]
    #[test]
    fn sr_03_any_sixteen_registers_are_a_reading_of_the_set_up_chip_or_none(
        setup in setups(), measured in measurements(),
    ) {
        assert_by_the_datasheet(image(setup, measured));
    }
}
