//! Kilns that are not cold at light-up.

mod common;

use common::{Bench, climb, let_fall, slow_cool};
use control::Phase;
use kiln_sim::{KilnSpec, Ware};

/// Ware of the same kind for every mass: 0.04 m² a kilogram, as in the simulated kiln.
fn loaded(mass_kg: f64, start_c: f64) -> KilnSpec {
    let ware = Ware { mass_kg, area_m2: 0.04 * mass_kg, core_lag_s: 240.0 };
    KilnSpec { ware, ..found_at(start_c) }
}

fn found_at(start_c: f64) -> KilnSpec {
    KilnSpec { start_c, ..KilnSpec::default() }
}

#[test]
fn a_kiln_found_hot_joins_the_schedule_where_it_is() {
    let spec = KilnSpec { start_c: 300.0, ..KilnSpec::default() };
    let mut bench = Bench::new(&spec, 30.0, &[climb(60.0, 120.0, 60), climb(150.0, 900.0, 0)]);
    let first = bench.step(&[]);
    assert_eq!((first.segment, first.phase), (Some(1), Phase::Climbing));
    assert!((first.setpoint.unwrap().c() - 300.0).abs() < 5.0);
}

#[test]
fn a_kiln_found_hot_through_and_soaked_there_is_not_driven_past_its_ceiling() {
    let spec = KilnSpec { start_c: 800.0, ..KilnSpec::default() };
    let mut bench = Bench::new(&spec, 30.0, &[climb(60.0, 800.0, 30)]);
    for _ in 0..1800 {
        let decision = bench.step(&[]);
        assert!(decision.trip.is_none(), "{decision:?}");
        assert!(bench.true_junction_c() < 808.0, "{decision:?}");
    }
}

#[test]
fn a_kiln_as_warm_as_its_first_soak_keeps_that_soak() {
    let spec = KilnSpec { start_c: 91.0, ..KilnSpec::default() };
    let mut bench = Bench::new(&spec, 30.0, &[climb(60.0, 90.0, 60), climb(150.0, 900.0, 0)]);
    let first = bench.step(&[]);
    assert_eq!((first.segment, first.phase), (Some(0), Phase::Soaking));
    bench.until(3_630, |decision| decision.segment == Some(1));
    assert!(bench.second() >= 3_600);
}

#[test]
fn a_kiln_cool_enough_to_load_keeps_the_soak_of_a_colder_climb() {
    let spec = KilnSpec { start_c: 95.0, ..KilnSpec::default() };
    let mut bench = Bench::new(&spec, 30.0, &[climb(60.0, 60.0, 30), climb(150.0, 900.0, 0)]);
    let first = bench.step(&[]);
    assert_eq!((first.segment, first.phase, first.permission), (Some(0), Phase::Cooling, false));
    let soaks = bench.until(6 * 3_600, |decision| decision.phase == Phase::Soaking);
    assert_eq!((soaks.segment, soaks.setpoint.unwrap().c()), (Some(0), 60.0));
}

#[test]
fn a_kiln_hotter_than_the_whole_programme_is_never_heated() {
    let spec = KilnSpec { start_c: 600.0, ..KilnSpec::default() };
    let mut bench = Bench::new(&spec, 30.0, &[climb(60.0, 500.0, 30)]);
    for _ in 0..7_200 {
        let decision = bench.step(&[]);
        assert_eq!((decision.phase, decision.permission), (Phase::Cooling, false), "{decision:?}");
    }
}

/// The simulated kiln is evenly hot right through its wall, as no real one is: so it cools the most
/// slowly of all.
#[test]
fn sr_22_no_kiln_found_hot_that_cools_by_itself_is_taken_for_one_that_heats() {
    for start_c in [120.0, 200.0, 350.0, 600.0, 800.0, 1000.0, 1200.0] {
        for load_kg in [8.0, 30.0, 60.0] {
            let spec = loaded(load_kg, start_c);
            let mut bench = Bench::new(&spec, 30.0, &[let_fall(50.0)]);
            for _ in 0..8 * 3_600 {
                let decision = bench.step(&[]);
                assert!(decision.trip.is_none(), "{start_c} °C, {load_kg} kg: {decision:?}");
            }
        }
    }
}

#[test]
fn sr_22_nor_is_one_that_is_heated_further_and_then_let_fall() {
    for start_c in [200.0, 600.0, 900.0] {
        for load_kg in [15.0, 60.0] {
            let spec = loaded(load_kg, start_c);
            let segments =
                [climb(100.0, start_c + 60.0, 10), let_fall(start_c), slow_cool(-60.0, start_c - 50.0)];
            let mut bench = Bench::new(&spec, 30.0, &segments);
            for _ in 0..8 * 3_600 {
                let decision = bench.step(&[]);
                assert!(decision.trip.is_none(), "{start_c} °C, {load_kg} kg: {decision:?}");
            }
        }
    }
}
