//! What a firing was, in stretches of ten seconds, as a trace would give it to be learned from.
//!
//! The readings are taken without their noise: means over ten seconds have little of it.

use kiln_sim::Plant;
use pyrometry::units::{Celsius, Duty, Millis};

use crate::case::celsius;
use crate::fire::sampled;
use crate::schedule::Second;

const STRETCH_S: f64 = 10.0;

/// The stretches so far, and the one begun.
#[derive(Default)]
pub(crate) struct Stretches {
    pub(crate) samples: Vec<insight::Sample>,
    lasted_s: f64,
    sum_cs: f64,
    sum_on_s: f64,
}

impl Stretches {
    /// Takes the plant after a second.
    pub(crate) fn take(&mut self, plant: &Plant, planned: Second) {
        self.lasted_s += 1.0;
        self.sum_cs += sampled(plant, planned).true_c;
        self.sum_on_s += on(plant);
        if self.lasted_s < STRETCH_S {
            return;
        }
        self.samples.push(insight::Sample {
            lasting: Millis::from_seconds_f64(self.lasted_s).unwrap_or(Millis::ZERO),
            chamber: Celsius::new(self.sum_cs / self.lasted_s).unwrap_or(celsius(0.0)),
            given: Duty::limited(self.sum_on_s / self.lasted_s),
        });
        (self.lasted_s, self.sum_cs, self.sum_on_s) = (0.0, 0.0, 0.0);
    }
}

/// Share of the rated power whose banks are on.
fn on(plant: &Plant) -> f64 {
    let banks = plant.spec().banks.iter().enumerate();
    let (mut on_w, mut all_w) = (0.0, 0.0);
    for (number, bank) in banks {
        all_w += bank.rated_w;
        if plant.power(number).is_some_and(|power| power.w() > 0.0) {
            on_w += bank.rated_w;
        }
    }
    on_w / all_w
}
