//! SR-22 at its bounds: when it begins to judge, and how little cooling it takes for heat.

use super::plain::Plain;
use super::*;
use crate::model::Certainty;
use pyrometry::units::{between, greater};

#[test]
fn sr_22_a_rise_counts_from_ten_minutes_after_all_off_below_300_degrees_to_three_above_600() {
    for (at_c, blanking_s) in [(100.0, 600), (300.0, 600), (450.0, 390), (600.0, 180), (900.0, 180)] {
        // Rises 1.25 °C in 10 s and is at that temperature when the blanking ends: 15 °C and the
        // weather's 5 °C an hour are passed with the thirteenth sample after.
        let reading = |second: f64| at_c + 0.125 * (second - f64::from(blanking_s));
        let mut rig = Plain::TIGHT.rig(Phase::Cooling, reading(0.0));
        let (second, trip) = rig.samples(1_000, reading).expect("nothing asked for it");
        assert_eq!((second, trip.interlock), (blanking_s + 130, Interlock::HeatingWhileOff), "at {at_c} °C");
    }
}

#[test]
fn sr_22_a_rise_of_just_fifteen_degrees_beyond_weather_trips_and_a_hundredth_less_does_not() {
    let rises = |c: f64| {
        let mut rig = Plain::TIGHT.rig(Phase::Resting, 100.0);
        rig.span = Millis::from_seconds(10);
        for _ in 0..65 {
            assert_eq!(trip_of(&rig.read(100.0)), None);
        }
        let weather_c = 5.0 * Millis::from_seconds(10).hours();
        trip_of(&rig.read(100.0 + weather_c + c))
    };
    assert_eq!(rises(15.0), Some(Interlock::HeatingWhileOff));
    assert_eq!(rises(14.99), None);
}

#[test]
fn sr_22_a_reading_that_comes_back_to_what_it_was_half_an_hour_ago_does_not_trip_and_later_it_does() {
    // A lid without a contact was lifted: the brick's heat brings the reading back.
    let comes_back = |minute: f64| {
        let mut rig = Plain::TIGHT.rig(Phase::Cooling, 200.0);
        rig.samples(3_600, |second| {
            let fallen_c = between(0.1 * second, 0.0, 50.0);
            200.0 - fallen_c + between(0.4 * (second - 60.0 * minute), 0.0, 49.0)
        })
    };
    assert_eq!(comes_back(37.0), None);
    assert_eq!(comes_back(41.0).map(|(_, trip)| trip.interlock), Some(Interlock::HeatingWhileOff));
}

/// Fired to 700 °C, then everything off, and the reading falls so much in a minute: a kiln that by its
/// model loses some watts for each of the 680 °C above the room, from 25 kJ/K.
fn cools(plain: Plain, falls_c_per_min: f64) -> Option<(u32, Interlock)> {
    fired(plain).samples(1_200, |second| 700.0 - falls_c_per_min * second / 60.0).map(known)
}

fn fired(plain: Plain) -> Rig {
    let mut rig = plain.rig(Phase::Climbing, 20.0);
    rig.banks_on(2);
    assert_eq!(rig.samples(680, |second| 20.0 + second), None);
    rig.banks_on(0);
    rig.phase = Phase::Cooling;
    rig
}

fn known((second, trip): (u32, Finding)) -> (u32, Interlock) {
    (second, trip.interlock)
}

/// The leak by which the model expects so much cooling in a minute.
fn expecting(c_per_min: f64) -> Plain {
    Plain::leaking(c_per_min * 25_000.0 / 60.0 / 680.0)
}

#[test]
fn sr_22_a_guessed_model_asks_for_15_percent_of_its_cooling_less_half_a_degree_and_a_fitted_one_for_30() {
    // 6 °C expected in a minute: 0.9 and 1.8 °C are to be found, half a degree of waver allowed for.
    for (certainty, least_c) in [(Certainty::Guessed, 0.4), (Certainty::Fitted, 1.3)] {
        let plain = Plain { certainty, ..expecting(6.0) };
        assert_eq!(cools(plain, least_c - 0.1), Some((240, Interlock::HeatingWhileOff)), "{certainty:?}");
        assert_eq!(cools(plain, least_c + 0.1), None, "{certainty:?}");
    }
}

#[test]
fn sr_22_three_degrees_must_be_expected_within_the_blanking_or_nothing_is_judged() {
    // Above 600 °C the blanking is three minutes, and the judged span lies behind it.
    let stands_still = |expected_c_per_min: f64| {
        cools(Plain { certainty: Certainty::Fitted, ..expecting(expected_c_per_min) }, 0.0)
    };
    for (expected_c_per_min, second) in [(3.1, 240), (1.6, 300), (1.1, 360)] {
        assert_eq!(stands_still(expected_c_per_min), Some((second, Interlock::HeatingWhileOff)));
    }
    assert_eq!(stands_still(0.9), None);
}

#[test]
fn sr_22_an_open_lid_begins_the_count_anew() {
    let mut rig = fired(expecting(6.0));
    assert_eq!(rig.samples(200, |_| 700.0), None);
    rig.lid = Contact::Open;
    rig.sample(700.0);
    rig.lid = Contact::Shut;
    assert_eq!(rig.samples(600, |_| 700.0).map(known), Some((240, Interlock::HeatingWhileOff)));
}

#[test]
fn sr_22_of_a_kiln_found_hot_only_the_rise_counts_for_an_hour() {
    let mut rig = expecting(6.0).rig(Phase::Resting, 700.0);
    let stands = rig.samples(2 * 3_600, |_| 700.0).map(known);
    assert_eq!(stands, Some((3_610, Interlock::HeatingWhileOff)));
    let mut rig = expecting(6.0).rig(Phase::Resting, 700.0);
    let rises = rig.samples(3_600, |second| 700.0 + greater(0.0, 0.1 * (second - 600.0)));
    assert!(rises.is_some_and(|(second, _)| second < 800), "{rises:?}");
}
