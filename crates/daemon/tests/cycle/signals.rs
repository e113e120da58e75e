//! Buzzer, lamp and vent, which follow what is decided and change nothing of it.

use std::sync::atomic::Ordering;

use control::{Carried, Finding, Interlock, Left, Order, Outcome, Phase};
use daemon::files::kiln::{SignalPart, SignalParts, VentPart};
use daemon::run::Silenced;
use daemon::store::Latched;
use hal::Signal;
use pyrometry::units::Celsius;

use crate::lighting::soaking;
use crate::stand::Stand;

fn degrees(celsius: f64) -> Celsius {
    Celsius::new(celsius).expect("a temperature")
}

fn all_fitted(vent: VentPart) -> SignalParts {
    SignalParts { buzzer: Some(SignalPart::default()), lamp: Some(SignalPart::default()), vent: Some(vent) }
}

fn stand(vent: VentPart) -> Stand {
    Stand::signalling(all_fitted(vent), Latched::Clear)
}

fn steps(stand: &mut Stand, count: u32) {
    (0..count).for_each(|_| drop(stand.step()));
}

/// Lit, heating, then with a thermocouple that breaks.
fn tripped() -> Stand {
    let mut stand = stand(VentPart::default());
    stand.light().expect("lit");
    stand.until_it_heats();
    stand.wires.open.store(true, Ordering::Relaxed);
    steps(&mut stand, 5);
    assert_eq!(stand.step().decision.phase, Phase::Tripped);
    stand
}

#[test]
fn the_buzzer_sounds_from_a_trip_until_it_is_silenced_and_the_trip_stands() {
    let mut stand = tripped();
    assert!(stand.wires.is_on(Signal::Buzzer));
    assert_eq!(stand.silence(), Silenced::Quiet);
    assert!(!stand.wires.is_on(Signal::Buzzer), "in the same step");
    steps(&mut stand, 30);
    assert!(!stand.wires.is_on(Signal::Buzzer) && stand.step().decision.trip.is_some());
    assert_eq!(stand.silence(), Silenced::DidNotSound);
}

#[test]
fn another_trip_after_one_that_was_silenced_and_cleared_sounds_again() {
    let mut stand = tripped();
    assert_eq!(stand.silence(), Silenced::Quiet);
    stand.wires.open.store(false, Ordering::Relaxed);
    steps(&mut stand, 60);
    assert_eq!(stand.order(Order::ClearTrip), Outcome::Taken);
    assert!(!stand.wires.is_on(Signal::Buzzer));
    stand.light().expect("lit again");
    stand.until_it_heats();
    stand.wires.open.store(true, Ordering::Relaxed);
    steps(&mut stand, 6);
    assert!(stand.wires.is_on(Signal::Buzzer));
}

#[test]
fn clearing_a_trip_ends_the_sound_and_silencing_comes_through_with_a_shut_off() {
    let mut cleared = tripped();
    cleared.wires.open.store(false, Ordering::Relaxed);
    steps(&mut cleared, 60);
    assert!(cleared.wires.is_on(Signal::Buzzer), "the cause is gone, nobody has come");
    assert_eq!(cleared.order(Order::ClearTrip), Outcome::Taken);
    assert!(cleared.step().decision.trip.is_none());
    assert!(!cleared.wires.is_on(Signal::Buzzer));
    let mut pressed = tripped();
    let _press = pressed.shut_off.press();
    assert_eq!(pressed.silence(), Silenced::Quiet);
}

#[test]
fn a_trip_that_a_start_finds_latched_sounds_and_without_a_buzzer_nothing_does() {
    let finding = tripped().step().decision.trip.expect("a trip");
    let latched = |signals| {
        let mut stand = Stand::signalling(signals, Latched::Trip(Finding { ..finding }));
        stand.step();
        stand
    };
    assert!(latched(all_fitted(VentPart::default())).wires.is_on(Signal::Buzzer));
    let mut bare = latched(SignalParts::default());
    assert!(Signal::ALL.into_iter().all(|signal| !bare.wires.is_on(signal)));
    assert_eq!(bare.silence(), Silenced::DidNotSound);
    assert_eq!(finding.interlock, Interlock::BrokenThermocouple);
}

