//! SR-22 and SR-23, each on a kiln that is otherwise healthy.

use super::plant::{Build, Firing};
use super::*;
use pyrometry::units::{greater, lesser};

fn fired_to(to_c: f64) -> Firing {
    let mut firing = Firing::new(Build::USUAL);
    assert_eq!(firing.climb(200.0, to_c), None);
    firing
}

fn shut_off_with_a_weld(at_c: f64, welded: usize) -> Option<(u32, Interlock)> {
    let mut firing = fired_to(at_c);
    firing.welded = welded;
    firing.cool(3_600).map(|(second, trip)| (second, trip.interlock))
}

#[test]
fn sr_22_welded_relays_trip_soon_after_the_blanking_at_any_temperature() {
    for (at_c, latest_s) in [(100.0, 1_500), (250.0, 1_300), (500.0, 500), (800.0, 300), (1_100.0, 300)] {
        let (second, interlock) = shut_off_with_a_weld(at_c, 2).expect("welded");
        assert_eq!(interlock, Interlock::HeatingWhileOff, "at {at_c} °C");
        assert!(second <= latest_s, "at {at_c} °C only after {second} s");
    }
}

#[test]
fn sr_22_one_welded_relay_of_two_trips_where_it_holds_the_kiln_up() {
    for at_c in [250.0, 600.0] {
        let (_, interlock) = shut_off_with_a_weld(at_c, 1).expect("welded");
        assert_eq!(interlock, Interlock::HeatingWhileOff, "at {at_c} °C");
    }
}

#[test]
fn sr_22_a_kiln_that_cools_by_itself_does_not_trip() {
    for at_c in [60.0, 100.0, 250.0, 500.0, 1_100.0] {
        let mut firing = fired_to(at_c);
        assert_eq!(firing.cool(6 * 3_600), None, "from {at_c} °C");
    }
}

#[test]
fn sr_22_heat_after_a_trip_is_named_beside_it_with_the_breaker() {
    let mut firing = fired_to(800.0);
    for _ in 0..3 {
        firing.rig.see(Err(SensorFault::Open));
    }
    firing.welded = 2;
    firing.rig.phase = Phase::Tripped;
    let notice = (0..600)
        .find_map(|_| {
            let judgement = firing.second(None);
            assert_eq!(trip_of(&judgement), Some(Interlock::BrokenThermocouple));
            judgement.notices.iter().find(|notice| notice.interlock == Interlock::HeatingWhileOff).copied()
        })
        .expect("the weld is named");
    assert!(notice.done().contains("pull the breaker"));
}

#[test]
fn sr_22_a_shed_that_warms_with_the_weather_does_not_trip_and_a_rise_of_fifteen_degrees_does() {
    let mut rig = Rig::in_phase(Phase::Resting);
    let warming = |c_per_h: f64| move |second: f64| 3.0 + c_per_h * second / 3600.0 + 0.1 * noise(second);
    assert_eq!(rig.read_for(12 * 3_600, warming(4.0)), None, "48 °C in 12 h");
    let mut rig = Rig::in_phase(Phase::Resting);
    let (_, trip) = rig.read_for(12 * 3_600, warming(60.0)).expect("no weather does this");
    assert_eq!(trip.interlock, Interlock::HeatingWhileOff);
}

#[test]
fn sr_22_a_kiln_found_hot_after_a_restart_cools_without_a_trip() {
    let mut firing = fired_to(1_000.0);
    firing.cool(3_600);
    firing.rig.interlocks = Interlocks::new(&firing.rig.kiln, None);
    assert_eq!(firing.cool(8 * 3_600), None);
}

#[test]
fn sr_23_all_elements_dead_trip_hot_and_cold() {
    for at_c in [100.0, 400.0, 1_000.0] {
        let mut firing = fired_to(at_c);
        firing.share = 0.0;
        let (second, trip) = firing.soak(3 * 3_600, at_c).expect("nothing heats");
        assert_eq!(trip.interlock, Interlock::NotHeating, "at {at_c} °C");
        assert!(second <= 1_800, "at {at_c} °C only after {second} s");
    }
}

#[test]
fn sr_23_a_kiln_lit_hot_that_sinks_under_full_power_trips_before_the_elements_are_counted_warm() {
    let read_from = |reading: fn(f64) -> f64| {
        let mut rig = Rig::climbing();
        rig.banks_on(2);
        rig.setpoint = Some(celsius(115.0));
        rig.read_for(600, reading)
    };
    let (second, trip) = read_from(|t_s| 60.0 + 55.0 * libm::exp(-t_s / 300.0)).expect("it sinks");
    assert_eq!(trip.interlock, Interlock::NotHeating);
    assert!(second <= 450, "only after {second} s");
    let warming = read_from(|t_s| {
        let dips_c = 6.0 * libm::sin(lesser(t_s, 400.0) / 400.0 * core::f64::consts::PI);
        115.0 - dips_c + 0.1 * greater(t_s - 400.0, 0.0)
    });
    assert_eq!(warming, None, "it falls for a while until the elements are hot");
}

#[test]
fn sr_23_a_hot_kiln_that_falls_ten_degrees_in_a_minute_at_full_power_trips_by_then_and_one_of_seven_does_not()
{
    let falls = |c_per_min: f64| {
        let mut rig = Rig::climbing();
        rig.banks_on(2);
        rig.setpoint = Some(celsius(1_000.0));
        let still = |second: f64| 1_000.0 + 0.1 * noise(second);
        assert_eq!(rig.read_for(400, still), None);
        rig.read_for(75, |second| still(second) - c_per_min * second / 60.0)
    };
    let (second, trip) = falls(12.0).expect("nothing that heats falls so");
    assert_eq!(trip.interlock, Interlock::NotHeating);
    assert!(second <= 72, "only after {second} s");
    assert_eq!(falls(7.0), None);
}

#[test]
fn sr_23_heavy_ware_that_a_fast_climb_left_behind_goes_on_taking_heat_and_does_not_trip() {
    for load in [2.0, 3.0, 4.0] {
        let mut firing = Firing::new(Build { load, ..Build::USUAL });
        for to_c in [150.0, 300.0, 450.0] {
            assert_eq!(firing.climb(1_000.0, to_c), None, "{load} to {to_c}");
            assert_eq!(firing.soak(1_200, to_c), None, "{load} at {to_c}");
        }
    }
}

#[test]
fn sr_08_elements_dead_from_the_start_cannot_be_told_from_a_shorted_lead_and_trip_within_the_hour() {
    let mut firing = Firing::new(Build::USUAL);
    firing.share = 0.0;
    let trip = (0..3_600).find_map(|second| {
        let setpoint_c = lesser(28.0, 20.0 + 100.0 * f64::from(second) / 3600.0);
        firing.second(Some(setpoint_c)).trip
    });
    assert_eq!(trip.map(|trip| trip.interlock), Some(Interlock::ShortedLead));
}

#[test]
fn sr_23_half_the_power_with_a_doubled_load_is_slow_and_does_not_trip() {
    let mut firing = Firing::new(Build { load: 2.0, ..Build::USUAL });
    firing.share = 0.5;
    assert_eq!(firing.climb(150.0, 600.0), None);
}
