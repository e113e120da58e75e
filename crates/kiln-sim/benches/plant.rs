//! How fast the simulated kiln runs: one step of 1 s and one report.

use criterion::{Criterion, criterion_group, criterion_main};
use hal::Level;
use kiln_sim::{BankSpec, KilnSpec, Plant, ProbeSpec, Switches};
use pyrometry::units::Millis;
use std::hint::black_box;

fn zoned(zones: usize) -> KilnSpec {
    KilnSpec {
        zones,
        banks: (0..zones).map(|zone| BankSpec { zone, rated_w: 3000.0 }).collect(),
        probes: (0..zones).map(|zone| ProbeSpec { zone, ..ProbeSpec::default() }).collect(),
        ..KilnSpec::default()
    }
}

fn benches(criterion: &mut Criterion) {
    let mut run = |name: &str, spec: &KilnSpec| {
        let mut plant = Plant::new(spec, 1).expect("a checked kiln");
        let mut switches = Switches { contactor: Level::On, ..Switches::default() };
        let mut count = 0_u32;
        criterion.bench_function(name, |bencher| {
            bencher.iter(|| {
                count = count.wrapping_add(1);
                switches.banks[0] = if count % 20 < 12 { Level::On } else { Level::Off };
                plant.step(Millis::from_seconds(1), black_box(&switches));
                for probe in 0..spec.probes.len() {
                    black_box(plant.report(probe));
                }
            });
        });
    };
    run("one zone, two banks: step and report", &KilnSpec::default());
    run("four zones, four banks: step and reports", &zoned(4));
}

criterion_group!(plant, benches);
criterion_main!(plant);
