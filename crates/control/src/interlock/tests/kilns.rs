//! Healthy kilns of one kiln file never trip: half to double the load, mains ±10 %, walls ±15 %,
//! 3 to 34 °C in the shed, and a model that only guesses.

use super::plant::{Build, Firing};
use super::*;
use pyrometry::amplifier::Amplifier;
use pyrometry::units::lesser;

#[test]
fn healthy_kilns_of_every_build_fire_and_cool_without_a_trip() {
    for load in [0.5, 1.0, 2.0] {
        for mains in [0.9, 1.1] {
            for walls in [0.85, 1.15] {
                for ambient_c in [3.0, 34.0] {
                    let build = Build { load, mains, walls, ambient_c };
                    let mut firing = Firing::new(build);
                    assert_eq!(firing.climb(60.0, 120.0), None, "{build:?}");
                    assert_eq!(firing.climb(250.0, 1_050.0), None, "{build:?}");
                    assert_eq!(firing.soak(1_800, 1_050.0), None, "{build:?}");
                    assert_eq!(firing.cool(4 * 3_600), None, "{build:?}");
                }
            }
        }
    }
}

#[test]
fn a_healthy_kiln_heated_flat_out_from_cold_and_shut_off_early_does_not_trip() {
    for load in [0.5, 1.0, 2.0] {
        for to_c in [80.0, 150.0, 300.0, 700.0] {
            let build = Build { load, ..Build::USUAL };
            let mut firing = Firing::new(build);
            assert_eq!(firing.climb(2_000.0, to_c), None, "{build:?} to {to_c}");
            assert_eq!(firing.cool(3 * 3_600), None, "{build:?} from {to_c}");
        }
    }
}

/// A firing whose amplifier is quieter or coarser than usual.
fn firing_with(amplifier: Amplifier, step_c: f64, noise_c: f64, load: f64) -> Firing {
    let mut firing = Firing::new(Build { load, ..Build::USUAL });
    for probe in &mut firing.rig.kiln.probes {
        probe.sensor.amplifier = amplifier;
    }
    (firing.step_c, firing.noise_c) = (step_c, noise_c);
    firing
}

const AMPLIFIERS: [(Amplifier, f64); 3] =
    [(Amplifier::Max31856, 1.0 / 128.0), (Amplifier::Mcp9600, 0.0625), (Amplifier::Max31855, 0.25)];

#[test]
fn sr_04_a_quiet_reading_frozen_in_a_climb_withholds_before_its_plan_has_moved_far() {
    for (amplifier, step_c) in AMPLIFIERS {
        let mut firing = firing_with(amplifier, step_c, 0.0, 1.0);
        assert_eq!(firing.climb(60.0, 300.0), None);
        let frozen_c = firing.reading_c;
        let mut setpoint_c = 300.0;
        let withheld = (0..600).find(|_| {
            setpoint_c += if setpoint_c < frozen_c + 8.0 { 60.0 / 3600.0 } else { 0.0 };
            firing.rig.setpoint = Some(celsius(setpoint_c));
            let judgement = firing.rig.read(frozen_c);
            judgement.trip.is_some() || judgement.withheld.is_some()
        });
        assert!(withheld.is_some_and(|second| second <= 260), "{amplifier:?}: {withheld:?}");
    }
}

#[test]
fn healthy_kilns_with_quiet_or_noisy_amplifiers_fire_and_cool_without_a_trip() {
    for (amplifier, step_c) in AMPLIFIERS {
        for noise_c in [0.0, 0.03, 0.6] {
            for load in [0.5, 2.0] {
                let what = std::format!("{amplifier:?}, noise {noise_c}, load {load}");
                let mut firing = firing_with(amplifier, step_c, noise_c, load);
                assert_eq!(firing.climb(60.0, 120.0), None, "{what}");
                assert_eq!(firing.soak(1_800, 120.0), None, "{what}");
                assert_eq!(firing.climb(150.0, 900.0), None, "{what}");
                assert_eq!(firing.soak(3_600, 900.0), None, "{what}");
                assert_eq!(firing.cool(4 * 3_600), None, "{what}");
            }
        }
    }
}

