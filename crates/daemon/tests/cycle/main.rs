//! The control thread's cycle on a board that does what a test says.

mod heartbeat;
mod lighting;
mod signals;
mod stand;
mod time;
#[path = "../common/told_clock.rs"]
mod told_clock;

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::sync::mpsc::Receiver;

use control::{Order, Outcome, Phase};
use daemon::run::{Ask, LightUp, SharedBoard, switch_off_on_panic};
use daemon::store::{Latched, Record, Trouble};
use hal::Level;
use pyrometry::units::Amps;
use tokio::sync::oneshot;

use stand::{Bench, Stand, Wires};

#[test]
fn sr_44_a_full_trace_queue_is_told_and_stops_no_firing() {
    let mut stand = Stand::new(Latched::Clear, 8);
    stand.light().expect("lit");
    let mut told = None;
    for _ in 0..40 {
        told = stand.step().trouble;
    }
    assert_eq!(told, Some(Trouble::Behind));
    assert!(stand.step().decision.phase == Phase::Climbing);
    stand.until_it_heats();
    let why = match stand.step().light_up {
        LightUp::Refused(why) => why.to_string(),
        LightUp::Possible => panic!("a light-up is possible"),
    };
    assert!(why.contains("disk"), "{why}");
}

#[test]
fn sr_31_a_cycle_that_ends_leaves_everything_off() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.light().expect("lit");
    stand.until_it_heats();
    let wires = Arc::clone(&stand.wires);
    drop(stand);
    assert!(!wires.contactor.load(Ordering::Relaxed));
    assert_eq!(*wires.banks.lock().expect("whole"), [false; 8]);
}

#[test]
fn a_panic_anywhere_switches_the_relays_off() {
    let wires = Arc::new(Wires::default());
    let board = SharedBoard::new(Box::new(Bench(Arc::clone(&wires))));
    switch_off_on_panic(&board);
    board.hold().set_bank(1, Level::On).expect("driven");
    assert!(wires.banks.lock().expect("whole").contains(&true));
    let panicked = std::thread::spawn(|| panic!("as a test of the hook")).join();
    assert!(panicked.is_err());
    assert!(!wires.banks.lock().expect("whole").contains(&true));
}

#[test]
fn sr_30_a_relay_pin_that_fails_opens_the_contactor_until_armed_anew() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.light().expect("lit");
    stand.until_it_heats();
    stand.wires.pins_dead.store(true, Ordering::Relaxed);
    stand.step();
    assert!(!stand.wires.contactor.load(Ordering::Relaxed), "in the same step");
    stand.wires.pins_dead.store(false, Ordering::Relaxed);
    for _ in 0..5 {
        stand.step();
        assert!(!stand.heats(), "it stays open");
    }
}

#[test]
fn sr_30_a_firing_whose_warden_keeps_the_contactor_open_withholds_and_trips_within_twelve_seconds() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.light().expect("lit");
    stand.until_it_heats();
    assert!((0..60).all(|_| stand.step().decision.trip.is_none()), "a warden that follows is let be");
    stand.wires.pins_dead.store(true, Ordering::Relaxed);
    stand.step();
    stand.wires.pins_dead.store(false, Ordering::Relaxed);
    let trip = (0..12).find_map(|_| stand.step().decision.trip).expect("no heat comes");
    assert_eq!(trip.interlock, control::Interlock::ContactorNotFollowing);
}

#[test]
fn sr_25_a_forecast_made_anew_comes_with_a_step_after_a_segment_was_ended_by_hand() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.light().expect("lit");
    stand.until_it_heats();
    let (answer, answered) = oneshot::channel();
    stand.asks.try_send(Ask::Order(Order::EndClimb, answer)).expect("room");
    stand.step();
    assert_eq!(answered.blocking_recv(), Ok(Outcome::Taken));
    let comes = |record: Record| matches!(record, Record::Step(step) if step.seen.forecast.is_some());
    let late = std::time::Instant::now() + std::time::Duration::from_mins(1);
    while !stand.records.try_iter().any(comes) {
        assert!(std::time::Instant::now() < late, "it never came");
        std::thread::sleep(std::time::Duration::from_millis(5));
        stand.step();
    }
}

