//! Chance, from a seed.

use fastrand::Rng;

/// Where everything random of one firing comes from.
#[derive(Clone, Debug)]
pub(crate) struct Chance {
    random: Rng,
}

impl Chance {
    pub(crate) fn of(seed: u64) -> Self {
        Self { random: Rng::with_seed(seed) }
    }

    /// Evenly between two bounds.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.random.f64()
    }

    /// Between two positive bounds, every doubling alike.
    pub(crate) fn scale(&mut self, low: f64, high: f64) -> f64 {
        low * libm::pow(high / low, self.random.f64())
    }

    /// So many, both bounds included.
    pub(crate) fn count(&mut self, low: u64, high: u64) -> u64 {
        self.random.u64(low..=high)
    }

    /// Whether something of that probability happens.
    pub(crate) fn happens(&mut self, probability_share: f64) -> bool {
        self.random.f64() < probability_share
    }

    /// One of several.
    pub(crate) fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.random.usize(..of.len())]
    }
}
