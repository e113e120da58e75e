//! When a firing is lit, and when not.

use std::sync::atomic::Ordering;

use control::{Carried, Left, Order, Outcome, Phase};
use daemon::run::{Ask, LightUp, Presence, Unlit};
use daemon::store::{Latched, Record};
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Celsius, Joules, Millis};
use tokio::sync::oneshot;

use crate::stand::Stand;

#[test]
fn a_light_up_that_waits_while_somebody_shuts_off_is_refused() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    let press = stand.shut_off.press();
    let why = stand.light().expect_err("not lit").to_string();
    assert!(why.contains("shut off"), "{why}");
    assert_eq!(stand.step().shut_off.presses, press);
    stand.light().expect("lit in its own step");
}

#[test]
fn a_shut_off_while_a_light_up_is_made_ready_is_not_lost_in_between() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    stand.shut_off();
    stand.step();
    let why = stand.light_knowing_of(0).expect_err("somebody shut off since").to_string();
    assert!(why.contains("shut off"), "{why}");
    let why = stand.light_carrying_on(&soaking()).expect_err("since the start").to_string();
    assert!(why.contains("shut off"), "{why}");
    assert!(!stand.heats());
    stand.light_knowing_of(1).expect("whoever lights after it knows of it");
}

#[test]
fn a_trip_that_was_cleared_is_remembered_as_is_a_latch_that_could_not_be_read() {
    let mut stand = Stand::new(Latched::Unreadable("torn".to_owned()), 4096);
    assert_eq!(stand.order(Order::ClearTrip), Outcome::Taken);
    let snapshot = stand.step();
    assert!(snapshot.had_trip && snapshot.light_up == LightUp::Possible);

    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.light().expect("lit");
    stand.until_it_heats();
    assert!(!stand.step().had_trip);
    stand.wires.open.store(true, Ordering::Relaxed);
    (0..5).for_each(|_| drop(stand.step()));
    stand.wires.open.store(false, Ordering::Relaxed);
    (0..30).for_each(|_| drop(stand.step()));
    assert_eq!(stand.order(Order::ClearTrip), Outcome::Taken);
    let snapshot = stand.step();
    assert!(snapshot.had_trip && snapshot.decision.trip.is_none());
}

#[test]
fn sr_41_an_unreadable_latch_keeps_every_firing_from_being_lit() {
    let mut stand = Stand::new(Latched::Unreadable("torn".to_owned()), 4096);
    stand.step();
    assert!(stand.light().is_err());
    assert_eq!(stand.order(Order::ClearTrip), Outcome::Taken);
    assert!(stand.records.try_iter().any(|record| matches!(record, Record::Latch(None))));
    stand.light().expect("lit once it was cleared");
}

#[test]
fn sr_01_a_thermocouple_broken_at_rest_refuses_light_up_in_the_findings_words_until_it_is_whole() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    for _ in 0..5 {
        assert_eq!(stand.step().light_up, LightUp::Possible, "a sound sensor at rest");
    }
    stand.wires.open.store(true, Ordering::Relaxed);
    let snapshot = stand.step();
    let seen = snapshot.decision.refuses_light_up.expect("found at once");
    let LightUp::Refused(why) = snapshot.light_up else { panic!("a light-up is possible") };
    assert!(why.to_string().starts_with(&seen.seen().to_string()), "{why}");
    assert!(why.to_string().contains("Look at: "), "{why}");
    let asked = stand.light();
    assert!(
        matches!(asked, Err(Unlit::Sensor(_))),
        "{asked:?}: the control thread itself refuses, whatever was shown before"
    );
    assert_eq!(stand.step().decision.phase, Phase::Resting);
    stand.wires.open.store(false, Ordering::Relaxed);
    for _ in 0..30 {
        stand.step();
    }
    stand.light().expect("lit once the sensor is whole again");
}

/// Lights two minutes ahead and comes to just before it is due, with the thermocouple broken.
fn nearly_due(queue: usize) -> Stand {
    let mut stand = Stand::new(Latched::Clear, queue);
    stand.step();
    stand.light_after(Millis::from_minutes(2)).expect("set for later");
    stand.wires.open.store(true, Ordering::Relaxed);
    while stand.step().decision.at < Millis::from_seconds(119) {}
    stand
}

