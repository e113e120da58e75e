//! From a burst of samples to the current's root mean square.
//!
//! A clamp's signal swings about the middle of the converter's range. Mean and mean square are taken
//! under a window that rises and falls as a squared sine (Hann). What is left of a sine in a mean under
//! it falls with the third power of the number of cycles, so the burst needs neither to begin at a
//! crossing nor to hold whole cycles, and 50 and 60 Hz are alike: over the shortest burst that is judged
//! ([`CYCLES_LEAST`]) the mean square is out by 0.2 %. With even weights, 3¼ cycles would put it out by
//! 4.9 %.

use libm::{sin, sqrt};

use super::mcp3008::WORDS;
use crate::PinFault;

/// Samples that a burst must have: below that the window is too coarse. Engineering judgement.
pub const SAMPLES_LEAST: usize = 40;
/// Cycles of the mains that a burst must span; see the head of this file.
pub const CYCLES_LEAST: f64 = 3.0;
/// A clamp's middle is half of the reference by two like resistors. Further off than a quarter of the
/// range there is no clamp, its divider is broken, or the converter is dead: all zeros, or all ones.
/// Engineering judgement.
const MIDDLE_OFF_MOST: f64 = WORDS_F64 / 4.0;
const WORDS_F64: f64 = WORDS as f64;

/// The root mean square of samples taken at even times, without their middle, in the converter's words.
pub fn rms_words(samples: &[u16]) -> Result<f64, PinFault> {
    if samples.len() < SAMPLES_LEAST {
        return Err(PinFault);
    }
    let weights = || window(samples.len());
    let total: f64 = weights().sum();
    let weighed = |of: &dyn Fn(u16) -> f64| {
        weights().zip(samples).map(|(weight, sample)| weight * of(*sample)).sum::<f64>() / total
    };
    let middle = weighed(&f64::from);
    if !((middle - WORDS_F64 / 2.0).abs() < MIDDLE_OFF_MOST) {
        return Err(PinFault);
    }
    Ok(sqrt(weighed(&|sample| (f64::from(sample) - middle) * (f64::from(sample) - middle))))
}

/// The window's weights, each sample standing for the middle of its own share of the burst.
fn window(samples: usize) -> impl Iterator<Item = f64> {
    #[allow(clippy::cast_precision_loss, reason = "a few hundred samples")]
    let share = core::f64::consts::PI / samples as f64;
    (0_u32..).take(samples).map(move |at| {
        let half = sin((f64::from(at) + 0.5) * share);
        half * half
    })
}