#[test]
fn the_lamp_is_lit_until_the_kiln_has_read_cool_for_a_minute_and_whenever_it_is_hot_or_unknown() {
    let mut stand = stand(VentPart::default());
    steps(&mut stand, 60);
    assert!(stand.wires.is_on(Signal::Lamp), "not known long enough");
    steps(&mut stand, 2);
    assert!(!stand.wires.is_on(Signal::Lamp), "cool");
    stand.wires.open.store(true, Ordering::Relaxed);
    stand.step();
    assert!(stand.wires.is_on(Signal::Lamp), "not known");
    stand.wires.open.store(false, Ordering::Relaxed);
    steps(&mut stand, 120);
    assert!(!stand.wires.is_on(Signal::Lamp), "cool again");
    stand.light().expect("lit");
    stand.until_it_heats();
    assert!(stand.wires.is_on(Signal::Lamp), "elements glow in a chamber that reads cold");
    assert_eq!(stand.shut_off(), Some(Outcome::Taken));
    steps(&mut stand, 62);
    assert!(!stand.wires.is_on(Signal::Lamp));
}

#[test]
fn the_lamp_stays_lit_in_a_kiln_that_is_too_hot_to_open_with_nothing_under_way() {
    let mut stand = stand(VentPart::default());
    stand.wires.warmer_c.store(70, Ordering::Relaxed);
    steps(&mut stand, 300);
    assert!(stand.wires.is_on(Signal::Lamp), "91 °C where 80 °C are cool enough");
}

#[test]
fn the_vent_runs_while_heat_may_be_given_and_stops_with_it_at_once() {
    let mut stand = stand(VentPart::default());
    steps(&mut stand, 30);
    assert!(!stand.wires.is_on(Signal::Vent), "at rest");
    stand.light().expect("lit");
    stand.until_it_heats();
    steps(&mut stand, 15);
    assert!(stand.wires.is_on(Signal::Vent));
    assert_eq!(stand.shut_off(), Some(Outcome::Taken));
    assert!(!stand.wires.is_on(Signal::Vent), "in the step of the shut-off");
    let mut tripped = tripped();
    assert!(!tripped.wires.is_on(Signal::Vent) && tripped.step().decision.trip.is_some());
}

#[test]
fn the_vent_keeps_to_its_bounds_but_for_a_glitch_and_the_ripple_at_them() {
    let mut stand = stand(VentPart { from: Some(degrees(40.0)), to: Some(degrees(70.0)), line: None });
    stand.light().expect("lit");
    // Slowly enough for a kiln; readings begin at 21 °C.
    let mut warm_to = |warmer_c: u64, running: bool| {
        while stand.wires.warmer_c.load(Ordering::Relaxed) != warmer_c {
            let now = stand.wires.warmer_c.load(Ordering::Relaxed);
            let next = if now < warmer_c { now + 1 } else { now - 1 };
            stand.wires.warmer_c.store(next, Ordering::Relaxed);
            steps(&mut stand, 2);
        }
        steps(&mut stand, 12);
        let seen = stand.step();
        assert!(seen.decision.phase.may_heat(), "{:?} at {warmer_c}", seen.decision.trip);
        assert_eq!(stand.wires.is_on(Signal::Vent), running, "21 °C and {warmer_c} K");
    };
    warm_to(15, false);
    warm_to(21, true);
    warm_to(16, true);
    warm_to(52, true);
    warm_to(57, false);
}

/// Climbs, a fall and watches, which say of the vent what their names say.
const BY_SEGMENT: &str = r#"
title = "By segment"
scale = "C"
[[segment]] # on
rate = 600
to = 900
vent = "on"
[[segment]] # nothing
rate = 600
to = 1000
[[segment]] # off
rate = 600
to = 1100
vent = "off"
[[segment]] # on
rate = "let fall"
to = 30
vent = "on"
[[segment]] # nothing
watch = "1 h"
[[segment]] # on
watch = "1 h"
vent = "on"
"#;

/// Lit, in the first segment of [`BY_SEGMENT`], at 61 °C.
fn by_segment(vent: VentPart) -> Stand {
    let mut stand = stand(vent);
    stand.schedule = BY_SEGMENT;
    stand.light().expect("lit");
    for warmer_c in 1..=40 {
        stand.wires.warmer_c.store(warmer_c, Ordering::Relaxed);
        steps(&mut stand, 2);
    }
    assert_eq!(stand.step().decision.segment, Some(0));
    stand
}

#[test]
fn a_segments_word_on_the_vent_goes_before_the_temperatures_and_one_that_says_nothing_goes_by_them() {
    // At 61 °C the first never runs by temperature, the second always.
    for (vent, by_temperature) in
        [(VentPart { from: Some(degrees(500.0)), ..VentPart::default() }, false), (VentPart::default(), true)]
    {
        let mut stand = by_segment(vent);
        let mut ways = vec![stand.wires.is_on(Signal::Vent)];
        for _ in 0..2 {
            assert_eq!(stand.order(Order::NextSegment), Outcome::Taken);
            steps(&mut stand, 12);
            ways.push(stand.wires.is_on(Signal::Vent));
        }
        assert_eq!(ways, [true, by_temperature, false]);
    }
}

