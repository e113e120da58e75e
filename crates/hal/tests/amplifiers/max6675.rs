//! MAX6675.

use embedded_hal_mock::eh1::spi::{Mock, Transaction};
use hal::Probe;
use hal::amplifier::Max6675;
use hal::amplifier::max6675::decoded;
use proptest::prelude::*;
use pyrometry::amplifier::{Amplifier, ChipFaults, Report, Said};

use crate::{NO_ANSWER, bytes, degrees, field, vectors};

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
    for (what, hex, expected) in vectors("MAX6675") {
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

proptest! {
    #[test]
    fn any_frame_is_a_word_of_twelve_bits_or_no_answer(frame in any::<u16>()) {
        let report = decoded(frame);
        match report.said {
            Said::Words { junction, cold_junction } => {
                prop_assert!((0..=4095).contains(&junction) && cold_junction == 0);
                prop_assert_eq!(frame & 0x8002, 0, "D15 and D1 are always 0");
            }
            Said::Nothing | Said::Reading { .. } | Said::Emf { .. } => prop_assert_eq!(report, NO_ANSWER),
        }
    }
}
