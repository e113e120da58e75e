//! How far a kiln that moved goes on, by which `stuck-reading` knows that a reading ought to change.

use super::super::movement::Movement;
use super::*;

/// What moved a kiln with one bank of 5 kW on: still for a while, then for a minute at each rate.
fn moved(c_per_min: [f64; 2]) -> Option<Movement> {
    let mut rig = Rig { span: Millis::from_seconds(5), ..Rig::climbing() };
    rig.banks_on(1);
    let mut reading_c = 500.0;
    for _ in 0..21 {
        rig.read(reading_c);
    }
    for c_per_min in c_per_min {
        for _ in 0..6 {
            reading_c += c_per_min / 6.0;
            rig.read(reading_c);
            rig.read(reading_c); // the two readings of a sample
        }
    }
    Movement::lately(&rig.interlocks.observer)
}

/// How far it goes on in 100 s at a share of the 5 kW that it took.
fn goes_on_c(c_per_min: [f64; 2], share: f64) -> f64 {
    let moved = moved(c_per_min).expect("it moved steadily");
    moved.goes_on_c(Millis::from_seconds(100), share * 5_000.0 * 100.0)
}

fn near(seen: f64, expected: f64) -> bool {
    (seen - expected).abs() < 1.0e-6
}

#[test]
fn half_of_a_steady_movement_is_expected_to_go_on_under_the_same_power() {
    for c_per_min in [3.0, -3.0] {
        let goes_on_c = goes_on_c([c_per_min; 2], 1.0);
        assert!(near(goes_on_c, 0.5 * 3.0 * 100.0 / 60.0), "{goes_on_c}");
    }
}

#[test]
fn of_an_uneven_movement_the_slower_minute_counts() {
    for c_per_min in [[3.0, 4.5], [4.5, 3.0], [-3.0, -4.5], [-4.5, -3.0]] {
        let goes_on_c = goes_on_c(c_per_min, 1.0);
        assert!(near(goes_on_c, 0.5 * 3.0 * 100.0 / 60.0), "{c_per_min:?}: {goes_on_c}");
    }
}

#[test]
fn a_kiln_that_stood_still_or_turned_within_two_minutes_was_not_moving() {
    for c_per_min in [[0.0, 0.0], [0.0, 3.0], [3.0, 0.0], [4.5, -3.0], [-3.0, 4.5], [3.0, -4.5]] {
        assert!(moved(c_per_min).is_none(), "{c_per_min:?}");
    }
}

#[test]
fn a_rise_goes_on_at_a_tenth_less_power_and_ends_below_that() {
    assert!(goes_on_c([3.0; 2], 0.91) > 0.0);
    assert!(near(goes_on_c([3.0; 2], 0.89), 0.0));
    assert!(goes_on_c([3.0; 2], 2.0) > 0.0);
}

#[test]
fn a_fall_goes_on_at_a_tenth_more_power_and_ends_above_that() {
    assert!(goes_on_c([-3.0; 2], 1.09) > 0.0);
    assert!(near(goes_on_c([-3.0; 2], 1.11), 0.0));
    assert!(goes_on_c([-3.0; 2], 0.0) > 0.0);
}