#[test]
fn sr_01_a_firing_set_for_later_is_not_lit_when_its_thermocouple_is_broken_as_it_falls_due() {
    let mut stand = nearly_due(4096);
    let snapshot = stand.step();
    assert_eq!(snapshot.decision.phase, Phase::Resting);
    assert!(!stand.heats() && snapshot.firing.is_none());
    assert_eq!(snapshot.not_lit.as_ref().map(|not_lit| not_lit.title.as_str()), Some("Test"));
    let told = daemon::attention::all(&snapshot, &daemon::kilns::simulated().expect("the simulated kiln"));
    assert!(told.iter().any(|attention| attention.name == "not-lit"), "{told:?}");
    let records: Vec<Record> = stand.records.try_iter().collect();
    let [.., Record::Step(_), Record::NotLit(_), Record::Step(rest)] = &records[..] else {
        panic!("the firing's record ends before the rest's first step: {:?}", records.last());
    };
    assert_eq!(rest.decision.phase, Phase::Resting);
    stand.wires.open.store(false, Ordering::Relaxed);
    for _ in 0..200 {
        assert_eq!(stand.step().decision.phase, Phase::Resting, "it is not lit later either");
    }
    stand.light().expect("a person may light again");
    assert_eq!(stand.step().not_lit, None);
}

#[test]
fn sr_01_a_firing_set_for_later_is_lit_when_the_thermocouple_is_whole_again_in_time() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    stand.light_after(Millis::from_minutes(2)).expect("set for later");
    stand.wires.open.store(true, Ordering::Relaxed);
    stand.step();
    stand.wires.open.store(false, Ordering::Relaxed);
    while stand.step().decision.at < Millis::from_minutes(2) {}
    assert_eq!(stand.step().decision.phase, Phase::Climbing);
    stand.until_it_heats();
}

#[test]
fn one_glitch_in_the_second_before_it_falls_due_ends_no_nights_firing() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    stand.light_after(Millis::from_minutes(2)).expect("set for later");
    while stand.step().decision.at < Millis::from_seconds(118) {}
    stand.wires.open.store(true, Ordering::Relaxed);
    assert!(stand.step().decision.refuses_light_up.is_some());
    stand.wires.open.store(false, Ordering::Relaxed);
    assert_eq!(stand.step().decision.phase, Phase::Climbing);
    stand.until_it_heats();
}

#[test]
fn a_firing_not_lit_is_told_before_any_further_step_even_after_the_queue_was_full() {
    let mut stand = nearly_due(8);
    stand.step();
    assert!(!stand.records.try_iter().any(|record| matches!(record, Record::NotLit(_))), "no room");
    stand.step();
    let records: Vec<Record> = stand.records.try_iter().collect();
    assert!(matches!(records[..], [Record::NotLit(_), Record::Step(_)]), "{records:?}");
}

#[test]
fn whoever_clears_an_unreadable_latch_is_answered_only_when_the_snapshot_says_so() {
    let mut stand = Stand::new(Latched::Unreadable("torn".to_owned()), 4096);
    stand.step();
    let snapshots = stand.snapshots.clone();
    let (answer, answered) = oneshot::channel();
    stand.asks.try_send(Ask::Order(Order::ClearTrip, answer)).expect("room");
    let waiting = std::thread::spawn(move || {
        answered.blocking_recv().expect("answered");
        snapshots.borrow().as_ref().map(|snapshot| snapshot.light_up)
    });
    stand.step();
    assert_eq!(waiting.join().expect("seen"), Some(LightUp::Possible));
}

/// A firing that stood twenty minutes into the soak of its only segment.
pub(crate) fn soaking() -> Carried {
    let c = |c| Celsius::new(c).expect("a temperature");
    Carried {
        segment: 0,
        left: Left::Soak { at: c(25.0), left: Millis::from_minutes(40) },
        chamber: c(25.0),
        gap: Millis::from_minutes(1),
        elapsed: Millis::from_hours(2),
        given: Joules::ZERO,
        alight: Millis::from_hours(2),
        heat_work: HeatWork::NONE,
    }
}

