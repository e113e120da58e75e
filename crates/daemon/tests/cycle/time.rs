//! Time of day, and being in time.

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;

use control::{Decision, Phase};
use daemon::clock::{ComputerClock, KilnClock};
use daemon::run::Pace;
use daemon::store::{Latched, Record, Trouble};
use pyrometry::units::Millis;

use crate::stand::Stand;
use crate::told_clock::ToldClock;

/// A step done later than this after it was due, with the next a second after that, would leave the
/// warden without a beat for its 2.5 s.
const LATE_MOST: Duration = Duration::from_millis(1500);

/// A firing set for two minutes ahead and followed for ten, the computer's clock moved before every
/// step as told.
fn fired(moves_s: impl Fn(u64) -> i64) -> Vec<Decision> {
    let computer = Arc::new(ToldClock::new());
    let clock = KilnClock::real(Arc::clone(&computer) as Arc<dyn ComputerClock>);
    let mut stand = Stand::by(clock, Latched::Clear, 4096);
    stand.light_after(Millis::from_minutes(2)).expect("set for later");
    for second in 0..600 {
        computer.moved(moves_s(second));
        stand.step();
    }
    let decided = stand.records.try_iter().filter_map(|record| match record {
        Record::Step(step) => Some(step.decision),
        Record::Begin { .. } | Record::Latch(_) | Record::NotLit(_) | Record::End => None,
    });
    decided.collect()
}

#[test]
fn sr_35_a_clock_set_forward_and_back_under_a_firing_changes_no_decision() {
    let steady = fired(|_| 1);
    assert_eq!(steady.iter().filter(|decision| decision.phase == Phase::Climbing).count(), 481);
    let years_s = 10 * 365 * 86_400;
    let stepped = fired(|second| match second {
        60 => years_s,
        90 => -2 * years_s,
        300 => 86_400,
        301 => -3600,
        _ => 1,
    });
    assert!(steady == stepped, "every decision is the same");
}

#[test]
fn sr_36_a_disk_that_hangs_makes_no_step_late() {
    let mut stand = Stand::new(Latched::Clear, 8);
    stand.light().expect("lit");
    let last = stand.run_by_itself(100.0, 500);
    assert_eq!(last.trouble, Some(Trouble::Behind), "nobody takes what is handed over");
    assert!(last.late_worst < LATE_MOST, "{:?}", last.late_worst);
}

#[test]
fn sr_36_a_step_that_is_late_is_measured() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    stand.wires.reading_takes.store(120, Ordering::Relaxed);
    let last = stand.run_by_itself(10.0, 5);
    assert!(last.late_worst >= Duration::from_millis(120), "{:?}", last.late_worst);
}

#[test]
fn a_real_kilns_probes_are_asked_between_the_steps() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    let wires = Arc::clone(&stand.wires);
    stand.run_until(Pace::Real, |_| wires.samples.load(Ordering::Relaxed) > 0);
}

#[test]
fn a_simulated_kilns_probes_are_asked_by_the_step_alone() {
    let mut stand = Stand::new(Latched::Clear, 4096);
    stand.step();
    let wires = Arc::clone(&stand.wires);
    stand.run_by_itself(2.0, 3);
    assert_eq!(wires.samples.load(Ordering::Relaxed), 0);
}
