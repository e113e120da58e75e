//! SR-20, SR-21 and SR-25.

use std::string::String;

use super::plain::Plain;
use super::*;
use crate::finding::Severity;
use pyrometry::units::{greater, lesser};

#[test]
fn sr_20_three_samples_above_the_ceiling_trip_and_the_first_withholds() {
    let mut rig = Rig::climbing();
    let ceiling_c = rig.kiln.ceiling.c();
    rig.read_for(50, |second| ceiling_c - 0.1 * noise(second).abs());
    assert_eq!(withheld_by(&rig.read(ceiling_c + 0.5)), Some(Interlock::AboveCeiling));
    assert_eq!(trip_of(&rig.read(ceiling_c + 0.6)), None);
    assert_eq!(trip_of(&rig.read(ceiling_c + 0.5)), Some(Interlock::AboveCeiling));
}

#[test]
fn sr_20_at_the_ceiling_nothing_is_said_and_two_samples_above_do_not_trip() {
    let mut rig = Rig::climbing();
    let ceiling_c = rig.kiln.ceiling.c();
    assert_eq!(withheld_by(&rig.read(ceiling_c)), None);
    for second in 0..60 {
        let above = if second % 3 == 0 { -0.1 } else { 0.1 };
        assert_eq!(trip_of(&rig.read(ceiling_c + above)), None);
    }
}

#[test]
fn sr_20_one_sample_far_beyond_the_ceiling_trips() {
    let mut rig = Rig::climbing();
    let ceiling_c = rig.kiln.ceiling.c();
    assert_eq!(trip_of(&rig.read(ceiling_c + 15.0)), None);
    let mut rig = Rig::climbing();
    assert_eq!(trip_of(&rig.read(ceiling_c + 15.1)), Some(Interlock::AboveCeiling));
}

#[test]
fn sr_20_ten_degrees_above_the_programmes_maximum_trip_and_just_within_do_not() {
    let mut rig = Rig::climbing();
    rig.plan_hottest = Some(celsius(1000.0));
    assert_eq!(rig.read_for(60, |second| 1009.5 + 0.4 * noise(second)), None);
    let trip = rig.read_for(5, |second| 1010.5 + 0.4 * noise(second));
    assert_eq!(trip.map(|(second, trip)| (second, trip.interlock)), Some((2, Interlock::AboveCeiling)));
}

#[test]
fn sr_20_a_jump_above_the_ceiling_withholds_and_does_not_count() {
    let mut rig = Rig::climbing();
    let ceiling_c = rig.kiln.ceiling.c();
    rig.read_for(100, |_| ceiling_c - 20.0);
    for _ in 0..3 {
        let judgement = rig.read(ceiling_c + 40.0);
        assert_eq!((trip_of(&judgement), withheld_by(&judgement)), (None, Some(Interlock::JumpingReading)));
        rig.read(ceiling_c - 20.0);
    }
}

/// A minute just above 25 °C over the setpoint, which withholds; then stored heat comes out, and stays.
fn stored_heat_comes_out(setpoint_c: f64) -> Option<(u32, Finding)> {
    let mut rig = Rig::climbing();
    rig.setpoint = Some(celsius(setpoint_c));
    for second in 0..60 {
        let reading_c = setpoint_c + 26.0 + 0.5 * noise(f64::from(second));
        assert_eq!(withheld_by(&rig.read(reading_c)), None, "{second}");
    }
    assert_eq!(withheld_by(&rig.read(setpoint_c + 26.0)), Some(Interlock::AbovePlan));
    rig.read_for(500, |second| setpoint_c + 26.0 + 0.2 * lesser(second, 40.0) + 0.3 * noise(second))
}

#[test]
fn sr_21_more_than_25_degrees_above_the_setpoint_for_a_minute_withholds_and_30_after_four_trip() {
    let (second, trip) = stored_heat_comes_out(400.0).expect("four minutes");
    assert_eq!((second, trip.interlock), (179, Interlock::AbovePlan));
}

#[test]
fn sr_21_a_cold_kiln_that_falls_slowly_from_30_degrees_above_is_given_ten_minutes() {
    assert_eq!(stored_heat_comes_out(100.0), None);
}

#[test]
fn sr_21_a_hot_kiln_that_rises_with_everything_off_trips_without_waiting() {
    let trips = |c_per_s: f64, on: usize| {
        let mut rig = Rig::climbing();
        rig.setpoint = Some(celsius(900.0));
        rig.banks_on(on);
        rig.read_for(100, |second| 895.0 + c_per_s * second + 0.1 * noise(second)).map(|(second, _)| second)
    };
    assert!(trips(0.45, 0).is_some_and(|second| second < 80), "{:?}", trips(0.45, 0));
    assert!(trips(0.12, 0).is_some_and(|second| second < 80), "{:?}", trips(0.12, 0));
    assert_eq!(trips(0.09, 0), None, "2.7 °C in 30 s");
    assert!(trips(0.45, 1).is_none_or(|second| second > 90), "its banks heat it");
}

#[test]
fn sr_21_fifty_degrees_above_trip_after_the_first_minute_and_what_falls_back_below_thirty_does_not() {
    let mut rig = Rig::climbing();
    rig.setpoint = Some(celsius(100.0));
    let rising = |second: f64| 126.0 + 0.4 * second;
    let (second, trip) = rig.clone().read_for(100, rising).expect("it goes on rising");
    assert_eq!((second, trip.interlock), (61, Interlock::AbovePlan));
    let over = |second: f64| 145.0 - 0.08 * second;
    assert_eq!(rig.read_for(400, over), None);
}

