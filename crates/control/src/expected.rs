//! What a firing is held to.

use pyrometry::units::{Joules, Millis, Watts};

/// What the heating is forecast to take, to be compared with what it does take (SR-25).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expected {
    /// Time, stays left out.
    pub lasts: Millis,
    /// Energy given to the elements, stays left out; `None` where it was not forecast.
    pub energy: Option<Joules>,
}

impl Expected {
    /// A time alone.
    #[must_use]
    pub const fn lasting(lasts: Millis) -> Self {
        Self { lasts, energy: None }
    }

    /// The longer of two times, and the greater of two energies.
    #[must_use]
    pub fn or_longer(self, lasts: Millis, energy: Joules) -> Self {
        let greater = self.energy.filter(|known| *known > energy).unwrap_or(energy);
        Self { lasts: self.lasts.max(lasts), energy: Some(greater) }
    }

    /// The same with a soak made longer; at most full power goes on in it.
    pub(crate) fn longer(self, by: Millis, full: Watts) -> Self {
        Self { lasts: self.lasts + by, energy: self.energy.map(|energy| energy + full * by) }
    }

    /// The same after what was used so far.
    #[must_use]
    pub fn after(self, so_far: Millis, given: Joules) -> Self {
        Self { lasts: so_far + self.lasts, energy: self.energy.map(|energy| given + energy) }
    }
}