#[test]
fn a_stay_keeps_the_vent_as_its_segment_says_and_a_reading_that_fails_does_not_change_it() {
    let mut stand = by_segment(VentPart { from: Some(degrees(500.0)), ..VentPart::default() });
    assert_eq!(stand.order(Order::Stay), Outcome::Taken);
    steps(&mut stand, 30);
    assert!(stand.wires.is_on(Signal::Vent), "staying");
    stand.wires.open.store(true, Ordering::Relaxed);
    assert!(stand.step().decision.withheld.is_some() && stand.wires.is_on(Signal::Vent));
}

#[test]
fn a_firing_that_is_carried_on_has_the_vent_as_the_segment_says_in_which_it_stood() {
    for (segment, running) in [(0, true), (1, false)] {
        let mut stand = stand(VentPart { from: Some(degrees(500.0)), ..VentPart::default() });
        stand.schedule = BY_SEGMENT;
        stand.step();
        stand.light_carrying_on(&Carried { segment, left: Left::Way, ..soaking() }).expect("carried on");
        steps(&mut stand, 15);
        assert_eq!(stand.step().decision.segment, Some(segment));
        assert_eq!(stand.wires.is_on(Signal::Vent), running);
    }
}

#[test]
fn without_heat_the_vent_runs_only_where_the_segment_says_so_and_stops_with_the_schedule() {
    let mut stand = by_segment(VentPart::default());
    let mut seen = Vec::new();
    for _ in 0..6 {
        let taken = stand.order(Order::NextSegment);
        let at_once = stand.wires.is_on(Signal::Vent);
        steps(&mut stand, 12);
        let decision = stand.step().decision.clone();
        seen.push((taken, decision.phase, decision.segment, at_once, stand.wires.is_on(Signal::Vent)));
    }
    let taken = |phase, segment, at_once, then| (Outcome::Taken, phase, segment, at_once, then);
    // Off at once wherever nothing asks for it in a kiln without heat; otherwise after the usual wait.
    assert_eq!(
        seen,
        [
            taken(Phase::Climbing, Some(1), true, true),
            taken(Phase::Climbing, Some(2), true, false),
            taken(Phase::Cooling, Some(3), false, true),
            taken(Phase::Cooling, Some(4), false, false),
            taken(Phase::Cooling, Some(5), false, true),
            taken(Phase::Cooling, None, false, false),
        ]
    );
}

#[test]
fn a_shut_off_and_a_trip_stop_a_vent_that_the_segment_wants_on() {
    let mut stand = by_segment(VentPart::default());
    assert!(stand.wires.is_on(Signal::Vent));
    assert_eq!(stand.shut_off(), Some(Outcome::Taken));
    assert!(!stand.wires.is_on(Signal::Vent), "in the step of the shut-off");
    let mut stand = by_segment(VentPart::default());
    stand.wires.open.store(true, Ordering::Relaxed);
    let trips = (0..10).any(|_| stand.step().decision.trip.is_some());
    assert!(trips && !stand.wires.is_on(Signal::Vent), "in the step of the trip");
    steps(&mut stand, 30);
    assert!(!stand.wires.is_on(Signal::Vent));
}

#[test]
fn a_pin_that_cannot_be_driven_is_told_and_the_firing_goes_on() {
    let mut stand = stand(VentPart::default());
    stand.light().expect("lit");
    stand.until_it_heats();
    stand.wires.signal_pins_dead.store(true, Ordering::Relaxed);
    steps(&mut stand, 20);
    let seen = stand.step();
    assert!(seen.signals.of(Signal::Vent).is_some_and(|vent| vent.pin.is_err()));
    assert!(seen.decision.trip.is_none() && seen.decision.withheld.is_none());
    let heats = (0..60).any(|_| {
        stand.step();
        stand.heats()
    });
    assert!(heats);
}

#[test]
fn an_end_in_good_order_is_silent_and_still_and_leaves_the_lamp_lit() {
    let mut stand = stand(VentPart::default());
    stand.light().expect("lit");
    stand.until_it_heats();
    steps(&mut stand, 15);
    let wires = std::sync::Arc::clone(&stand.wires);
    assert!(wires.is_on(Signal::Vent) && wires.is_on(Signal::Lamp));
    drop(stand);
    assert!(!wires.is_on(Signal::Vent) && wires.is_on(Signal::Lamp));
}