/// With everything off, a kiln above its plan that after so long gains so much every ten seconds; what
/// is said of its trip.
fn goes_on_rising(at_c: f64, off_s: u32, rises_c: f64) -> Option<(u32, String)> {
    let setpoint_c = at_c - 5.0;
    let mut rig = Plain::TIGHT.rig(Phase::Climbing, at_c);
    rig.setpoint = Some(celsius(setpoint_c));
    let risen_c = |second: f64| rises_c * greater(0.0, second - f64::from(off_s)) / 10.0;
    let (second, trip) = rig.samples(off_s + 90, |second| at_c + risen_c(second))?;
    assert_eq!(trip.interlock, Interlock::AbovePlan);
    Some((second, std::format!("{trip}")))
}

#[test]
fn sr_21_a_rise_of_just_three_degrees_in_thirty_seconds_above_500_degrees_with_all_off_for_a_minute_trips() {
    let (second, said) = goes_on_rising(900.0, 60, 1.0).expect("nothing asked for it");
    assert_eq!(second, 90);
    assert!(said.contains("goes on rising with everything off for 90 s, and is 8 °C above"), "{said}");
    assert_eq!(goes_on_rising(900.0, 0, 1.0).map(|(second, _)| second), Some(60), "a minute");
    assert_eq!(goes_on_rising(900.0, 60, 0.99), None);
    assert_eq!(goes_on_rising(494.0, 60, 1.0).map(|(second, _)| second), Some(120), "500 °C by then");
    assert_eq!(goes_on_rising(400.0, 60, 1.0), None, "elements give theirs slowly");
}

#[test]
fn sr_21_thirty_degrees_above_are_given_four_minutes_from_300_degrees_on_and_ten_below() {
    let trips = |reading_c: f64| {
        let mut rig = Plain::TIGHT.rig(Phase::Climbing, reading_c);
        rig.setpoint = Some(celsius(reading_c - 31.0));
        let readings = |second: f64| if second % 2.0 < 1.0 { reading_c } else { reading_c - 0.5 };
        let (second, trip) = rig.read_for(200, readings)?;
        Some((5 * second, std::format!("{trip}")))
    };
    let (second, said) = trips(300.0).expect("four minutes");
    assert_eq!(second, 240);
    assert!(said.contains("is 31 °C above the setpoint, for 240 s; 30 °C is allowed"), "{said}");
    assert_eq!(trips(299.5).map(|(second, _)| second), Some(600));
}

#[test]
fn sr_21_25_degrees_above_the_setpoint_or_no_setpoint_at_all_is_let_be() {
    let mut rig = Rig::climbing();
    rig.setpoint = Some(celsius(100.0));
    for second in 0..600 {
        assert_eq!(withheld_by(&rig.read(125.0 - noise(f64::from(second)).abs())), None);
    }
    rig.setpoint = None;
    for second in 0..200 {
        assert_eq!(withheld_by(&rig.read(127.0 - noise(f64::from(second)).abs())), None);
    }
}

#[test]
fn sr_25_a_firing_is_told_beyond_a_quarter_over_forecast_and_trips_beyond_half() {
    let mut rig = Rig::climbing();
    rig.forecast = Some(Expected::lasting(Millis::from_hours(8)));
    let mut at = |hours: u64, ms: u64| {
        rig.elapsed = Millis::from_hours(hours) + Millis::new(ms);
        rig.read(500.0)
    };
    assert!(at(10, 0).notices.is_empty());
    assert_eq!(names(&at(10, 1).notices), [Interlock::FiringTooLong]);
    assert_eq!(trip_of(&at(12, 0)), None);
    let tripped = at(12, 1);
    assert_eq!(trip_of(&tripped), Some(Interlock::FiringTooLong));
    assert_eq!(tripped.trip.map(|trip| trip.severity), Some(Severity::Trip));
}

#[test]
fn sr_25_a_schedule_of_minutes_is_told_a_quarter_of_an_hour_over_forecast_and_trips_half_an_hour_over() {
    let mut rig = Rig::climbing();
    rig.forecast = Some(Expected::lasting(Millis::from_minutes(4)));
    let mut at = |minutes: u64, ms: u64| {
        rig.elapsed = Millis::from_minutes(minutes) + Millis::new(ms);
        rig.read(30.0)
    };
    assert!(at(19, 0).notices.is_empty());
    assert_eq!(names(&at(19, 1).notices), [Interlock::FiringTooLong]);
    assert_eq!(trip_of(&at(34, 0)), None);
    assert_eq!(trip_of(&at(34, 1)), Some(Interlock::FiringTooLong));
}

#[test]
fn sr_25_an_hour_is_where_the_ratios_take_over_from_the_least_slack() {
    let trips_after = |forecast: Millis, elapsed: Millis| {
        let mut rig = Rig::climbing();
        rig.forecast = Some(Expected::lasting(forecast));
        rig.elapsed = elapsed;
        trip_of(&rig.read(500.0)).is_some()
    };
    let [hour, two] = [60, 120].map(Millis::from_minutes);
    assert!(!trips_after(hour, Millis::from_minutes(90)) && trips_after(hour, Millis::from_minutes(91)));
    assert!(!trips_after(two, Millis::from_minutes(180)) && trips_after(two, Millis::from_minutes(181)));
}

#[test]
fn sr_25_the_kiln_files_longest_firing_trips_whatever_the_forecast() {
    let mut rig = Rig::climbing();
    rig.forecast = Some(Expected::lasting(Millis::from_hours(1000)));
    rig.alight = rig.kiln.firing_longest;
    assert_eq!(trip_of(&rig.read(500.0)), None);
    rig.alight = rig.kiln.firing_longest + Millis::new(1);
    assert_eq!(trip_of(&rig.read(500.0)), Some(Interlock::FiringTooLong));
}
