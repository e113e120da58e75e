//! SR-22 and SR-23 by current sensors, and the energy of SR-25.

use super::*;
use crate::finding::{Part, Severity};

/// A rig whose banks draw 5 kW at 250 V: 20 A each.
fn sensed() -> Rig {
    let mut rig = Rig::climbing();
    for bank in &mut rig.kiln.banks {
        bank.current = Amps::new(20.0);
    }
    rig
}

fn flows(rig: &mut Rig, upper_a: f64, lower_a: f64) {
    for (amps, a) in rig.amps.iter_mut().zip([upper_a, lower_a]) {
        *amps = Some(Amps::new(a).unwrap());
    }
}

/// Seconds of a kiln that warms as it should; the first trip.
fn warms(rig: &mut Rig, seconds: u32) -> Option<(u32, Finding)> {
    rig.read_for(seconds, |second| 300.0 + 0.03 * second + 0.1 * noise(second))
}

fn told(rig: &mut Rig, seconds: u32) -> Vec<Finding> {
    (0..seconds).flat_map(|second| rig.read(300.0 + 0.1 * noise(f64::from(second))).notices).collect()
}

#[test]
fn sr_22_current_in_one_bank_that_is_off_trips_after_two_seconds_while_the_other_heats() {
    let mut rig = sensed();
    rig.banks_on(1);
    flows(&mut rig, 20.0, 19.0);
    let (second, trip) = warms(&mut rig, 60).expect("the lower relay has welded");
    assert_eq!((second, trip.interlock), (2, Interlock::CurrentWhileOff));
    assert_eq!(trip.part, Some(Part::Bank(1)));
    assert!(trip.done().contains("pull the breaker"));
}

#[test]
fn sr_22_a_tenth_of_the_rated_current_or_a_second_of_it_is_leakage_and_does_not_trip() {
    let mut rig = sensed();
    rig.banks_on(1);
    flows(&mut rig, 20.0, 2.0);
    assert_eq!(warms(&mut rig, 60), None);
    flows(&mut rig, 20.0, 19.0);
    assert_eq!(warms(&mut rig, 1), None);
    flows(&mut rig, 20.0, 0.0);
    assert_eq!(warms(&mut rig, 60), None);
}

#[test]
fn sr_22_current_at_rest_trips_too() {
    let mut rig = Rig { phase: Phase::Resting, ..sensed() };
    flows(&mut rig, 2.1, 0.0);
    assert_eq!(warms(&mut rig, 10).map(|(_, trip)| trip.interlock), Some(Interlock::CurrentWhileOff));
}

#[test]
fn sr_23_a_bank_with_half_its_current_is_named_after_half_a_minute_and_heating_goes_on() {
    let mut rig = sensed();
    rig.banks_on(2);
    flows(&mut rig, 19.0, 10.0);
    assert_eq!(told(&mut rig, 30), []);
    let notices = told(&mut rig, 10);
    assert_eq!(
        notices.first().map(|told| (told.interlock, told.part)),
        Some((Interlock::WeakCurrent, Some(Part::Bank(1))))
    );
    assert!(notices.iter().all(|told| told.severity == Severity::Notice));
}

#[test]
fn sr_23_aged_elements_and_low_mains_are_not_told() {
    let mut rig = sensed();
    rig.banks_on(2);
    flows(&mut rig, 14.1, 16.0);
    assert_eq!(told(&mut rig, 300), []);
}

#[test]
fn sr_23_banks_that_are_weak_alike_are_told_of_the_whole_kiln() {
    let mut rig = sensed();
    rig.banks_on(2);
    flows(&mut rig, 12.0, 13.0);
    let notices = told(&mut rig, 60);
    assert_eq!(notices.last().map(|told| (told.interlock, told.part)), Some((Interlock::WeakCurrent, None)));
}

#[test]
fn sr_23_no_current_in_any_bank_that_is_on_trips_and_in_one_of_two_does_not() {
    let mut dead = sensed();
    dead.banks_on(2);
    flows(&mut dead, 0.0, 0.3);
    let (second, trip) = warms(&mut dead, 120).expect("the breaker is out");
    assert_eq!(trip.interlock, Interlock::WeakCurrent);
    assert!(second <= 35, "{second}");
    let mut half = sensed();
    half.banks_on(2);
    flows(&mut half, 0.0, 19.0);
    assert_eq!(warms(&mut half, 600), None);
}

#[test]
fn sr_23_without_a_told_tension_the_usual_current_is_that_of_the_first_minute() {
    let mut rig = sensed();
    for bank in &mut rig.kiln.banks {
        bank.current = None;
    }
    rig.banks_on(2);
    flows(&mut rig, 41.0, 40.0);
    assert_eq!(told(&mut rig, 120), []);
    flows(&mut rig, 41.0, 27.0);
    let notices = told(&mut rig, 60);
    assert_eq!(notices.last().map(|told| told.part), Some(Some(Part::Bank(1))));
}