#[test]
fn sr_40_a_sensor_that_refuses_light_up_refuses_to_carry_on_too_and_a_sound_one_does_not() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    stand.wires.open.store(true, Ordering::Relaxed);
    stand.step();
    let refused = stand.light_carrying_on(&soaking());
    assert!(matches!(refused, Err(Unlit::Sensor(_))), "{refused:?}");
    assert_eq!(stand.step().decision.phase, Phase::Resting);
    stand.wires.open.store(false, Ordering::Relaxed);
    (0..30).for_each(|_| drop(stand.step()));
    stand.light_carrying_on(&soaking()).expect("carried on");
    stand.until_it_heats();
    let back = stand.step();
    assert!(back.course.climbs_back(&back.decision), "the page says where to");
}

#[test]
fn sr_40_the_page_counts_down_what_was_left_of_a_soak() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    let Carried { left: Left::Soak { left, .. }, .. } = soaking() else { panic!("a soak") };
    // Found as warm as the soak: there at once.
    let carried = Carried { left: Left::Soak { at: Celsius::new(21.0).expect("room"), left }, ..soaking() };
    stand.light_carrying_on(&carried).expect("carried on");
    while stand.step().decision.phase != Phase::Soaking {}
    let course = stand.step().course;
    assert!(course.soak_left.is_some_and(|shown| shown <= left && shown + Millis::from_seconds(5) > left));
}

#[test]
fn sr_46_a_press_of_the_button_counts_for_two_minutes_and_for_one_firing() {
    let mut stand = Stand::counting_presses_for(Some(daemon::run::PRESS_COUNTS), Latched::Clear, 4096);
    stand.wires.button_fitted.store(true, Ordering::Relaxed);
    let press = |stand: &mut Stand| {
        stand.wires.button.store(true, Ordering::Relaxed);
        stand.step();
        stand.wires.button.store(false, Ordering::Relaxed);
    };
    stand.step();
    assert!(stand.light().expect_err("nobody is there").to_string().contains("Press the button"));
    press(&mut stand);
    for _ in 0..120 {
        assert_eq!(stand.step().presence, Presence::Shown);
    }
    assert_eq!(stand.step().presence, Presence::Awaited, "two minutes are over");
    assert!(stand.light().is_err());
    press(&mut stand);
    stand.light().expect("somebody is there");
    assert_eq!(stand.shut_off(), Some(Outcome::Taken));
    assert!(stand.light().is_err(), "the press was for the firing before");
}

#[test]
fn sr_46_a_button_that_stays_down_shows_nobody_and_one_let_go_and_pressed_again_does() {
    let mut stand = Stand::counting_presses_for(Some(daemon::run::PRESS_COUNTS), Latched::Clear, 4096);
    stand.wires.button_fitted.store(true, Ordering::Relaxed);
    stand.wires.button.store(true, Ordering::Relaxed);
    assert_eq!(stand.step().presence, Presence::Awaited, "found held down: taped, stuck, or a broken wire");
    assert!(stand.light().expect_err("nobody is there").to_string().contains("let go first"));
    stand.wires.button.store(false, Ordering::Relaxed);
    stand.step();
    stand.wires.button.store(true, Ordering::Relaxed);
    assert_eq!(stand.step().presence, Presence::Shown);
    stand.light().expect("somebody is there");
    stand.shut_off();
    (0..200).for_each(|_| drop(stand.step()));
    assert!(stand.light().is_err(), "held down ever since");
}

#[test]
fn sr_29_a_welded_contactor_refuses_light_up_at_rest_and_one_that_follows_is_lit_and_heats() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.wires.mirror_fitted.store(true, Ordering::Relaxed);
    stand.wires.welded.store(true, Ordering::Relaxed);
    for _ in 0..5 {
        stand.step();
    }
    let why = stand.light().expect_err("the contactor stands closed").to_string();
    assert!(why.contains("Pull the breaker"), "{why}");
    stand.wires.welded.store(false, Ordering::Relaxed);
    stand.step();
    stand.light().expect("it is open again");
    stand.until_it_heats();
    for _ in 0..30 {
        let decision = stand.step().decision.clone();
        assert_eq!((decision.trip, decision.withheld), (None, None));
    }
    stand.wires.pins_dead.store(true, Ordering::Relaxed);
    stand.step();
    stand.wires.pins_dead.store(false, Ordering::Relaxed);
    let told = stand.step().decision.withheld.expect("the warden opened it");
    assert_eq!(told.interlock, control::Interlock::ContactorNotFollowing);
}
