//! SR-04, SR-06 and SR-09 where a step's reading is the median of several samples.

use super::*;
use crate::finding::Severity;
use pyrometry::amplifier::{Amplifier, Spread};
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::whole_steps;

/// Words of a MAX31856 to a degree.
const WORDS_PER_C: f64 = 128.0;

/// A step whose reading was chosen from four samples so many words apart.
fn see_apart(rig: &mut Rig, c: f64, steps: u32) -> Judgement {
    let cold_junction = celsius(rig.cold_junction_c);
    let measured = Measured { junction: celsius(c), cold_junction: Some(cold_junction) };
    let said = Said::Reading { junction: measured.junction, cold_junction };
    let report = Report { spread: Spread::new(steps, 4), ..Report::single(said, ChipFaults::NONE) };
    rig.see_said(&[report], &[Ok(measured)])
}

/// A step of four samples, a quarter of a second apart: their median, and how many words they lie apart.
fn gathered(second: f64, reading: impl Fn(f64) -> f64) -> (f64, u32) {
    let mut words: Vec<i32> = (0..4_u8)
        .map(|quarter| whole_steps(WORDS_PER_C * reading(second + 0.25 * f64::from(quarter))))
        .collect();
    words.sort_unstable();
    (f64::from(words[2]) / WORDS_PER_C, words[3].abs_diff(words[0]))
}

/// Noise of a standard deviation: uniform within ±√3 of it, another one each quarter of a second.
fn jitter(deviation_c: f64, t_s: f64) -> f64 {
    libm::sqrt(3.0) * deviation_c * noise(4.0 * t_s)
}

fn jagged(judgement: &Judgement) -> Option<Severity> {
    let jagged = Interlock::JaggedReading;
    if trip_of(judgement) == Some(jagged) {
        Some(Severity::Trip)
    } else if withheld_by(judgement) == Some(jagged) {
        Some(Severity::Withhold)
    } else {
        names(&judgement.notices).contains(&jagged).then_some(Severity::Notice)
    }
}

/// What `jagged-reading` says after a minute of steps whose samples lie so far apart.
fn after_a_minute_of(steps: u32) -> Option<Severity> {
    let mut rig = Rig::climbing();
    (0..60).map(|_| jagged(&see_apart(&mut rig, 500.0, steps))).last().flatten()
}

#[test]
fn sr_06_samples_apart_behind_a_quiet_median_are_told_withhold_and_trip_at_the_bounds() {
    // A range of four stands for steps/128/2.059 °C (ASTM E2587).
    assert_eq!(after_a_minute_of(0), None);
    assert_eq!(after_a_minute_of(263), None, "0.998 °C");
    assert_eq!(after_a_minute_of(264), Some(Severity::Notice), "1.002 °C");
    assert_eq!(after_a_minute_of(790), Some(Severity::Notice), "2.998 °C");
    assert_eq!(after_a_minute_of(791), Some(Severity::Withhold), "3.001 °C");
    assert_eq!(after_a_minute_of(2_108), Some(Severity::Withhold), "7.999 °C");
    assert_eq!(after_a_minute_of(2_109), Some(Severity::Trip), "8.002 °C");
}

#[test]
fn sr_06_noise_that_only_the_samples_show_is_told_and_a_little_less_is_not() {
    let told = |deviation_c: f64, samples_are_seen: bool| {
        let mut rig = Rig::climbing();
        (0..300_u32).any(|step| {
            let second = f64::from(step);
            let (median_c, apart) = gathered(second, |t_s| 500.0 + jitter(deviation_c, t_s));
            let judgement =
                if samples_are_seen { see_apart(&mut rig, median_c, apart) } else { rig.read(median_c) };
            jagged(&judgement) == Some(Severity::Notice)
        })
    };
    assert!(told(1.1, true), "the samples' own noise");
    assert!(!told(1.1, false), "the median hides it");
    assert!(!told(0.8, true), "less than is told");
}

#[test]
fn sr_06_the_fastest_healthy_climb_does_not_pass_for_jitter() {
    let mut rig = Rig::climbing();
    for step in 0..300_u32 {
        let (median_c, apart) = gathered(f64::from(step), |t_s| 100.0 + 1.25 * t_s + jitter(0.5, t_s));
        assert_eq!(jagged(&see_apart(&mut rig, median_c, apart)), None, "{step}");
    }
}

#[test]
fn sr_06_one_torn_sample_is_told_for_a_minute_four_steps_with_one_withhold_and_many_trip() {
    let torn = |steps_with_one: u32| {
        let mut rig = Rig::climbing();
        // One of the four read 1000 °C beside the others.
        let worst = (0..60).map(|step| {
            let apart = if step < steps_with_one { 128_000 } else { 0 };
            jagged(&see_apart(&mut rig, 500.0 + f64::from(step) / WORDS_PER_C, apart))
        });
        (worst.last().flatten(), rig)
    };
    assert_eq!(torn(3).0, Some(Severity::Notice));
    assert_eq!(torn(4).0, Some(Severity::Withhold));
    assert_eq!(torn(26).0, Some(Severity::Withhold));
    assert_eq!(torn(27).0, Some(Severity::Trip));
    let (told, mut rig) = torn(1);
    assert_eq!(told, Some(Severity::Notice));
    assert_eq!(jagged(&rig.read(500.5)), None, "a minute later, though samples came singly since");
}