#[test]
fn sr_23_a_sensor_that_cannot_be_read_judges_nothing() {
    let mut rig = sensed();
    rig.banks_on(2);
    assert_eq!(told(&mut rig, 300), []);
}

#[test]
fn sr_25_a_third_more_energy_than_forecast_is_told_and_a_quarter_more_is_not() {
    let kwh = |kwh: f64| Joules::new(kwh * 3.6e6).unwrap();
    let mut rig = Rig::climbing();
    rig.forecast = Some(Expected { lasts: Millis::from_hours(10), energy: Some(kwh(40.0)) });
    rig.given = kwh(50.0);
    assert_eq!(told(&mut rig, 1), []);
    rig.given = kwh(53.0);
    assert_eq!(names(&told(&mut rig, 1)), [Interlock::MoreEnergyThanForecast]);
    rig.phase = Phase::Cooling;
    assert_eq!(told(&mut rig, 1), [], "the firing is over");
}

/// When the first notice comes, and which.
fn first_told(rig: &mut Rig, seconds: u32) -> Option<(u32, Finding)> {
    (0..seconds).find_map(|second| {
        rig.read(300.0 + 0.1 * noise(f64::from(second))).notices.first().map(|told| (second, *told))
    })
}

#[test]
fn sr_23_a_weak_bank_is_told_thirty_seconds_after_the_three_in_which_its_relay_and_sensor_settle() {
    let mut rig = sensed();
    rig.banks_on(2);
    flows(&mut rig, 20.0, 13.9);
    let (second, told) = first_told(&mut rig, 60).expect("less than 0.7");
    assert_eq!((second, told.part), (32, Some(Part::Bank(1))), "the sample at 3 s is the first of thirty");
    let mut enough = sensed();
    enough.banks_on(2);
    flows(&mut enough, 20.0, 14.1);
    assert_eq!(first_told(&mut enough, 60), None);
}

#[test]
fn sr_23_a_bank_that_is_off_is_not_weak_and_one_that_is_weak_alone_is_named() {
    let mut rig = sensed();
    rig.banks_on(1);
    flows(&mut rig, 20.0, 0.0);
    assert_eq!(first_told(&mut rig, 60), None);
    flows(&mut rig, 10.0, 0.0);
    assert_eq!(first_told(&mut rig, 60).map(|(_, told)| told.part), Some(Some(Part::Bank(0))));
}

#[test]
fn sr_23_of_several_weak_banks_the_weakest_is_named_and_of_equals_the_first() {
    let named = |shares: [f64; 3]| {
        let mut rig = sensed();
        rig.kiln = kiln_with_banks(3, 1.0);
        for bank in &mut rig.kiln.banks {
            bank.current = Amps::new(20.0);
        }
        rig.banks_on(3);
        for (amps, share) in rig.amps.iter_mut().zip(shares) {
            *amps = Amps::new(20.0 * share);
        }
        first_told(&mut rig, 60).and_then(|(_, told)| told.part)
    };
    assert_eq!(named([0.6, 0.5, 1.0]), Some(Part::Bank(1)));
    assert_eq!(named([0.5, 0.6, 1.0]), Some(Part::Bank(0)));
    assert_eq!(named([0.5, 0.5, 1.0]), Some(Part::Bank(0)));
}

#[test]
fn sr_23_usual_is_the_mean_of_the_first_minute_and_nothing_after_it() {
    // Half a minute each of 40 and 32 A make 36; seven tenths of it are 25.2 A.
    let told = |amps: f64| {
        let mut rig = sensed();
        for bank in &mut rig.kiln.banks {
            bank.current = None;
        }
        rig.banks_on(2);
        flows(&mut rig, 40.0, 40.0);
        assert_eq!(first_told(&mut rig, 33), None);
        flows(&mut rig, 32.0, 32.0);
        assert_eq!(first_told(&mut rig, 30), None);
        flows(&mut rig, 32.0, amps);
        first_told(&mut rig, 60).is_some()
    };
    assert!(told(25.15));
    assert!(!told(25.25));
}

#[test]
fn sr_23_a_bank_that_never_drew_anything_is_told_as_having_none_of_its_current() {
    let mut rig = sensed();
    for bank in &mut rig.kiln.banks {
        bank.current = None;
    }
    rig.banks_on(2);
    flows(&mut rig, 20.0, 0.0);
    let (_, told) = first_told(&mut rig, 60).expect("it is dead");
    assert_eq!((told.part, told.evidence.seen), (Some(Part::Bank(1)), 0.0));
}
