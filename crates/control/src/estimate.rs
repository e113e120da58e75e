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

    /// The smoothed reading, °C; `None` before the first.
    pub(crate) fn smoothed_c(&self) -> Option<f64> {
        self.smoothed_c
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

#[cfg(test)]
mod tests {
    use super::*;

    const SECOND: Millis = Millis::from_seconds(1);

    /// What a reading's estimate is off after ten minutes on a ramp of 120 °C/h, at the most from then
    /// on, and how much longer it is smoothed; the noise takes turns: three up, one further down.
    fn on_a_ramp(noise_c: f64) -> (f64, f64) {
        let moves = CelsiusPerHour::new(120.0).unwrap();
        let (mut estimate, mut off_c, mut at_c) = (Estimate::default(), 0.0_f64, 500.0);
        for second in 0..1200 {
            at_c += moves.c_per_s();
            let noise_c = if second % 4 == 0 { -3.0 * noise_c } else { noise_c };
            let smoothed_c = estimate.see(Celsius::new(at_c + noise_c).unwrap(), moves, SECOND);
            if second > 600 {
                off_c = pyrometry::units::greater(off_c, (smoothed_c - at_c).abs());
            }
        }
        (off_c, estimate.smooths_s())
    }

    #[test]
    fn a_reading_that_moves_with_its_reference_is_not_lagged() {
        let (off_c, smooths_s) = on_a_ramp(0.0);
        assert!(off_c < 1e-6, "{off_c} °C");
        assert!(smooths_s < 1e-6, "a quiet reading is smoothed no longer: {smooths_s} s");
    }

    #[test]
    fn a_noisier_reading_is_smoothed_longer_and_less_of_its_noise_is_left() {
        let (quiet_c, quiet_s) = on_a_ramp(0.05);
        let (loud_c, loud_s) = on_a_ramp(0.5);
        assert!(loud_s > quiet_s + 5.0, "{quiet_s} s, {loud_s} s");
        assert!(loud_c < 5.0 * quiet_c, "ten times the noise: {quiet_c} °C, {loud_c} °C");
    }

    #[test]
    fn a_kiln_that_leaves_its_reference_is_found_within_a_few_of_the_filters_time_constants() {
        let still = CelsiusPerHour::new(0.0).unwrap();
        let mut estimate = Estimate::default();
        let mut see = |c: f64| estimate.see(Celsius::new(c).unwrap(), still, SECOND);
        for _ in 0..60 {
            see(800.0);
        }
        let after_c = (0..15).map(|_| see(802.0)).last().unwrap();
        assert!(
            (801.7..802.0).contains(&after_c),
            "{after_c} °C after 15 s of a filter of 5 s and a step's bend"
        );
    }
}
