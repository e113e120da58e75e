//! A firing's steps gathered into the stretches that a model is fitted to.

use pyrometry::units::{Celsius, Duty, Millis};

use super::Sample;

/// Readings and duties are taken together over so long.
const STRETCH_S: f64 = 10.0;

/// The stretches so far, and the one begun.
#[derive(Clone, Debug, Default)]
pub struct Stretches {
    samples: Vec<Sample>,
    lasted_s: f64,
    sum_cs: f64,
    sum_duty_s: f64,
}

impl Stretches {
    /// Takes a step: the chamber at its end, and what was given in it.
    pub fn take(&mut self, chamber: Celsius, given: Duty, span: Millis) {
        let span_s = span.seconds();
        self.lasted_s += span_s;
        self.sum_cs += chamber.c() * span_s;
        self.sum_duty_s += given.ratio() * span_s;
        if self.lasted_s < STRETCH_S {
            return;
        }
        let mean = Celsius::new(self.sum_cs / self.lasted_s);
        if let (Some(chamber), Some(lasting)) = (mean, Millis::from_seconds_f64(self.lasted_s)) {
            let given = Duty::limited(self.sum_duty_s / self.lasted_s);
            self.samples.push(Sample { lasting, chamber, given });
        }
        (self.lasted_s, self.sum_cs, self.sum_duty_s) = (0.0, 0.0, 0.0);
    }

    /// The stretches that are whole.
    #[must_use]
    pub fn samples(&self) -> &[Sample] {
        &self.samples
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_seconds_of_steps_make_a_stretch_of_their_means_and_what_is_left_none() {
        let mut stretches = Stretches::default();
        for second in 0..25_u32 {
            let (chamber_c, duty) = (100.0 + f64::from(second), if second % 2 == 0 { 1.0 } else { 0.0 });
            stretches.take(Celsius::new(chamber_c).unwrap(), Duty::limited(duty), Millis::from_seconds(1));
        }
        let [first, second] = stretches.samples() else { panic!("{stretches:?}") };
        assert_eq!((first.lasting, first.chamber), (Millis::from_seconds(10), Celsius::new(104.5).unwrap()));
        assert!((first.given.ratio() - 0.5).abs() < 1e-12);
        assert_eq!(second.chamber, Celsius::new(114.5).unwrap());
    }
}
