//! MAX31855.

use embedded_hal_mock::eh1::spi::{Mock, Transaction};
use hal::Probe;
use hal::amplifier::Max31855;
use hal::amplifier::max31855::decoded;
use proptest::prelude::*;
use pyrometry::amplifier::{Amplifier, ChipFaults, Said};

use crate::{DeadBus, NO_ANSWER, bytes, degrees, field, vectors};

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
    assert!((temperatures, faults) >= (17, 5), "{temperatures} temperatures, {faults} faults");
}

#[test]
fn sr_03_a_bus_that_fails_is_no_answer() {
    assert_eq!(Max31855::new(DeadBus).report(), NO_ANSWER);
}

proptest! {
    #[test]
    fn any_frame_is_a_pair_of_words_in_range_or_no_answer(frame in any::<u32>()) {
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