#[test]
fn a_trip_is_off_in_its_step_and_handed_to_the_latch_even_after_the_queue_was_full() {
    let mut stand = Stand::new(Latched::Clear, 8);
    stand.light().expect("lit");
    stand.until_it_heats();
    while stand.step().trouble.is_none() {}
    stand.wires.open.store(true, Ordering::Relaxed);
    let mut snapshot = stand.step();
    assert!(!stand.wires.banks.lock().expect("whole").contains(&true), "withheld at the first sample");
    for _ in 0..5 {
        snapshot = stand.step();
    }
    assert_eq!(snapshot.decision.phase, Phase::Tripped);
    assert!(!stand.wires.contactor.load(Ordering::Relaxed));
    let latched = |records: &Receiver<Record>| {
        records.try_iter().any(|record| matches!(record, Record::Latch(Some(_))))
    };
    assert!(!latched(&stand.records), "there was no room for it");
    stand.step();
    assert!(latched(&stand.records), "handed over as soon as there is");
    assert!(stand.light().is_err(), "a trip waits to be cleared");
}

#[test]
fn an_order_is_answered_in_the_step_that_takes_it() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    assert!(matches!(stand.order(Order::Stay), Outcome::Refused(_)));
    stand.light().expect("lit");
    assert_eq!(stand.order(Order::Stay), Outcome::Taken);
    assert_eq!(stand.shut_off(), Some(Outcome::Taken));
    assert!(!stand.heats());
}

#[test]
fn sr_36_a_shut_off_is_obeyed_in_the_next_step_however_many_orders_wait() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.light().expect("lit");
    stand.until_it_heats();
    let mut waiting = Vec::new();
    loop {
        let (answer, answered) = oneshot::channel();
        // What would undo the shut-off, were it taken after it.
        if stand.asks.try_send(Ask::Order(Order::CarryOn, answer)).is_err() {
            break;
        }
        waiting.push(answered);
    }
    let presses: Vec<u64> = (0..99).map(|_| stand.shut_off.press()).collect();
    let snapshot = stand.step();
    assert_eq!(snapshot.shut_off.outcome, Some(Outcome::Taken));
    assert!(presses.iter().all(|press| *press <= snapshot.shut_off.presses), "one step answers them all");
    assert!(!stand.heats());
    for mut answered in waiting {
        assert!(matches!(answered.try_recv(), Ok(Outcome::Refused(_))), "what waited is refused");
    }
    let after = stand.step();
    assert_eq!((after.decision.phase, after.shut_off), (Phase::Cooling, snapshot.shut_off));
    assert!(!stand.heats());
}

#[test]
fn a_current_that_cannot_be_read_is_recorded_as_unknown_and_not_as_none_flowing() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    let recorded = |stand: &mut Stand| {
        stand.step();
        match stand.records.try_iter().last() {
            Some(Record::Step(step)) => step.seen.amps,
            other => panic!("a step was handed over: {other:?}"),
        }
    };
    assert_eq!(recorded(&mut stand), [None; 8], "no sensor is fitted");
    stand.wires.senses_current.store(true, Ordering::Relaxed);
    let amps = recorded(&mut stand);
    assert_eq!(amps[..3], [None, Amps::new(14.7), None]);
}

#[test]
fn sr_44_the_first_step_handed_over_after_a_full_queue_says_how_many_are_missing_before_it() {
    let mut stand = Stand::new(Latched::Clear, 8);
    stand.light().expect("lit");
    // The light-up itself takes one of eight places, its step another.
    for _ in 0..20 {
        stand.step();
    }
    let kept = |stand: &Stand| -> Vec<(u64, u64)> {
        let steps = stand.records.try_iter().filter_map(|record| match record {
            Record::Step(step) => Some((step.decision.at.ms() / 1000, step.lost)),
            Record::Begin { .. } | Record::Latch(_) | Record::NotLit(_) | Record::End => None,
        });
        steps.collect()
    };
    assert_eq!(kept(&stand).last(), Some(&(6, 0)));
    stand.step();
    stand.step();
    assert_eq!(kept(&stand), [(21, 14), (22, 0)]);
}
