//! What a control step pays for: the inverse function, a chip's report, a step of heat-work.
//!
//! `cargo bench -p pyrometry`. The comparison with bisection and with the published inverse
//! polynomials, accuracy and time in one table: `cargo run --release -p pyrometry --example
//! pyrometry_page`.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};

use pyrometry::amplifier::{Amplifier, Sensor};
use pyrometry::calibration::Calibration;
use pyrometry::constant;
use pyrometry::heat_work::HeatWork;
use pyrometry::thermocouple::Thermocouple;
use pyrometry::units::{Celsius, Millis};

fn inverse(criterion: &mut Criterion) {
    for thermocouple in Thermocouple::ALL {
        let range = thermocouple.rising_range();
        let emfs: Vec<_> = (0..1000)
            .filter_map(|n| {
                thermocouple
                    .emf(*range.start() + (*range.end() - *range.start()) * (f64::from(n) / 1000.0))
                    .ok()
            })
            .collect();
        let mut next = emfs.iter().cycle();
        criterion.bench_function(&format!("junction of {thermocouple}"), |bencher| {
            bencher.iter(|| next.next().map(|emf| thermocouple.junction(black_box(*emf))));
        });
    }
}

fn report(criterion: &mut Criterion) {
    let sensor = Sensor {
        thermocouple: Thermocouple::K,
        amplifier: Amplifier::Max31855,
        calibration: Calibration::NONE,
    };
    let said = sensor.would_say(constant!(Celsius, 1100.0), constant!(Celsius, 31.0));
    criterion.bench_function("straight-line report to junction", |bencher| {
        bencher.iter(|| sensor.measure(black_box(&said)));
    });
}

/// A whole firing in steps of one second: 100 °C/h to 1100, 60 to 1222, 83 down to 760.
fn firing(criterion: &mut Criterion) {
    let legs = [(20.0, 1100.0, 100.0), (1100.0, 1222.0, 60.0), (1222.0, 760.0, 83.0)];
    let mut history = Vec::new();
    for (from_c, to_c, rate_c_per_h) in legs {
        let step_c = rate_c_per_h / 3600.0 * if to_c > from_c { 1.0 } else { -1.0 };
        let mut t_c: f64 = from_c;
        while (to_c - t_c) * step_c > 0.0 {
            history.extend(Celsius::new(t_c));
            t_c += step_c;
        }
    }
    let name = format!("heat-work of all cones over a firing of {} steps", history.len());
    criterion.bench_function(&name, |bencher| {
        bencher.iter(|| {
            let mut work = HeatWork::NONE;
            for at in &history {
                work.add(*at, Millis::from_seconds(1));
            }
            work
        });
    });
    criterion.bench_function("continuous cone", |bencher| {
        let mut work = HeatWork::NONE;
        for at in &history {
            work.add(*at, Millis::from_seconds(1));
        }
        bencher.iter(|| black_box(&work).reached());
    });
}

criterion_group!(benches, inverse, report, firing);
criterion_main!(benches);
