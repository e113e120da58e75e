//! Monotonic time and spans of it.

use core::ops::{Add, AddAssign};

/// Milliseconds: either a span, or an instant counted from a start that the context names.
///
/// There is no wall clock here: an instant is always monotonic.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Millis(u64);

impl Millis {
    /// No time.
    pub const ZERO: Self = Self(0);

    /// From milliseconds.
    #[must_use]
    pub const fn new(milliseconds: u64) -> Self {
        Self(milliseconds)
    }

    /// From whole seconds; beyond the range stays at its end.
    #[must_use]
    pub const fn from_seconds(seconds: u64) -> Self {
        Self(seconds.saturating_mul(1000))
    }

    /// From whole minutes; beyond the range stays at its end.
    #[must_use]
    pub const fn from_minutes(minutes: u64) -> Self {
        Self(minutes.saturating_mul(60_000))
    }

    /// From whole hours; beyond the range stays at its end.
    #[must_use]
    pub const fn from_hours(hours: u64) -> Self {
        Self(hours.saturating_mul(3_600_000))
    }

    /// From fractional seconds, to the nearest millisecond; `None` for negatives, NaN and
    /// more than 2³² seconds (136 years).
    #[must_use]
    #[allow(
        clippy::as_conversions,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the range is checked on the line above"
    )]
    pub fn from_seconds_f64(seconds: f64) -> Option<Self> {
        if !(0.0..=4_294_967_296.0).contains(&seconds) {
            return None;
        }
        Some(Self(libm::round(seconds * 1000.0) as u64))
    }

    /// In milliseconds.
    #[must_use]
    pub const fn ms(self) -> u64 {
        self.0
    }

    /// In seconds. Exact to 2⁵³ ms (285,000 years).
    #[must_use]
    #[allow(
        clippy::as_conversions,
        clippy::cast_precision_loss,
        reason = "exact to 285,000 years, as documented"
    )]
    pub const fn seconds(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// In hours.
    #[must_use]
    pub const fn hours(self) -> f64 {
        self.seconds() / 3600.0
    }

    /// The span from an earlier instant to this one; none if that one is later.
    #[must_use]
    pub const fn since(self, earlier: Self) -> Self {
        Self(self.0.saturating_sub(earlier.0))
    }
}

impl Add for Millis {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Millis {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractional_seconds_round_to_the_millisecond_and_refuse_nonsense() {
        assert_eq!(Millis::from_seconds_f64(1.2346), Some(Millis::new(1235)));
        assert_eq!(Millis::from_seconds_f64(-0.1), None);
        assert_eq!(Millis::from_seconds_f64(f64::NAN), None);
    }

    #[test]
    fn a_later_start_gives_no_negative_span() {
        assert_eq!(Millis::new(5).since(Millis::new(9)), Millis::ZERO);
    }
}
