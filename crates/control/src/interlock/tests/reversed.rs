//! SR-07 at its bounds: which fall, when, and how cold is too cold.

use super::plain::{DITHER_C, Plain};
use super::*;

/// Lit at a reading beside a cold junction of 20 °C, it stands still, with one of two banks on; then
/// falls by steps of a sixth, ten seconds apart.
struct Falls {
    lit_c: f64,
    still_s: u32,
    rises_c: f64,
    fall_c: f64,
    setpoint_drop_c: f64,
}

impl Falls {
    /// With the samples' own little up and down it falls by just 3 °C.
    const REVERSED: Self =
        Self { lit_c: 20.0, still_s: 200, rises_c: 0.0, fall_c: 3.0 - 2.0 * DITHER_C, setpoint_drop_c: 0.0 };

    fn trips(&self) -> Option<Interlock> {
        let mut rig = Plain::TIGHT.rig(Phase::Climbing, self.lit_c);
        let setpoint_c = self.lit_c + 10.0;
        rig.setpoint = Some(celsius(setpoint_c));
        let higher_c = self.lit_c + self.rises_c;
        rig.sample(self.lit_c + 0.5 * self.rises_c);
        // Heat comes late, so that no other row speaks of it.
        let still = rig.samples(self.still_s - 200, |_| higher_c);
        rig.banks_on(1);
        assert_eq!(still.or_else(|| rig.samples(200, |_| higher_c)), None);
        rig.setpoint = Some(celsius(setpoint_c - self.setpoint_drop_c));
        (1..=18).find_map(|sample| {
            let fallen_c = self.fall_c * f64::from(6.min(sample)) / 6.0;
            trip_of(&rig.sample(higher_c - fallen_c))
        })
    }
}

const REVERSED: Option<Interlock> = Some(Interlock::ReversedThermocouple);

#[test]
fn sr_07_a_fall_of_just_three_degrees_in_three_minutes_trips_and_a_hundredth_less_does_not() {
    assert_eq!(Falls::REVERSED.trips(), REVERSED);
    assert_eq!(Falls { fall_c: 2.99 - 2.0 * DITHER_C, ..Falls::REVERSED }.trips(), None);
}

#[test]
fn sr_07_a_fall_that_the_setpoint_shares_does_not_trip() {
    assert_eq!(Falls { setpoint_drop_c: 1.0, ..Falls::REVERSED }.trips(), None);
    assert_eq!(Falls { setpoint_drop_c: -1.0, ..Falls::REVERSED }.trips(), REVERSED);
}

#[test]
fn sr_07_a_reading_that_rose_ten_degrees_has_proven_itself_and_one_that_rose_less_has_not() {
    assert_eq!(Falls { rises_c: 9.9, ..Falls::REVERSED }.trips(), REVERSED);
    assert_eq!(Falls { rises_c: 10.1, ..Falls::REVERSED }.trips(), None);
}

#[test]
fn sr_07_a_light_up_more_than_sixty_degrees_from_the_cold_junction_is_not_cold_and_proves_nothing() {
    assert_eq!(Falls { lit_c: 79.0, ..Falls::REVERSED }.trips(), REVERSED);
    assert_eq!(Falls { lit_c: 81.0, ..Falls::REVERSED }.trips(), None);
}

#[test]
fn sr_07_within_half_an_hour_of_light_up_a_fall_counts_and_later_it_does_not() {
    assert_eq!(Falls { still_s: 1_700, ..Falls::REVERSED }.trips(), REVERSED);
    assert_eq!(Falls { still_s: 1_800, ..Falls::REVERSED }.trips(), None);
}

#[test]
fn sr_07_a_mean_duty_of_just_three_tenths_is_too_little_to_tell_and_four_tenths_are_enough() {
    // One bank of two, on for so many seconds of every five.
    let trips = |on_s: u32| {
        let mut rig = Rig { setpoint: Some(celsius(60.0)), ..Rig::climbing() };
        (0..380_u32).find_map(|second| {
            rig.banks_on(usize::from(second % 5 < on_s));
            let dither_c = if second % 2 == 0 { 1.0 / 64.0 } else { -1.0 / 64.0 };
            let fallen_c = if second > 200 { 0.5 * f64::from(6.min((second - 191) / 10)) } else { 0.0 };
            trip_of(&rig.read(25.0 - fallen_c + dither_c))
        })
    };
    assert_eq!(trips(3), None);
    assert_eq!(trips(4), REVERSED);
}

#[test]
fn sr_07_a_box_that_warms_in_the_firing_allows_a_reading_to_be_colder_by_as_much() {
    let reads = |cold_c: f64| {
        let mut rig = Rig { cold_junction_c: 20.0, ..Rig::climbing() };
        rig.read(20.0);
        rig.cold_junction_c = 28.0;
        rig.read(17.0);
        rig.read(14.0);
        trip_of(&rig.read(cold_c))
    };
    assert_eq!(reads(10.1), None, "18 °C colder are allowed");
    assert_eq!(reads(9.9), REVERSED);
}

#[test]
fn sr_07_where_no_light_up_was_seen_a_box_may_be_25_degrees_warmer() {
    let refused = |cold_c: f64| {
        let mut rig = Rig { cold_junction_c: 25.0, ..Rig::in_phase(Phase::Resting) };
        rig.read(cold_c).refuses_light_up.map(|finding| finding.interlock)
    };
    assert_eq!(refused(-9.9), None);
    assert_eq!(refused(-10.1), REVERSED);
}
