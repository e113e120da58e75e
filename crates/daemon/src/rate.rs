//! How fast the chamber's temperature moves, over the last minutes.

use std::collections::VecDeque;

use pyrometry::units::{Celsius, CelsiusPerHour, Millis};

/// Long enough that a coarse chip's 0.25 °C steps make less than 5 °C/h.
const OVER: Millis = Millis::from_minutes(5);
/// Shorter spans say nothing yet.
const LEAST: Millis = Millis::from_seconds(60);
/// One sample in so much time is kept.
const EVERY: Millis = Millis::from_seconds(10);

/// Measures it.
#[derive(Clone, Debug, Default)]
pub struct RateMeter {
    samples: VecDeque<(Millis, Celsius)>,
    rate: Option<CelsiusPerHour>,
}

impl RateMeter {
    /// Takes one step's reading. Time going back to its start begins anew.
    pub fn take(&mut self, at: Millis, chamber: Option<Celsius>) {
        if self.samples.back().is_some_and(|(last, _)| at < *last) {
            self.samples.clear();
        }
        let Some(chamber) = chamber else { return };
        while self.samples.front().is_some_and(|(first, _)| at.since(*first) > OVER) {
            self.samples.pop_front();
        }
        self.rate =
            self.samples.front().filter(|(first, _)| at.since(*first) >= LEAST).and_then(|(first, then)| {
                CelsiusPerHour::new((chamber - *then).c() / at.since(*first).hours())
            });
        if self.samples.back().is_none_or(|(last, _)| at.since(*last) >= EVERY) {
            self.samples.push_back((at, chamber));
        }
    }

    /// The rate; `None` until a minute was seen.
    #[must_use]
    pub const fn c_per_h(&self) -> Option<CelsiusPerHour> {
        self.rate
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_steady_ramp_shows_its_rate_after_a_minute() {
        let mut meter = RateMeter::default();
        for second in 0..600_u32 {
            let chamber = Celsius::new(20.0 + f64::from(second) / 24.0);
            meter.take(Millis::from_seconds(u64::from(second)), chamber);
            assert_eq!(meter.c_per_h().is_some(), second >= 60, "{second} s");
        }
        let rate = meter.c_per_h().expect("a rate").c_per_h();
        assert!((rate - 150.0).abs() < 1e-6, "{rate}");
    }
}
