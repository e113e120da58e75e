//! The converter by the exact transactions on its bus, and what is made of its samples.
//!
//! Frames are those of MCP3004/3008 DS21295D, figure 6-1 (page 21) and table 5-2 (page 19). The root mean
//! square of a sine is its peak over √2, as any handbook of mathematics has it.

use core::f64::consts::{PI, SQRT_2};

use embedded_hal_mock::eh1::spi::{Mock, Transaction};
use hal::PinFault;
use hal::converter::Mcp3008;
use hal::converter::rms::{SAMPLES_LEAST, rms_words};
use proptest::prelude::*;

const WAIT_NS: u32 = 200_000;

fn asked(channel: u8, sent: [u8; 3], answer: [u8; 3]) -> Result<u16, PinFault> {
    let transfer = [
        Transaction::transaction_start(),
        Transaction::transfer_in_place(sent.to_vec(), answer.to_vec()),
        Transaction::delay(WAIT_NS),
        Transaction::transaction_end(),
    ];
    let mut chip = Mcp3008::new(Mock::new(&transfer));
    let word = chip.sample(channel, WAIT_NS);
    chip.release().done();
    word
}

#[test]
fn an_input_is_asked_by_start_bit_single_ended_and_its_number_in_three_bytes() {
    for (channel, second) in (0_u8..).zip([0x80, 0x90, 0xA0, 0xB0, 0xC0, 0xD0, 0xE0, 0xF0]) {
        assert_eq!(asked(channel, [0x01, second, 0x00], [0x00, 0x02, 0x00]), Ok(512));
    }
}

#[test]
fn the_answer_is_ten_bits_after_a_low_null_bit_whatever_floats_before_it() {
    for (answer, word) in [
        ([0x00, 0x00, 0x00], 0),
        ([0x00, 0x00, 0x01], 1),
        ([0xFF, 0xF9, 0x00], 256),
        ([0xFF, 0xFB, 0xFF], 1023),
        ([0x5A, 0xA2, 0xAA], 682),
    ] {
        assert_eq!(asked(3, [0x01, 0xB0, 0x00], answer), Ok(word), "{answer:?}");
    }
}

#[test]
fn a_line_that_nobody_drives_low_is_no_answer() {
    assert_eq!(asked(0, [0x01, 0x80, 0x00], [0xFF, 0xFF, 0xFF]), Err(PinFault));
    assert_eq!(asked(0, [0x01, 0x80, 0x00], [0x00, 0x04, 0x00]), Err(PinFault));
}

#[test]
fn an_input_that_the_chip_has_not_is_not_asked() {
    let mut chip = Mcp3008::new(Mock::new(&[]));
    assert_eq!(chip.sample(8, WAIT_NS), Err(PinFault));
    chip.release().done();
}

#[test]
fn a_dead_converter_a_missing_clamp_and_too_few_samples_measure_nothing() {
    for word in [0, 1023, 255, 769] {
        assert_eq!(rms_words(&[word; 100]), Err(PinFault), "{word}");
    }
    assert_eq!(rms_words(&[512; SAMPLES_LEAST - 1]), Err(PinFault));
    for middle in [257, 512, 767] {
        let no_current = rms_words(&[middle; SAMPLES_LEAST]);
        assert!(no_current.is_ok_and(|rms| rms < 1e-9), "{middle}: {no_current:?}");
    }
}

/// What the converter makes of a sine about a middle.
fn sampled(count: u16, span_s: f64, hz: f64, phase: f64, peak: f64, middle: f64) -> Vec<u16> {
    let words = (0..count).map(|at| {
        let t_s = span_s * f64::from(at) / f64::from(count);
        let value = middle + peak * (2.0 * PI * hz * t_s + phase).sin();
        #[allow(clippy::cast_possible_truncation, reason = "the test keeps it from 0 to 1023")]
        #[allow(clippy::cast_sign_loss, reason = "the test keeps it from 0 to 1023")]
        let word = value as u16;
        word
    });
    words.collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn a_sine_of_any_phase_size_and_mains_is_measured_within_one_in_a_hundred_and_half_a_word(
        count in 50_u16..=400,
        span_s in 0.060_f64..0.300,
        hz in prop_oneof![49.0_f64..51.0, 59.0_f64..61.0],
        phase in 0.0_f64..6.3,
        peak in 0.0_f64..400.0,
        middle in 412.0_f64..612.0,
    ) {
        let rms = rms_words(&sampled(count, span_s, hz, phase, peak, middle)).expect("a clamp");
        let expected = peak / SQRT_2;
        prop_assert!((rms - expected).abs() < 0.01 * expected + 0.5, "{} for {}", rms, expected);
    }

    #[test]
    fn whatever_the_samples_the_result_is_a_number_no_greater_than_half_the_range(
        samples in proptest::collection::vec(0_u16..1024, 40..400),
    ) {
        if let Ok(rms) = rms_words(&samples) {
            prop_assert!((0.0..=512.0).contains(&rms), "{}", rms);
        }
    }
}
