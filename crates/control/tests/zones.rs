//! Kilns of several zones: fired together, and safely where one of them fails.

mod common;

use common::{Bench, climb, slow_cool};
use control::{Interlock, Phase};
use kiln_sim::{BankFault, BankSpec, Fault, KilnSpec, ProbeFault, ProbeSpec, Timed};
use pyrometry::units::{Millis, greater, lesser};

/// Three zones of this power each, from the top.
fn three_zones(zones_w: [f64; 3]) -> KilnSpec {
    KilnSpec {
        zones: 3,
        banks: zones_w.iter().zip(0..).map(|(rated_w, zone)| BankSpec { zone, rated_w: *rated_w }).collect(),
        probes: (0..3).map(|zone| ProbeSpec { zone, ..ProbeSpec::default() }).collect(),
        ..KilnSpec::default()
    }
}

const EVEN_W: [f64; 3] = [4_200.0, 3_100.0, 4_200.0];

fn junctions_c(bench: &Bench) -> [f64; 3] {
    [0, 1, 2].map(|probe| bench.plant.truth().junction(probe).unwrap().c())
}

fn apart_c(bench: &Bench) -> f64 {
    let of_c = junctions_c(bench);
    of_c.into_iter().fold(f64::MIN, greater) - of_c.into_iter().fold(f64::MAX, lesser)
}

fn failing(bench: &mut Bench, fault: Fault, onset: Millis) {
    bench.plant.schedule(&[Timed { onset, until: None, fault }]).unwrap();
}

#[test]
fn zones_with_power_enough_stay_within_three_degrees_and_end_their_soak_within_one_and_a_half() {
    let mut bench =
        Bench::new(&three_zones(EVEN_W), 30.0, &[climb(150.0, 900.0, 30), slow_cool(-80.0, 700.0)]);
    let (mut climbing_c, mut soaking_c, mut cooling_c) = (0.0_f64, 0.0, 0.0_f64);
    loop {
        let decision = bench.step(&[]);
        match decision.phase {
            Phase::Climbing if bench.second() > 3_600 => climbing_c = greater(climbing_c, apart_c(&bench)),
            Phase::Climbing => {}
            Phase::Soaking => soaking_c = apart_c(&bench),
            Phase::SlowCooling => cooling_c = greater(cooling_c, apart_c(&bench)),
            Phase::Resting
            | Phase::SetForLater
            | Phase::Staying
            | Phase::Cooling
            | Phase::CoolEnoughToOpen
            | Phase::Tripped => break,
        }
    }
    assert!(
        climbing_c <= 3.0 && soaking_c <= 1.5 && cooling_c <= 3.0,
        "{climbing_c}, {soaking_c}, {cooling_c}"
    );
}

#[test]
fn the_others_do_not_run_away_from_a_zone_that_is_too_weak_and_all_arrive() {
    let mut bench = Bench::new(&three_zones([5_000.0, 4_000.0, 2_000.0]), 30.0, &[climb(200.0, 1_150.0, 10)]);
    let (mut parted_s, mut at_first_c, mut in_the_end_c) = (0_u32, 0.0_f64, 0.0_f64);
    let arrived = loop {
        let decision = bench.step(&[]);
        if decision.phase != Phase::Climbing || bench.second() > 14 * 3_600 {
            break decision;
        }
        let apart_c = apart_c(&bench);
        parted_s += u32::from(apart_c > 2.0);
        match parted_s {
            ..1_800 => at_first_c = greater(at_first_c, apart_c),
            _ => in_the_end_c = greater(in_the_end_c, apart_c),
        }
    };
    assert_eq!(arrived.phase, Phase::Soaking, "{arrived:?}");
    assert!(parted_s > 3_600, "this kiln's lower zone was to be too weak: {parted_s} s");
    assert!(
        at_first_c < 5.5 && in_the_end_c < 11.0,
        "{at_first_c} °C at first, {in_the_end_c} °C in the end"
    );
}

#[test]
fn sr_01_one_probe_lost_of_three_withholds_all_heat_is_told_and_ends_in_a_trip() {
    for fault in [ProbeFault::Open, ProbeFault::ChipDead] {
        let mut bench = Bench::new(&three_zones(EVEN_W), 30.0, &[climb(150.0, 900.0, 10)]);
        failing(&mut bench, Fault::Probe(1, fault), Millis::from_hours(2));
        bench.until(7_210, |decision| decision.withheld.is_some());
        let mut hottest_c = f64::MIN;
        let tripped = loop {
            let decision = bench.step(&[]);
            assert!(decision.banks.iter().all(|on| !on), "{decision:?}");
            hottest_c = junctions_c(&bench).into_iter().fold(hottest_c, greater);
            if decision.trip.is_some() {
                break decision;
            }
            assert!(bench.second() < 8_500, "{decision:?}");
        };
        assert!(!tripped.permission && hottest_c < 330.0, "{hottest_c} °C: {tripped:?}");
    }
}

#[test]
fn sr_13_a_zone_that_reads_ever_lower_is_told_and_heated_no_further_and_ends_in_a_trip() {
    let mut bench = Bench::new(&three_zones(EVEN_W), 30.0, &[climb(150.0, 1_000.0, 60)]);
    let creeps = ProbeFault::Drift { c_per_h: -60.0, most_c: 90.0 };
    failing(&mut bench, Fault::Probe(2, creeps), Millis::from_hours(3));
    let told = bench.until(6 * 3_600, |decision| {
        assert!(decision.trip.is_none() && decision.withheld.is_none(), "not told before: {decision:?}");
        decision.notices.iter().any(|notice| notice.interlock == Interlock::ZonesApart)
    });
    let hottest_c = junctions_c(&bench)[2];
    assert!(hottest_c - told.setpoint.unwrap().c() < 90.0, "{hottest_c}: {told:?}");
    let tripped = bench.until(2 * 3_600, |decision| decision.trip.is_some());
    assert_eq!(tripped.trip.map(|trip| trip.interlock), Some(Interlock::ZonesApart));
    assert!(junctions_c(&bench)[2] < hottest_c, "guided by the hottest, it only cooled");
}

#[test]
fn sr_13_a_zone_whose_elements_break_is_told_within_ten_minutes_and_the_others_wait_for_it() {
    let mut bench = Bench::new(&three_zones(EVEN_W), 30.0, &[climb(150.0, 1_200.0, 10)]);
    let broken = BankFault::ElementsBroken { share: 1.0 };
    failing(&mut bench, Fault::Bank(2, broken), Millis::from_hours(3));
    let told = bench.until(3 * 3_600 + 600, |decision| {
        decision.notices.iter().any(|notice| notice.interlock == Interlock::ZonesApart)
    });
    let plan_c = told.setpoint.unwrap().c();
    let hottest_c = junctions_c(&bench).into_iter().fold(f64::MIN, greater);
    assert!(hottest_c < plan_c + 5.0, "{hottest_c} °C: {told:?}");
    for _ in 0..3_600 {
        let decision = bench.step(&[]);
        assert!(decision.setpoint.is_none_or(|setpoint| setpoint.c() < plan_c + 1.0), "{decision:?}");
    }
}
