//! SR-23 at its bounds: how much of the heat given must be found, from when on, and which falls trip.

use super::plain::Plain;
use super::*;
use crate::model::Certainty;
use pyrometry::units::between;

/// Elements are warm once they and the ware's skin had 540 · 5 kJ + 15 · 20 kJ; 5 kW give that in 600 s.
const WARM_J: f64 = 3.0e6;

fn known((second, trip): (u32, Finding)) -> (u32, Interlock) {
    (second, trip.interlock)
}

/// Climbing at 300 °C with some banks on, its plan where it is.
fn rig(plain: Plain, banks: usize) -> Rig {
    let mut rig = plain.rig(Phase::Climbing, 300.0);
    rig.setpoint = Some(celsius(300.0));
    rig.banks_on(banks);
    rig
}

/// A leak through which a kiln that stands at 300 °C loses this share of 5 kW.
fn losing(share: f64) -> Plain {
    Plain::leaking(share * 5_000.0 / 280.0)
}

#[test]
fn sr_23_heat_is_missed_ten_minutes_after_the_elements_are_warm_and_not_before() {
    // The first sample ends at 10 s; from there 600 s of 5 kW, then the window of 600 s.
    assert!((WARM_J / 5_000.0 - 600.0).abs() < 1.0e-9);
    let dead = rig(Plain::TIGHT, 1).samples(3_600, |_| 300.0).map(known);
    assert_eq!(dead, Some((1_210, Interlock::NotHeating)));
}

#[test]
fn sr_23_less_than_a_fifth_of_the_heat_found_again_as_loss_trips_and_a_little_more_does_not() {
    let stands = |share: f64| rig(losing(share), 1).samples(3_600, |_| 300.0).map(known);
    assert_eq!(stands(0.19), Some((1_210, Interlock::NotHeating)));
    assert_eq!(stands(0.21), None);
}

#[test]
fn sr_23_less_than_a_fifth_of_the_heat_found_again_as_warmth_trips_and_a_little_more_does_not() {
    // A fifth of 5 kW warms 25 kJ/K by 0.04 °C a second, once the ware, which lags, climbs as fast: so
    // for an hour at a quarter of full power, of which nothing is judged.
    let climbs = |c_per_s: f64| {
        let mut rig = rig(Plain::TIGHT, 0);
        (1..720).find_map(|sample| {
            rig.banks_on(usize::from(sample > 360 || sample % 2 == 0));
            let climbed_c = celsius(300.0 + c_per_s * 10.0 * f64::from(sample));
            rig.setpoint = Some(climbed_c);
            trip_of(&rig.sample(climbed_c.c()))
        })
    };
    assert_eq!(climbs(0.038), Some(Interlock::NotHeating));
    assert_eq!(climbs(0.042), None);
}

#[test]
fn sr_23_a_quarter_of_full_power_is_too_little_to_tell_and_a_falling_plan_asks_for_none() {
    let missed = |on_in_three_of: u32, falls_c_per_h: f64| {
        let mut rig = rig(Plain::TIGHT, 0);
        (0..360_u32).find_map(|sample| {
            rig.banks_on(usize::from(sample % on_in_three_of < 3));
            rig.setpoint = Some(celsius(300.0 - falls_c_per_h * f64::from(sample) / 360.0));
            trip_of(&rig.sample(300.0))
        })
    };
    assert_eq!(missed(4, 0.0), Some(Interlock::NotHeating), "a duty of 0.375");
    assert_eq!(missed(6, 0.0), None, "a duty of 0.25");
    assert_eq!(missed(4, 2.0), None, "as the plan asks");
}

#[test]
fn sr_23_of_a_fitted_model_three_quarters_are_expected_or_it_is_told() {
    let told = |share: f64, certainty| {
        let mut rig = rig(Plain { certainty, ..losing(share) }, 1);
        assert_eq!(rig.samples(1_300, |_| 300.0), None);
        names(&rig.sample(300.0).notices).contains(&Interlock::NotHeating)
    };
    assert!(told(0.74, Certainty::Fitted));
    assert!(!told(0.76, Certainty::Fitted));
    assert!(!told(0.74, Certainty::Guessed));
}

