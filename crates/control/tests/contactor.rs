//! The order of closing on the simulated kiln, whose contactor tells by a mirror contact.

mod common;

use common::{Bench, climb, let_fall};
use control::{Contact, Decision, Interlock, Phase};
use kiln_sim::{Fault, KilnSpec, Timed};
use pyrometry::units::Millis;

fn bench(fault: Option<(u64, Fault)>, spec: &KilnSpec) -> Bench {
    let mut bench =
        Bench::new(spec, 30.0, &[climb(150.0, 300.0, 10), let_fall(250.0), climb(100.0, 300.0, 0)]);
    bench.mirror = Contact::Open;
    let timed =
        fault.map(|(second, fault)| Timed { onset: Millis::from_seconds(second), until: None, fault });
    bench.plant.schedule(timed.as_slice()).unwrap();
    bench
}

fn on(decision: &Decision) -> bool {
    decision.banks.contains(&true)
}

#[test]
fn sr_29_no_bank_closes_before_the_contactor_is_seen_closed_nor_stays_closed_in_the_step_that_opens_it() {
    let mut bench = bench(None, &KilnSpec::default());
    let first = bench.step(&[]);
    assert!(first.permission && !on(&first), "{first:?}");
    let mut opened = 0;
    let mut before = first;
    for _ in 0..4 * 3600 {
        let decision = bench.step(&[]);
        assert!(!on(&decision) || (bench.mirror == Contact::Shut && before.permission), "{decision:?}");
        assert!(decision.permission || !on(&decision), "{decision:?}");
        assert_eq!((decision.trip, decision.withheld), (None, None));
        opened += u32::from(before.permission && !decision.permission);
        before = decision;
    }
    assert!(opened >= 2, "it was let fall, and it ended");
    assert!(bench.plant.contactor_operations() >= 2, "proven at each closing");
}

#[test]
fn sr_29_a_contactor_that_never_closes_never_gets_a_bank_behind_it() {
    let mut bench = bench(Some((0, Fault::ContactorStuckOpen)), &KilnSpec::default());
    let tripped = (0..60).map(|_| bench.step(&[])).find(|decision| {
        assert!(!on(decision));
        decision.trip.is_some()
    });
    assert_eq!(tripped.unwrap().trip.unwrap().interlock, Interlock::ContactorNotFollowing);
    assert!(bench.second() < 15, "{}", bench.second());
}

#[test]
fn sr_29_a_contactor_that_welds_is_found_while_the_kiln_is_let_fall_and_no_heat_follows() {
    let mut bench = bench(Some((60, Fault::ContactorWelds)), &KilnSpec::default());
    let falling = bench.until(6 * 3600, |decision| decision.phase == Phase::Cooling);
    assert_eq!(falling.trip, None);
    let found = bench.until(5, |decision| decision.refuses_light_up.is_some());
    assert_eq!(found.refuses_light_up.unwrap().interlock, Interlock::ContactorNotFollowing);
    let mut tripped = None;
    for _ in 0..6 * 3600 {
        let decision = bench.step(&[]);
        assert!(!on(&decision) && !decision.permission, "{decision:?}");
        tripped = decision.trip;
        if tripped.is_some() {
            break;
        }
    }
    assert_eq!(tripped.unwrap().interlock, Interlock::ContactorNotFollowing);
}

#[test]
fn sr_29_a_firing_lit_while_the_contactor_is_welded_is_never_permitted_heat() {
    let mut bench = bench(None, &KilnSpec::default());
    bench.until(60, on);
    bench
        .plant
        .schedule(&[Timed { onset: Millis::ZERO, until: None, fault: Fault::ContactorWelds }])
        .unwrap();
    bench.step(&[]);
    bench.begin_anew_with(|_| {});
    let tripped = (0..10).map(|_| bench.step(&[])).find(|decision| {
        assert!(!decision.permission && !on(decision), "{decision:?}");
        decision.trip.is_some()
    });
    assert_eq!(tripped.unwrap().trip.unwrap().interlock, Interlock::ContactorNotFollowing);
}