#[test]
fn sr_06_a_spread_counts_what_its_steps_are_worth_where_the_junction_is() {
    // IEC 60584-1: type R gives 5.9 µV/°C at 20 °C, where a MAX31855 counts 10.506: steps of 0.45 °C.
    let told = |thermocouple: Thermocouple| {
        let mut rig = Rig::climbing();
        rig.kiln.probes[0].sensor.amplifier = Amplifier::Max31855;
        rig.kiln.probes[0].sensor.thermocouple = thermocouple;
        (0..60).map(|_| jagged(&see_apart(&mut rig, 20.0, 5))).last().flatten()
    };
    assert_eq!(told(Thermocouple::R), Some(Severity::Notice));
    assert_eq!(told(Thermocouple::K), None, "its steps are smaller");
}

#[test]
fn sr_06_the_samples_of_a_discarded_reading_do_not_count() {
    let mut rig = Rig::climbing();
    for _ in 0..60 {
        see_apart(&mut rig, 300.0, 1);
    }
    for _ in 0..4 {
        let judgement = see_apart(&mut rig, 340.0, 5_120);
        assert_eq!(withheld_by(&judgement), Some(Interlock::JumpingReading));
        assert_eq!(jagged(&judgement), None);
    }
}

#[test]
fn sr_04_a_median_that_stands_still_over_samples_that_differ_is_not_stuck() {
    let frozen = |apart: u32| {
        let mut rig = Rig::climbing();
        for step in 0..300 {
            see_apart(&mut rig, 500.0 + 0.1 * noise(f64::from(step)), 20);
        }
        let stands_c = 500.0 + 0.1 * noise(299.0);
        (0..700_u32).find(|_| {
            let judgement = see_apart(&mut rig, stands_c, apart);
            let told = !judgement.notices.is_empty() || judgement.withheld.is_some();
            told || judgement.trip.is_some()
        })
    };
    assert_eq!(frozen(0), Some(19), "told at twenty seconds");
    assert_eq!(frozen(1), None);
}

#[test]
fn sr_04_a_run_of_one_word_begins_after_the_last_samples_that_differed() {
    let mut rig = Rig::climbing();
    for step in 0..300 {
        see_apart(&mut rig, 500.0 + 0.1 * noise(f64::from(step)), 20);
    }
    let stands_c = 500.0 + 0.1 * noise(299.0);
    for _ in 0..10 {
        see_apart(&mut rig, stands_c, 0);
    }
    see_apart(&mut rig, stands_c, 1);
    let trips = (1..100_u32).find(|_| trip_of(&see_apart(&mut rig, stands_c, 0)).is_some());
    assert_eq!(trips, Some(30));
}

#[test]
fn sr_04_a_missing_sample_does_not_make_the_noise_before_it_forgotten() {
    let mut rig = Rig::climbing();
    for step in 0..300 {
        rig.read(500.0 + 0.1 * noise(f64::from(step)));
    }
    rig.see(Err(SensorFault::NoAnswer));
    let trips = (0..100_u32).find(|_| trip_of(&rig.read(500.0)).is_some());
    assert_eq!(trips, Some(30), "the first of them is where the run begins");
}

#[test]
fn sr_04_a_reading_that_moved_one_way_is_not_taken_for_one_that_dithers() {
    // A word a second and six a second, up and down: no noise, so standing still is told by nothing yet.
    for words_per_s in [1.0, -1.0, 6.0, -6.0] {
        let mut rig = Rig::climbing();
        let moved = |second: f64| 500.0 + words_per_s * second / WORDS_PER_C;
        assert_eq!(rig.read_for(300, moved), None);
        for _ in 0..80 {
            let judgement = rig.read(moved(299.0));
            assert!(judgement.notices.is_empty() && judgement.trip.is_none(), "{words_per_s}");
        }
    }
}

#[test]
fn sr_09_samples_that_differ_excuse_no_fall_of_their_median() {
    let mut rig = Rig::climbing();
    for step in 0..120 {
        see_apart(&mut rig, 800.0 + 0.1 * noise(f64::from(step)), 230); // 0.9 °C
    }
    let withheld = (0..6).find(|second| {
        let (median_c, apart) = gathered(f64::from(*second), |t_s| 800.0 - 1.1 * t_s);
        withheld_by(&see_apart(&mut rig, median_c, apart)) == Some(Interlock::ThermocouplePulledOut)
    });
    assert_eq!(withheld, Some(5));
}
