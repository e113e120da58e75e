//! Climbs that end on a cone: what is unloaded is the cone, in whatever kiln.
//!
//! Cone 6 by the law of `pyrometry::heat_work`, which meets Orton's chart (1222 °C at 60 °C/h,
//! 1243 at 150, large self-supporting cones); judged on the true junction, not on what was read.

mod common;

use common::{Bench, climb, let_fall, slow_cool, to_cone};
use control::{ClimbEnd, Phase, Segment};
use kiln_sim::{BankSpec, KilnSpec};
use pyrometry::cone::Cone;
use pyrometry::heat_work::HeatWork;
use pyrometry::units::{Millis, greater};

/// What a firing came to.
#[derive(Debug)]
struct Unloaded {
    /// The continuous cone by the true junction, when cool enough to open.
    cone: f64,
    /// The same as the controller counted it.
    counted: f64,
    /// The hottest true junction.
    peak_c: f64,
    /// How the climb to the cone ended, and how hot the kiln was then.
    end: (ClimbEnd, f64),
    /// How long the climb to the cone stood at its bound.
    held_min: f64,
}

fn cone_6() -> Cone {
    Cone::parse("6").unwrap()
}

/// A glaze firing: 150 °C/h to 1100, then the segments given.
fn glaze(last: &[Segment]) -> Vec<Segment> {
    [climb(150.0, 1100.0, 0)].into_iter().chain(last.iter().copied()).collect()
}

/// Two banks of this rating, this load, known to the controller only by a guess of 30 kg.
fn kiln(bank_w: f64, mass_kg: f64) -> KilnSpec {
    let mut spec = KilnSpec {
        banks: vec![BankSpec { rated_w: bank_w, ..BankSpec::default() }; 2],
        ..KilnSpec::default()
    };
    spec.ware.mass_kg = mass_kg;
    spec
}

fn fire(spec: &KilnSpec, segments: &[Segment]) -> Unloaded {
    let mut bench = Bench::new(spec, 30.0, segments);
    let mut work = HeatWork::NONE;
    let (mut end, mut peak_c, mut held_s) = (None, f64::MIN, 0.0);
    loop {
        let decision = bench.step(&[]);
        assert!(decision.trip.is_none() && decision.withheld.is_none(), "{decision:?}");
        let junction_c = bench.true_junction_c();
        work.add(common::celsius(junction_c), Millis::from_seconds(1));
        peak_c = greater(peak_c, junction_c);
        let at_bound = decision.setpoint.zip(segments[1].hottest()).is_some_and(|(at, bound)| at >= bound);
        held_s += if decision.phase == Phase::Climbing && at_bound { 1.0 } else { 0.0 };
        if let Some(how) = decision.climb_end.filter(|how| *how != ClimbEnd::Temperature) {
            end.get_or_insert((how, junction_c));
        }
        if decision.phase == Phase::CoolEnoughToOpen {
            return Unloaded {
                cone: work.reached().unwrap(),
                counted: decision.cone.unwrap(),
                peak_c,
                end: end.unwrap(),
                held_min: held_s / 60.0,
            };
        }
    }
}

fn assert_cone_6(unloaded: &Unloaded) {
    assert_eq!(unloaded.end.0, ClimbEnd::ConeDown, "{unloaded:?}");
    assert!((unloaded.cone - 6.0).abs() < 0.1, "{unloaded:?}");
    assert!((unloaded.counted - 6.0).abs() < 0.1, "{unloaded:?}");
}

#[test]
fn a_slow_kiln_that_cannot_keep_the_rate_is_unloaded_at_cone_6() {
    let unloaded = fire(&kiln(3500.0, 60.0), &glaze(&[to_cone(60.0, cone_6(), 1240.0, 120)]));
    assert_cone_6(&unloaded);
    // Slower than the chart's 60 °C/h, so down below its 1222 °C, and above its 1185 of 15 °C/h.
    assert!((1185.0..1219.0).contains(&unloaded.peak_c), "{unloaded:?}");
}

#[test]
fn a_fast_kiln_is_unloaded_at_cone_6_hotter_than_a_slow_one() {
    let unloaded = fire(&kiln(8000.0, 12.0), &glaze(&[to_cone(150.0, cone_6(), 1260.0, 120)]));
    assert_cone_6(&unloaded);
    // The chart's 1243 °C at 150 °C/h, less what its quick fall adds; then its elements' glow.
    assert!((1230.0..1243.0).contains(&unloaded.end.1), "{unloaded:?}");
    assert!(unloaded.peak_c < 1250.0, "{unloaded:?}");
}

#[test]
fn a_firing_held_15_c_too_low_is_unloaded_at_cone_6_by_time() {
    let unloaded = fire(&kiln(5750.0, 30.0), &glaze(&[to_cone(60.0, cone_6(), 1205.0, 120)]));
    assert_cone_6(&unloaded);
    assert!(unloaded.peak_c < 1207.0, "{unloaded:?}");
    // By the law, cone 6 after 60 °C/h takes 12 min at 10 °C and 29 min at 20 °C below its end
    // point, if nothing cools slowly after.
    assert!((10.0..29.0).contains(&unloaded.held_min), "{unloaded:?}");
}

#[test]
fn slow_cooling_and_a_fall_after_the_climb_are_counted_in() {
    let slow =
        fire(&kiln(5750.0, 30.0), &glaze(&[to_cone(60.0, cone_6(), 1235.0, 120), slow_cool(-80.0, 900.0)]));
    assert_cone_6(&slow);
    let fall = fire(
        &kiln(5750.0, 30.0),
        &glaze(&[to_cone(60.0, cone_6(), 1235.0, 120), let_fall(1040.0), slow_cool(-80.0, 900.0)]),
    );
    assert_cone_6(&fall);
    assert!(slow.end.1 < fall.end.1 - 5.0, "{slow:?} {fall:?}");
}

#[test]
fn a_climb_whose_time_at_the_bound_runs_out_says_that_the_cone_is_not_down() {
    let unloaded = fire(&kiln(5750.0, 30.0), &glaze(&[to_cone(60.0, cone_6(), 1190.0, 5)]));
    assert_eq!(unloaded.end.0, ClimbEnd::ConeNotDown, "{unloaded:?}");
    assert!((5.0..8.0).contains(&unloaded.held_min), "{unloaded:?}");
    assert!(unloaded.cone < 5.5, "{unloaded:?}");
}
