//! The curve that pages draw, from a trace and while it grows.

mod common;

use common::{kiln, packed, reader, seen, stepper, trace_of};
use control::Phase;
use trace::{Curve, decimate};

#[test]
fn a_curve_read_from_a_trace_is_the_curve_that_grew_with_it() {
    let mut grown = Curve::new(&kiln());
    for second in 0..60 {
        grown.push(&stepper(&seen(second).observation()));
    }
    for trace in [trace_of(60), packed(&trace_of(60))] {
        let read = Curve::read(reader(&trace)).expect("readable");
        assert_eq!(read.samples(), grown.samples());
        assert_eq!(read.phases(), grown.phases());
    }
}

#[test]
fn phases_are_stretches_and_a_broken_probe_is_a_gap() {
    let trace = trace_of(60);
    let curve = Curve::read(reader(&trace)).expect("readable");
    let phases: Vec<_> = curve.phases().iter().map(|span| (span.phase.0, span.from_s, span.to_s)).collect();
    assert_eq!(phases, [(Phase::Climbing, 0.0, 41.0), (Phase::Tripped, 42.0, 59.0)]);
    assert!(curve.samples()[39].chamber_c.is_some() && curve.samples()[40].chamber_c.is_none());
    assert_eq!(decimate(curve.samples(), 10).len(), 10);
}

#[test]
fn duty_is_the_share_of_the_rated_power_of_all_banks() {
    let mut decision = stepper(&seen(0).observation());
    let full = pyrometry::units::Duty::FULL;
    decision.duty = [pyrometry::units::Duty::OFF; 8];
    decision.duty[0] = full; // 3600 W of 4800 W
    let mut curve = Curve::new(&kiln());
    curve.push(&decision);
    assert_eq!(curve.samples()[0].duty, 0.75);
}
