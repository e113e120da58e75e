//! MAX31855.

use embedded_hal_mock::eh1::spi::{Mock, Transaction};
use hal::Probe;
use hal::amplifier::Max31855;
use hal::amplifier::max31855::decoded;
use proptest::prelude::*;
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said};
use pyrometry::thermocouple::Thermocouple;

use crate::{DeadBus, NO_ANSWER, bytes, degrees, field, is_safe, signed, vectors};

/// Frames of `chip_vectors.csv`: 17 temperatures and 5 faults.
pub(crate) const VECTORS: usize = 22;

/// What a frame says by tables 3 to 5 of the datasheet, read from its digits.
fn by_the_datasheet(frame: u32) -> Report {
    let digits = format!("{frame:032b}");
    let bit = |number: usize| digits.as_bytes()[31 - number] == b'1';
    let flags = [(0, ChipFaults::OPEN), (1, ChipFaults::SHORT_TO_GROUND), (2, ChipFaults::SHORT_TO_SUPPLY)];
    let set = flags.into_iter().filter(|(number, _)| bit(*number));
    let faults = set.fold(ChipFaults::NONE, |all, (_, fault)| all.with(fault));
    if frame == 0 || bit(17) || bit(3) || bit(16) == faults.is_none() {
        return NO_ANSWER;
    }
    let (junction, cold_junction) = (signed(&digits, 31, 18), signed(&digits, 15, 4));
    Report::single(Said::Words { junction, cold_junction }, faults)
}

fn assert_by_the_datasheet(frame: u32) {
    let report = decoded(frame);
    assert_eq!(report, by_the_datasheet(frame), "{frame:#010x}");
    assert!(is_safe(Amplifier::Max31855, Thermocouple::K, &report), "{frame:#010x}: {report:?}");
}

/// Each field by itself through all it can hold: the other half of the frame is a healthy one's, a complaining
/// one's, and each end of its range.
#[test]
fn sr_03_every_junction_and_every_cold_junction_is_read_as_the_datasheet_says_and_faults_win() {
    for half in 0..=u16::MAX {
        let half = u32::from(half);
        for lower in [0x1900, 0x1901, 0x1902, 0x1904, 0x7FF0, 0x8000, 0x0000, 0x0008] {
            assert_by_the_datasheet(half << 16 | lower);
        }
        for upper in [0x0190, 0x0191, 0x0192, 0x7FFC, 0x8000, 0x0000] {
            assert_by_the_datasheet(upper << 16 | half);
        }
    }
}

#[test]
fn every_frame_of_the_datasheets_tables_is_read_in_one_transfer_of_four_bytes() {
    let (mut temperatures, mut faults) = (0, 0);
    for (what, hex, expected) in vectors("MAX31855") {
        let frame = bytes(&hex).expect("a frame");
        let transfer =
            [Transaction::transaction_start(), Transaction::read_vec(frame), Transaction::transaction_end()];
        let mut chip = Max31855::new(Mock::new(&transfer));
        let report = chip.report();
        chip.release().done();
        if let (Some(tc), Some(cj)) = (field(&expected, "tc"), field(&expected, "cj")) {
            assert_eq!(
                (degrees(Amplifier::Max31855, &report), report.faults),
                ((tc, cj), ChipFaults::NONE),
                "{what}"
            );
            temperatures += 1;
            continue;
        }
        let fault = match expected.split([';', ' ']).next() {
            Some("OC") => ChipFaults::OPEN,
            Some("SCG") => ChipFaults::SHORT_TO_GROUND,
            Some("SCV") => ChipFaults::SHORT_TO_SUPPLY,
            _ => ChipFaults::NO_ANSWER,
        };
        assert_eq!(report.faults, fault, "{what}: {expected}");
        faults += 1;
    }
    assert_eq!((temperatures, faults), (17, VECTORS - 17));
}

#[test]
fn sr_03_a_bus_that_fails_is_no_answer() {
    assert_eq!(Max31855::new(DeadBus).report(), NO_ANSWER);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20_000))]
    #[test]
    fn any_frame_is_a_pair_of_words_in_range_or_no_answer(frame in any::<u32>()) {
        assert_by_the_datasheet(frame);
        let report = decoded(frame);
        match report.said {
            Said::Words { junction, cold_junction } => {
                prop_assert!((-8192..=8191).contains(&junction) && (-2048..=2047).contains(&cold_junction));
                prop_assert_eq!(frame & 0x0002_0008, 0, "D17 and D3 are always 0");
                prop_assert_eq!(frame & 0x0001_0000 != 0, !report.faults.is_none(), "D16 says what D2:0 say");
            }
            Said::Nothing | Said::Reading { .. } | Said::Emf { .. } => prop_assert_eq!(report, NO_ANSWER),
        }
    }
}