#[test]
fn sr_23_elements_that_were_off_for_ten_minutes_a_lid_and_a_phase_without_heat_begin_the_count_anew() {
    // Nothing of the heat is found; how long after a pause at 500 s is that called so?
    let missed_after = |pause: &dyn Fn(&mut Rig)| {
        let mut rig = rig(Plain::TIGHT, 1);
        assert_eq!(rig.samples(500, |_| 300.0), None);
        pause(&mut rig);
        (rig.phase, rig.lid) = (Phase::Climbing, Contact::Shut);
        rig.banks_on(1);
        rig.samples(3_600, |_| 300.0).map(|(second, _)| second)
    };
    let off_for = |rig: &mut Rig, seconds: u32| {
        rig.banks_on(0);
        rig.samples(seconds, |_| 300.0);
    };
    assert_eq!(missed_after(&|_| {}), Some(710));
    assert_eq!(missed_after(&|rig| off_for(rig, 590)), Some(710), "still warm");
    assert_eq!(missed_after(&|rig| off_for(rig, 600)), Some(1_210));
    let lid_was_open = |rig: &mut Rig| {
        rig.lid = Contact::Open;
        rig.sample(300.0);
    };
    assert_eq!(missed_after(&lid_was_open), Some(1_210));
    let cooled = |rig: &mut Rig| {
        rig.phase = Phase::Cooling;
        rig.sample(300.0);
    };
    assert_eq!(missed_after(&cooled), Some(1_210));
}

/// Full power from cold elements on, and a fall in quarters of 2.5 °C or their like, 10 s apart, that
/// begins with the sample after some second; the setpoint moves by so much an hour.
fn falls(plain: Plain, begins: u32, quarter_c: f64, setpoint_c_per_h: f64) -> Option<(u32, f64)> {
    let mut rig = rig(plain, 2);
    (1..=65_u32).find_map(|sample| {
        let second = 10 * sample;
        let quarters = f64::from(second.saturating_sub(begins).min(40)) / 10.0;
        rig.setpoint = Some(celsius(300.0 + setpoint_c_per_h * f64::from(second) / 3_600.0));
        let trip = rig.sample(300.0 - quarter_c * quarters).trip?;
        assert_eq!(trip.interlock, Interlock::NotHeating);
        let said = std::format!("{trip}");
        let falls_fast = said.contains("heated strongly the kiln fell 10 °C in 1 min.");
        assert_eq!(falls_fast, trip.evidence.bound == 10.0, "{said}");
        assert!(falls_fast || said.contains(" °C in 6 min."), "{said}");
        Some((second, trip.evidence.bound))
    })
}

#[test]
fn sr_23_a_fall_of_ten_degrees_in_a_minute_of_full_power_counts_from_warm_elements_on() {
    // 10 kW give 3 MJ in 300 s, counted from the first sample: the minute from 310 to 370 s is the first.
    assert_eq!(falls(Plain::TIGHT, 310, 2.5, 0.0), Some((370, 10.0)));
    assert_eq!(falls(Plain::TIGHT, 310, 2.5, 10.0), Some((370, 10.0)), "of a rising plan too");
    // One that loses half of its power at 300 °C: no model is sure that it rises.
    assert_eq!(falls(losing(1.0), 400, 2.5, 0.0), Some((440, 10.0)), "within the minute");
}

#[test]
fn sr_23_a_fall_of_less_than_ten_degrees_or_that_the_plan_asks_for_or_with_elements_still_warming_is_let_be()
{
    assert_eq!(falls(losing(1.0), 400, 2.49, 0.0), None);
    assert_eq!(falls(losing(1.0), 400, 2.5, -10.0), None, "the plan falls too");
    assert_eq!(falls(Plain::TIGHT, 150, 2.5, 0.0).filter(|(_, bound_c)| *bound_c == 10.0), None);
}

#[test]
fn sr_23_five_degrees_fallen_trip_once_the_most_doubtful_model_has_risen_thirty_and_less_does_not() {
    // 0.6 of the heat, less 150 · 5 kJ, makes 30 °C of twice 25 kJ/K with 3.75 MJ: 375 s, from 10 s on.
    assert_eq!(falls(Plain::TIGHT, 150, 1.25, 0.0), Some((390, 5.0)));
    assert_eq!(falls(Plain::TIGHT, 150, 1.24, 0.0), None);
    assert_eq!(falls(Plain::TIGHT, 150, 1.25, -10.0), None, "the plan falls too");
}

#[test]
fn sr_23_a_fall_is_counted_from_ten_minutes_ago_however_the_kiln_rose_before() {
    let mut rig = rig(Plain::TIGHT, 2);
    let trip = rig.samples(900, |second| {
        300.0 + between(0.2 * second, 0.0, 20.0) - between(0.125 * (second - 760.0), 0.0, 5.0)
    });
    assert_eq!(trip.map(|(second, trip)| (second, trip.evidence.bound)), Some((800, 5.0)));
}
