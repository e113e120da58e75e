//! The latest samples of something, oldest overwritten.

/// The latest `N` samples.
#[derive(Clone, Debug)]
pub(crate) struct Ring<T, const N: usize> {
    samples: [Option<T>; N],
    next: usize,
}

impl<T: Copy, const N: usize> Ring<T, N> {
    /// No sample yet.
    pub(crate) const fn new() -> Self {
        Self { samples: [None; N], next: 0 }
    }

    /// Takes the next sample; gives the one it overwrites.
    pub(crate) fn push(&mut self, sample: T) -> Option<T> {
        let oldest = self.samples.get_mut(self.next).and_then(|place| place.replace(sample));
        self.next = (self.next + 1) % N;
        oldest
    }

    /// The sample taken `back` samples before the latest; `None` where there is none so old.
    pub(crate) fn ago(&self, back: usize) -> Option<T> {
        if back >= N {
            return None;
        }
        self.samples.get((self.next + N - 1 - back) % N).copied().flatten()
    }

    /// The samples there are, in no order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = T> {
        self.samples.iter().copied().flatten()
    }

    /// Forgets all samples.
    pub(crate) fn clear(&mut self) {
        *self = Self::new();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_are_found_by_their_age_and_the_oldest_is_overwritten() {
        let mut ring = Ring::<u8, 3>::new();
        assert_eq!(ring.ago(0), None);
        for sample in 1..=4 {
            ring.push(sample);
        }
        assert_eq!([ring.ago(0), ring.ago(1), ring.ago(2), ring.ago(3)], [Some(4), Some(3), Some(2), None]);
    }

    #[test]
    fn a_cleared_ring_is_empty() {
        let mut ring = Ring::<u8, 2>::new();
        ring.push(1);
        ring.clear();
        assert_eq!(ring.ago(0), None);
    }
}
