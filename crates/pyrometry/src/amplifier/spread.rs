//! How far apart the samples of one step lay, and the noise that such a range stands for.
//!
//! The range R of n samples of white noise is on average d₂(n) of its standard deviations, so R/d₂(n)
//! estimates it: the way of control charts (ASTM E2587 and ISO 7870-2, factors d₂; the values here from
//! memory, a test computes them anew). It takes n for as many conversions: where a chip converts slower than
//! it is asked, some samples are the same conversion and the estimate is low, by half where two of four
//! differ. A slope widens the range too: by three quarters of what the reading moves in a second.

use crate::units::CelsiusDelta;

/// How far apart the samples behind one report lay, and how many there were.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spread {
    steps: u32,
    samples: u8,
}

impl Spread {
    /// One sample has no spread.
    pub const SAMPLES_LEAST: u8 = 2;
    /// The most that are gathered in a step.
    pub const SAMPLES_MOST: u8 = 8;

    /// The largest less the smallest junction word, in the chip's own steps, of so many samples; `None`
    /// unless there are 2 to 8.
    #[must_use]
    pub const fn new(steps: u32, samples: u8) -> Option<Self> {
        if samples < Self::SAMPLES_LEAST || samples > Self::SAMPLES_MOST {
            None
        } else {
            Some(Self { steps, samples })
        }
    }

    /// The largest less the smallest junction word, in the chip's own steps.
    #[must_use]
    pub const fn steps(self) -> u32 {
        self.steps
    }

    /// How many samples there were.
    #[must_use]
    pub const fn samples(self) -> u8 {
        self.samples
    }

    /// The standard deviation of one sample that this range stands for, °C, where a step of the chip is
    /// worth so much ([`Sensor::junction_step_at`](super::Sensor::junction_step_at)).
    #[must_use]
    pub fn deviation_c(self, step: CelsiusDelta) -> f64 {
        f64::from(self.steps) * step.c() / self.deviations_in_range()
    }

    /// d₂: the mean range of so many samples of normal noise, in its standard deviations.
    const fn deviations_in_range(self) -> f64 {
        match self.samples {
            0..=2 => 1.128,
            3 => 1.693,
            4 => 2.059,
            5 => 2.326,
            6 => 2.534,
            7 => 2.704,
            8.. => 2.847,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The distribution function of normal noise.
    fn below(deviations: f64) -> f64 {
        0.5 * libm::erfc(-deviations / core::f64::consts::SQRT_2)
    }

    /// The mean range of n samples: the integral of 1 − (1 − Φ)ⁿ − Φⁿ (L. H. C. Tippett, Biometrika 17,
    /// 1925), by the trapezium rule, which for so smooth a bell is exact to far more places.
    fn mean_range(samples: u8) -> f64 {
        const WIDTH: f64 = 0.01;
        let at = |place: i32| {
            let under = below(f64::from(place) * WIDTH);
            1.0 - libm::pow(1.0 - under, f64::from(samples)) - libm::pow(under, f64::from(samples))
        };
        (-1_000..=1_000).map(at).sum::<f64>() * WIDTH
    }

    #[test]
    fn the_factors_are_the_mean_ranges_of_normal_noise() {
        for samples in Spread::SAMPLES_LEAST..=Spread::SAMPLES_MOST {
            let factor = Spread::new(1, samples).unwrap().deviations_in_range();
            assert!((factor - mean_range(samples)).abs() < 0.0006, "{samples}: {factor}");
        }
    }

    #[test]
    fn two_samples_range_over_two_deviations_by_the_root_of_pi() {
        // |x − y| of two has the mean 2σ/√π.
        let exact = 2.0 / core::f64::consts::PI.sqrt();
        assert!((mean_range(2) - exact).abs() < 1e-9, "{}", mean_range(2));
    }

    #[test]
    fn a_range_is_worth_its_steps_over_the_factor() {
        let step = CelsiusDelta::new(0.25).unwrap();
        let spread = Spread::new(8, 4).unwrap();
        assert!((spread.deviation_c(step) - 2.0 / 2.059).abs() < 1e-12);
        assert_eq!(Spread::new(0, 8).unwrap().deviation_c(step), 0.0);
    }

    #[test]
    fn one_sample_has_no_spread_and_nine_are_not_gathered() {
        assert_eq!([1, 9].map(|samples| Spread::new(3, samples)), [None, None]);
        let spread = Spread::new(3, 2).unwrap();
        assert_eq!((spread.steps(), spread.samples()), (3, 2));
    }
}