#[test]
fn sr_04_a_reading_that_freezes_in_a_ramp_trips_whatever_the_amplifier() {
    for (amplifier, step_c) in AMPLIFIERS {
        for noise_c in [0.0, 0.2] {
            let mut firing = firing_with(amplifier, step_c, noise_c, 1.0);
            assert_eq!(firing.climb(150.0, 600.0), None);
            firing.noise_c = 0.0;
            firing.amplifier = |_| 600.0;
            let begun = firing.reading_c;
            let mut setpoint_c = begun;
            let trip = (0..600).find_map(|second| {
                setpoint_c += if setpoint_c < begun + 8.0 { 150.0 / 3600.0 } else { 0.0 };
                firing.second(Some(setpoint_c)).trip.map(|trip| (second, trip.interlock))
            });
            let latest_s = if amplifier == Amplifier::Max31855 { 300 } else { 40 };
            let (second, interlock) = trip.expect("frozen");
            assert_eq!(interlock, Interlock::StuckReading, "{amplifier:?}, noise {noise_c}");
            assert!(second <= latest_s, "{amplifier:?}, noise {noise_c}: only after {second} s");
        }
    }
}

#[test]
fn sr_07_a_reversed_thermocouple_on_a_cold_kiln_trips_within_minutes_of_light_up() {
    let mut firing = Firing::new(Build::USUAL);
    firing.amplifier = |true_c| 2.0 * 25.0 - true_c;
    firing.reading_c = 30.0;
    let mut setpoint_c = 30.0;
    let trip = (0..1_800).find_map(|second| {
        setpoint_c += if setpoint_c < firing.reading_c + 8.0 { 100.0 / 3600.0 } else { 0.0 };
        firing.second(Some(setpoint_c)).trip.map(|trip| (second, trip.interlock))
    });
    let (second, interlock) = trip.expect("reversed");
    assert_eq!(interlock, Interlock::ReversedThermocouple);
    assert!(second <= 600, "only after {second} s");
    assert!(firing.plant.chamber_c() < 60.0, "{} °C by then", firing.plant.chamber_c());
}

#[test]
fn healthy_kilns_of_which_the_guessed_model_is_forty_percent_out_do_not_trip() {
    for walls in [0.6, 1.4] {
        for (load, mains) in [(0.5, 0.9), (0.5, 1.1), (2.0, 0.9), (2.0, 1.1)] {
            let build = Build { load, mains, walls, ambient_c: 20.0 };
            let mut firing = Firing::new(build);
            assert_eq!(firing.climb(200.0, 1_000.0), None, "{build:?}");
            assert_eq!(firing.soak(3_600, 1_000.0), None, "{build:?}");
            assert_eq!(firing.cool(4 * 3_600), None, "{build:?}");
        }
    }
}

#[test]
fn sr_04_a_coarse_reading_that_froze_at_a_soak_trips_once_the_ramp_goes_on() {
    let mut firing = firing_with(Amplifier::Max31855, 0.25, 0.0, 1.0);
    assert_eq!(firing.climb(150.0, 600.0), None);
    assert_eq!(firing.soak(1_800, 600.0), None);
    firing.amplifier = |_| 600.0;
    assert_eq!(firing.soak(900, 600.0), None, "at a soak a coarse reading may stand still");
    let begun_c = firing.plant.chamber_c();
    let trip = (0..3_600).find_map(|second| {
        let setpoint_c = lesser(608.0, 600.0 + 150.0 * f64::from(second) / 3600.0);
        firing.second(Some(setpoint_c)).trip
    });
    assert_eq!(trip.map(|trip| trip.interlock), Some(Interlock::StuckReading));
    let risen_c = firing.plant.chamber_c() - begun_c;
    assert!(risen_c < 100.0, "by then the kiln has risen {risen_c} °C");
}
