//! A kiln whose heat can be reckoned by hand: next to no lining, a leak, and samples of the observer
//! that are just what a test asks for.

use super::*;
use crate::model::{Certainty, KilnModel, Parameters};

/// What may differ between them.
#[derive(Clone, Copy)]
pub(super) struct Plain {
    pub(super) leak_w_per_k: f64,
    pub(super) certainty: Certainty,
}

impl Plain {
    pub(super) const TIGHT: Self = Self { leak_w_per_k: 0.0, certainty: Certainty::Guessed };

    pub(super) const fn leaking(leak_w_per_k: f64) -> Self {
        Self { leak_w_per_k, ..Self::TIGHT }
    }

    /// Two banks of 5 kW in a room of 20 °C, ware of 20 kJ/K, elements of 5 kJ/K; read for the first time.
    pub(super) fn rig(self, phase: Phase, reading_c: f64) -> Rig {
        let mut rig = Rig { span: Millis::from_seconds(5), cold_junction_c: 20.0, ..Rig::in_phase(phase) };
        rig.kiln.model = KilnModel::new(Parameters {
            certainty: self.certainty,
            ware_j_per_k: 20_000.0,
            quick_j_per_k: 5_000.0,
            wall_area_m2: 0.01,
            wall_thickness_m: 0.6,
            brick_kg_per_m3: 50.0,
            conductivity_ratio: 0.1,
            leak_w_per_k: self.leak_w_per_k,
            power_ratio: 1.0,
        })
        .unwrap();
        rig.interlocks = Interlocks::new(&rig.kiln, None);
        rig.read(reading_c);
        rig
    }
}

/// A little up and down, so that the reading is not called stuck; exact in binary.
pub(super) const DITHER_C: f64 = 1.0 / 64.0;

impl Rig {
    /// Ten seconds in two steps, whose readings have just this mean.
    pub(super) fn sample(&mut self, c: f64) -> Judgement {
        self.read(c - DITHER_C);
        self.read(c + DITHER_C)
    }

    /// Samples for a time, from a function of the second at which each ends; the first trip and when.
    pub(super) fn samples(&mut self, seconds: u32, chamber_c: impl Fn(f64) -> f64) -> Option<(u32, Finding)> {
        (1..=seconds / 10).find_map(|sample| {
            let second = sample * 10;
            self.sample(chamber_c(f64::from(second))).trip.map(|trip| (second, trip))
        })
    }
}
