//! How much of what the model's ware takes the real ware takes, from the heat of the firing itself.
//!
//! The kiln file only guesses what stands in the kiln. How ware takes heat follows the chamber
//! whatever its mass; the mass shows in the balance: what the elements gave, less what lining and
//! leaks took, against what the model's ware took. Recursive least squares with forgetting, and the
//! guess as if it had been seen for a while.

use pyrometry::units::{Millis, between, greater};

/// Older balances fade over this time: longer than ware and elements lag, shorter than a segment.
const FORGETS_S: f64 = 300.0;

/// The guess counts as much as a climb of its load at this rate for this time, so that slow climbs,
/// whose balance says more about the lining than about the load, change little.
const GUESS_C_PER_S: f64 = 0.02;
const GUESS_S: f64 = 120.0;

/// No load is less, and none more, than this many times the guess.
const LEAST: f64 = 0.1;
const MOST: f64 = 4.0;

/// The faded balances so far, in W²s.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct LoadBalance {
    found_modelled_w2s: f64,
    modelled_w2s: f64,
}

impl LoadBalance {
    /// A step: what the ware must have taken, and what the model's ware took, W.
    pub(crate) fn add(&mut self, found_w: f64, modelled_w: f64, span: Millis) {
        let span_s = span.seconds();
        let kept = greater(0.0, 1.0 - span_s / FORGETS_S);
        self.found_modelled_w2s = self.found_modelled_w2s * kept + found_w * modelled_w * span_s;
        self.modelled_w2s = self.modelled_w2s * kept + modelled_w * modelled_w * span_s;
    }

    /// The load as a multiple of the guess, whose heat capacity this is.
    pub(crate) fn ratio(&self, guess_j_per_k: f64) -> f64 {
        let guess_w = greater(1.0, guess_j_per_k * GUESS_C_PER_S);
        let guess_w2s = guess_w * guess_w * GUESS_S;
        between((self.found_modelled_w2s + guess_w2s) / (self.modelled_w2s + guess_w2s), LEAST, MOST)
    }
}
