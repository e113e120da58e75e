//! The time of day at the kiln.
//!
//! Control never asks it: a step knows monotonic time alone (SR-35). It is for people.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp, ZonedDateTime};
use pyrometry::units::Millis;

/// What time it is at the kiln.
#[derive(Clone, Debug)]
pub enum KilnClock {
    /// The computer's clock.
    Real,
    /// A simulated kiln's day, which began when the program did and runs at its own speed.
    Simulated {
        /// When the program began.
        began: Timestamp,
        /// How far the kiln has come since, in milliseconds.
        now_ms: Arc<AtomicU64>,
    },
}

impl KilnClock {
    /// A simulated day that begins now.
    #[must_use]
    pub fn simulated() -> Self {
        Self::Simulated { began: Timestamp::now(), now_ms: Arc::default() }
    }

    /// A simulated kiln's time moves on.
    pub fn tick(&self, at: Millis) {
        match self {
            Self::Real => {}
            Self::Simulated { now_ms, .. } => now_ms.store(at.ms(), Ordering::Relaxed),
        }
    }

    /// The time of day now.
    #[must_use]
    pub fn now(&self) -> ZonedDateTime {
        let now = match self {
            Self::Real => Timestamp::now(),
            Self::Simulated { began, now_ms } => {
                let since = i64::try_from(now_ms.load(Ordering::Relaxed)).unwrap_or(i64::MAX);
                began.saturating_add(SignedDuration::from_millis(since)).unwrap_or(*began)
            }
        };
        now.to_zoned_datetime(TimeZone::system())
    }

    /// The time of day, some time ahead.
    #[must_use]
    pub fn ahead(&self, span: Millis) -> ZonedDateTime {
        let now = self.now();
        let span = SignedDuration::from_millis(i64::try_from(span.ms()).unwrap_or(i64::MAX));
        now.saturating_add(span)
    }

    /// Now, as files and the page have it: RFC 3339 to the second.
    #[must_use]
    pub fn now_written(&self) -> String {
        written(&self.now())
    }
}

/// RFC 3339 to the second, with the zone's offset.
#[must_use]
pub fn written(time: &ZonedDateTime) -> String {
    time.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// As a potter says it: the hour and minute, with the weekday when it is not today.
#[must_use]
pub fn told(time: &ZonedDateTime, now: &ZonedDateTime) -> String {
    if time.date() == now.date() {
        time.strftime("%H:%M").to_string()
    } else {
        time.strftime("%A %H:%M").to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_simulated_day_moves_only_when_it_is_told() {
        let clock = KilnClock::simulated();
        let before = clock.now();
        clock.tick(Millis::from_hours(3));
        assert_eq!(clock.now().duration_since(&before), SignedDuration::from_hours(3));
    }

    #[test]
    fn a_time_on_another_day_is_told_with_its_weekday() {
        let now: ZonedDateTime = "2026-11-25T10:12:03+01:00[Europe/Berlin]".parse().expect("a time");
        let later: ZonedDateTime = "2026-11-26T09:10:00+01:00[Europe/Berlin]".parse().expect("a time");
        assert_eq!(told(&now, &now), "10:12");
        assert_eq!(told(&later, &now), "Thursday 09:10");
        assert_eq!(written(&now), "2026-11-25T10:12:03+01:00");
    }
}
