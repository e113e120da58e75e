//! The temperature that the regulator takes a reading for: smoothed as much as the reading is noisy.
//!
//! Between readings the kiln is expected to move with its reference, so a kiln that follows it is not
//! lagged. What the filter hides of a kiln that doesn't is its time constant, and the regulator is told.

use libm::{cbrt, sqrt};
use pyrometry::units::{Celsius, CelsiusPerHour, Millis, lesser};

/// Time constant for a quiet reading: passes what a kiln does in tens of seconds.
const QUIET_S: f64 = 5.0;

/// Up to this much noise a reading counts as quiet: a fine chip's own, with some of the mains'.
const QUIET_C: f64 = 0.08;

/// The noise is judged over so long, of what it does from second to second.
const JUDGED_OVER_S: f64 = 300.0;

/// The smoothed reading.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Estimate {
    smoothed_c: Option<f64>,
    /// The readings before, latest first.
    before_c: Option<(f64, f64)>,
    /// Mean square of the readings' second difference, °C².
    bends_c2: f64,
}

impl Estimate {
    /// Takes a reading of a kiln that is to move at a rate.
    pub(crate) fn see(&mut self, reading: Celsius, moves: CelsiusPerHour, span: Millis) -> f64 {
        let span_s = span.seconds();
        if let Some((last_c, last_but_one_c)) = self.before_c {
            let bend_c = reading.c() - 2.0 * last_c + last_but_one_c;
            self.bends_c2 += (bend_c * bend_c - self.bends_c2) * lesser(span_s / JUDGED_OVER_S, 1.0);
            self.before_c = Some((reading.c(), last_c));
        } else {
            self.before_c = Some((reading.c(), reading.c()));
        }
        let share = lesser(span_s / (QUIET_S + self.smooths_s()), 1.0);
        let expected_c = self.smoothed_c.map_or(reading.c(), |before_c| before_c + moves.c_per_s() * span_s);
        let smoothed_c = expected_c + (reading.c() - expected_c) * share;
        self.smoothed_c = Some(smoothed_c);
        smoothed_c
    }

    /// How much longer than a quiet reading this one is smoothed, s.
    ///
    /// Noise that is independent from second to second has six times its variance in the second
    /// difference, and a filter of time constant τ lets σ·√(1 s/2τ) through. The two thirds are between
    /// letting as much through (2) and lagging as little (0).
    pub(crate) fn smooths_s(&self) -> f64 {
        let ratio = sqrt(self.bends_c2 / 6.0) / QUIET_C;
        if ratio > 1.0 { QUIET_S * (cbrt(ratio * ratio) - 1.0) } else { 0.0 }
    }
}
