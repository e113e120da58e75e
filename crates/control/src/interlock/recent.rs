//! Which of the latest samples were bad, one bit a sample.

/// The latest 64 samples of something that is either so or not. Samples come once a second, so
/// "in the last 10 s" is "among the last 10".
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Recent(u64);

impl Recent {
    /// Notes the next sample.
    pub(crate) const fn note(&mut self, sample: Sample) {
        self.0 <<= 1;
        match sample {
            Sample::Good => {}
            Sample::Bad => self.0 |= 1,
        }
    }

    /// How many samples were bad without a break, up to and with the latest.
    pub(crate) const fn in_a_row(self) -> u32 {
        self.0.trailing_ones()
    }

    /// How many of the latest `samples` were bad.
    pub(crate) const fn among(self, samples: u32) -> u32 {
        let older = 64_u32.saturating_sub(samples);
        match self.0.checked_shl(older) {
            Some(latest) => latest.count_ones(),
            None => 0,
        }
    }
}

/// One sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sample {
    /// Nothing wrong with it.
    Good,
    /// Counts against the probe.
    Bad,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_samples_are_counted_in_a_row_and_among_the_latest() {
        let mut recent = Recent::default();
        for sample in [Sample::Bad, Sample::Bad, Sample::Good, Sample::Bad] {
            recent.note(sample);
        }
        assert_eq!(recent.in_a_row(), 1);
        assert_eq!(recent.among(3), 2);
        assert_eq!(recent.among(64), 3);
        assert_eq!(recent.among(0), 0);
    }

    #[test]
    fn a_bad_sample_is_forgotten_once_enough_came_after_it() {
        let mut recent = Recent::default();
        recent.note(Sample::Bad);
        for _ in 0..9 {
            recent.note(Sample::Good);
        }
        assert_eq!(recent.among(10), 1);
        recent.note(Sample::Good);
        assert_eq!(recent.among(10), 0);
    }
}
