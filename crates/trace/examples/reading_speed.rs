//! How fast a trace of 14 hours is written, read, replayed and drawn.
//!
//! `cargo run --release -p trace --example reading_speed`

#[path = "../tests/common/mod.rs"]
mod common;

use std::time::Instant;

use common::{BUILD, head, packed, reader, seen, stepper};
use control::Decision;
use pyrometry::units::{Celsius, CelsiusDelta, Duty, Millis};
use trace::{Curve, Seen, TraceWriter, decimate, replay, replay_with};

const STEPS: u32 = 14 * 3600; // one a second

/// A step in the middle of a firing, with numbers as long as real ones.
fn step(second: u32) -> (Seen, Decision) {
    let at = Millis::from_seconds(u64::from(second));
    let seen = seen(second % 40); // healthy: the stand-in's probe breaks at 40 s
    let chamber = Celsius::new(20.0 + f64::from(second) / 41.7);
    let setpoint = Celsius::new(20.3 + f64::from(second) / 41.9);
    let lag = CelsiusDelta::new(f64::from(second % 97) / 33.1 - 1.0);
    let duty = Duty::limited(f64::from(second % 1013) / 1017.3);
    let mut decision = stepper(&seen.observation());
    decision.duty[..2].fill(duty);
    let seen = Seen { at, ..seen };
    (seen, Decision { at, chamber, setpoint, junctions: [chamber, None, None, None], lag, ..decision })
}

fn timed<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let began = Instant::now();
    let result = work();
    let took = began.elapsed();
    println!(
        "{what:<34} {:>7.1} ms  {:>9.0} steps/s",
        took.as_secs_f64() * 1e3,
        f64::from(STEPS) / took.as_secs_f64()
    );
    result
}

fn main() -> Result<(), trace::TraceError> {
    let steps: Vec<_> = (0..STEPS).map(step).collect();
    let plain = timed("write", || {
        let mut writer = TraceWriter::new(Vec::new(), &head())?;
        for (seen, decision) in &steps {
            writer.step(&seen.observation(), decision)?;
        }
        Ok::<_, trace::TraceError>(writer.into_inner())
    })?;
    let packed = timed("compress", || packed(&plain));
    println!(
        "{} bytes a line; {:.1} MB plain, {:.2} MB compressed",
        plain.len() / steps.len(),
        megabytes(&plain),
        megabytes(&packed)
    );
    for (name, bytes) in [("plain", &plain), ("compressed", &packed)] {
        timed(&format!("read, {name}"), || reader(bytes).try_for_each(|step| step.map(drop)))?;
        let report = timed(&format!("read and compare, {name}"), || {
            let mut recorded = steps.iter();
            let next = |_: &control::Observation<'_>| {
                recorded.next().map_or_else(|| unreachable!(), |(_, decision)| decision.clone())
            };
            replay_with(reader(bytes), BUILD, next, |_| {})
        })?;
        println!("{report}");
        let curve = timed(&format!("read the curve, {name}"), || Curve::read(reader(bytes)))?;
        timed("decimate to 1000 columns", || decimate(curve.samples(), 1000).len());
    }
    let fired = timed("fire with the real controller", || common::fired(STEPS));
    println!("{}", timed("replay with it, plain", || replay(reader(&fired), BUILD))?);
    Ok(())
}

#[allow(clippy::cast_precision_loss, reason = "megabytes, to print")]
fn megabytes(bytes: &[u8]) -> f64 {
    bytes.len() as f64 / 1e6
}
