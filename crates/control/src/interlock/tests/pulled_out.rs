//! SR-09 at its bounds: how fast a fall is, for how long, and what explains it.

use super::*;

/// Withheld for a fall, or tripped by one.
fn is_fall(judgement: &Judgement) -> bool {
    let by = Some(Interlock::ThermocouplePulledOut);
    withheld_by(judgement) == by || trip_of(judgement) == by
}

/// A kiln that stands at 800 °C, with both banks on for a time and then off.
fn heated_for(seconds: u32) -> Rig {
    let mut rig = Rig::climbing();
    let still = |second: f64| 800.0 + 0.1 * noise(second);
    assert_eq!(rig.read_for(60, still), None);
    rig.banks_on(2);
    assert_eq!(rig.read_for(seconds, still), None);
    rig.banks_on(0);
    rig
}

/// When a fall that begins some seconds from now is found.
fn found(rig: &mut Rig, begins: u32, c_per_s: f64) -> Option<u32> {
    (0..begins + 12).find(|second| {
        let falling_s = (second + 1).saturating_sub(begins);
        is_fall(&rig.read(800.0 - c_per_s * f64::from(falling_s)))
    })
}

#[test]
fn sr_09_just_a_degree_a_second_withholds_after_five_and_trips_after_ten_and_less_does_neither() {
    let mut rig = Rig::climbing();
    let falls = |second: u32| 1_200.0 - f64::from(second);
    for second in 0..10 {
        let judgement = rig.read(falls(second));
        assert_eq!((is_fall(&judgement), judgement.trip), (second >= 5, None), "{second}");
    }
    let trip = rig.read(falls(10)).trip.expect("ten seconds");
    let said = std::format!("{trip}");
    assert!(said.contains("fell 10.0 °C in 10 s; with the lid shut a kiln cools by 10 °C at most"), "{said}");
    let mut slower = Rig::climbing();
    assert!(!(0..30).any(|second| is_fall(&slower.read(1_200.0 - 0.99 * f64::from(second)))));
}

#[test]
fn sr_09_elements_glow_for_forty_seconds_after_a_minute_of_heat_and_not_after_less() {
    // Six samples make five seconds of a fall; those before the fall begins are its first.
    assert_eq!(found(&mut heated_for(59), 5, 1.2), Some(9));
    assert_eq!(found(&mut heated_for(60), 5, 1.2), None);
    assert_eq!(found(&mut heated_for(60), 35, 1.2), Some(40), "they are dim by then");
    assert_eq!(found(&mut heated_for(60), 5, 2.2), Some(9), "no element dims so fast");
}

#[test]
fn sr_09_heat_that_was_withheld_for_the_fall_itself_explains_nothing() {
    let mut rig = heated_for(60);
    rig.banks_on(2);
    assert_eq!(found(&mut rig, 0, 1.2), Some(4), "the last one before the fall is its first");
    rig.banks_on(0);
    let tripped =
        (0..10_u32).find(|second| trip_of(&rig.read(794.0 - 1.2 * f64::from(second + 1))).is_some());
    assert!(tripped.is_some_and(|second| second <= 4), "{tripped:?}");
}

#[test]
fn sr_09_steps_of_a_second_and_a_half_count_and_later_ones_do_not() {
    for (span_ms, trips) in [(1_500, true), (1_501, false)] {
        let mut rig = Rig { span: Millis::new(span_ms), ..Rig::climbing() };
        assert_eq!(rig.read_for(30, |step| 1_200.0 - 1.5 * step).is_some(), trips, "{span_ms} ms");
    }
}
