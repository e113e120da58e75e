//! MAX6675.

use embedded_hal_mock::eh1::spi::{Mock, Transaction};
use hal::Probe;
use hal::amplifier::Max6675;
use hal::amplifier::max6675::decoded;
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said};
use pyrometry::thermocouple::Thermocouple;

use crate::{NO_ANSWER, bytes, degrees, field, is_safe, signed, vectors};

/// Frames of `chip_vectors.csv`.
pub(crate) const VECTORS: usize = 5;

fn reported(frame: Vec<u8>) -> Report {
    let transfer =
        [Transaction::transaction_start(), Transaction::read_vec(frame), Transaction::transaction_end()];
    let mut chip = Max6675::new(Mock::new(&transfer));
    let report = chip.report();
    chip.release().done();
    report
}

#[test]
fn every_frame_of_the_datasheet_is_read_in_one_transfer_of_two_bytes() {
    let vectors = vectors("MAX6675");
    assert_eq!(vectors.len(), VECTORS);
    for (what, hex, expected) in vectors {
        let report = reported(bytes(&hex).expect("a frame"));
        match field(&expected, "tc") {
            // Zero degrees and a dead line are the same frame: on the safe side, no answer.
            Some(0.0) => assert_eq!(report, NO_ANSWER, "{what}"),
            Some(tc) => {
                assert_eq!((degrees(Amplifier::Max6675, &report).0, report.faults), (tc, ChipFaults::NONE));
            }
            None if expected == "OPEN" => assert_eq!(report.faults, ChipFaults::OPEN),
            None => assert_eq!(report, NO_ANSWER, "{what}"),
        }
    }
}

/// By figure 2 of the datasheet, read from the frame's digits.
#[test]
fn sr_03_every_one_of_the_65_536_frames_is_a_word_of_twelve_bits_or_no_answer() {
    let (mut healthy, mut open) = (0, 0);
    for frame in 0..=u16::MAX {
        let digits = format!("{frame:016b}");
        let bit = |number: usize| digits.as_bytes()[15 - number] == b'1';
        let report = decoded(frame);
        assert!(is_safe(Amplifier::Max6675, Thermocouple::K, &report), "{frame:#06x}: {report:?}");
        if frame == 0 || bit(15) || bit(1) {
            assert_eq!(report, NO_ANSWER, "{frame:#06x}");
            continue;
        }
        let faults = if bit(2) { ChipFaults::OPEN } else { ChipFaults::NONE };
        // D15 is 0 here: the twelve bits below it have no sign of their own.
        let said = Said::Words { junction: signed(&digits, 15, 3), cold_junction: 0 };
        assert_eq!(report, Report::single(said, faults), "{frame:#06x}");
        *(if bit(2) { &mut open } else { &mut healthy }) += 1;
    }
    // Of sixteen bits D15 and D1 are given, and D2 says which: 2^13 each, less the frame of zeros.
    assert_eq!((healthy, open), (8191, 8192));
}
